"""Histories: what stands, what changed, how a child grew; estimates; the standard figure."""

from datetime import date, datetime
from math import sqrt
from zoneinfo import ZoneInfo

import pytest

from studio.calc.plausibility import estimate
from studio.models import Reading
from studio.platform.errors import NotAllowed, NotHere, Refused
from studio.queries.catalogue import catalogue
from studio.queries.estimates import estimates_of
from studio.queries.history import history_of, measure_history
from studio.queries.measuring import changes_of
from studio.queries.standard_figures import standard_figure_of
from studio.services.clients import record_consent
from studio.services.measuring import correct_reading
from tests.studio.helpers import BASIC, a_client, measured
from tests.studio.trust.helpers import days_ago

GUARDED = {"guardian_name": "Runa Holt", "consent_by": "Runa Holt", "consent_by_guardian": True}


@pytest.fixture
def who(in_house):
    return a_client(in_house.clerk)


def test_each_visit_is_judged_as_it_is_by_itself(in_house, who):
    first = measured(in_house.instructor, who, measured_at=days_ago(30))
    second = measured(
        in_house.instructor, who, {**BASIC, "waist_girth": "81", "hip_girth": "103"}, measured_at=days_ago(20)
    )
    third = measured(in_house.owner, who, {"waist_girth": ("81.4", "81.0")}, measured_at=days_ago(10))
    found = history_of(in_house.owner, who.pk)
    assert found.visits == 3
    for row in (first, second, third):
        # One comparison over all measures of a visit, Holm 1979; the history must say what the visit's own page says.
        expected = {
            change.code: (change.difference, change.threshold, change.words)
            for change in changes_of(in_house.owner, who.pk, row.pk)
        }
        told = {
            code: (occasion.change.difference, occasion.change.threshold, occasion.change.words)
            for code, measure in found.measures.items()
            for occasion in measure.occasions
            if occasion.figure.measuring_id == row.pk and occasion.change
        }
        assert told == expected
    waist = found.measures["waist_girth"]
    assert [occasion.change and occasion.change.words for occasion in waist.occasions] == [
        None,
        "beyond the tape",
        "within the tape",
    ]
    # 95 %: 1.96 standard errors; the default of the waist is 8 mm, the last figure a mean of two takes.
    assert [occasion.half_width for occasion in waist.occasions] == pytest.approx(
        [1.96 * 8, 1.96 * 8, 1.96 * 8 / sqrt(2)]
    )


def test_superseded_readings_stay_in_sight(in_house, who):
    row = measured(in_house.instructor, who, {"waist_girth": "79"}, measured_at=days_ago(2))
    old = Reading.objects.get(measuring=row)
    correct_reading(in_house.instructor, old.pk, typed="97", reason="79 was written for 97")
    _, found = measure_history(in_house.instructor, who.pk, "waist_girth")
    assert [(one.reading.value, one.stands) for one in found.readings] == [(970, True), (790, False)]
    assert found.last.figure.value == 970


def test_a_child_grows_by_her_own_readings(in_house):
    child = a_client(in_house.clerk, "Ida Holt", born=date(2017, 3, 10), **GUARDED)
    for year, height in ((2023, "118"), (2024, "124.2"), (2025, "130")):
        measured(
            in_house.instructor,
            child,
            {"height": height},
            measured_at=datetime(year, 3, 10, 12, tzinfo=ZoneInfo("Europe/London")),
            guardian_present="Runa Holt",
        )
    history, height = measure_history(in_house.instructor, child.pk, "height")
    assert history.growing
    assert [occasion.age for occasion in height.occasions] == ["6 y", "7 y", "8 y"]
    assert height.occasions[0].rate is None
    assert height.occasions[1].rate.per_year == pytest.approx(62 * 365.25 / 366)  # by hand: 62 mm in 366 days
    assert height.occasions[2].rate.per_year == pytest.approx(58 * 365.25 / 365)
    assert height.occasions[2].rate.half_width == pytest.approx(1.96 * 5 * sqrt(2) * 365.25 / 365)


def test_grown_ups_have_no_growth(in_house, who):
    for days in (800, 1):
        measured(in_house.instructor, who, measured_at=days_ago(days))
    found = history_of(in_house.instructor, who.pk)
    assert not found.growing
    assert all(occasion.rate is None for each in found.measures.values() for occasion in each.occasions)


def test_fifty_measurings_of_thirty_readings_cost_as_much_as_one(in_house, who, django_assert_num_queries):
    codes = [code for code, found in catalogue().measures.items() if found.unit == "mm"][:30]
    thirty = {code: f"{sum(catalogue().measures[code].adult) / 2 / 10:.1f}" for code in codes}
    measured(in_house.instructor, who, thirty, measured_at=days_ago(100))
    with django_assert_num_queries(5):
        history_of(in_house.instructor, who.pk)
    for days in range(99, 50, -1):
        measured(in_house.instructor, who, thirty, measured_at=days_ago(days))
    with django_assert_num_queries(5):
        found = history_of(in_house.instructor, who.pk)
    assert found.visits == 50
    assert {len(each.occasions) for each in found.measures.values()} == {50}
    assert len(found.measures) == 30


