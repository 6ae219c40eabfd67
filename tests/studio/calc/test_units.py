"""Reading and writing lengths and weights.

Inch and pound: international yard and pound agreement of 1959, 25.4 mm and 0.45359237 kg exactly.
Which texts are accepted and which are ambiguous: common practice, no source.
"""

import math
from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.calc.units import (
    format_change,
    format_difference,
    format_length,
    format_weight,
    parse_length,
    parse_weight,
)


@pytest.mark.parametrize(
    ("text", "default_unit", "mm"),
    [
        ("97", "cm", "970"),
        ("97", "mm", "97"),
        ("97.5", "cm", "975"),
        ("97,5 cm", "in", "975"),
        ("97CM", "in", "970"),
        ("970 mm", "in", "970"),
        ("1.68 m", "cm", "1680"),
        ("38 1/4", "in", "971.55"),
        ('38 1/4"', "cm", "971.55"),
        ('38-1/4"', "cm", "971.55"),
        ("38¼ in", "cm", "971.55"),
        ("38 1\u20444 in", "cm", "971.55"),
        ("38\u00a0½ inches", "cm", "977.9"),
        ("38''", "cm", "965.2"),
        ("38.125 in", "cm", "968.375"),
        ("1/16 in", "cm", "1.5875"),
        ("¼", "in", "6.35"),
        ("97½", "cm", "975"),
        ("3' 2\"", "cm", "965.2"),
        ("3'2", "cm", "965.2"),
        ("3′ 2½″", "cm", "977.9"),
        ("5 ft 6 1/2 in", "cm", "1689.1"),
        ("5 feet", "cm", "1524"),
        ("  97 ", "cm", "970"),
        ("0", "cm", "0"),
    ],
)
def test_a_length_is_read_as_people_type_it(text: str, default_unit: str, mm: str) -> None:
    assert parse_length(text, default_unit) == Decimal(mm)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("1,234", "two ways"),
        ("1,680 mm", "two ways"),
        ("1.680 mm", "two ways"),
        ("5.5 ft", "two ways"),
        ("38 5", "more than one number"),
        ("97 98", "more than one number"),
        ("5-6", "more than one number"),
        ("1 680 mm", "more than one number"),
        ("38½¼", "more than one number"),
        ("97 cm in", "more than one unit"),
        ("97 cm 5 mm", "more than one unit"),
        ("3' 2 cm", "two units"),
        ("3' 14\"", "12 or more inches"),
        ("3' 12\"", "12 or more inches"),
        ("6' 5 ft", "whole feet first"),
        ("97 kg", "unknown unit"),
        ("97 elbows", "unknown unit"),
        ("1e3", "unknown unit"),
        ("38.5 1/4 in", "both decimals and a fraction"),
        ("38 1/3 in", "unknown fraction"),
        ("1/0", "unknown fraction"),
        ("38 5/4 in", "not below one"),
        ("381/4", "not below one"),
        ("nan", "not a length"),
        ("-inf", "not a length"),
        ("Infinity", "not a length"),
        ("-5", "negative"),
        ("\u22125", "negative"),
        ("", "No length"),
        (" \t\n", "No length"),
        ("9" * 41, "too long"),
        ("9" * 40, "too large"),
        ("100000 cm", "too large"),
        ("97.", "could not be read"),
        (".5", "could not be read"),
        ("1.2.3", "could not be read"),
        ("1,234.5", "could not be read"),
        ("+5", "could not be read"),
        ("1/4/4", "could not be read"),
        ("cm 97", "a number comes first"),
        ("cm", "a number comes first"),
        ("97.123456 cm", "more decimals"),
        ("９７", "does not belong"),
        ("٩٧", "does not belong"),
        ("9²", "does not belong"),
        ("97\x00", "does not belong"),
        ("97; drop", "does not belong"),
    ],
)
def test_a_doubtful_length_is_refused_in_a_sentence(text: str, reason: str) -> None:
    with pytest.raises(ValueError, match=reason) as refusal:
        parse_length(text, "cm")
    sentence = str(refusal.value)
    assert sentence.endswith(".")
    assert sentence.isprintable()
    assert len(sentence) < 250


