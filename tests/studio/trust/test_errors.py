"""The technical error from the studio's own repeats: which pairs count, for whom, and where it is used."""

import random
from math import sqrt

import pytest

from studio.calc.error import technical_error
from studio.calc.repeats import as_first_read, slip_limit
from studio.models import Reading
from studio.platform.errors import NotAllowed, NotHere
from studio.queries.catalogue import catalogue
from studio.queries.choices import known_measures
from studio.queries.measuring import changes_of
from studio.queries.trust import members_repeatability, repeatability_of, technical_errors_for
from studio.services.measuring import add_take, correct_reading
from tests.studio.helpers import a_client, measured
from tests.studio.trust.helpers import a_measurer, days_ago, repeats

# Heights of 10 children taken twice by the supervisor of a published nutrition-survey standardisation test, mm: its
# technical error is 0.55 cm exactly (check values of the same data in tests/studio/calc/test_repeats.py).
SUPERVISOR = [
    (1020, 1023), (948, 943), (972, 972), (931, 932), (996, 991),
    (989, 983), (835, 835), (980, 980), (951, 929), (947, 942),
]  # fmt: skip


@pytest.fixture
def who(in_house):
    return a_client(in_house.clerk, "Runa Holt")


@pytest.fixture
def small(in_house):
    """A child, whose heights those are; the guardian is there."""
    return a_client(
        in_house.clerk,
        "Ida Holt",
        born=days_ago(6 * 365).date(),
        guardian_name="Runa Holt",
        consent_by="Runa Holt",
        consent_by_guardian=True,
    )


def children(actor, client, pairs):
    return [
        measured(
            actor,
            client,
            {"height": tuple(f"{value / 10:.1f}" for value in pair)},
            measured_at=days_ago(100 - number),
            guardian_present="Runa Holt",
        )
        for number, pair in enumerate(pairs)
    ]


def test_the_default_holds_until_there_are_twenty_pairs(in_house, small):
    children(in_house.instructor, small, SUPERVISOR)
    used = technical_errors_for(in_house.owner)["height"]
    assert (used.value, used.pairs, used.own) == (5, 10, False)
    assert "common practice, no source" in used.source
    assert "10 so far" in used.source
    children(in_house.instructor, small, SUPERVISOR)
    used = technical_errors_for(in_house.owner)["height"]
    assert used.value == pytest.approx(5.5)  # the published 0.55 cm
    assert (used.pairs, used.own) == (20, True)
    assert used.source == "the studio's own, from the first two takes of 20 pairs"


def test_a_third_take_changes_nothing(in_house, who):
    (row,) = repeats(in_house.instructor, who, "waist_girth", [(760, 790)])
    before = repeatability_of(in_house.instructor).measures[0].own
    add_take(in_house.instructor, row.pk, measure_code="waist_girth", typed="76.1")
    assert repeatability_of(in_house.instructor).measures[0].own == before
    assert before.error == pytest.approx(30 / sqrt(2))


def test_a_correction_that_brings_two_takes_nearer_does_not_count(in_house, who):
    (row,) = repeats(in_house.instructor, who, "waist_girth", [(760, 790)])
    second = Reading.objects.get(measuring=row, take=2)
    correct_reading(in_house.instructor, second.pk, typed="76.2", reason="taped again")
    (found,) = repeatability_of(in_house.instructor).measures
    assert (found.own.pairs, found.own.error) == (1, pytest.approx(30 / sqrt(2)))


def test_a_correction_that_clears_a_slip_counts_also_when_corrected_twice(in_house, who):
    (row,) = repeats(in_house.instructor, who, "waist_girth", [(760, 670)])
    (found,) = repeatability_of(in_house.instructor).measures
    assert (found.own.pairs, found.own.set_aside, found.own.error) == (0, 1, None)
    second = Reading.objects.get(measuring=row, take=2)
    middle = correct_reading(in_house.instructor, second.pk, typed="77.0", reason="67 was written for 76")
    correct_reading(in_house.owner, middle.pk, typed="76.8", reason="read the label again")
    (found,) = repeatability_of(in_house.instructor).measures
    assert (found.own.pairs, found.own.set_aside) == (1, 0)
    assert found.own.error == pytest.approx(8 / sqrt(2))


def test_each_measurer_has_her_own_and_the_studio_all_of_them(in_house, who):
    repeats(in_house.instructor, who, "waist_girth", [(760, 764)] * 3)
    repeats(in_house.owner, who, "waist_girth", [(760, 776)] * 2, start=300)
    mine = repeatability_of(in_house.instructor).measures[0]
    assert (mine.own.pairs, mine.own.error) == (3, pytest.approx(4 / sqrt(2)))
    assert mine.studio.pairs == 5
    assert mine.studio.error == pytest.approx(technical_error([(760, 764)] * 3 + [(760, 776)] * 2))
    hers = repeatability_of(in_house.owner, in_house.instructor.member_id)
    assert hers.measures[0].own == mine.own
    everybody = {row.name: row for row in members_repeatability(in_house.owner)}
    assert everybody[in_house.owner.name].relative == pytest.approx(16 / sqrt(2) / 8)  # the default is 8 mm
    assert everybody[in_house.instructor.name].pairs == 3


