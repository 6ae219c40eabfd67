"""Ages and yearly rates from a child's own readings. No growth standard stands behind any of it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

DAYS_PER_YEAR: Final = 365.25
SHORTEST_DAYS: Final = (
    182  # over less than half a year the tape outweighs the growth: common practice, no source
)
NORMAL_95: Final = 1.96


@dataclass(frozen=True)
class Seen:
    """One occasion: the day, the value in mm (weight: kg), the standard deviation of that value."""

    on: date
    value: float
    sd: float


@dataclass(frozen=True)
class YearlyRate:
    """Growth from one occasion to a later one, mm (weight: kg) a year; `half_width` is the 95 % one."""

    since: date
    until: date
    per_year: float
    half_width: float

    @property
    def beyond(self) -> bool:
        """Is it more than the tape alone explains?"""
        return abs(self.per_year) > self.half_width


def yearly_rates(seen: Sequence[Seen]) -> list[YearlyRate]:
    """Return the yearly rate up to each occasion, in order, since the newest one at least half a year before.

    An occasion without one so far back has no rate. Raises `ValueError` for an impossible value or
    deviation.
    """
    for each in seen:
        if not math.isfinite(each.value) or not math.isfinite(each.sd) or each.sd < 0:
            raise ValueError(
                f"The value of {each.on} must be a number with a deviation of 0 or more "
                f"(got {each.value} and {each.sd})."
            )
    ordered = sorted(seen, key=lambda each: each.on)
    rates: list[YearlyRate] = []
    for place, now in enumerate(ordered):
        before = [old for old in ordered[:place] if (now.on - old.on).days >= SHORTEST_DAYS]
        if before:
            then = before[-1]
            years = (now.on - then.on).days / DAYS_PER_YEAR
            spread = NORMAL_95 * math.hypot(now.sd, then.sd)
            rates.append(YearlyRate(then.on, now.on, (now.value - then.value) / years, spread / years))
    return rates


def age_of(born: date, on: date) -> tuple[int, int]:
    """Return the age in whole years and months. Raises `ValueError` for a day before the birth."""
    if on < born:
        raise ValueError(f"{on} lies before the birthday {born}.")
    months = (on.year - born.year) * 12 + on.month - born.month - (on.day < born.day)
    return divmod(months, 12)


def age_in_words(born: date, on: date) -> str:
    """Return the age as "7 y 3 m" ("5 m" before the first birthday)."""
    years, months = age_of(born, on)
    if years == 0:
        return f"{months} m"
    return f"{years} y {months} m" if months else f"{years} y"


def months_before(day: date, months: int) -> date:
    """Return the day so many months before; where that month is shorter, its last day."""
    if months < 0:
        raise ValueError(f"The months must be 0 or more (got {months}).")
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    return date(year, month + 1, min(day.day, _days_in(year, month + 1)))


def _days_in(year: int, month: int) -> int:
    first = date(year, month, 1)
    after = date(year + month // 12, month % 12 + 1, 1)
    return (after - first).days
