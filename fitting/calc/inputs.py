"""Checks of plain numbers, shared by the calculations of this wing.

Every check returns a float and raises ValueError with a sentence that names the value and what is allowed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import SupportsFloat

# Far below anything a tape or a pencil can show (mm); keeps float arithmetic from deciding a verdict.
HAIR = 1e-6


def number(name: str, value: SupportsFloat) -> float:
    """Return `value` as a finite float."""
    if isinstance(value, (bool, str, bytes)):
        raise ValueError(f"{name} must be a number, not {value!r}.")
    try:
        result = float(value)
    except (TypeError, ValueError):
        raise ValueError(f"{name} must be a number, not {value!r}.") from None
    if not math.isfinite(result):
        raise ValueError(f"{name} must be a finite number, not {result}.")
    return result


def length(name: str, value: SupportsFloat) -> float:
    """Return a length in mm that may be zero but not negative."""
    result = number(name, value)
    if result < 0:
        raise ValueError(f"{name} must be 0 mm or more, not {result:g} mm.")
    return result


def positive(name: str, value: SupportsFloat, unit: str = " mm") -> float:
    """Return a number above zero."""
    result = number(name, value)
    if result <= 0:
        raise ValueError(f"{name} must be more than 0{unit}, not {result:g}{unit}.")
    return result


def whole(name: str, value: int) -> int:
    """Return a whole number of at least 1."""
    if isinstance(value, bool) or not isinstance(value, SupportsFloat):
        raise ValueError(f"{name} must be a whole number of at least 1, not {value!r}.")
    result = number(name, value)
    if result < 1 or result != int(result):
        raise ValueError(f"{name} must be a whole number of at least 1, not {result:g}.")
    return int(result)


def measure_of(values: Mapping[str, float], code: str, what: str) -> float:
    """Look up a positive length, or say which one is missing; `what` begins the sentence ("The body")."""
    if code not in values:
        raise ValueError(f"{what} has no measure for {code}; it is needed for this plan.")
    return positive(f"{what}: {code}", values[code])


def name(value: str) -> str:
    """A code as words: `shoulder_to_waist` is "shoulder to waist", `sleeve_left` "left sleeve", `leg` an inside leg."""
    for side in ("left", "right"):
        if value.endswith(f"_{side}"):
            return f"{side} {name(value.removesuffix(f'_{side}'))}"
    return "inside leg" if value == "leg" else value.replace("_", " ")


def say_mm(value: float) -> str:
    """A length in words, to a tenth of a millimetre; callers may pass their own (cm, inches)."""
    text = f"{value:.1f}"
    return f"{text.removesuffix('.0')} mm" if text != "-0.0" else "0 mm"
