"""Two cups that share their letters and nothing else: the bra's and the paper pattern's.

A bra cup is full bust less *underbust*, in steps of 2 cm. The letter on a paper pattern is full bust less
*high bust*, in steps of 1 in. A body that is a D in one is usually no D in the other.
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

Value = float | Decimal

# EN 13402-3, bust less underbust: each cup is 2 cm wide, the first begins above 10 cm.
BRA_CUPS: Final = ("AA", "A", "B", "C", "D", "E", "F", "G", "H")
BRA_LOWEST_MM: Final = 100
BRA_STEP_MM: Final = 20
BAND_STEP_MM: Final = 50
SMALLEST_BAND_CM: Final = 60
LARGEST_BAND_CM: Final = 135

# Full bust less high bust, 1 in a letter; four teaching pages agree on these letters.
PATTERN_CUPS: Final = ("A", "B", "C", "D", "DD/E", "DDD/F")
INCH_MM: Final = Fraction(254, 10)
PATTERN_RULES: Final = ("points", "ranges")


@dataclass(frozen=True)
class BraSize:
    """A bra size by EN 13402-3: band in cm and cup; prints as ``85D``."""

    band: int
    cup: str

    def __str__(self) -> str:
        return f"{self.band}{self.cup}"


def bra_size(underbust: Value, bust: Value) -> BraSize:
    """Return the EN 13402-3 bra size for two girths in mm.

    The band is the underbust to the nearest 5 cm, ties up. The cup is that whose interval holds the
    difference: above its low end, up to and with its high end. Underbust 87 cm and bust 107 cm: difference
    20, **85D**.
    Source: online restatements of EN 13402-3 (worked example and table of ranges).

    Raises `ValueError` for impossible girths and where the table has no answer: a difference of 100 mm or
    less or above 280 mm, a band outside 60 to 135 cm.
    """
    under, full = _girth(underbust, "underbust girth"), _girth(bust, "bust girth")
    difference = full - under
    step = math.ceil((difference - BRA_LOWEST_MM) / BRA_STEP_MM)
    if not 1 <= step <= len(BRA_CUPS):
        highest = BRA_LOWEST_MM + BRA_STEP_MM * len(BRA_CUPS)
        raise ValueError(
            f"Bust girth less underbust girth is {float(difference):g} mm; the table of cups "
            f"goes from more than {BRA_LOWEST_MM} to {highest} mm. Tape both again, or fit without the table."
        )
    band = math.floor(under / BAND_STEP_MM + Fraction(1, 2)) * BAND_STEP_MM // 10
    if not SMALLEST_BAND_CM <= band <= LARGEST_BAND_CM:
        raise ValueError(
            f"The underbust girth of {float(under):g} mm gives band {band}; the table goes from "
            f"{SMALLEST_BAND_CM} to {LARGEST_BAND_CM} cm. Tape it again, or fit without the table."
        )
    return BraSize(band, BRA_CUPS[step - 1])


def pattern_cup(high_bust: Value, full_bust: Value, rule: str = "points") -> str:
    """Return the cup letter of a paper pattern, from ``A`` to ``DDD/F``, for two girths in mm.

    ``rule="points"``: A is 1 in, B 2 in, ... and the nearest counts, ties up. ``rule="ranges"``, for authors
    who print ranges: A is up to 1 in, B above 1 and up to 2 in, ... (often a letter more than by points).
    Source: sewing-teaching pages, four for points and one for ranges; taking the nearest point is common
    practice, no source. Paper is mostly drafted for a B.

    Raises `ValueError` for impossible girths, an unknown rule, a full bust below the high bust, and a
    difference that has no letter (below 1/2 in by points, above the last letter).
    """
    if rule not in PATTERN_RULES:
        raise ValueError(f"Unknown rule {rule!r}: use 'points' or 'ranges'.")
    difference = _girth(full_bust, "full bust girth") - _girth(high_bust, "high bust girth")
    if difference < 0:
        raise ValueError(
            f"The full bust is {float(-difference):g} mm smaller than the high bust. Tape both again: the "
            "high bust is taken under the arms and above the breast."
        )
    inches = difference / INCH_MM
    step = math.floor(inches + Fraction(1, 2)) if rule == "points" else max(1, math.ceil(inches))
    if not 1 <= step <= len(PATTERN_CUPS):
        raise ValueError(
            f"A full bust {float(difference):g} mm above the high bust has no letter by the rule of {rule}: "
            f"the letters go from 1 to {len(PATTERN_CUPS)} in. Adjust by the measures themselves."
        )
    return PATTERN_CUPS[step - 1]


def _girth(value: Value, name: str) -> Fraction:
    """Return the girth exactly; a float counts as the decimal it prints, so intervals end where they say."""
    if not math.isfinite(value) or value <= 0:
        raise ValueError(f"The {name} must be a length above 0 mm (got {value}).")
    return Fraction(repr(float(value)))
