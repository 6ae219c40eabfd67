"""How far the tape can be trusted: technical error of measurement, and what changed beyond it.

Two tapings of the same body never agree exactly. The technical error of measurement (TEM) is the standard
deviation of one taping around the body's own value, found by measuring people twice:

    two readings    TEM = sqrt(sum d^2 / 2N)                                        (Dahlberg)
    K readings      TEM = sqrt(sum_people(sum_k M^2 - (sum_k M)^2 / K) / (N (K - 1)))

Source: Ulijaszek & Kerr 1999, British Journal of Nutrition 82:165-177. Worked by hand: heights 102.0/102.3
and 94.8/94.3 give sum d^2 = 0.09 + 0.25 = 0.34 and TEM = sqrt(0.34 / 4) = 0.29.

A TEM is taken from the first two readings of each person, never from a pair that was kept because it agreed.
A pair with a gross slip must be cleared first: one slip outweighs all honest pairs.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import NormalDist, fmean, stdev
from typing import Final

Value = float | Decimal

BEYOND: Final = "beyond the tape"
WITHIN: Final = "within the tape"


@dataclass(frozen=True)
class Change:
    """One measure of a comparison; lengths in mm (weight in kg).

    `difference` is after minus before. `threshold` is the smallest difference that would have counted for
    this measure in this comparison; `p_value` is two-sided and Holm-adjusted (compare with 1 - confidence).
    """

    code: str
    before: float
    after: float
    difference: float
    threshold: float
    p_value: float
    beyond: bool

    @property
    def words(self) -> str:
        """Say the verdict as pages do. The tape is all it speaks of: breath and meals move a body too."""
        return BEYOND if self.beyond else WITHIN


@dataclass(frozen=True)
class Agreement:
    """The 95 % interval of a mean error, in the unit of the error, and whether it lies inside the limit."""

    low: float
    high: float
    within: bool


def technical_error(readings: Sequence[Sequence[Value]]) -> float:
    """Return the technical error of measurement, in the unit of the readings.

    `readings` has one row per person and one column per repeat or observer, at least two columns, and
    rows of one length.

    Raises `ValueError` for no rows, fewer than two columns, ragged rows, NaN, infinity or a negative reading.
    """
    rows = _rows(readings)
    repeats = len(rows[0])
    # Sums around each person's own mean: the published form loses figures when readings are large and alike.
    scatter = math.fsum((reading - fmean(row)) ** 2 for row in rows for reading in row)
    return math.sqrt(scatter / (len(rows) * (repeats - 1)))


def relative_technical_error(readings: Sequence[Sequence[Value]]) -> float:
    """Return the technical error in percent of the mean of all readings.

    Shape and errors as in `technical_error`; readings that are all 0 raise too.
    """
    mean = fmean(reading for row in _rows(readings) for reading in row)
    if mean == 0:
        raise ValueError("The mean of the readings is 0, so an error in percent of it has no meaning.")
    return 100 * technical_error(readings) / mean


def reliability(readings: Sequence[Sequence[Value]], spread: str = "readings") -> float:
    """Return R = 1 - TEM^2 / SD^2, the share of the spread that belongs to the people and not to the tape.

    `spread` names the standard deviation (n - 1), since the two in use give different figures:
    ``"readings"`` that of all single readings, ``"people"`` that of the means of each person.

    Raises `ValueError` as `technical_error`, and for fewer than two people, no spread at all, or another word
    for `spread`.
    """
    rows = _rows(readings)
    if spread not in ("readings", "people"):
        raise ValueError(f"Unknown spread {spread!r}: use 'readings' or 'people'.")
    if len(rows) < 2:
        raise ValueError("Reliability compares people: readings of at least 2 people are needed.")
    values = [fmean(row) for row in rows] if spread == "people" else [value for row in rows for value in row]
    deviation = stdev(values)
    if deviation == 0:
        raise ValueError("All readings are alike, so there is no spread to compare the error with.")
    return 1 - (technical_error(readings) / deviation) ** 2


def total_technical_error(within: Sequence[Value], between: Value) -> float:
    """Return the error of one reading by any of several measurers: sqrt(mean(within^2) + between^2).

    `within` holds the TEM of each measurer against herself, `between` the TEM between measurers, in one unit.
    Source: Ulijaszek & Kerr 1999. Raises `ValueError` for an empty sequence or an impossible error.
    """
    if len(within) == 0:
        raise ValueError("The errors of the measurers are empty: at least one is needed.")
    own = [_not_negative(value, "technical error of a measurer") for value in within]
    return math.sqrt(
        fmean(value**2 for value in own) + _not_negative(between, "error between measurers") ** 2
    )


def smallest_real_change(technical_error: Value, confidence: float = 0.95, repeats: int = 1) -> float:
    """Return the smallest difference of two occasions that one tape reads with `confidence`.

    z * sqrt(2) * TEM / sqrt(repeats), `repeats` being the number of readings averaged on each occasion;
    at 95 % and single readings 2.77 TEM. For several measures at once use `changed`.

    Raises `ValueError` for an error below 0, a confidence outside 0..1 or fewer than one repeat.
    """
    error = _not_negative(technical_error, "technical error")
    return _z(1 - _confidence(confidence)) * math.sqrt(2) * error / math.sqrt(_repeats(repeats, "repeats"))


def needs_third_reading(first: Value, second: Value, technical_error: Value) -> bool:
    """Say whether two readings of one occasion differ by more than the tape explains (2.77 TEM at 95 %)."""
    difference = abs(_not_negative(first, "first reading") - _not_negative(second, "second reading"))
    return difference > smallest_real_change(technical_error)


def changed(
    before: Mapping[str, Value],
    after: Mapping[str, Value],
    technical_errors: Mapping[str, Value],
    confidence: float = 0.95,
    *,
    repeats: Mapping[str, int | tuple[int, int]] | None = None,
    between_errors: Mapping[str, Value] | None = None,
) -> tuple[Change, ...]:
    """Compare two occasions and say, measure by measure, what changed beyond the tape.

    `before` and `after` map measure codes to mm (weight: kg); the codes in both are compared, in the order of
    `before`, and the others left out. `technical_errors` maps codes to the TEM in the same unit.
    `repeats` says how many readings were averaged (one number, or before and after); 1 where nothing is
    said. `between_errors` gives the TEM between measurers and belongs here only where the two occasions had
    different measurers; unlike the measurer's own error it is not reduced by repeats:

        variance of the difference = TEM^2 / n_before + TEM^2 / n_after + 2 between^2

    All measures together report a false change with probability at most 1 - `confidence`: Holm 1979,
    Scandinavian Journal of Statistics 6:65-70 (step down over the p values, smallest first, against
    alpha / m, alpha / (m - 1), ... and stop at the first that is larger).

    Raises `ValueError` where no code is in both, a technical error is missing or not above 0, or a number
    is impossible; the sentence names the measure.
    """
    alpha = 1 - _confidence(confidence)
    codes = [code for code in before if code in after]
    if not codes:
        raise ValueError("Nothing to compare: no measure was taken on both occasions.")
    values = {code: (_not_negative(before[code], code), _not_negative(after[code], code)) for code in codes}
    deviation = {
        code: _difference_error(code, technical_errors, repeats or {}, between_errors or {}) for code in codes
    }
    raw = {code: _two_sided(values[code][1] - values[code][0], deviation[code]) for code in codes}

    result: dict[str, Change] = {}
    adjusted = 0.0
    left = len(codes)
    for rank, code in enumerate(sorted(codes, key=lambda each: raw[each])):
        adjusted = max(adjusted, min(1.0, (len(codes) - rank) * raw[code]))
        # After the first failure `left` stays and p only grows, so no later measure passes: Holm's stop.
        beyond = raw[code] <= alpha / left
        low, high = values[code]
        result[code] = Change(
            code=code,
            before=low,
            after=high,
            difference=high - low,
            threshold=_z(alpha / left) * deviation[code],
            p_value=adjusted,
            beyond=beyond,
        )
        if beyond:
            left -= 1
    return tuple(result[code] for code in codes)


def agreement(mean_error: Value, sd: Value, n: int, limit: Value) -> Agreement:
    """Judge the mean error of a sample by ISO 20685: mean +/- 1.96 SD / sqrt(n) wholly inside +/- `limit`.

    All in one unit (mm). The limit is 4 mm for heights, small girths and body breadths, 5 for segment
    lengths and body depths, 9 for large girths, 2 for foot and head with hair, 1 for hand and head without.
    It is a limit for the mean of a sample, not for two repeats.
    Source: Zakaria & Gupta (eds), Anthropometry, Apparel Sizing and Design, ch. 2, p. 41, restating
    ISO 20685:2010.

    Raises `ValueError` for n below 2, an SD below 0, a limit not above 0, NaN or infinity.
    """
    mean = _finite(mean_error, "mean error")
    if isinstance(n, bool) or int(n) != n or n < 2:
        raise ValueError(f"The number of people must be a whole number of at least 2 (got {n}).")
    bound = _not_negative(limit, "limit")
    if bound == 0:
        raise ValueError("The limit must be above 0.")
    half = 1.96 * _not_negative(sd, "standard deviation") / math.sqrt(n)
    return Agreement(mean - half, mean + half, -bound < mean - half and mean + half < bound)


def _difference_error(
    code: str,
    technical_errors: Mapping[str, Value],
    repeats: Mapping[str, int | tuple[int, int]],
    between_errors: Mapping[str, Value],
) -> float:
    """Return the standard deviation of after minus before where the body has not changed."""
    if code not in technical_errors:
        raise ValueError(f"The technical error of {code} is missing, so its change cannot be judged.")
    own = _not_negative(technical_errors[code], f"technical error of {code}")
    if own == 0:
        raise ValueError(f"The technical error of {code} is 0: no tape is that good. Use a value above 0.")
    counts = repeats.get(code, 1)
    first, second = counts if isinstance(counts, tuple) else (counts, counts)
    name = f"repeats of {code}"
    between = _not_negative(between_errors.get(code, 0.0), f"error between measurers of {code}")
    return math.sqrt(own**2 / _repeats(first, name) + own**2 / _repeats(second, name) + 2 * between**2)


def _two_sided(difference: float, deviation: float) -> float:
    # erfc keeps its figures far out, where 1 - cdf would be 0.
    return math.erfc(abs(difference) / deviation / math.sqrt(2))


def _z(alpha: float) -> float:
    """Return the standard normal value that is passed in either direction with probability `alpha`."""
    return -NormalDist().inv_cdf(alpha / 2)


def _rows(readings: Sequence[Sequence[Value]]) -> list[list[float]]:
    rows = [
        [
            _not_negative(value, f"reading {column} of person {number}")
            for column, value in enumerate(row, start=1)
        ]
        for number, row in enumerate(readings, start=1)
    ]
    if not rows:
        raise ValueError("The readings are empty: at least one person is needed.")
    for number, row in enumerate(rows, start=1):
        if len(row) < 2:
            raise ValueError(f"Person {number} has {len(row)} reading(s): at least 2 are needed.")
        if len(row) != len(rows[0]):
            raise ValueError(f"Person {number} has {len(row)} readings, the first has {len(rows[0])}.")
    return rows


def _finite(value: Value, name: str) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError) as problem:
        raise ValueError(f"The {name} must be a number (got {value!r}).") from problem
    if not math.isfinite(number):
        raise ValueError(f"The {name} must be a finite number (got {value}).")
    return number


def _not_negative(value: Value, name: str) -> float:
    number = _finite(value, name)
    if number < 0:
        raise ValueError(f"The {name} cannot be negative (got {value}).")
    return number


def _confidence(value: float) -> float:
    if not 0 < _finite(value, "confidence") < 1:
        raise ValueError(f"The confidence must lie between 0 and 1 (got {value}), as in 0.95.")
    return value


def _repeats(value: int, name: str) -> int:
    if isinstance(value, bool) or int(value) != value or value < 1:
        raise ValueError(f"The {name} must be a whole number of at least 1 (got {value}).")
    return value
