"""What repeats itself: from the changes of several garments to a habit worth knowing. Lengths in mm, signed.

A change is positive where the garment grew there. The interval is Student's t interval of a mean (any textbook of
statistics); with one change there is none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy import stats

from fitting.calc import inputs

SMALLEST = 2.0
"""What is less than can be drawn is no change, mm."""
FEWEST = 2
MOST_TIMES = 0.75
"""A habit shows in at least three of four. Common practice, no source."""


@dataclass(frozen=True)
class Habit:
    """`times` of `n` garments changed the same way as most did; `mean` over all, with its 95 % interval."""

    n: int
    times: int
    mean: float
    low: float | None
    high: float | None

    @property
    def always(self) -> bool:
        """Often enough to be said beforehand."""
        return self.n >= FEWEST and self.times >= MOST_TIMES * self.n

    @property
    def beyond_chance(self) -> bool:
        """The interval of the mean does not reach nothing."""
        return self.low is not None and self.high is not None and (self.low > 0 or self.high < 0)


def habit(changes: Sequence[float], confidence: float = 0.95) -> Habit | None:
    """What is common to the changes of several garments at one place; None where most changed nothing.

    Raises ValueError for NaN, infinity, a confidence outside (0, 1) and for no changes at all.
    """
    if not 0 < confidence < 1:
        raise ValueError(f"The confidence lies between 0 and 1 (got {confidence}).")
    if not len(changes):
        raise ValueError("There are no changes to compare.")
    values = np.array([inputs.number("Change", value) for value in changes], dtype=float)
    grown, shrunk = int(np.sum(values >= SMALLEST)), int(np.sum(values <= -SMALLEST))
    times = max(grown, shrunk)
    if times == 0:
        return None
    mean, n = float(values.mean()), len(values)
    low = high = None
    if n > 1:
        half = float(stats.t.ppf((1 + confidence) / 2, n - 1) * values.std(ddof=1) / sqrt(n))
        low, high = mean - half, mean + half
    return Habit(n, times, mean, low, high)
