"""Standardisation days teach how much measurers differ, and what a change between two of them must exceed."""

from datetime import date
from math import sqrt

import pytest
from django.urls import reverse

from studio.models import StandardisationReading
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused
from studio.queries.between import between_errors_for
from studio.queries.choices import known_measures
from studio.queries.history import measure_history
from studio.queries.measuring import changes_of
from studio.queries.standard_days import day_grid, day_result
from studio.queries.trust import technical_errors_for
from studio.services.trust import DayReading, correct_day_reading, open_day, record_day_readings
from tests.studio.helpers import a_client, measured
from tests.studio.trust.helpers import a_measurer, days_ago
from tests.studio.trust.test_days import PEOPLE, ULIJASZEK_KERR


@pytest.fixture
def hands(house):
    """Four measurers, as in the published table."""
    return [house.owner, house.instructor, a_measurer(house, "Jo Marsh"), a_measurer(house, "Kit Sand")]


def a_day(house, name="Autumn", people=PEOPLE):
    return open_day(
        house.owner,
        name=name,
        held_on=date(2026, 10, 3),
        measures=["height"],
        people=people,
        reference_member_id=house.owner.member_id,
    )


def tapings(hands, people, takes=(1, 2)):
    """The published first takes in metres; the second take the same, so that nobody differs from herself."""
    return [
        DayReading(person, hand.member_id, "height", f"{value * 100:.1f} cm", take)
        for person, row in people
        for hand, value in zip(hands, row, strict=True)
        for take in takes
    ]


def used(house, code="height"):
    known = known_measures(house.owner)
    return between_errors_for(house.owner, known, technical_errors_for(house.owner, known))[code]


def test_the_catalogues_figure_holds_until_there_are_twenty_comparisons(
    house, hands, django_assert_num_queries
):
    rows = list(zip(PEOPLE, ULIJASZEK_KERR, strict=True))
    with house.scope():
        first, second = a_day(house), a_day(house, "Winter")
        record_day_readings(house.owner, first.pk, readings=tapings(hands, rows[:6]))
        early = used(house)
        assert (early.value, early.own, early.comparisons) == (5.0, False, 18)
        assert "until there are 20 comparisons on standardisation days (18 so far)" in early.source
        # Days are pooled like repeats, by degrees of freedom.
        record_day_readings(house.owner, second.pk, readings=tapings(hands, rows[6:]))
        found = used(house)
        # Ulijaszek & Kerr 1999, BJN 82:165-177: the squared deviations add up to 0.0002815 m^2 over 30.
        assert found.value == pytest.approx(sqrt(281.5 / 30), abs=0.001)
        assert (found.own, found.comparisons) == (True, 30)
        known = known_measures(house.owner)
        errors = technical_errors_for(house.owner, known)
        with django_assert_num_queries(1):
            between_errors_for(house.owner, known, errors)


def test_each_ones_own_error_is_taken_out(house, hands):
    with house.scope():
        day = a_day(house)
        readings = [
            DayReading(
                person, hand.member_id, "height", f"{1600 + 6 * number + (4 if take == 2 else 0)} mm", take
            )
            for person in PEOPLE
            for number, hand in enumerate(hands)
            for take in (1, 2)
        ]
        record_day_readings(house.owner, day.pk, readings=readings)
        # By hand: 0, 6, 12, 18 around 9 give 81 + 9 + 9 + 81 = 180 over 3 = 60; pairs 4 apart give 16 / 2 = 8.
        assert used(house).value == pytest.approx(sqrt(60 - 8))


def test_without_second_takes_the_error_that_is_reckoned_with_is_taken_out(house, hands):
    with house.scope():
        day = a_day(house)
        rows = list(zip(PEOPLE, ULIJASZEK_KERR, strict=True))
        record_day_readings(house.owner, day.pk, readings=tapings(hands, rows, takes=(1,)))
        # 281.5 / 30 = 9.4 mm^2 is less than the default's 5^2: not finer than a millimetre is read.
        assert used(house).value == 1.0


