"""Whoever has not allowed it is not measured: the pages say why and what can be done, and offer nothing else."""

from datetime import date

import pytest
from django.urls import reverse
from django.utils import timezone

from studio.services.clients import change_client, record_consent
from tests.studio.helpers import a_client, measured

BORN = date(timezone.localdate().year - 9, 1, 1)
GUARDED = {"born": BORN, "guardian_name": "Olia Duarte"}


def made(house, kind):
    if kind == "not asked":
        return a_client(house.clerk, "Nora Field", consent_by="")
    if kind == "not by guardian":
        return a_client(house.clerk, "Ivo Duarte", consent_by="", **GUARDED)
    client = a_client(house.clerk, "Nora Field")
    if kind == "withdrawn":
        record_consent(house.clerk, client.pk, kind="measure", given=False, given_by="Nora Field")
    if kind == "own consent of a child":
        change_client(house.clerk, client.pk, expected_version=None, **GUARDED)
    return client


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("not asked", "Nora Field can be measured once consent is written down."),
        ("withdrawn", "Consent was withdrawn on"),
        ("not by guardian", "Ivo Duarte is under 18, and a guardian has not consented to the measuring."),
        (
            "own consent of a child",
            "Nora Field is under 18, and a guardian has not consented to the measuring.",
        ),
    ],
)
def test_the_clients_page_says_why_and_offers_no_measuring(house, page, kind, words):
    with house.scope():
        client = made(house, kind)
    browser = page(house.instructor)
    shown = browser.get(reverse("studio:client", args=[client.pk])).content.decode()
    assert words in shown
    for offered in ("studio:new-measuring", "studio:pad"):
        assert reverse(offered, args=[client.pk]) not in shown
    assert reverse("studio:consent", args=[client.pk]) + "?kind=measure" in shown
    for name in ("studio:new-measuring", "studio:pad"):
        there = browser.get(reverse(name, args=[client.pk])).content.decode()
        assert "Record the consent" in there
        assert "first_waist_girth" not in there
        assert "pad-data" not in there


def test_with_consent_it_is_offered_and_a_clerk_is_not_told_what_is_not_hers(house, page):
    with house.scope():
        client = a_client(house.clerk, "Nora Field")
        unasked = made(house, "not asked")
    shown = page(house.instructor).get(reverse("studio:client", args=[client.pk])).content.decode()
    assert reverse("studio:new-measuring", args=[client.pk]) in shown
    shown = page(house.clerk).get(reverse("studio:client", args=[unasked.pk])).content.decode()
    assert "can be measured once" not in shown


def test_a_measuring_of_somebody_who_withdrew_asks_for_no_further_take(house, page):
    with house.scope():
        client = a_client(house.clerk, "Nora Field")
        row = measured(house.instructor, client, {"waist_girth": ("76", "79")})
        record_consent(house.clerk, client.pk, kind="measure", given=False, given_by="Nora Field")
    shown = page(house.instructor).get(reverse("studio:measuring", args=[row.pk])).content.decode()
    assert "has withdrawn the consent" in shown
    assert "Third take" not in shown
    assert "Measure again" not in shown
