"""What stands, what changed beyond the tape, what one measuring says; always the same number of queries.

Technical errors come from the catalogue (waist girth: 8 mm within, 8 mm between measurers; common practice,
no source). Thresholds below are worked by hand from the variance of a difference, TEM^2 / n_before + TEM^2 /
n_after + 2 between^2, times 1.96 (Ulijaszek & Kerr 1999; see studio/calc/error.py).
"""

import math
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.platform.errors import NotAllowed, NotHere
from studio.queries.catalogue import measure
from studio.queries.clients import consent_states
from studio.queries.measuring import (
    body_of,
    changes_of,
    measuring_get,
    measuring_list,
    reading_get,
    recently_measured,
)
from studio.services.measuring import add_take, correct_reading
from tests.studio.helpers import a_client, measured


def _ago(days):
    return timezone.now() - timedelta(days=days)


def test_the_newest_occasion_of_each_measure_stands(in_house):
    client = a_client(in_house.clerk)
    early = measured(
        in_house.instructor, client, {"waist_girth": "76", "hip_girth": "102"}, measured_at=_ago(30)
    )
    late = measured(in_house.owner, client, {"waist_girth": ("77", "77.4")}, measured_at=_ago(2))
    older = measured(in_house.owner, client, {"waist_girth": "70"}, measured_at=_ago(60))  # written down late
    body = body_of(in_house.instructor, client.pk)
    waist, hip = body["waist_girth"], body["hip_girth"]
    assert list(body) == ["waist_girth", "hip_girth"]
    assert (waist.value, waist.takes, waist.measuring_id) == (Decimal("772.0000"), 2, late.pk)
    assert set(waist.reading_ids) == set(late.readings.values_list("pk", flat=True))
    assert (waist.measured_by, waist.measured_by_id) == (in_house.owner.name, in_house.owner.member_id)
    assert (hip.value, hip.measuring_id, hip.name, hip.unit) == (
        Decimal("1020.0000"),
        early.pk,
        "Hip girth",
        "mm",
    )
    assert older.pk not in {found.measuring_id for found in body.values()}


def test_a_superseded_reading_counts_no_more_and_of_three_takes_the_middle_one_counts(in_house):
    client = a_client(in_house.clerk)
    row = measured(in_house.instructor, client, {"waist_girth": ("67", "76.2")})
    add_take(in_house.instructor, row.pk, measure_code="waist_girth", typed="76.6")
    assert body_of(in_house.instructor, client.pk)["waist_girth"].value == Decimal("762.0000")
    slip = row.readings.get(take=1)
    new = correct_reading(in_house.instructor, slip.pk, typed="76.4", reason="67 was written for 76")
    waist = body_of(in_house.instructor, client.pk)["waist_girth"]
    assert waist.value == Decimal("764.0000")
    assert waist.takes == 3
    assert new.pk in waist.reading_ids
    assert slip.pk not in waist.reading_ids


def test_a_change_is_told_beyond_or_within_the_tape(in_house):
    client = a_client(in_house.clerk)
    measured(in_house.instructor, client, {"waist_girth": "76", "hip_girth": "102"}, measured_at=_ago(30))
    measured(in_house.instructor, client, {"waist_girth": "79.5", "hip_girth": "102.4"}, measured_at=_ago(1))
    waist, hip = changes_of(in_house.instructor, client.pk)
    assert (waist.code, waist.before, waist.after, waist.difference) == ("waist_girth", 760, 795, 35)
    assert (waist.beyond, waist.words, waist.other_measurer) == (True, "beyond the tape", False)
    assert (hip.beyond, hip.words, hip.difference) == (False, "within the tape", 4)


def test_another_measurer_and_repeats_count_in_what_the_tape_explains(in_house):
    client = a_client(in_house.clerk)
    measured(in_house.instructor, client, {"waist_girth": ("76", "76")}, measured_at=_ago(30))
    same = measured(in_house.instructor, client, {"waist_girth": ("77.8", "77.8")}, measured_at=_ago(20))
    other = measured(in_house.owner, client, {"waist_girth": ("79.6", "79.6")}, measured_at=_ago(10))
    error, between = measure("waist_girth").technical_error, measure("waist_girth").between_error
    (mine,) = changes_of(in_house.owner, client.pk, same.pk)
    assert mine.threshold == pytest.approx(
        1.95996 * math.sqrt(error**2 / 2 + error**2 / 2), rel=1e-4
    )  # 15.7 mm
    assert (mine.difference, mine.beyond) == (18, True)
    (hers,) = changes_of(in_house.owner, client.pk, other.pk)
    assert hers.threshold == pytest.approx(
        1.95996 * math.sqrt(error**2 + 2 * between**2), rel=1e-4
    )  # 27.2 mm
    assert (hers.difference, hers.beyond, hers.other_measurer) == (18, False, True)


