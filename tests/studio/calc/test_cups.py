"""Bra sizes by EN 13402-3 and pattern cups (tests/reference/anthropometry.json names each source)."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from studio.calc.cups import BraSize, bra_size, pattern_cup

PUBLISHED: dict[str, Any] = json.loads(
    (Path(__file__).parents[2] / "reference" / "anthropometry.json").read_text(encoding="utf-8")
)
BRA = PUBLISHED["bra_size"]
PAPER = PUBLISHED["pattern_cup"]


def test_the_published_example() -> None:
    # EN 13402-3, restated: underbust 87, bust 107, the upper end is inclusive.
    example = BRA["example"]
    found = bra_size(example["underbust"] * 10, example["bust"] * 10)
    assert str(found) == example["size"]
    assert found == BraSize(band=85, cup="D")


@pytest.mark.parametrize(("cup", "ends"), BRA["cups"].items(), ids=list(BRA["cups"]))
def test_each_cup_begins_above_its_low_end_and_holds_its_high_end(cup: str, ends: list[int]) -> None:
    low, high = (10 * end for end in ends)
    assert bra_size(850, 850 + high).cup == cup
    assert bra_size(850, Decimal(850 + low) + Decimal("0.1")).cup == cup
    assert bra_size(850.1, 850.1 + high).cup == cup


@pytest.mark.parametrize(("band", "ends"), BRA["bands"].items(), ids=list(BRA["bands"]))
def test_each_band_holds_its_published_girths(band: str, ends: list[int]) -> None:
    for underbust in range(ends[0], ends[1] + 1):
        assert bra_size(underbust * 10, underbust * 10 + 150).band == int(band)


def test_a_girth_between_two_bands_goes_up() -> None:
    assert bra_size(875, 1000).band == 90
    assert bra_size(874.9, 1000).band == 85


@pytest.mark.parametrize(
    ("underbust", "bust", "reason"),
    [
        (850, 950, "from more than 100 to 280"),
        (850, 1131, "from more than 100 to 280"),
        (850, 800, "from more than 100 to 280"),
        (570, 720, "from 60 to 135"),
        (1380, 1530, "from 60 to 135"),
        (0, 950, "underbust girth must be a length above 0"),
        (850, float("nan"), "bust girth must be"),
        (850, float("inf"), "bust girth must be"),
        (-850, 950, "underbust girth must be"),
    ],
)
def test_what_the_table_does_not_hold_is_refused(underbust: float, bust: float, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        bra_size(underbust, bust)


@pytest.mark.parametrize(("letter", "inches"), PAPER["points"].items(), ids=list(PAPER["points"]))
def test_pattern_letters_by_points(letter: str, inches: int) -> None:
    assert pattern_cup(900, 900 + inches * 25.4) == letter
    # The nearest point counts, ties up (common practice, no source).
    assert pattern_cup(900, 900 + (inches - 0.5) * 25.4) == letter
    assert pattern_cup(900, 900 + (inches + 0.49) * 25.4) == letter


@pytest.mark.parametrize(("letter", "ends"), PAPER["ranges"].items(), ids=list(PAPER["ranges"]))
def test_pattern_letters_by_ranges(letter: str, ends: list[int]) -> None:
    assert pattern_cup(900, 900 + ends[1] * 25.4, rule="ranges") == letter
    assert pattern_cup(900, 900 + (ends[0] + 0.01) * 25.4, rule="ranges") == letter


def test_the_base_figure_of_paper_is_a_b_by_both_rules() -> None:
    base = PAPER["base"]
    for rule in ("points", "ranges"):
        assert pattern_cup(860, 860 + 10 * base["difference_cm"], rule) == base["letter"]


def test_the_rules_differ_between_the_points() -> None:
    assert pattern_cup(900, 932) == "A"
    assert pattern_cup(900, 932, rule="ranges") == "B"
    assert pattern_cup(900, 900, rule="ranges") == "A"


@pytest.mark.parametrize(
    ("high_bust", "full_bust", "rule", "reason"),
    [
        (900, 895, "points", "smaller than the high bust"),
        (900, 905, "points", "no letter"),
        (900, 1070, "points", "no letter"),
        (900, 1053, "ranges", "no letter"),
        (900, 950, "guess", "'points' or 'ranges'"),
        (0, 950, "points", "high bust girth must be"),
        (900, float("nan"), "points", "full bust girth must be"),
    ],
)
def test_a_bust_without_a_letter_is_refused(
    high_bust: float, full_bust: float, rule: str, reason: str
) -> None:
    with pytest.raises(ValueError, match=reason):
        pattern_cup(high_bust, full_bust, rule)
