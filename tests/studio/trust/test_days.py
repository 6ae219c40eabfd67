"""Standardisation days, against published ones recorded through the service."""

from datetime import date
from math import sqrt

import pytest
from django.urls import reverse

from studio.models import StandardisationDay, StandardisationReading
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused
from studio.platform.models import AuditEntry
from studio.queries.standard_days import day_grid, day_list, day_result, measurers
from studio.services.trust import DayReading, open_day, record_day_reading, record_day_readings
from tests.studio.trust.helpers import a_measurer

# Ulijaszek & Kerr 1999, British Journal of Nutrition 82:165-177, worked table: 10 people x 4 observers, metres, as
# transcribed in an open R data set that names the paper.
ULIJASZEK_KERR = [
    (0.865, 0.863, 0.863, 0.864), (1.023, 1.023, 1.027, 1.025), (0.982, 0.980, 0.989, 0.985),
    (0.817, 0.816, 0.812, 0.817), (0.901, 0.894, 0.900, 0.903), (0.880, 0.876, 0.881, 0.881),
    (0.948, 0.947, 0.947, 0.946), (0.906, 0.905, 0.907, 0.908), (0.924, 0.924, 0.926, 0.924),
    (0.989, 0.987, 1.002, 0.993),
]  # fmt: skip
# A nutrition-survey standardisation test shipped in an open R package: heights in cm, by the supervisor and by observer
# 1, whose pairs 6 and 7 hold gross slips.
SUPERVISOR = [
    (102.0, 102.3), (94.8, 94.3), (97.2, 97.2), (93.1, 93.2), (99.6, 99.1),
    (98.9, 98.3), (83.5, 83.5), (98.0, 98.0), (95.1, 92.9), (94.7, 94.2),
]  # fmt: skip
OBSERVER = [
    (101.3, 101.8), (94.4, 94.3), (96.5, 96.8), (92.4, 93.0), (99.3, 99.4),
    (98.1, 19.2), (83.9, 14.1), (98.0, 97.8), (94.4, 94.4), (94.4, 93.9),
]  # fmt: skip
PEOPLE = list("ABCDEFGHJK")


def a_day(house, **facts):
    return open_day(
        house.instructor,
        **{
            "name": "Autumn",
            "held_on": date(2026, 10, 3),
            "measures": ["height"],
            "people": PEOPLE,
            "reference_member_id": house.owner.member_id,
            **facts,
        },
    )


def twice(member, table, skip=()):
    return [
        DayReading(person, member.member_id, "height", f"{value} cm", take)
        for person, pair in zip(PEOPLE, table, strict=True)
        if person not in skip
        for take, value in enumerate(pair, start=1)
    ]


@pytest.fixture
def published(house):
    """The day of Ulijaszek & Kerr: owner, instructor and two more, one reading each."""
    members = [
        house.owner,
        house.instructor,
        a_measurer(house, "Greta Moss"),
        a_measurer(house, "Hanna Weld"),
    ]
    with house.scope():
        day = a_day(house)
        record_day_readings(
            house.instructor,
            day.pk,
            readings=[
                DayReading(person, member.member_id, "height", f"{metres * 100:.1f} cm")
                for person, row in zip(PEOPLE, ULIJASZEK_KERR, strict=True)
                for member, metres in zip(members, row, strict=True)
            ],
        )
    return day


def test_the_published_errors_come_back(house, published):
    with house.scope():
        (found,) = day_result(house.instructor, published.pk).measures
    assert (found.columns, found.people, found.set_aside) == (4, 10, [])
    # Published column: the sums over people add to 0.0002815 m2; TEM = sqrt(0.0002815 / (10 * 3)) = 0.0030632 m.
    assert found.between_error == pytest.approx(1000 * sqrt(0.0002815 / 30), rel=1e-6)
    assert found.reliability == pytest.approx(0.99755, abs=5e-6)
    assert found.reliability_people == pytest.approx(0.99773, abs=5e-6)
    assert found.total_error is None  # nobody taped twice


def test_the_page_shows_the_published_error(house, published, page):
    shown = page(house.instructor).get(reverse("studio:standard-day", args=[published.pk])).content.decode()
    assert "0.31 cm" in shown  # 0.0030632 m
    assert "0.99755" in shown
    assert "0.99773" in shown
    assert "4 measurers and 10 volunteers" in shown


