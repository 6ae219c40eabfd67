"""Ease, its verdict, and what a client likes."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from fitting.calc.ease import (
    EaseRule,
    Verdict,
    ease,
    learned_ease,
    negative_ease_percent,
    stretch_needed_percent,
    verdict,
)

INCH = 25.4
# Central Washington University, costume-shop text, ch. 16: wearing ease of a bodice at the bust, 1.5 to 2 in.
BODICE_BUST = EaseRule(1.5 * INCH, 1.75 * INCH, 2 * INCH, "costume-shop text")


def test_published_bust_of_36_in_in_a_bodice_of_38_in():
    # The same text's range; the arithmetic 38 - 36 = 2 in is printed on a sewing page.
    assert ease(38 * INCH, 36 * INCH) == pytest.approx(2 * INCH)
    assert verdict(38 * INCH, 36 * INCH, BODICE_BUST, 5) is Verdict.WITHIN
    assert verdict(38 * INCH, 36 * INCH, BODICE_BUST, 5) == "within"


@pytest.mark.parametrize(
    ("amount", "error", "expected"),
    [
        (37.0, 0.0, "too tight"),
        (37.0, 1.0, "too tight"),
        (37.0, 1.2, "cannot tell"),
        (38.1, 50.0, "within"),
        (50.8, 0.0, "within"),
        (52.0, 1.3, "cannot tell"),
        (52.0, 1.0, "too loose"),
    ],
)
def test_verdict_needs_the_whole_error_outside(amount, error, expected):
    # By the definition: ease + error below low, ease - error above high, otherwise the tape cannot tell.
    assert verdict(900 + amount, 900, BODICE_BUST, error) == expected


def test_the_two_percentages_of_negative_ease_differ():
    # By hand: 900 on 1000 is 10 % smaller than the body, but 900 must grow by 100 / 900.
    assert negative_ease_percent(900, 1000) == pytest.approx(10)
    assert stretch_needed_percent(900, 1000) == pytest.approx(100 / 9)


@given(st.floats(100, 3000), st.floats(100, 3000))
def test_stretching_by_the_percentage_reaches_the_body(finished, body):
    assert finished * (1 + stretch_needed_percent(finished, body) / 100) == pytest.approx(body)
    assert body * (1 - negative_ease_percent(finished, body) / 100) == pytest.approx(finished)


def test_learned_ease_is_the_normal_normal_posterior():
    # Against Bayes' rule integrated numerically: prior times likelihood of each accepted ease.
    accepted, sd = [52.0, 60.0, 57.0], 6.0
    grid = np.linspace(0, 110, 20001)
    weight = stats.norm.pdf(grid, 44.45, 3.175)
    for value in accepted:
        weight = weight * stats.norm.pdf(value, grid, sd)
    whole = integrate.trapezoid(weight, grid)
    mean = integrate.trapezoid(weight * grid, grid) / whole
    spread = math.sqrt(integrate.trapezoid(weight * (grid - mean) ** 2, grid) / whole)
    learned = learned_ease(44.45, 3.175, accepted, sd)
    assert learned.mean == pytest.approx(mean, rel=1e-9)
    assert learned.sd == pytest.approx(spread, rel=1e-9)
    assert learned.n == 3


def test_without_history_the_rule_stands():
    learned = learned_ease(44.45, BODICE_BUST.sd, [], 6)
    # By convention a quarter of the range: (2 - 1.5) in / 4 = 3.175 mm.
    assert (learned.mean, learned.sd, learned.n) == (44.45, pytest.approx(3.175), 0)


@given(st.lists(st.floats(-100, 300), min_size=1, max_size=8), st.floats(0.5, 50), st.floats(0.5, 50))
def test_learning_lies_between_rule_and_history(accepted, rule_sd, accepted_sd):
    learned = learned_ease(50, rule_sd, accepted, accepted_sd)
    seen = math.fsum(accepted) / len(accepted)
    assert min(50, seen) - 1e-9 <= learned.mean <= max(50, seen) + 1e-9
    assert learned.sd < rule_sd


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: ease(math.nan, 900), "Finished measure"),
        (lambda: ease(900, -1), "Body measure"),
        (lambda: ease("900", 900), "Finished measure"),
        (lambda: verdict(900, 900, BODICE_BUST, -1), "Error"),
        (lambda: verdict(900, 900, BODICE_BUST, math.inf), "Error"),
        (lambda: EaseRule(10, 5, 20), "between low and high"),
        (lambda: EaseRule(0, math.nan, 20), "target"),
        (lambda: learned_ease(40, 0, [], 5), "Rule standard deviation"),
        (lambda: learned_ease(40, 5, [math.nan], 5), "Accepted ease"),
        (lambda: learned_ease(40, 5, [42], 0), "Standard deviation"),
    ],
    ids=["nan", "body", "text", "error", "endless", "order", "rule-nan", "sd", "accepted", "accepted-sd"],
)
def test_bad_input_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
