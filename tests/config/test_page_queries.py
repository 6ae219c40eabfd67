"""Pages that are opened all day ask the database as often for much as for little."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from fitting.services.garments import open_garment
from fitting.services.plans import make_plan
from tests.conftest import House
from tests.fitting.paper.invented import OLIA, client, measure, skirt
from tests.studio.class_day.invented import a_course, students
from tests.studio.class_day.invented import fill as fill_line


@pytest.fixture
def queries(page: Any) -> Callable[[Any, str], int]:
    """How many queries a member's page asks; opened once before, so that what is kept in memory is there."""

    def count(actor: Any, address: str) -> int:
        browser = page(actor)
        assert browser.get(address).status_code == 200
        with CaptureQueriesContext(connection) as seen:
            assert browser.get(address).status_code == 200
        return len(seen)

    return count


def a_customer(house: House, name: str, garments: int) -> Any:
    who = client(house.instructor, name)
    for number in range(garments):
        measure(house.instructor, who, OLIA, at=timezone.now() - timedelta(days=3 * number + 1))
        open_garment(house.clerk, client_id=who.pk, kind="skirt", words=f"plum skirt {number}")
    return who


def test_a_client_with_much_history(house, queries):
    with house.scope():
        little, much = a_customer(house, "Olia Moreira", 2), a_customer(house, "Tova Brandal", 7)
    counts = [queries(house.instructor, reverse("studio:client", args=[who.pk])) for who in (little, much)]
    assert counts[0] == counts[1]


def test_a_class_of_thirteen(house, queries):
    with house.scope():
        small = a_course(house)
        large = a_course(house, tuple(f"Student {number}" for number in range(13)), name="A large one")
        for course in (small, large):
            for who in students(course):
                fill_line(house.instructor, course, who, {"waist_girth": "76", "hip_girth": "102"})
    counts = [
        queries(house.instructor, reverse("studio:class-day", args=[course.pk])) for course in (small, large)
    ]
    assert counts[0] == counts[1]


def test_a_plan_beside_many_others(house, queries):
    with house.scope():
        who, paper = client(house.instructor), skirt(house.instructor)
        measure(house.instructor, who, OLIA, takes=2)
        # With the second a plan has a newer one beside it, which is named: one query more, however many follow.
        plans = [make_plan(house.instructor, client_id=who.pk, pattern_id=paper.pk) for _ in range(2)]
    address = reverse("fitting:plan", args=[plans[0].pk])
    before = queries(house.instructor, address)
    with house.scope():
        for _ in range(4):
            make_plan(house.instructor, client_id=who.pk, pattern_id=paper.pk)
        a_customer(house, "Tova Brandal", 5)
    assert queries(house.instructor, address) == before


def test_past_fits_of_many(house, queries):
    address = reverse("fitting:past-fits") + "?words=plum+skirt"
    with house.scope():
        a_customer(house, "Olia Moreira", 2)
    before = queries(house.clerk, address)
    with house.scope():
        for number in range(8):
            a_customer(house, f"Tova Brandal {number}", 3)
    assert queries(house.clerk, address) == before