def test_the_supervisors_error_and_the_observers_without_her_slips(house, page):
    with house.scope():
        day = a_day(house)
        record_day_readings(house.owner, day.pk, readings=twice(house.owner, SUPERVISOR))
        with pytest.raises(Refused) as refused:
            record_day_readings(house.instructor, day.pk, readings=twice(house.instructor, OBSERVER))
        assert set(refused.value.reasons) == {"readings.11.typed", "readings.13.typed"}
        assert StandardisationReading.objects.filter(member_id=house.instructor.member_id).count() == 0
        honest = twice(house.instructor, OBSERVER, skip="FG")
        record_day_readings(house.instructor, day.pk, readings=honest)
        (found,) = day_result(house.instructor, day.pk).measures
    supervisor, observer = found.measurers
    assert supervisor.reference
    assert supervisor.own_error == pytest.approx(5.5)  # published: 0.5500 cm exactly
    assert observer.own_error == pytest.approx(2.513, abs=1e-3)  # published without the slips: 0.2513 cm
    assert observer.people == 8
    shown = page(house.instructor).get(reverse("studio:standard-day", args=[day.pk])).content.decode()
    assert "0.55 cm" in shown
    assert "0.25 cm" in shown


def test_slips_that_the_tape_is_said_to_have_read_are_set_aside(in_house):
    day = a_day(in_house, people=["A", "B", "C"])
    table = {"A": (1020, 1023), "B": (948, 943), "C": (972, 792)}
    readings = [
        DayReading(person, in_house.owner.member_id, "height", f"{value} mm", take)
        for person, pair in table.items()
        for take, value in enumerate(pair, start=1)
    ]
    with pytest.raises(Refused) as refused:
        record_day_readings(in_house.owner, day.pk, readings=readings)
    assert "Look at it again" in refused.value.reasons["readings.5.typed"]
    record_day_readings(in_house.owner, day.pk, readings=readings, as_read=True)
    (owner,) = day_result(in_house.owner, day.pk).measures[0].measurers
    assert (owner.pairs, owner.set_aside, owner.people) == (2, 1, 2)
    assert owner.own_error == pytest.approx(sqrt((9 + 25) / 4))  # Ulijaszek & Kerr's example by hand: 0.29 cm
    assert owner.own_error == pytest.approx(2.9, abs=0.02)


@pytest.mark.parametrize(
    ("shift", "within"),
    # Heights: the limit is 4 mm (ISO 20685:2010 restated in Zakaria & Gupta, ch. 2, p. 41).
    [(2, True), (5, False)],
)
def test_agreement_is_judged_by_the_mean_of_a_sample(in_house, shift, within):
    day = a_day(in_house)
    spread = [-3, 3, -2, 2, -1, 1, 0, 0, -3, 3]
    for place, (person, delta) in enumerate(zip(PEOPLE, spread, strict=True)):
        base = 1500 + 20 * place
        record_day_reading(
            in_house.owner, day.pk, person=person, member_id=in_house.owner.member_id, measure="height",
            typed=f"{base} mm",
        )  # fmt: skip
        record_day_reading(
            in_house.owner, day.pk, person=person, member_id=in_house.instructor.member_id, measure="height",
            typed=f"{base + shift + delta} mm",
        )  # fmt: skip
    judged = day_result(in_house.owner, day.pk).measures[0].measurers[1]
    sd = sqrt(sum(delta**2 for delta in spread) / 9)
    assert judged.mean_error == pytest.approx(shift)
    assert judged.sd == pytest.approx(sd)
    assert judged.judged.low == pytest.approx(shift - 1.96 * sd / sqrt(10))
    assert judged.judged.high == pytest.approx(shift + 1.96 * sd / sqrt(10))
    assert judged.judged.within is within
    assert judged.words == (
        "agrees with the reference" if within else "tape a few more together with the reference"
    )


def test_what_can_not_be_judged_is_said(in_house):
    day = a_day(in_house, measures=["crown_length", "height"], people=["A", "B"])
    for member in (in_house.owner, in_house.instructor):
        for person in ("A", "B"):
            record_day_reading(
                in_house.owner, day.pk, person=person, member_id=member.member_id, measure="crown_length",
                typed="34 cm",
            )  # fmt: skip
    record_day_reading(
        in_house.owner,
        day.pk,
        person="A",
        member_id=in_house.instructor.member_id,
        measure="height",
        typed="160",
    )
    found = {each.measure.code: each for each in day_result(in_house.owner, day.pk).measures}
    assert found["crown_length"].measurers[1].words == "no limit is published for this measure"
    assert found["crown_length"].reliability is None  # all alike: no spread
    assert found["height"].measurers[0].words == "at least 2 people taped by both are needed"


