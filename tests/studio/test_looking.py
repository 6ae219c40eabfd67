"""Who looked at whom: every page and answer about a client is written down, whichever it is."""

from datetime import timedelta

import pytest
from django.urls import get_resolver
from django.utils import timezone

from studio.models import Look
from studio.platform.registries import SUBJECTS, TIDIERS
from studio.queries.looking import looks_of
from studio.services import clients
from studio.services.looking import KEPT_DAYS
from tests.studio.helpers import a_client, measured

pytestmark = pytest.mark.django_db

# What an address may name that is nobody's body: paper, cloth, seams, classes' own things, the studio's own things.
NOBODY = {
    "bolt_id", "chart_id", "cloth_id", "comparison_id", "day_id", "export_id", "feed_id", "file_id",
    "import_id", "job_id", "lay_id", "machine_id", "member_id", "needle_id", "outline_id", "passkey_id",
    "pattern_id", "payment_id", "piece_id", "price_id", "recipe_id", "remnant_id", "rule_id", "seam_id",
    "sheet_id", "slip_id", "supply_id", "thread_id", "trial_id", "version_id",
}  # fmt: skip


def _parts(resolver, found):
    for entry in resolver.url_patterns:
        found |= {name for name in entry.pattern.converters if name.endswith("_id")}
        if hasattr(entry, "url_patterns"):
            _parts(entry, found)
    return found


def test_every_part_of_an_address_is_somebody_or_nobody():
    named = _parts(get_resolver(), set())
    assert named >= {"client_id", "garment_id"}
    assert named - NOBODY - set(SUBJECTS) == set(), (
        "say in SUBJECTS whom it shows, or here that it shows nobody"
    )


def test_a_page_and_an_answer_are_written_down_once_a_day_with_how_often(house, page, api):
    with house.scope():
        client = a_client(house.clerk, "Olia Duarte")
        row = measured(house.instructor, client)
    for _ in range(3):
        assert page(house.clerk).get(f"/clients/{client.pk}/").status_code == 200
    assert page(house.instructor).get(f"/measurings/{row.pk}/").status_code == 200
    assert api(house.instructor).get(f"/api/v1/clients/{client.pk}/").status_code == 200
    with house.scope():
        seen = {(look.member_id, look.what): look.times for look in Look.objects.all()}
        told = looks_of(house.owner, client.pk)
    assert seen == {
        (house.clerk.member_id, "client_id"): 3,
        (house.instructor.member_id, "measuring_id"): 1,
        (house.instructor.member_id, "client_id"): 1,
    }
    assert {one.opened for one in told} == {
        ("the client's pages, 3 times",),
        ("the client's pages", "a measuring"),
    }


def test_what_was_not_shown_is_not_written_down(house, other_house, page):
    with other_house.scope():
        theirs = a_client(other_house.clerk, "Somebody Else")
    with house.scope():
        client = a_client(house.clerk, "Olia Duarte")
    assert page(house.clerk).get(f"/clients/{theirs.pk}/").status_code == 404
    assert page(house.clerk).get("/clients/").status_code == 200
    assert page(house.clerk).get(f"/clients/{client.pk}/erase/").status_code == 403
    for studio in (house, other_house):
        with studio.scope():
            assert not Look.objects.exists()


def test_a_list_of_looks_goes_with_her_and_with_time(house, page):
    with house.scope():
        client, other = a_client(house.clerk, "Olia Duarte"), a_client(house.clerk, "Brune Adeyemi")
    for one in (client, other):
        page(house.clerk).get(f"/clients/{one.pk}/")
    with house.scope():
        clients.erase_client(house.owner, client.pk, reason="asked by letter")
        assert [look.client_id for look in Look.objects.all()] == [other.pk]
    page(house.clerk).get(f"/clients/{client.pk}/")  # the anonymous remainder is nobody
    with house.scope():
        assert Look.objects.count() == 1
        assert TIDIERS["looks"]() == 0
        Look.objects.update(day=timezone.localdate() - timedelta(days=KEPT_DAYS + 1))
        assert TIDIERS["looks"]() == 1