def test_takes_by_two_hands_are_no_pair(in_house, who):
    row = measured(in_house.instructor, who, {"waist_girth": "76"}, measured_at=days_ago(3))
    add_take(in_house.owner, row.pk, measure_code="waist_girth", typed="79")
    assert repeatability_of(in_house.instructor).measures == []
    assert technical_errors_for(in_house.owner)["waist_girth"].pairs == 0


def test_what_to_practise_comes_with_the_furthest_first(in_house, who):
    repeats(in_house.instructor, who, "waist_girth", [(760, 776)] * 5)  # 11.3 of 8
    repeats(in_house.instructor, who, "wrist_girth", [(160, 171)] * 5, start=300)  # 7.8 of 3
    repeats(in_house.instructor, who, "hip_girth", [(1000, 1002)] * 5, start=200)
    repeats(in_house.instructor, who, "neck_girth", [(360, 375)] * 4, start=100)  # too few to say anything
    found = repeatability_of(in_house.instructor)
    assert [row.measure.code for row in found.practise] == ["wrist_girth", "waist_girth"]
    assert all(row.early for row in found.practise)
    assert found.pairs == 19


def test_what_changed_is_judged_by_the_studios_own_error(in_house, who):
    repeats(in_house.instructor, who, "waist_girth", [(760, 762)] * 20)  # TEM 1.41 mm instead of 8
    measured(in_house.instructor, who, {"waist_girth": ("77.0", "77.0")}, measured_at=days_ago(1))
    (change,) = changes_of(in_house.owner, who.pk)
    # 21 pairs, sum d^2 = 80 mm2: TEM = sqrt(80 / 42); for means of two takes 2.77 TEM / sqrt(2) = 1.96 TEM counts.
    # 9 mm is beyond that, and within the 15.7 mm of the default.
    assert change.threshold == pytest.approx(1.96 * sqrt(80 / 42), rel=1e-4)
    assert (change.difference, change.beyond) == (9, True)
    assert change.error_source.startswith("the studio's own")


def test_no_error_is_taken_for_finer_than_a_tape_reads(in_house, who):
    repeats(in_house.instructor, who, "waist_girth", [(760, 760)] * 20)
    assert technical_errors_for(in_house.owner)["waist_girth"].value == 1.0


def test_the_database_counts_pairs_as_the_calculation_says(in_house, who):
    random.seed(20)
    pairs = [(random.randint(700, 800), 0) for _ in range(12)]
    pairs = [(first, first + random.choice([-90, -20, -6, 0, 4, 11, 30, 69])) for first, _ in pairs]
    rows = repeats(in_house.instructor, who, "waist_girth", pairs)
    corrected = {}
    for place in (1, 4, 7, 9):
        second = Reading.objects.get(measuring=rows[place], take=2)
        to = pairs[place][0] + random.choice([-3, 2, 5])
        if to != pairs[place][1]:
            corrected[place] = to
            correct_reading(in_house.instructor, second.pk, typed=f"{to / 10}", reason="a slip")
    limit = slip_limit(catalogue().measures["waist_girth"].technical_error)
    used = [
        (first, as_first_read(second, corrected.get(place), limit))
        for place, (first, second) in enumerate(pairs)
    ]
    honest = [pair for pair in used if abs(pair[0] - pair[1]) <= limit]
    (found,) = repeatability_of(in_house.instructor).measures
    assert (found.own.pairs, found.own.set_aside) == (len(honest), len(used) - len(honest))
    assert found.own.error == pytest.approx(technical_error(honest))


def test_another_studios_repeats_do_not_count(house, other_house):
    with other_house.scope():
        theirs = a_client(other_house.clerk, "Rosa Lind")
        repeats(other_house.instructor, theirs, "waist_girth", [(760, 780)] * 3)
    with house.scope():
        assert technical_errors_for(house.owner)["waist_girth"].pairs == 0
        assert members_repeatability(house.owner) == []
        with pytest.raises(NotHere):
            repeatability_of(house.owner, other_house.instructor.member_id)


def test_who_may_see_whose(in_house):
    with pytest.raises(NotAllowed):
        repeatability_of(in_house.clerk)
    with pytest.raises(NotAllowed):
        repeatability_of(in_house.instructor, in_house.owner.member_id)
    with pytest.raises(NotAllowed):
        members_repeatability(in_house.instructor)
    with pytest.raises(NotAllowed):
        technical_errors_for(in_house.clerk)
    assert repeatability_of(in_house.instructor, in_house.instructor.member_id).measures == []


def test_the_number_of_queries_is_constant(in_house, who, django_assert_num_queries):
    more = a_measurer(in_house, "Greta Moss")
    for actor in (in_house.instructor, in_house.owner, more):
        repeats(actor, who, "waist_girth", [(760, 764)] * 4)
    known = known_measures(in_house.owner)
    with django_assert_num_queries(1):
        technical_errors_for(in_house.owner, known)
    with django_assert_num_queries(3):
        repeatability_of(in_house.instructor)
    with django_assert_num_queries(3):
        assert len(members_repeatability(in_house.owner)) == 3