def test_only_known_units_and_texts_are_taken() -> None:
    with pytest.raises(ValueError, match="use one of cm, in, mm"):
        parse_length("97", "ell")
    with pytest.raises(ValueError, match="read from text"):
        parse_length(97, "cm")  # type: ignore[arg-type]


def test_every_sixteenth_of_an_inch_is_exact_whatever_the_caller_s_precision() -> None:
    with localcontext() as context:
        context.prec = 3
        one = parse_length("99 1/16", "in")
        odd = parse_length("99 15/16", "in")
    assert one == Decimal("2516.1875")  # 99 * 25.4 + 1.5875
    assert odd == Decimal("2538.4125")
    assert odd.as_tuple().exponent == -4


@given(st.text(max_size=60), st.sampled_from(["cm", "in", "mm"]))
def test_any_text_gives_a_storable_length_or_a_sentence(text: str, unit: str) -> None:
    try:
        mm = parse_length(text, unit)
    except ValueError as refusal:
        sentence = str(refusal)
    else:
        assert 0 <= mm < 10**6
        assert mm.as_tuple().exponent == -4
        sentence = "."
    assert sentence.endswith(".")
    assert sentence.isprintable()


typed = st.text(alphabet="0123456789.,/'\" -¼½cmintfk", min_size=1, max_size=12)


@given(typed, st.sampled_from(["cm", "in", "mm"]))
def test_what_is_read_is_read_the_same_with_its_unit_written_out(text: str, unit: str) -> None:
    try:
        bare = parse_length(text, unit)
        written = parse_length(f"{text} {unit}", "mm" if unit != "mm" else "cm")
    except ValueError:
        return
    assert bare == written


@given(st.integers(0, 99_999))
def test_centimetres_come_back_as_written(tenths: int) -> None:
    mm = Decimal(tenths)
    text = format_length(mm, "cm")
    assert text == f"{tenths // 10}.{tenths % 10} cm"
    assert parse_length(text, "in") == mm


@given(st.integers(0, 30_000), st.sampled_from([1, 2, 4, 8, 16]))
def test_inches_come_back_as_written(parts: int, denominator: int) -> None:
    mm = Decimal(parts) * Decimal("25.4") / denominator
    text = format_length(mm, "in", Fraction(1, denominator))
    assert parse_length(text, "mm") == mm
    assert format_length(parse_length(text, "cm"), "in", Fraction(1, 16)) == text


@given(st.decimals(0, 9999, places=4), st.sampled_from([("cm", "0.1"), ("in", "0.125"), ("mm", "1")]))
def test_writing_moves_a_length_by_half_a_step_at_most(mm: Decimal, unit_and_step: tuple[str, str]) -> None:
    unit, step = unit_and_step
    per_unit = {"cm": Decimal(10), "in": Decimal("25.4"), "mm": Decimal(1)}[unit]
    back = parse_length(format_length(mm, unit), unit)
    assert abs(back - mm) <= Decimal(step) * per_unit / 2


@pytest.mark.parametrize(
    ("mm", "unit", "step", "text"),
    [
        (971.55, "in", None, "38 1/4 in"),
        (Decimal("1066.75"), "in", None, "42 in"),  # 41.998 in goes up to the whole inch
        (2.0, "in", None, "1/8 in"),
        (1.5, "in", None, "0 in"),
        (965.2, "in", None, "38 in"),
        (Decimal("966.7875"), "in", Fraction(1, 16), "38 1/16 in"),
        (971.55, "in", 1, "38 in"),
        (999.6, "cm", None, "100.0 cm"),
        (0.5, "cm", None, "0.1 cm"),  # halves go up
        (0.49, "cm", None, "0.0 cm"),
        (972, "cm", 0.5, "97.0 cm"),
        (975, "cm", 1, "98 cm"),
        (972, "cm", Decimal("0.25"), "97.25 cm"),
        (971.5, "mm", None, "972 mm"),
        (971.55, "mm", 0.1, "971.6 mm"),
    ],
)
def test_a_length_is_written_to_the_nearest_step(mm: float, unit: str, step: float | None, text: str) -> None:
    assert format_length(mm, unit, step) == text


