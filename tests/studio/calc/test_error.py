"""The error of the tape, against published figures (tests/reference/anthropometry.json names each source)."""

import json
import math
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.calc.error import (
    agreement,
    changed,
    needs_third_reading,
    relative_technical_error,
    reliability,
    smallest_real_change,
    technical_error,
    total_technical_error,
)

PUBLISHED: dict[str, Any] = json.loads(
    (Path(__file__).parents[2] / "reference" / "anthropometry.json").read_text(encoding="utf-8")
)
FOUR_OBSERVERS = PUBLISHED["technical_error_four_observers"]
SUPERVISOR = PUBLISHED["standardisation_supervisor"]
OBSERVER = PUBLISHED["standardisation_observer_1"]


def test_technical_error_of_four_observers() -> None:
    # Ulijaszek & Kerr 1999: the scatter 0.0002815 m^2 over N (K - 1) = 10 * 3.
    found = technical_error(FOUR_OBSERVERS["readings"])
    assert found == pytest.approx(math.sqrt(FOUR_OBSERVERS["scatter"] / 30), rel=1e-4)
    assert 30 * found**2 == pytest.approx(FOUR_OBSERVERS["scatter"], abs=5e-8)


def test_reliability_differs_with_the_spread_that_is_used() -> None:
    # Ulijaszek & Kerr 1999: 0.99755 by all 40 readings, 0.99773 by the 10 personal means.
    readings = FOUR_OBSERVERS["readings"]
    assert reliability(readings) == pytest.approx(FOUR_OBSERVERS["reliability_readings"], abs=5e-6)
    assert reliability(readings, spread="people") == pytest.approx(
        FOUR_OBSERVERS["reliability_people"], abs=5e-6
    )


def test_two_columns_give_dahlberg() -> None:
    # Ulijaszek & Kerr 1999, observers 1 and 2: sum d^2 = 0.000080, TEM = 0.002000 m.
    pair = [row[:2] for row in FOUR_OBSERVERS["readings"]]
    assert technical_error(pair) == pytest.approx(FOUR_OBSERVERS["pair_1_2_technical_error"], abs=1e-9)


def test_technical_error_of_the_standardisation_test() -> None:
    readings = SUPERVISOR["readings"]
    assert sum((a - b) ** 2 for a, b in readings) == pytest.approx(SUPERVISOR["sum_of_squares"])
    assert technical_error(readings) == pytest.approx(SUPERVISOR["technical_error"], abs=1e-9)
    # 0.55 of a mean of 1909.9 / 20 = 95.495 cm, by hand.
    assert relative_technical_error(readings) == pytest.approx(0.57595, abs=5e-6)


def test_two_slips_outweigh_eight_honest_pairs() -> None:
    readings = OBSERVER["readings"]
    honest = [row for number, row in enumerate(readings, start=1) if number not in OBSERVER["slips"]]
    assert technical_error(readings) == pytest.approx(OBSERVER["technical_error_with_slips"], abs=5e-5)
    assert technical_error(honest) == pytest.approx(OBSERVER["technical_error"], abs=1e-4)
    # By hand: the eight honest pairs have sum d^2 = 1.01.
    assert technical_error(honest) == pytest.approx(math.sqrt(1.01 / 16), abs=1e-9)


readings_in_mm = st.lists(
    st.tuples(st.integers(1, 2000), st.integers(1, 2000), st.integers(1, 2000)), min_size=1, max_size=8
)


@given(readings_in_mm)
def test_the_mean_form_equals_the_published_sums(rows: list[tuple[int, int, int]]) -> None:
    # The published form, in exact whole numbers.
    scatter = sum(3 * sum(m * m for m in row) - sum(row) ** 2 for row in rows) / 3
    assert technical_error(rows) == pytest.approx(math.sqrt(scatter / (2 * len(rows))), rel=1e-9, abs=1e-9)


def test_large_alike_readings_keep_their_figures() -> None:
    assert technical_error([[1e9, 1e9 + 2]]) == pytest.approx(math.sqrt(2))


@pytest.mark.parametrize(
    ("readings", "reason"),
    [
        ([], "at least one person"),
        ([[970]], "at least 2 are needed"),
        ([[970, 972], [800, 801, 802]], "Person 2 has 3 readings"),
        ([[970, float("nan")]], "reading 2 of person 1 must be a finite number"),
        ([[970, float("inf")]], "finite"),
        ([[970, -1]], "cannot be negative"),
        ([[970, "tape"]], "must be a number"),
        ([[970, None]], "must be a number"),
    ],
)
def test_impossible_readings_are_refused(readings: list[list[float]], reason: str) -> None:
    for figure in (technical_error, relative_technical_error, reliability):
        with pytest.raises(ValueError, match=reason):
            figure(readings)


def test_figures_without_meaning_are_refused() -> None:
    with pytest.raises(ValueError, match="'readings' or 'people'"):
        reliability(SUPERVISOR["readings"], spread="clients")
    with pytest.raises(ValueError, match="at least 2 people"):
        reliability([[970, 972]])
    with pytest.raises(ValueError, match="no spread"):
        reliability([[970, 970], [970, 970]])
    with pytest.raises(ValueError, match="mean of the readings is 0"):
        relative_technical_error([[0, 0]])