def test_nobody_elses_history(house, other_house):
    with other_house.scope():
        theirs = a_client(other_house.clerk, "Rosa Lind")
        measured(other_house.instructor, theirs)
    with house.scope():
        mine = a_client(house.clerk)
        for ask in (history_of, estimates_of, standard_figure_of):
            with pytest.raises(NotHere):
                ask(house.owner, theirs.pk)
            with pytest.raises(NotAllowed):
                ask(house.clerk, mine.pk)
        with pytest.raises(NotHere):
            measure_history(house.owner, mine.pk, "waist_girth")
        assert history_of(house.owner, mine.pk).measures == {}


def test_estimates_are_for_what_is_missing_and_are_kept_nowhere(in_house, who):
    measured(in_house.instructor, who)
    before = Reading.objects.count()
    found = estimates_of(in_house.instructor, who.pk)
    codes = {each.measure.code for each in found.missing}
    assert "weight" in codes
    assert "thigh_girth" in codes
    assert not codes & set(BASIC)
    weight = next(each for each in found.missing if each.measure.code == "weight")
    # Heinz et al. 2003: 260 women of mean height 164.9 cm weigh 60.6 kg on average; this body is broader.
    assert 55 < weight.value < 85
    assert weight.low < weight.value < weight.high
    known = {
        "height": 1685, "chest_girth": 880, "waist_girth": 760, "hip_girth": 1025, "upper_arm_girth": 290,
        "wrist_girth": 162,
    }  # fmt: skip
    assert weight.value == pytest.approx(estimate(known, "weight").mean)
    assert Reading.objects.count() == before


def test_estimates_say_why_there_are_none(in_house, who):
    assert "At least 3" in estimates_of(in_house.instructor, who.pk).words
    child = a_client(in_house.clerk, "Ida Holt", born=days_ago(3000).date(), **GUARDED)
    assert "Children" in estimates_of(in_house.instructor, child.pk).words
    measured(
        in_house.instructor,
        who,
        {"waist_girth": "130", "hip_girth": "150", "height": "165", "chest_girth": "130"},
    )
    found = estimates_of(in_house.instructor, who.pk)
    assert found.missing == []
    assert "please tape" in found.words


def test_whoever_withdrew_is_neither_estimated_nor_set_beside_the_paper(in_house, who):
    measured(in_house.instructor, who)
    record_consent(in_house.clerk, who.pk, kind="measure", given=False, given_by=who.name)
    found = estimates_of(in_house.instructor, who.pk)
    assert found.missing == []
    assert "has withdrawn the consent" in found.words
    with pytest.raises(Refused, match="has withdrawn the consent") as refused:
        standard_figure_of(in_house.instructor, who.pk)
    assert set(refused.value.reasons) == {"client"}


def test_the_body_beside_the_nearest_size(in_house, who, django_assert_num_queries):
    measured(in_house.instructor, who)
    with django_assert_num_queries(6):
        found = standard_figure_of(in_house.instructor, who.pk)
    # 94.5-76-102.5 cm is 37.2-29.9-40.4 in: of the published rows 16 (38-30-40) lies nearest.
    assert (found.chart.code, found.size.name) == ("misses_1968", "16")
    words = {part.part: (part.verdict, part.words) for part in found.differences}
    assert (
        words["height"][0] == "as drawn"
    )  # 168.5 cm against 66 in = 167.64 cm: 0.9 cm, the tape's 1.96 * 5 mm
    assert words["torso"] == (
        "differs",
        "The paper's waistline goes up 1.5 cm.",
    )  # 41 cm against 16.75 in = 42.5 cm
    assert words["hip depth"] == ("not taken", "The hip depth has not been taken.")
    assert words["cup"][0] == "as drawn"  # 6.5 cm against 2 in = 5.1 cm, the tape's 1.96 * 9.9 mm
    smaller = standard_figure_of(in_house.instructor, who.pk, size="6")
    torso = smaller.differences[1]
    assert torso.difference == pytest.approx(410 - 15.5 * 25.4)
    assert torso.words == "The paper's waistline goes down 1.6 cm."
    assert smaller.nearest.name == "16"


def test_what_can_not_be_compared_is_refused_in_words(in_house, who):
    for facts, field in (
        ({"chart": "nothing"}, "chart"),
        ({"size": ""}, "size"),
        ({"size": "7"}, "size"),
    ):
        with pytest.raises(Refused) as refused:
            standard_figure_of(in_house.instructor, who.pk, **facts)
        assert set(refused.value.reasons) == {field}
    # Without any figure a size can still be chosen, and every part says that it was not taken.
    found = standard_figure_of(in_house.instructor, who.pk, size="12")
    assert {part.verdict for part in found.differences} == {"not taken"}
