"""A client's link goes out by email: to her, or to the guardian, without a figure of the body."""

from datetime import timedelta
from typing import Any

import pytest
from django.core import mail
from django.utils import timezone

from fitting.services.reports import ask_report, make_link, revoke_link
from fitting.services.sending import ask_to_send
from studio.models import Client
from studio.platform.errors import Conflict
from studio.platform.models import Job
from tests.fitting.garment.conftest import Shop

pytestmark = pytest.mark.django_db(transaction=True, databases=["default", "owner"])


def reported(shop: Shop, run_jobs: Any) -> Any:
    with shop.house.scope():
        report = ask_report(shop.instructor, shop.signed_garment().pk)
    run_jobs(shop.house)
    return report


def test_the_letter_goes_to_the_client_and_holds_no_figure(
    closed_shop: Shop, run_jobs: Any, page: Any
) -> None:
    shop = closed_shop
    report = reported(shop, run_jobs)
    browser = page(shop.house.clerk)
    browser.post(f"/reports/{report.pk}/", {"days": "14"})
    with shop.house.scope():
        link = report.links.get()
    assert "Send it to olia@example.org" in browser.get(f"/reports/{report.pk}/").content.decode()
    browser.post(f"/report-links/{link.pk}/send/")
    assert "is being sent" in browser.get(f"/reports/{report.pk}/").content.decode()
    run_jobs(shop.house)
    [letter] = mail.outbox
    assert letter.to == ["olia@example.org"]
    assert letter.from_email.startswith("Thimble Row <")
    assert "teal trousers" in letter.subject.lower()
    assert "Dear Olia Carvalho," in letter.body
    assert f"/fit/{link_part(letter.body)}" in letter.body
    assert not any(sign.isdigit() for sign in letter.body.split("http")[0])
    assert " cm" not in letter.body
    assert "sent by email on" in browser.get(f"/reports/{report.pk}/").content.decode()
    opened = browser.get("/fit/" + link_part(letter.body) + "/")
    assert opened.status_code == 403  # signed in as the clerk she may not; the client may
    browser.logout()
    assert browser.get("/fit/" + link_part(letter.body) + "/").status_code == 200
    with shop.house.scope():
        link.refresh_from_db()
        assert link.openings == 0, "a letter that was scanned is not an opening"


def link_part(body: str) -> str:
    return body.split("/fit/")[1].split("/", maxsplit=1)[0]


def test_a_minors_goes_to_the_guardian(closed_shop: Shop, run_jobs: Any) -> None:
    shop = closed_shop
    report = reported(shop, run_jobs)
    with shop.house.scope():
        Client.objects.filter(pk=shop.client.pk).update(
            born=timezone.localdate() - timedelta(days=4000),
            guardian_name="Wilma Carvalho",
            guardian_email="",
        )
        link = make_link(shop.instructor, report.pk).link
        with pytest.raises(Conflict, match="guardian of Olia"):
            ask_to_send(shop.instructor, link.pk)
        Client.objects.filter(pk=shop.client.pk).update(guardian_email="wilma@example.org")
        ask_to_send(shop.instructor, link.pk)
    run_jobs(shop.house)
    [letter] = mail.outbox
    assert letter.to == ["wilma@example.org"]
    assert "Dear Wilma Carvalho," in letter.body


def test_what_is_revoked_meanwhile_is_not_sent(closed_shop: Shop, run_jobs: Any) -> None:
    shop = closed_shop
    report = reported(shop, run_jobs)
    with shop.house.scope():
        link = make_link(shop.instructor, report.pk).link
        job = ask_to_send(shop.instructor, link.pk)
        revoke_link(shop.instructor, link.pk)
        with pytest.raises(Conflict, match="opens nothing any more"):
            ask_to_send(shop.instructor, link.pk)
    run_jobs(shop.house)
    assert mail.outbox == []
    with shop.house.scope():
        job.refresh_from_db()
    assert job.state == Job.State.FAILED
    assert "not sent" in job.error