def test_each_measure_is_set_against_the_last_time_it_was_taken(in_house):
    client = a_client(in_house.clerk)
    measured(in_house.instructor, client, {"waist_girth": "76"}, measured_at=_ago(90))
    measured(in_house.instructor, client, {"hip_girth": "102"}, measured_at=_ago(60))
    third = measured(
        in_house.instructor,
        client,
        {"waist_girth": "77", "hip_girth": "103", "height": "168"},
        measured_at=_ago(30),
    )
    measured(in_house.instructor, client, {"waist_girth": "99"}, measured_at=_ago(10))
    found = {change.code: change for change in changes_of(in_house.owner, client.pk, third.pk)}
    assert set(found) == {"waist_girth", "hip_girth"}
    assert (found["waist_girth"].before, found["hip_girth"].before) == (760, 1020)
    assert (found["waist_girth"].before_at < found["hip_girth"].before_at) is True


def test_a_first_measuring_has_nothing_to_compare_and_nobody_no_body(in_house):
    client = a_client(in_house.clerk)
    assert body_of(in_house.owner, client.pk) == {}
    assert changes_of(in_house.owner, client.pk) == []
    measured(in_house.instructor, client)
    assert changes_of(in_house.owner, client.pk) == []


def test_a_weight_is_compared_in_kilograms(in_house):
    client = a_client(in_house.clerk)
    measured(in_house.instructor, client, {"weight": "60.5"}, measured_at=_ago(30))
    measured(in_house.instructor, client, {"weight": "62,5 kg"}, measured_at=_ago(1))
    (weight,) = changes_of(in_house.owner, client.pk)
    assert (weight.unit, weight.difference, weight.beyond) == ("kg", 2, True)
    assert measure("weight").in_words(weight.after, "in") == "137.8 lb"  # 62.5 / 0.45359237


def test_one_measuring_shows_what_was_said_and_asks_for_a_third_take(in_house):
    client = a_client(in_house.clerk)
    row = measured(in_house.instructor, client, {"waist_girth": ("76", "79"), "hip_girth": ("102", "102.5")})
    first = row.readings.get(measure="hip_girth", take=1)
    second = correct_reading(in_house.instructor, first.pk, typed="102.2", reason="misread")
    third = correct_reading(in_house.owner, second.pk, typed="102.4", reason="misread again")
    taken = measuring_get(in_house.instructor, row.pk)
    waist, hip = taken.measures
    assert [found.measure.code for found in taken.asks_again] == ["waist_girth"]
    assert (waist.apart, waist.next_take) == (Decimal("30.0000"), 3)
    assert waist.allowed == pytest.approx(2.772 * 8, rel=1e-3)  # 2.77 TEM at 95 %
    assert hip.apart is None
    assert hip.takes[0].reading == third
    assert hip.takes[0].replaced == [second, first]
    assert hip.value == Decimal("1024.5000")


def test_a_clerk_reads_no_reading(in_house):
    client = a_client(in_house.clerk)
    row = measured(in_house.instructor, client, {"waist_girth": "76"})
    for ask in (
        lambda: body_of(in_house.clerk, client.pk),
        lambda: changes_of(in_house.clerk, client.pk),
        lambda: measuring_get(in_house.clerk, row.pk),
        lambda: measuring_list(in_house.clerk),
        lambda: recently_measured(in_house.clerk),
        lambda: reading_get(in_house.clerk, row.readings.get().pk),
    ):
        with pytest.raises(NotAllowed, match="A clerk may not read body measurements"):
            ask()


def test_another_studios_body_is_not_here(house, other_house):
    with other_house.scope():
        theirs = a_client(other_house.clerk)
        row = measured(other_house.instructor, theirs, {"waist_girth": "76"})
        reading = row.readings.get()
    with house.scope():
        mine = a_client(house.clerk)
        for ask in (
            lambda: body_of(house.owner, theirs.pk),
            lambda: changes_of(house.owner, theirs.pk),
            lambda: changes_of(house.owner, mine.pk, row.pk),
            lambda: measuring_get(house.owner, row.pk),
            lambda: reading_get(house.owner, reading.pk),
        ):
            with pytest.raises(NotHere):
                ask()
        assert list(measuring_list(house.owner)) == []


def test_the_number_of_queries_does_not_grow_with_the_history(in_house, django_assert_num_queries):
    client = a_client(in_house.clerk)

    def all_of_it():
        body_of(in_house.owner, client.pk)
        changes_of(in_house.owner, client.pk)
        [
            (row.client.name, row.measured_by.name, row.measures_taken)
            for row in measuring_list(in_house.owner)
        ]
        [state.latest.recorded_by.name for state in consent_states(in_house.owner, client.pk) if state.latest]

    for days in (3, 2):
        measured(in_house.instructor, client, measured_at=_ago(days))
    with CaptureQueriesContext(connection) as counted:
        all_of_it()
    for days in range(10, 30):
        measured(in_house.instructor, client, measured_at=_ago(days))
    with django_assert_num_queries(len(counted)):
        all_of_it()
    # Each asks once for the measures of the studio's own.
    with django_assert_num_queries(3):
        body_of(in_house.owner, client.pk)
    # client, newest measuring, own measures, readings, technical errors, errors between measurers
    with django_assert_num_queries(6):
        changes_of(in_house.owner, client.pk)
    row = measured(in_house.instructor, client, measured_at=_ago(1))
    # measuring, own measures, readings, technical errors
    with django_assert_num_queries(4):
        measuring_get(in_house.owner, row.pk)
