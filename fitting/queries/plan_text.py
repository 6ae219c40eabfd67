"""Lengths in the sentences of a plan: in the client's unit, drawn amounts never rounded away."""

from collections.abc import Callable, Sequence
from fractions import Fraction

from studio.calc.units import format_length

MINUS = "\u2212"
_CLOSE = 1e-4  # mm; far below a pencil line


def say_in(unit: str) -> Callable[[float], str]:
    """A function that writes millimetres in `unit` ("cm" or "in") with the sign of a negative ease.

    Centimetres go to the millimetre, inches to the sixteenth; what was drawn finer than that (a half or a
    quarter of the step) is written in full. What would round to nothing is "less than" the least shown.
    """
    return _say_inches if unit == "in" else _say_centimetres


def say_signed(mm: float, unit: str) -> str:
    """A change with its sign: "+1.5 cm"."""
    text = say_in(unit)(mm)
    return text if text.startswith(MINUS) or not any(digit in text for digit in "123456789") else f"+{text}"


def say_range(values: Sequence[float], say: Callable[[float], str]) -> str:
    """One length, or the least and the most of several."""
    low, high = say(min(values)), say(max(values))
    return low if low == high else f"{low} to {high}"


def _say_centimetres(mm: float) -> str:
    if _CLOSE < mm < 0.5:
        return "less than 0.1 cm"
    halves = abs(mm) * 2
    fine = abs(mm) < 10 and abs(halves - round(halves)) < _CLOSE and round(halves) % 2 == 1
    return _signed(mm, format_length(abs(mm), "cm", 0.05 if fine else 0.1))


def _say_inches(mm: float) -> str:
    if _CLOSE < mm < 25.4 / 32:
        return "less than 1/16 in"
    inches = abs(mm) / 25.4
    for parts in (32, 64):
        count = inches * parts
        if inches < 1 and abs(count - round(count)) < _CLOSE and round(count) % 2 == 1:
            return _signed(mm, f"{Fraction(round(count), parts)} in")
    return _signed(mm, format_length(abs(mm), "in", 1 / 16))


def _signed(mm: float, text: str) -> str:
    return MINUS + text if mm < 0 and any(digit in text for digit in "123456789") else text