def test_total_error_joins_own_and_between() -> None:
    # Ulijaszek & Kerr 1999, sqrt(mean(intra^2) + inter^2); 3-4-5 by hand.
    assert total_technical_error([3, 3], 4) == pytest.approx(5)
    assert total_technical_error([1, 7], 0) == pytest.approx(5)
    with pytest.raises(ValueError, match="at least one"):
        total_technical_error([], 4)
    with pytest.raises(ValueError, match="negative"):
        total_technical_error([3], -4)


def test_smallest_real_change() -> None:
    # 1.959964 * sqrt(2) = 2.771808 (normal tables); the customary 2.77.
    assert smallest_real_change(1) == pytest.approx(2.7718, abs=5e-5)
    assert smallest_real_change(5, repeats=4) == pytest.approx(2.7718 * 5 / 2, abs=5e-4)
    # 1.644854 for 90 %.
    assert smallest_real_change(1, confidence=0.90) == pytest.approx(2.3262, abs=5e-5)


@pytest.mark.parametrize("confidence", [0, 1, -0.5, 95, float("nan")])
def test_confidence_is_a_share(confidence: float) -> None:
    with pytest.raises(ValueError, match="confidence"):
        smallest_real_change(5, confidence=confidence)


@pytest.mark.parametrize("repeats", [0, -1, 1.5])
def test_repeats_are_counted(repeats: int) -> None:
    with pytest.raises(ValueError, match="repeats"):
        smallest_real_change(5, repeats=repeats)


def test_a_third_reading_is_asked_for_beyond_2_77_errors() -> None:
    assert not needs_third_reading(970, 970 + 2.77 * 5, 5)
    assert needs_third_reading(970, 970 + 2.78 * 5, 5)
    assert needs_third_reading(970, 790, 5)


def test_one_measure_is_judged_by_the_smallest_real_change() -> None:
    (inside,) = changed({"waist_girth": 800}, {"waist_girth": 813.8}, {"waist_girth": 5})
    (outside,) = changed({"waist_girth": 800}, {"waist_girth": 786.1}, {"waist_girth": 5})
    assert inside.threshold == pytest.approx(smallest_real_change(5))
    assert (inside.beyond, inside.words) == (False, "within the tape")
    assert (outside.beyond, outside.words) == (True, "beyond the tape")
    assert outside.difference == pytest.approx(-13.9)


def test_holm_by_hand() -> None:
    # Differences of 3, 2.3 and 2 standard deviations (TEM / sqrt 2 makes the deviation 1): two-sided p by
    # normal tables 0.0027, 0.0214, 0.0455; Holm 1979: times 3, 2, 1 = 0.0081, 0.0429, 0.0455, all below 0.05.
    unit = {code: math.sqrt(0.5) for code in ("hip_girth", "waist_girth", "bust_girth")}
    before = dict.fromkeys(unit, 900.0)
    after = {"hip_girth": 902.0, "waist_girth": 897.0, "bust_girth": 902.3}
    hip, waist, bust = changed(before, after, unit)
    assert (hip.code, waist.code, bust.code) == tuple(before)
    assert [round(each.p_value, 4) for each in (waist, bust, hip)] == [0.0081, 0.0429, 0.0455]
    assert hip.beyond
    assert waist.beyond
    assert bust.beyond


def test_holm_stops_at_the_first_that_fails() -> None:
    # 2.2 and 2.1 standard deviations, p 0.0278 and 0.0357: the first fails 0.05 / 2, so the second may not
    # pass 0.05 / 1 although it would alone.
    unit = {"hip_girth": math.sqrt(0.5), "waist_girth": math.sqrt(0.5)}
    hip, waist = changed(dict.fromkeys(unit, 900), {"hip_girth": 902.2, "waist_girth": 902.1}, unit)
    assert not hip.beyond
    assert not waist.beyond
    assert waist.threshold > 2.2


@given(st.lists(st.floats(0, 6), min_size=1, max_size=6), st.sampled_from([0.8, 0.95, 0.99]))
def test_holm_is_the_closure_of_bonferroni(differences: list[float], confidence: float) -> None:
    # Holm 1979 equals closed testing: a measure counts if, in every group of measures that holds it, the
    # smallest p is at most alpha over the size of the group.
    codes = [f"m{number}" for number in range(len(differences))]
    tem = dict.fromkeys(codes, math.sqrt(0.5))
    before = dict.fromkeys(codes, 0.0)
    found = changed(before, dict(zip(codes, differences, strict=True)), tem, confidence)
    p = {code: math.erfc(d / math.sqrt(2)) for code, d in zip(codes, differences, strict=True)}
    groups = [set(group) for size in range(1, len(codes) + 1) for group in combinations(codes, size)]
    for change in found:
        its_groups = [group for group in groups if change.code in group]
        expected = all(
            min(p[code] for code in group) <= (1 - confidence) / len(group) for group in its_groups
        )
        assert change.beyond == expected
        # What is shown never contradicts itself.
        assert change.beyond == (change.p_value <= 1 - confidence) or math.isclose(
            change.p_value, 1 - confidence
        )
        if not math.isclose(abs(change.difference), change.threshold, rel_tol=1e-9):
            assert change.beyond == (abs(change.difference) > change.threshold)


