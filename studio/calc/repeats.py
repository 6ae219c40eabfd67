"""The studio's own repeats: which pairs count for its technical error, and what they come to.

Two takes by the same hand on the same occasion are a pair. It counts as it was first read, never as a pair that
was kept or mended because it agreed: that would make the tape look better than it is. Only a gross slip (a digit,
a unit, another measure's number) is cleared first, since one slip outweighs all honest pairs: Ulijaszek & Kerr
1999, British Journal of Nutrition 82:165-177, and the published standardisation test in which two slips turn an
error of 0.25 cm into 23.6 cm (see tests/studio/calc/test_repeats.py).
"""

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal
from statistics import median
from typing import Final

Value = float | Decimal

ENOUGH_PAIRS: Final = 20  # common practice: at least 20 people before an error of one's own is quoted
SLIP_DEVIATIONS: Final = 6.0
# No tape is read finer than this, so no error of one's own is taken for smaller (mm; weight: kg).
FINEST: Final[Mapping[str, float]] = {"mm": 1.0, "kg": 0.05}


def slip_limit(technical_error: Value, between_error: Value = 0.0) -> float:
    """Return the largest difference of two takes that is still a taping and not a gross slip.

    6 standard deviations of an honest difference, 6 * sqrt(2) * sqrt(TEM^2 + between^2), in the unit of the
    error, which is the working default's and not the one to be found. A measurer whose error is twice the
    default passes it with 3 pairs of 1000, which makes her figure 1.3 % low, while a wrong digit or unit is
    nearly always out by more. The factor is our own: common practice, no source. Raises `ValueError` for an error
    that is not above 0.
    """
    own, other = float(technical_error), float(between_error)
    if not (math.isfinite(own) and math.isfinite(other)) or own <= 0 or other < 0:
        raise ValueError(
            f"The technical error must be above 0, and that between measurers 0 or more (got {own}, {other})."
        )
    return SLIP_DEVIATIONS * math.sqrt(2) * math.hypot(own, other)


def as_first_read(first: Value, corrected: Value | None, limit: float) -> Value:
    """Return which value of one take counts: the first reading, unless its correction cleared a gross slip.

    A correction by less than `limit` may have been made to agree with the other take, so it does not count.
    """
    if corrected is not None and abs(float(corrected) - float(first)) > limit:
        return corrected
    return first


def error_of_pairs(sum_of_squares: Value, pairs: int) -> float:
    """Return the technical error of pairs of which only the sum of their squared differences is known.

    sqrt(sum d^2 / 2N), Dahlberg's form of `studio.calc.error.technical_error`, for sums that a database added
    up. Raises `ValueError` for fewer than one pair or an impossible sum.
    """
    total = float(sum_of_squares)
    if isinstance(pairs, bool) or pairs < 1:
        raise ValueError(f"At least one pair is needed (got {pairs}).")
    if not math.isfinite(total) or total < 0:
        raise ValueError(f"The sum of squared differences must be 0 or more (got {sum_of_squares}).")
    return math.sqrt(total / (2 * pairs))


def between_measurers(sum_of_squares: Value, degrees_of_freedom: int, within_variance: Value) -> float:
    """Return the standard deviation between measurers, their own errors taken out, in the unit of the readings.

    `sum_of_squares` adds up, over people, the squared deviations of the measurers' single readings from their mean;
    `degrees_of_freedom` the number of measurers less one of each. Their quotient is the square of the inter-observer
    technical error (Ulijaszek & Kerr 1999, British Journal of Nutrition 82:165-177), in which one taping's own error
    is contained: `within_variance` is taken off, as in a one-way analysis of variance, and less than none is none.

    Raises `ValueError` for fewer than one degree of freedom, or a sum or variance below 0.
    """
    total, within = float(sum_of_squares), float(within_variance)
    if isinstance(degrees_of_freedom, bool) or degrees_of_freedom < 1:
        raise ValueError(f"At least one person taped by two measurers is needed (got {degrees_of_freedom}).")
    if not (math.isfinite(total) and math.isfinite(within)) or total < 0 or within < 0:
        raise ValueError(
            f"The sum of squares and the variance within must be 0 or more (got {total}, {within})."
        )
    return math.sqrt(max(total / degrees_of_freedom - within, 0.0))


def relative_to_expected(parts: Sequence[tuple[float, int, float]]) -> float:
    """Return how one measurer's error over all measures compares with what is reckoned with: 1 is the same.

    `parts` has (sum of squared differences, pairs, expected error) for each measure; every pair counts alike.
    Raises `ValueError` where there is no pair or an expected error is not above 0.
    """
    pairs = sum(count for _, count, _ in parts)
    if any(expected <= 0 for _, _, expected in parts):
        raise ValueError("The expected errors must be above 0.")
    return error_of_pairs(math.fsum(total / expected**2 for total, _, expected in parts), pairs)


def without_slips(rows: Sequence[Sequence[Value]], limit: float) -> tuple[list[list[float]], list[int]]:
    """Return the rows without a gross slip, and the places of those set aside.

    A row (the readings of one person) is set aside where two of its readings lie further apart than `limit`.
    """
    kept: list[list[float]] = []
    aside: list[int] = []
    for place, row in enumerate(rows):
        values = [float(value) for value in row]
        if values and max(values) - min(values) > limit:
            aside.append(place)
        else:
            kept.append(values)
    return kept, aside


def middle(values: Sequence[Value]) -> float:
    """Return the figure that stands for several takes: of two their mean, of three the median."""
    if not values:
        raise ValueError("There is no take to take the middle of.")
    return float(median(float(value) for value in values))