def test_a_change_between_two_hands_must_exceed_what_the_days_have_shown(
    house, hands, django_assert_num_queries
):
    with house.scope():
        client = a_client(house.clerk)
        measured(house.owner, client, {"height": "160"}, measured_at=days_ago(400))
        measured(house.instructor, client, {"height": "162.4"}, measured_at=days_ago(1))
        (before,) = changes_of(house.owner, client.pk)
        assert before.threshold == pytest.approx(1.96 * sqrt(2 * 5**2 + 2 * 5**2), abs=0.01)
        assert (before.beyond, before.other_measurer) == (True, True)
        assert "standardisation days (0 so far)" in before.between_source
        day = a_day(house)
        readings = [
            DayReading(person, hand.member_id, "height", f"{1600 + 10 * number} mm", take)
            for person in PEOPLE
            for number, hand in enumerate(hands)
            for take in (1, 2)
        ]
        record_day_readings(house.owner, day.pk, readings=readings)
        with django_assert_num_queries(6):
            (after,) = changes_of(house.owner, client.pk)
        # 15^2 + 5^2 + 5^2 + 15^2 over 3.
        assert after.threshold == pytest.approx(1.96 * sqrt(2 * 5**2 + 2 * 500 / 3), abs=0.01)
        assert after.beyond is False
        assert "the studio's own, from 30 comparisons" in after.between_source
        _, one = measure_history(house.owner, client.pk, "height")
        assert one.last.change == after
        # The same hand again owes nothing to the days.
        measured(house.instructor, client, {"height": "162.4"}, measured_at=days_ago(0))
        (same,) = changes_of(house.owner, client.pk)
        assert (same.between_source, same.threshold) == ("", pytest.approx(1.96 * sqrt(2 * 5**2), abs=0.01))


def test_a_days_reading_is_superseded_with_a_reason_and_both_stay(house, other_house, hands):
    with house.scope():
        day = a_day(house, people=["A", "B"])
        rows = record_day_readings(
            house.owner,
            day.pk,
            readings=[
                DayReading(person, hand.member_id, "height", text, take)
                for person, hand, take, text in (
                    ("A", house.owner, 1, "160"), ("A", house.owner, 2, "160.4"), ("A", house.instructor, 1, "106.2"),
                    ("A", house.instructor, 2, "160.6"),
                    ("B", house.owner, 1, "170"), ("B", house.instructor, 1, "170.2"),
                )
            ],
            as_read=True,
        )  # fmt: skip
        slip, honest = rows[2], rows[1]
        assert day_result(house.owner, day.pk).measures[0].set_aside == ["A"]
        with pytest.raises(Refused) as refused:
            correct_day_reading(house.owner, slip.pk, typed="wide", reason=" ")
        assert set(refused.value.reasons) == {"typed", "reason"}
        new = correct_day_reading(
            house.instructor, slip.pk, typed="160.2", reason="two figures had changed places"
        )
        assert (new.supersedes_id, new.take, new.person) == (slip.pk, 1, "A")
        with pytest.raises(Conflict):
            correct_day_reading(house.owner, slip.pk, typed="160.3", reason="again")
        found = day_result(house.owner, day.pk).measures[0]
        assert found.set_aside == []
        assert found.between_error == pytest.approx(sqrt((2**2 + 2**2) / 4))
        # A reading mended to agree goes on counting as it was first read.
        correct_day_reading(house.owner, honest.pk, typed="160", reason="looked again")
        own = next(each for each in day_result(house.owner, day.pk).measures[0].measurers if each.reference)
        assert own.own_error == pytest.approx(sqrt(4**2 / 2))
        cells = {
            (person, cell.member.pk, cell.take): cell
            for person, row in day_grid(house.owner, day.pk, "height").rows
            for cell in row
        }
        cell = cells["A", house.instructor.member_id, 1]
        assert (cell.reading, cell.replaced) == (new, [slip])
        assert StandardisationReading.objects.filter(day_id=day.pk).count() == 8
        with pytest.raises(NotAllowed):
            correct_day_reading(house.clerk, new.pk, typed="160", reason="x")
    with other_house.scope(), pytest.raises(NotHere):
        correct_day_reading(other_house.owner, new.pk, typed="160", reason="x")


def test_correcting_on_the_page_and_over_the_api(house, other_house, hands, page, api):
    with house.scope():
        day = a_day(house, people=["A", "B"])
        one, two = record_day_readings(
            house.owner,
            day.pk,
            readings=[DayReading(each, house.owner.member_id, "height", "160") for each in "AB"],
        )
    browser = page(house.instructor)
    address = reverse("studio:correct-day-reading", args=[one.pk])
    assert "Volunteer A" in browser.get(address).content.decode()
    again = browser.post(address, {"typed": "161", "reason": ""})
    assert again.status_code == 400
    grid = browser.post(
        address, {"typed": "161", "reason": "wrong end of the board"}, follow=True
    ).content.decode()
    assert "<s " in grid
    assert "wrong end of the board" in grid
    program = api(house.instructor)
    there = reverse("api-standard-day-correct", args=[two.pk])
    made = program.post(there, {"typed": "162 cm", "reason": "misread"}, format="json")
    assert (made.status_code, made.data["supersedes"], made.data["value"]) == (201, str(two.pk), "1620.0000")
    assert program.post(there, {"typed": "163", "reason": "misread"}, format="json").status_code == 409
    assert api(house.clerk).post(there, {"typed": "163", "reason": "x"}, format="json").status_code == 403
    assert (
        api(other_house.owner).post(there, {"typed": "163", "reason": "x"}, format="json").status_code == 404
    )