def test_thirty_unchanged_measures_rarely_report_a_change() -> None:
    # One measure at 2.5 standard deviations among 30: alone it would count (2.5 > 1.96), among them not.
    codes = [f"m{number}" for number in range(30)]
    tem = dict.fromkeys(codes, math.sqrt(0.5))
    after = {**dict.fromkeys(codes, 900.0), "m7": 902.5}
    assert not any(change.beyond for change in changed(dict.fromkeys(codes, 900.0), after, tem))
    assert changed({"m7": 900}, {"m7": 902.5}, tem)[0].beyond


def test_repeats_narrow_and_another_measurer_widens() -> None:
    def threshold(**more: Any) -> float:
        return changed({"hip_girth": 900}, {"hip_girth": 910}, {"hip_girth": 6}, **more)[0].threshold

    z = 1.959964
    assert threshold() == pytest.approx(z * 6 * math.sqrt(2), rel=1e-6)
    assert threshold(repeats={"hip_girth": 2}) == pytest.approx(z * 6, rel=1e-6)
    assert threshold(repeats={"hip_girth": (1, 3)}) == pytest.approx(z * 6 * math.sqrt(4 / 3), rel=1e-6)
    # 2 * (6^2 + 8^2) = 2 * 10^2; the error between measurers stays whole however often each repeats.
    assert threshold(between_errors={"hip_girth": 8}) == pytest.approx(z * 10 * math.sqrt(2), rel=1e-6)
    often = threshold(between_errors={"hip_girth": 8}, repeats={"hip_girth": 10**6})
    assert often == pytest.approx(z * 8 * math.sqrt(2), rel=1e-4)


def test_only_what_was_taken_twice_is_compared() -> None:
    found = changed(
        {"hip_girth": 900, "waist_girth": 700}, {"waist_girth": 705, "height": 1650}, {"waist_girth": 5}
    )
    assert [change.code for change in found] == ["waist_girth"]


@pytest.mark.parametrize(
    ("before", "after", "errors", "more", "reason"),
    [
        ({}, {}, {}, {}, "Nothing to compare"),
        ({"hip_girth": 900}, {"waist_girth": 700}, {}, {}, "Nothing to compare"),
        ({"hip_girth": 900}, {"hip_girth": 905}, {}, {}, "technical error of hip_girth is missing"),
        ({"hip_girth": 900}, {"hip_girth": 905}, {"hip_girth": 0}, {}, "hip_girth is 0"),
        ({"hip_girth": 900}, {"hip_girth": 905}, {"hip_girth": -1}, {}, "hip_girth cannot be negative"),
        ({"hip_girth": 900}, {"hip_girth": float("nan")}, {"hip_girth": 5}, {}, "hip_girth must be a finite"),
        (
            {"hip_girth": 900},
            {"hip_girth": 905},
            {"hip_girth": 5},
            {"repeats": {"hip_girth": 0}},
            "repeats of hip_girth",
        ),
        (
            {"hip_girth": 900},
            {"hip_girth": 905},
            {"hip_girth": 5},
            {"between_errors": {"hip_girth": -1}},
            "negative",
        ),
        ({"hip_girth": 900}, {"hip_girth": 905}, {"hip_girth": 5}, {"confidence": 95}, "between 0 and 1"),
    ],
)
def test_an_impossible_comparison_is_refused(
    before: dict[str, float],
    after: dict[str, float],
    errors: dict[str, float],
    more: dict[str, Any],
    reason: str,
) -> None:
    with pytest.raises(ValueError, match=reason):
        changed(before, after, errors, **more)


@pytest.mark.parametrize("example", PUBLISHED["agreement"]["examples"], ids=["large girth", "height"])
def test_agreement_by_iso_20685(example: dict[str, Any]) -> None:
    found = agreement(example["mean_error"], example["sd"], example["n"], example["limit"])
    assert (found.low, found.high) == pytest.approx((example["low"], example["high"]), abs=5e-4)
    assert found.within is example["within"]


def test_agreement_fails_where_the_interval_crosses_the_limit() -> None:
    # By the same rule: the mean lies inside 9 mm, its interval 6.52 .. 11.48 does not (either sign).
    assert not agreement(9 - 0.001, 8, 40, 9).within
    assert not agreement(-(9 - 0.001), 8, 40, 9).within
    assert not agreement(9, 0, 2, 9).within


@pytest.mark.parametrize(
    ("arguments", "reason"),
    [
        ((1, 2, 1, 9), "at least 2"),
        ((1, -2, 40, 9), "negative"),
        ((1, 2, 40, 0), "above 0"),
        ((float("nan"), 2, 40, 9), "finite"),
    ],
)
def test_impossible_agreement_is_refused(arguments: tuple[float, float, int, float], reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        agreement(*arguments)
