"""The coarsest check of a reading: can a tape, or a scale, read this on a person at all?"""

import math
from decimal import Decimal

from studio.calc.units import LENGTH_UNITS, WEIGHT_UNITS, format_length, format_weight

Value = float | Decimal


def check_range(code: str, mm: Value, low: Value, high: Value, name: str, *, unit: str = "cm") -> None:
    """Return quietly where `low` <= `mm` <= `high`; else raise `ValueError` in a sentence for who typed it.

    All three in mm; with `unit` "kg" or "lb" in kg. `unit` ("cm", "in", "mm", "kg", "lb") is the one in which
    the value was typed, and the sentence shows it so. `name` is the measure's name on the page,
    `code` its code, for the sentence about an impossible range. A value that reads like a limit in its unit
    counts as the limit.
    """
    if unit not in LENGTH_UNITS + WEIGHT_UNITS:
        raise ValueError(f"Unknown unit {unit!r}: use one of {', '.join(LENGTH_UNITS + WEIGHT_UNITS)}.")
    if not (math.isfinite(low) and math.isfinite(high) and 0 <= low < high):
        raise ValueError(f"The range of {code} must go from a low to a higher value (got {low} to {high}).")
    if not math.isfinite(mm) or mm < 0:
        raise ValueError(f"{name} must be a number of zero or more (got {mm}).")
    if low <= mm <= high:
        return
    weighed = unit in WEIGHT_UNITS
    shown, lowest, highest = (
        format_weight(value, unit) if weighed else format_length(value, unit) for value in (mm, low, high)
    )
    if shown in (lowest, highest):
        return
    tool, again = ("scale", "weigh") if weighed else ("tape", "tape")
    raise ValueError(
        f"{name} of {shown} is outside what a {tool} can read on a person "
        f"({lowest.removesuffix(f' {unit}')} to {highest}). Please {again} again or check the unit."
    )
