"""The slips people make between tape and keyboard, and what was probably meant."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from studio.calc.units import format_length, format_weight

SWAPPED_DIGITS: Final = "swapped_digits"
INCHES: Final = "inches"
CENTIMETRES: Final = "centimetres"
POUNDS: Final = "pounds"
KILOGRAMS: Final = "kilograms"
TEN_OFF: Final = "ten_off"
FACTOR_TEN: Final = "factor_ten"
SWAPPED_FIELDS: Final = "swapped_fields"

# Told apart from a reading in centimetres by its figures: an eighth of an inch is 3.175 mm.
MM_PER_INCH: Final = 25.4
KG_PER_POUND: Final = 0.45359237
HALF_MM: Final = 0.5


@dataclass(frozen=True)
class Suggestion:
    """What was probably meant: `value` in mm (weight: kg), the kind of `slip`, and the sentence for the page.

    `slip` is ``swapped_digits``, ``inches`` (inches typed as centimetres), ``centimetres`` (the reverse),
    ``pounds``, ``kilograms``, ``ten_off``, ``factor_ten`` or ``swapped_fields``: then ``partner`` is the other field's
    measure and ``partner_value`` what was meant there.
    """

    value: float
    slip: str
    text: str
    partner: str | None = None
    partner_value: float | None = None


@dataclass(frozen=True)
class Candidate:
    """A reading as it may have been meant; `partner` and `partner_value` where two fields changed places."""

    value: float
    slip: str
    partner: str | None = None
    partner_value: float | None = None


def candidates(code: str, value: float, readings: Mapping[str, float]) -> Iterator[Candidate]:
    """Yield what `value` (mm; weight kg) may have been meant as; `readings` holds the whole set.

    Not judged here: most of them are nonsense until the other readings are asked.
    """
    weighed = code == "weight"
    unit = KG_PER_POUND if weighed and _in_pounds(value) else 1.0 if weighed else _unit(value)
    typed = value / unit
    yield from (Candidate(each * unit, SWAPPED_DIGITS) for each in _digits_swapped(typed))
    if weighed:
        yield Candidate(round(value * KG_PER_POUND, 1), POUNDS)
        yield Candidate(round(value / KG_PER_POUND, 1), KILOGRAMS)
    else:
        yield Candidate(round(value * 2.54, 2), INCHES)
        yield Candidate(round(value / 2.54, 1), CENTIMETRES)
    yield from (Candidate(value + ten * unit, TEN_OFF) for ten in (-10, 10) if value + ten * unit > 0)
    yield from (Candidate(value * factor, FACTOR_TEN) for factor in (0.1, 10.0))
    for partner, other in readings.items():
        if partner == code or not _may_change_places(code, partner):
            continue
        # The figures change places, not the lengths: 172 cm typed as a weight is 172 kg.
        to_own = 1 / 10 if weighed else 10 if partner == "weight" else 1
        yield Candidate(other * to_own, SWAPPED_FIELDS, partner, value / to_own)


def sentence(candidate: Candidate, code: str, typed: float) -> str:
    """Say what may have happened, in words about the tape and the figures only."""
    meant = shown(code, candidate.value, like=typed)
    if candidate.partner is not None:
        name = candidate.partner.replace("_", " ")
        return f"{meant} if it changed places with the {name}. Please {_again(code)} again."
    reason = {
        SWAPPED_DIGITS: "tens and units may have changed places",
        INCHES: "the figure may be inches",
        CENTIMETRES: "the figure may be centimetres",
        POUNDS: "the figure may be pounds",
        KILOGRAMS: "the figure may be kilograms",
        TEN_OFF: "ten may be missing" if candidate.value > typed else "ten may be too many",
        FACTOR_TEN: "the decimal point may have moved",
    }[candidate.slip]
    return f"{meant}? For {shown(code, typed, like=typed)}, {reason}. Please {_again(code)} again."


def shown(code: str, value: float, *, like: float) -> str:
    """Write `value` in the unit that the reading `like` seems to have been typed in."""
    if code == "weight":
        return format_weight(value, "lb" if _in_pounds(like) else "kg")
    return format_length(value, "in" if _unit(like) == MM_PER_INCH else "cm")


def _again(code: str) -> str:
    return "weigh" if code == "weight" else "tape"


def _digits_swapped(typed: float) -> Iterator[float]:
    """Yield the figure with tens and units exchanged: 97.5 as 79.5, 172 as 127; equal digits give nothing."""
    whole, rest = divmod(round(typed, 4), 1)
    tens, units = divmod(int(whole) % 100, 10)
    if tens != units:
        yield whole - 10 * tens - units + 10 * units + tens + rest


def _may_change_places(code: str, partner: str) -> bool:
    """Two girths, or weight and height: what lies side by side on a sheet."""
    if {code, partner} == {"weight", "height"}:
        return True
    return re.search("_girth$", code) is not None and re.search("_girth$", partner) is not None


def _unit(mm: float) -> float:
    """Return 10 (cm) or 25.4 (in): the unit in which the reading has a short figure."""
    if _multiple(mm, HALF_MM) or not _multiple(mm, MM_PER_INCH / 16):
        return 10.0
    return MM_PER_INCH


def _in_pounds(kg: float) -> bool:
    return not _multiple(kg, 0.05) and _multiple(kg, KG_PER_POUND / 4, slack=1e-3)


def _multiple(value: float, step: float, slack: float = 1e-4) -> bool:
    return abs(value - round(value / step) * step) <= slack