def test_a_day_is_refused_with_reasons(in_house):
    wrong = {
        "name": ({"name": " "}, "name"),
        "people": ({"people": ["A"]}, "people"),
        "labels": ({"people": ["A", "a"]}, "people"),
        "measure": ({"measures": ["nothing"]}, "measures"),
        "none": ({"measures": []}, "measures"),
        "clerk": ({"reference_member_id": in_house.clerk.member_id}, "reference_member"),
    }
    for facts, field in wrong.values():
        with pytest.raises(Refused) as refused:
            a_day(in_house, **facts)
        assert set(refused.value.reasons) == {field}
    assert not StandardisationDay.objects.exists()
    a_day(in_house)
    with pytest.raises(Conflict, match="choose another"):
        a_day(in_house)


def test_readings_are_refused_with_reasons_and_none_is_kept(in_house):
    day = a_day(in_house, people=["A", "B"])
    owner, clerk = in_house.owner.member_id, in_house.clerk.member_id
    given = [
        (DayReading("Z", owner, "height", "160"), "person"),
        (DayReading("A", clerk, "height", "160"), "member"),
        (DayReading("A", owner, "waist_girth", "76"), "measure"),
        (DayReading("A", owner, "height", "160", 3), "take"),
        (DayReading("A", owner, "height", "sixteen"), "typed"),
        (DayReading("A", owner, "height", "16000 cm"), "typed"),
        (DayReading("B", owner, "height", "160"), None),
        (DayReading("B", owner, "height", "161"), "typed"),  # the same take once more
    ]
    with pytest.raises(Refused) as refused:
        record_day_readings(in_house.owner, day.pk, readings=[reading for reading, _ in given])
    assert set(refused.value.reasons) == {
        f"readings.{number}.{field}" for number, (_, field) in enumerate(given) if field
    }
    assert not StandardisationReading.objects.exists()
    with pytest.raises(Refused, match="Give 1 to"):
        record_day_readings(in_house.owner, day.pk, readings=[])
    with pytest.raises(Refused, match="cm or in"):
        record_day_readings(in_house.owner, day.pk, readings=[given[6][0]], unit="ell")


def test_what_is_kept_is_never_changed(in_house):
    day = a_day(in_house)
    facts = {"person": "A", "member_id": in_house.owner.member_id, "measure": "height"}
    row = record_day_reading(in_house.owner, day.pk, typed="160", **facts)
    with pytest.raises(Refused, match="stands already"):
        record_day_reading(in_house.owner, day.pk, typed="161", **facts)
    row.refresh_from_db()
    assert row.value == 1600
    assert AuditEntry.objects.filter(act="record_day_readings", object_id=day.pk).count() == 1


def test_who_may_and_who_finds_nothing(house, other_house):
    with house.scope():
        day = a_day(house)
        with pytest.raises(NotAllowed):
            open_day(
                house.clerk, name="W", held_on=date(2026, 1, 1), measures=["height"], people=["A", "B"],
                reference_member_id=house.owner.member_id,
            )  # fmt: skip
        for ask in (day_list, measurers):
            with pytest.raises(NotAllowed):
                ask(house.clerk)
    with other_house.scope():
        for ask in (
            lambda: day_result(other_house.owner, day.pk),
            lambda: day_grid(other_house.owner, day.pk, "height"),
            lambda: record_day_reading(
                other_house.owner, day.pk, person="A", member_id=other_house.owner.member_id, measure="height",
                typed="160",
            ),
        ):  # fmt: skip
            with pytest.raises(NotHere):
                ask()
        assert list(day_list(other_house.owner)) == []


def test_the_number_of_queries_is_constant(house, published, django_assert_num_queries):
    with house.scope():
        with django_assert_num_queries(5):
            day_result(house.owner, published.pk)
        with django_assert_num_queries(4):
            day_grid(house.owner, published.pk, "height")
        with django_assert_num_queries(1):
            assert [(day.reference_member.name, day.readings_taken) for day in day_list(house.owner)] == [
                (house.owner.name, 40)
            ]


def test_readings_are_kept_in_a_constant_number_of_queries(in_house, django_assert_num_queries):
    few, many = a_day(in_house), a_day(in_house, name="Winter")
    reading = DayReading("A", in_house.owner.member_id, "height", "160")
    # day, own measures, members, what stands, savepoint, insert, release, act
    with django_assert_num_queries(8):
        record_day_readings(in_house.owner, few.pk, readings=[reading])
    with django_assert_num_queries(8):
        record_day_readings(in_house.owner, many.pk, readings=twice(in_house.owner, SUPERVISOR))
