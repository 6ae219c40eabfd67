"""What every calculation of this wing asks of its numbers: finite, and on the right side of zero."""

from __future__ import annotations

import math


def finite(name: str, value: float) -> float:
    """`value` as a float; ValueError if it is no number, NaN or infinite."""
    try:
        number = math.nan if isinstance(value, (str, bytes, bool)) else float(value)
    except (TypeError, ValueError, OverflowError):
        number = math.nan
    if not math.isfinite(number):
        raise ValueError(f"{name} must be a finite number, got {value!r}.")
    return number


def positive(name: str, value: float) -> float:
    """`value` as a float; ValueError unless it is finite and greater than 0."""
    number = finite(name, value)
    if number <= 0:
        raise ValueError(f"{name} must be greater than 0, got {value!r}.")
    return number


def not_negative(name: str, value: float) -> float:
    """`value` as a float; ValueError unless it is finite and 0 or more."""
    number = finite(name, value)
    if number < 0:
        raise ValueError(f"{name} must be 0 or more, got {value!r}.")
    return number


def whole(name: str, value: int, least: int = 1) -> int:
    """`value` as an int; ValueError unless it is a whole number of at least `least`."""
    number = finite(name, value)
    if number != int(number) or number < least:
        raise ValueError(f"{name} must be a whole number of at least {least}, got {value!r}.")
    return int(number)
