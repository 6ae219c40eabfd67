"""A measuring of thirty readings and a history of fifty: as many queries as for two, on pages and in the API."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from studio.models import Measuring, Reading
from studio.queries.catalogue import catalogue
from studio.services import taping
from tests.studio.helpers import a_client, measured
from tests.studio.trust.helpers import days_ago

CODES = [code for code, found in catalogue().measures.items() if found.unit == "mm"][:30]
THIRTY = {code: f"{sum(catalogue().measures[code].adult) / 2 / 10:.1f}" for code in CODES}


def statements(ask):
    with CaptureQueriesContext(connection) as captured:
        answer = ask()
    assert answer.status_code in (200, 201, 302), answer.content[:300]
    return len(captured)


def test_thirty_readings_are_saved_with_as_many_queries_as_two(house, page, api, monkeypatch):
    monkeypatch.setattr(taping, "FIRST_AFTER", 1000)  # now and then a measuring asks for a job
    with house.scope():
        who = a_client(house.clerk, body_model="none")  # the middles of all ranges go together on nobody
    browser, program = page(house.instructor), api(house.instructor)

    def by_api(typed, hour):
        readings = [{"measure": code, "typed": text} for code, text in typed.items()]
        when = (timezone.now() - timedelta(hours=hour)).isoformat()
        body = {"client": str(who.pk), "measured_at": when, "readings": readings}
        return program.post(reverse("api-measurings"), body, format="json")

    def by_form(typed):
        fields = {f"{take}_{code}": text for code, text in typed.items() for take in ("first", "second")}
        facts = {
            "measured_at": "2026-01-05T10:30",
            "unit": "cm",
            "over": "close_clothing",
            "posture": "standing",
        }
        address = reverse("studio:new-measuring", args=[who.pk]) + "?set=fitted_bodice"
        return browser.post(address, {**facts, **fields})

    few = dict(list(THIRTY.items())[:2])
    by_api(few, 9)  # whatever is asked once
    assert statements(lambda: by_api(few, 8)) == statements(lambda: by_api(THIRTY, 7))
    chosen = catalogue().sets["fitted_bodice"].measures
    bodice = {
        code: THIRTY.get(code, f"{sum(catalogue().measures[code].adult) / 2 / 10:.1f}") for code in chosen
    }
    assert len(bodice) >= 15
    by_form(dict(list(bodice.items())[:2]))
    two = statements(lambda: by_form(dict(list(bodice.items())[:2])))
    assert two == statements(lambda: by_form(bodice))
    with house.scope():
        assert Reading.objects.filter(measuring=Measuring.objects.latest("id")).count() == 2 * len(bodice)


@pytest.mark.parametrize("how", ["pages", "api"])
def test_fifty_earlier_measurings_are_shown_with_as_many_queries_as_two(house, page, api, how):
    with house.scope():
        few, many = a_client(house.clerk, "Few Visits"), a_client(house.clerk, "Many Visits")
        rows = {}
        for client, visits in ((few, 2), (many, 51)):
            for days in range(visits, 0, -1):
                rows[client.pk] = measured(house.instructor, client, THIRTY, measured_at=days_ago(days))
    names = {
        "pages": ["studio:client", "studio:histories", "studio:history"],
        "api": [
            "api-client-history", "api-client-measure-history", "api-client-body", "api-client-changes",
            "api-client-estimates",
        ],
    }[how]  # fmt: skip
    ask = (page if how == "pages" else api)(house.instructor)

    def addresses(client):
        for name in names:
            of_one = name in ("studio:history", "api-client-measure-history")
            yield reverse(name, args=[client.pk, CODES[0]] if of_one else [client.pk])
        yield reverse("studio:measuring" if how == "pages" else "api-measuring", args=[rows[client.pk].pk])

    for first, second in zip(addresses(few), addresses(many), strict=True):
        ask.get(first)
        counts = [statements(lambda address=address: ask.get(address)) for address in (first, second)]
        assert counts[0] == counts[1], first
