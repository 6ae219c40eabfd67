"""What is learnt: from signed-off fittings to what a client, a pattern and a rule always need."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.queries.learnt import client_learnt, studio_learnt
from fitting.services.fittings import note_fit
from tests.fitting.garment.conftest import Shop, fill

pytestmark = pytest.mark.django_db


def test_a_client_always_needs_it_from_the_second_time_on(shop: Shop) -> None:
    shop.signed_garment()
    assert [
        row.place for row in client_learnt(shop.house.clerk, shop.client.pk, "cm") if row.place == "waist"
    ] == []
    shop.signed_garment()
    unsigned = shop.full_garment()
    note_fit(
        shop.instructor,
        shop.baste(unsigned).pk,
        place="waist",
        seen="tight",
        decision="let_out",
        amount_mm=Decimal(30),
    )
    [waist] = [row for row in client_learnt(shop.house.clerk, shop.client.pk, "cm") if row.place == "waist"]
    assert waist.habit.times == waist.habit.n == 2, "a fitting that is not signed off says nothing yet"
    assert "in 2 of 2" in waist.words


def test_a_pattern_and_a_rule_are_judged_on_three_people(shop: Shop) -> None:
    garments = [shop.signed_garment()]
    others = [fill(shop.house, name) for name in ("Noor Haddad", "Wilma Oduya")]
    garments.append(others[0].signed_garment())
    for garment in garments:
        garment.pattern_id = shop.pattern.pk
        garment.save()
    assert studio_learnt(shop.instructor).patterns == ()
    last = others[1].signed_garment()
    last.pattern_id = shop.pattern.pk
    last.save()
    found = studio_learnt(shop.instructor)
    assert found.fitted == 3
    [pattern] = found.patterns
    assert pattern.people == 3
    assert [(row.place, round(row.habit.mean, 6), row.habit.times) for row in pattern.learnt] == [
        ("waist", -12.0, 3)
    ]
    [rule] = [row for row in found.rules if row.zone_words == "Waist"]
    assert "taken in by 1.2 cm in the mean, in 3 of 3: the rule is off by about −1.2 cm" in rule.learnt.words


def test_it_takes_as_many_queries_for_many_as_for_one(shop: Shop) -> None:
    counts = []
    for _ in range(2):
        shop.signed_garment()
        with CaptureQueriesContext(connection) as asked:
            client_learnt(shop.instructor, shop.client.pk, "cm")
            studio_learnt(shop.instructor)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_the_pages_tell_it(closed_shop: Shop, page: Any) -> None:
    with closed_shop.house.scope():
        for _ in range(2):
            closed_shop.signed_garment()
    clerk = page(closed_shop.house.clerk)
    assert "Always needed so far" in clerk.get(f"/clients/{closed_shop.client.pk}/").content.decode()
    learnt = clerk.get("/learnt/").content.decode()
    assert "From 2 garments" in learnt
    assert "No pattern asks for the same change" in learnt