@pytest.mark.parametrize(
    ("mm", "unit", "text"),
    [
        (15, "cm", "+1.5 cm"),
        (-15, "cm", "−1.5 cm"),
        (-9.5, "in", "−3/8 in"),
        (0.2, "cm", "0.0 cm"),
        (-0.2, "cm", "0.0 cm"),
        (0, "in", "0 in"),
    ],
)
def test_a_difference_carries_its_sign(mm: float, unit: str, text: str) -> None:
    assert format_difference(mm, unit) == text


@pytest.mark.parametrize(
    ("before", "after", "unit", "text"),
    [
        (
            807.5,
            842.4,
            "cm",
            "+3.4 cm",
        ),  # shown as 80.8 and 84.2; the bare difference, 34.9, would be written 3.5
        (842.4, 807.5, "cm", "−3.4 cm"),
        (807.5, 808.4, "cm", "0.0 cm"),  # both 80.8
        (Decimal("971.55"), Decimal("955.675"), "in", "−5/8 in"),
        (971.4, 972.6, "mm", "+2 mm"),
    ],
)
def test_a_change_is_the_difference_of_what_is_shown(
    before: float, after: float, unit: str, text: str
) -> None:
    assert format_change(before, after, unit) == text


def test_a_change_of_what_is_no_length_is_refused() -> None:
    for before, after in ((-1, 5), (5, -1), (math.nan, 5)):
        with pytest.raises(ValueError, match="length"):
            format_change(before, after, "cm")
    with pytest.raises(ValueError, match="greater than 0"):
        format_change(1, 2, "cm", 0)


@pytest.mark.parametrize(
    ("mm", "unit", "step", "reason"),
    [
        (-1, "cm", None, "negative"),
        (float("nan"), "cm", None, "finite"),
        (Decimal("Infinity"), "in", None, "finite"),
        ("97", "cm", None, "must be a number"),
        (True, "cm", None, "must be a number"),
        (97, "ell", None, "Unknown unit"),
        (97, "cm", 0, "greater than 0"),
        (97, "cm", Fraction(1, 3), "at most 4 decimals"),
        (97, "in", 0.1, "1/2, 1/4, 1/8 or 1/16"),
    ],
)
def test_what_cannot_be_written_is_refused(mm: float, unit: str, step: float | None, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        format_length(mm, unit, step)


@pytest.mark.parametrize(
    ("text", "default_unit", "kg"),
    [
        ("60", "kg", "60"),
        ("60,5 kg", "lb", "60.5"),
        ("132 lb", "kg", "59.8742"),  # 132 * 0.45359237 = 59.87419284
        ("132 1/2 lbs", "kg", "60.1010"),
        ("1", "lb", "0.4536"),
    ],
)
def test_a_weight_is_read_in_kilograms_and_pounds(text: str, default_unit: str, kg: str) -> None:
    assert parse_weight(text, default_unit) == Decimal(kg)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("60 cm", "unknown unit"),
        ("9 st", "unknown unit"),
        ("5 ft", "a number comes first|whole feet|unknown unit"),
        ("60 61", "more than one number"),
        ("132 lb 60 kg", "more than one unit"),
        ("1,234", "two ways"),
        ("-60", "negative"),
        ("nan", "not a weight"),
        ("", "No weight"),
    ],
)
def test_a_doubtful_weight_is_refused(text: str, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        parse_weight(text, "kg")


@given(st.integers(0, 5000), st.sampled_from(["kg", "lb"]))
def test_weights_come_back_as_written(tenths: int, unit: str) -> None:
    text = f"{tenths // 10}.{tenths % 10} {unit}"
    assert format_weight(parse_weight(text, "kg"), unit) == text


def test_a_weight_that_cannot_be_written_is_refused() -> None:
    with pytest.raises(ValueError, match="negative"):
        format_weight(-1, "kg")
    with pytest.raises(ValueError, match="use one of kg, lb"):
        format_weight(60, "cm")
