"""Who may open a client's link: the client, without an account; of the studio's own members those who read reports."""

from typing import Any

import pytest
from django.test import Client as Browser

from fitting.models import ReportLink
from fitting.services.reports import ask_report, make_link
from studio.platform.models import AuditEntry
from tests.conftest import House
from tests.fitting.garment.conftest import Shop


@pytest.fixture
def path(closed_shop: Shop, run_jobs: Any) -> str:
    """The address of a link to an issued report, made by the clerk."""
    house = closed_shop.house
    with house.scope():
        report = ask_report(house.instructor, closed_shop.signed_garment().pk)
        address = make_link(house.clerk, report.pk).address
    run_jobs(house)
    return "/" + address.split("/", 3)[3]


def openings(house: House) -> tuple[int, list[Any]]:
    """How often the client opened it, and the members who did: (member, what)."""
    with house.scope():
        acts = AuditEntry.objects.filter(act="open_link").order_by("id")
        return ReportLink.objects.get().openings, [(act.member_id, act.detail["what"]) for act in acts]


def test_a_client_opens_it_and_is_counted(closed_shop: Shop, path: str, client: Browser) -> None:
    assert client.get(path).status_code == 200
    assert "74.2 cm" in client.post(path).content.decode()
    assert client.get(f"{path}pdf/").content.startswith(b"%PDF")
    assert openings(closed_shop.house) == (1, [])


def test_a_clerk_sends_it_but_does_not_open_it(closed_shop: Shop, path: str, page: Any) -> None:
    browser = page(closed_shop.house.clerk)
    for answer in (browser.get(path), browser.post(path), browser.get(f"{path}pdf/")):
        assert answer.status_code == 403
        text = answer.content.decode()
        assert "You are signed in as a clerk of this studio" in text
        assert "74.2" not in text
    assert openings(closed_shop.house) == (0, [])


def test_a_clerks_token_does_not_open_it_either(closed_shop: Shop, path: str, api: Any) -> None:
    caller = api(closed_shop.house.clerk)
    assert caller.post(path).status_code == 403
    assert caller.get(f"{path}pdf/").status_code == 403


def test_a_token_that_is_nobodys_opens_it_as_anybody_does(
    closed_shop: Shop, path: str, client: Browser
) -> None:
    assert client.post(path, headers={"Authorization": "Bearer nobody"}).status_code == 200
    assert openings(closed_shop.house) == (1, [])


def test_an_instructors_opening_is_her_act_and_not_the_clients(
    closed_shop: Shop, path: str, page: Any
) -> None:
    house = closed_shop.house
    browser = page(house.instructor)
    assert "74.2 cm" in browser.post(path).content.decode()
    assert browser.get(f"{path}pdf/").status_code == 200
    me = house.instructor.member_id
    assert openings(house) == (0, [(me, "page"), (me, "pdf")])


def test_a_clerk_of_another_studio_opens_it_as_a_client(path: str, other_house: House, page: Any) -> None:
    assert page(other_house.clerk).post(path).status_code == 200


def test_a_clerk_who_owns_another_studio_is_a_clerk_here(
    closed_shop: Shop, path: str, other_house: House, page: Any
) -> None:
    from studio.platform.actors import STUDIO_IN_SESSION
    from studio.platform.models import User
    from studio.platform.services import people

    clerk = closed_shop.house.clerk
    user = User.objects.get(pk=clerk.user_id)
    with other_house.scope():
        invitation = people.invite_member(
            other_house.owner, name="Clara", email=user.email, role="instructor"
        )
    people.accept_invitation(other_house.studio_id, invitation.pk, lambda _: user)
    browser = page(clerk)
    session = browser.session
    session[STUDIO_IN_SESSION] = str(other_house.studio_id)
    session.save()
    assert browser.post(path).status_code == 403
    assert openings(closed_shop.house) == (0, [])
