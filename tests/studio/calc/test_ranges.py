"""The coarsest check of a reading. The ranges used here are common practice, no source."""

from decimal import Decimal

import pytest

from studio.calc.ranges import check_range


@pytest.mark.parametrize("mm", [300, 2000, 970.5, Decimal("971.55")])
def test_a_reading_in_range_passes(mm: float) -> None:
    check_range("waist_girth", mm, 300, 2000, "Waist girth")


@pytest.mark.parametrize(
    ("mm", "unit", "sentence"),
    [
        (
            7900,
            "cm",
            "Waist girth of 790.0 cm is outside what a tape can read on a person (30.0 to 200.0 cm). "
            "Please tape again or check the unit.",
        ),
        (
            Decimal("254"),
            "in",
            "Waist girth of 10 in is outside what a tape can read on a person (11 3/4 to 78 3/4 in). "
            "Please tape again or check the unit.",
        ),
        (
            79,
            "mm",
            "Waist girth of 79 mm is outside what a tape can read on a person (300 to 2000 mm). "
            "Please tape again or check the unit.",
        ),
    ],
)
def test_the_sentence_shows_the_unit_that_was_typed(mm: float, unit: str, sentence: str) -> None:
    with pytest.raises(ValueError, match="outside") as refusal:
        check_range("waist_girth", mm, 300, 2000, "Waist girth", unit=unit)
    assert str(refusal.value) == sentence


def test_a_weight_is_weighed_again() -> None:
    with pytest.raises(ValueError, match="outside") as refusal:
        check_range("weight", 605, 25, 350, "Weight", unit="kg")
    assert str(refusal.value) == (
        "Weight of 605.0 kg is outside what a scale can read on a person (25.0 to 350.0 kg). "
        "Please weigh again or check the unit."
    )


def test_a_reading_that_reads_like_the_limit_is_the_limit() -> None:
    # 78 3/4 in is 2000.25 mm, and 2000 mm is shown as 78 3/4 in.
    check_range("waist_girth", Decimal("2000.25"), 300, 2000, "Waist girth", unit="in")


@pytest.mark.parametrize("mm", [float("nan"), float("inf"), -1])
def test_an_impossible_number_is_refused(mm: float) -> None:
    with pytest.raises(ValueError, match="Waist girth must be a number of zero or more"):
        check_range("waist_girth", mm, 300, 2000, "Waist girth")


def test_an_impossible_range_or_unit_is_refused() -> None:
    with pytest.raises(ValueError, match="range of waist_girth"):
        check_range("waist_girth", 970, 2000, 300, "Waist girth")
    with pytest.raises(ValueError, match="Unknown unit"):
        check_range("waist_girth", 970, 300, 2000, "Waist girth", unit="ell")
