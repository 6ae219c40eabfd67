"""The body model: how the girths, height and weight of adults go together, as fitted means and covariances.

Per sex a multivariate normal on the natural logarithms of the readings (mm, weight kg), fitted to the 507
adults of 'bdims' (Heinz et al. 2003, Journal of Statistics Education 11(2)). For any known set of readings
the distribution of another follows from the sub-covariance:

    mean      m_i + S_ik S_kk^-1 (x_k - m_k)
    variance  (S_ii - S_ik S_kk^-1 S_ki) (n - 1) / (n - 1 - q) (1 + 1/n + D^2 / (n - 1)),   q readings known

with D^2 the Mahalanobis distance of the known ones: the usual prediction of a regression fitted to the same
people, Student's t with n - 1 - q degrees of freedom.

The fitted people are young and slim. Two things keep the model from crying wolf on others:

- *Selection.* What selection on height and stoutness leaves untouched is the regression of the other
  dimensions on these two (Pearson; Lawley 1943, Proceedings of the Royal Society of Edinburgh A 62:28-30).
  For a check the spread of both is therefore widened, and carried over to all girths. Where weight and height,
  or several girths, are known, this changes little; where they are not, the limits open.
- *Distance.* Far from the fitted cloud the standard deviation grows as that of a multivariate t; beyond the
  stoutness that is common in the fit it grows faster, and well beyond there is no comparison.
"""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CODES: Final = (
    "height", "weight", "shoulder_girth", "chest_girth", "waist_girth", "abdomen_girth", "hip_girth",
    "thigh_girth", "upper_arm_girth", "forearm_girth", "knee_girth", "calf_girth", "ankle_girth", "wrist_girth",
)  # fmt: skip
INDEX: Final = {code: place for place, code in enumerate(CODES)}
HEIGHT: Final = INDEX["height"]
WEIGHT: Final = INDEX["weight"]
SEXES: Final = ("female", "male")
DATA_FILE: Final = Path(__file__).parents[1] / "data" / "body_model.json"

# How much wider than in the fit height and stoutness may spread among a studio's clients: our own choice.
HEIGHT_WIDER: Final = 1.3
STOUTNESS_WIDER: Final = 2.0
# Stoutness (ln kg/m^2) beyond the fit at which the standard deviation has doubled, and where comparing ends.
DOUBLED_AT: Final = 0.15
SILENT_AT: Final = 0.4
# A standard deviation of stoutness up to which the known readings tell it well enough, and how many of what is
# more the body may be from its likeliest.
SURE: Final = 0.05
DOUBTS: Final = 4.0
# The squared distance, per reading known, from which a body counts as far from the cloud (its mean is 1).
USUAL: Final = 1.25
# A reading this far from the rest says nothing about the body's domain: it is more likely a slip itself.
DISCREDITED: Final = 4.0
# The slip that the threshold is set for: ten off, in mm and in kg.
SLIP_MM: Final = 100.0
SLIP_KG: Final = 10.0


@dataclass(frozen=True)
class Domain:
    """Where the fitted people were: stoutness ln(kg / m^2), all but the outer fortieths, and how trust is lost.

    `tail` is the number of degrees of freedom of the multivariate t whose spread the widening follows.
    """

    stoutness_low: float
    stoutness_high: float
    tail: float

    def beyond(self, stoutness: Array | float, doubt: Array | float = 0.0) -> Array:
        """Return how far outside the fitted people a stoutness lies, or may lie within `doubt`; 0 inside."""
        return np.maximum(
            0.0,
            np.maximum(self.stoutness_low - stoutness, stoutness - self.stoutness_high) + doubt,
        )


@dataclass(frozen=True)
class Prediction:
    """What the other readings let expect of each reading of a set: natural logarithms, one place per reading.

    `sd` is that of the regression, `wider` the factor by which it grows far from the fitted people; `heard`
    is False where there is no comparison.
    """

    mean: Array
    sd: Array
    wider: Array
    heard: NDArray[np.bool_]
    df: float


@dataclass(frozen=True)
class _Part:
    """What does not depend on the readings, for one set of known dimensions."""

    mean: Array
    tight: Array
    wide: Array
    tight_pairs: Array
    wide_pairs: Array
    stoutness: Array
    stoutness_doubt: Array


@dataclass(frozen=True, eq=False)
class BodyModel:
    """The fit for one sex: `n` people, `mean` (14,) and `covariance` (14, 14) of logarithms, and the domain.

    `threshold` and `cap` set how surprising a reading must be (see `flag_limit`).
    """

    n: int
    mean: Array
    covariance: Array
    domain: Domain
    threshold: float
    cap: float
    wide: Array = field(init=False)
    _parts: dict[tuple[int, ...], _Part] = field(init=False, default_factory=dict)
    _weights: dict[tuple[int, ...], tuple[Array, float]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Carry the wider spread of height and stoutness over to all dimensions (Pearson, Lawley)."""
        wide = self.covariance + selection_spread(self.covariance)
        object.__setattr__(self, "wide", wide)

    def predict(self, known: tuple[int, ...], logs: Array) -> Prediction:
        """Return for each of the `known` dimensions what the other known ones let expect of it.

        `known` are places in `CODES`, `logs` their readings in the same order. One alone is not heard.
        """
        size = len(known)
        if size < 2:
            return Prediction(
                logs, np.ones(size), np.ones(size), np.zeros(size, dtype=bool), float(self.n - 1)
            )
        part = self._part(known)
        off = logs - part.mean
        wide_pull, tight_pull = part.wide @ off, part.tight @ off
        wide_own, tight_own = np.diag(part.wide), np.diag(part.tight)

        # A slip among the others must not pass for an unusual body: the one that fits least is left out of the
        # distance where it is discredited by the rest.
        distance = off @ tight_pull - tight_pull**2 / tight_own
        rest = np.abs(wide_pull - part.wide * (wide_pull / wide_own)[:, None]) / np.sqrt(part.wide_pairs)
        np.fill_diagonal(rest, 0.0)
        worst = rest.argmax(axis=1)
        rows = np.arange(size)
        dropped = (rest[rows, worst] > DISCREDITED) & (size > 2)
        pull = tight_pull[worst] - part.tight[rows, worst] * tight_pull / tight_own
        distance = np.where(dropped, distance - pull**2 / part.tight_pairs[rows, worst], distance)
        distance = np.maximum(distance, 0.0)
        counted = size - 1 - dropped

        stoutness = part.stoutness @ off + self._mean_stoutness
        doubt = part.stoutness_doubt.copy()
        for row in np.flatnonzero(dropped):
            places = [place for place in range(size) if place not in (row, worst[row])]
            weights, doubt[row] = self._stoutness(tuple(known[place] for place in places))
            stoutness[row] = weights @ off[places] + self._mean_stoutness

        df = float(self.n - size)
        grown = np.maximum(1.0, (self.domain.tail + distance) / (self.domain.tail + USUAL * counted))
        grown *= (1 + self.domain.beyond(stoutness, DOUBTS * np.maximum(0.0, doubt - SURE)) / DOUBLED_AT) ** 2
        variance = (self.n - 1) / df / wide_own * (1 + 1 / self.n + distance / (self.n - 1))
        heard = self.domain.beyond(stoutness) <= SILENT_AT
        return Prediction(logs - wide_pull / wide_own, np.sqrt(variance), np.sqrt(grown), heard, df)

    def may_surprise(self, known: tuple[int, ...], logs: Array) -> NDArray[np.bool_]:
        """Return for each row of `logs` (people, known) whether `predict` may find one of its readings surprising.

        It takes the spread that is the least for any body, without distance and domain, and the least limit of
        `flag_limit`, sqrt(2 threshold); both err toward yes.
        """
        part = self._part(known)
        own = np.diag(part.wide)
        df = float(self.n - len(known))
        spread = np.sqrt((self.n - 1) / df / own * (1 + 1 / self.n))
        furthest = np.max(np.abs((logs - part.mean) @ part.wide / own) / spread, axis=1)
        least = min(self.cap, math.sqrt(2 * self.threshold))
        return np.asarray(furthest > student_deviate(least, df))

    def predict_other(self, known: tuple[int, ...], logs: Array, target: int) -> Prediction:
        """Return what the known readings let expect of one more dimension, with the spread of a check."""
        filled, _ = self.regress(known, logs, target, wide=True)
        # The own value does not enter its own prediction, so any finite one serves.
        place = len(known)
        full = self.predict((*known, target), np.append(logs, filled))
        return Prediction(full.mean[place:], full.sd[place:], full.wider[place:], full.heard[place:], full.df)

    def regress(
        self, known: tuple[int, ...], logs: Array, target: int, *, wide: bool = False
    ) -> tuple[float, float]:
        """Return mean and scale of the predictive t of `target` (df n - 1 - q), by the formula of the module."""
        spread = self.wide if wide else self.covariance
        if not known:
            scale = math.sqrt(spread[target, target] * (1 + 1 / self.n))
            return float(self.mean[target]), scale
        places = list(known)
        off = logs - self.mean[places]
        across = spread[places, target]
        solved = np.linalg.solve(spread[np.ix_(places, places)], np.column_stack([across, off]))
        distance = float(off @ solved[:, 1])
        left = float(spread[target, target] - across @ solved[:, 0])
        factor = (self.n - 1) / (self.n - 1 - len(known)) * (1 + 1 / self.n + distance / (self.n - 1))
        return float(self.mean[target] + across @ solved[:, 1]), math.sqrt(left * factor)

    def distance(self, known: tuple[int, ...], logs: Array) -> float:
        """Return the squared Mahalanobis distance of the known readings from the fitted people."""
        if not known:
            return 0.0
        places = list(known)
        off = logs - self.mean[places]
        return float(off @ np.linalg.solve(self.covariance[np.ix_(places, places)], off))

    def log_likelihood(self, known: tuple[int, ...], logs: Array) -> float:
        """Return the log density of the known readings, for weighing one sex against the other."""
        places = list(known)
        _, size = np.linalg.slogdet(self.covariance[np.ix_(places, places)])
        return -0.5 * float(self.distance(known, logs) + size + len(places) * math.log(2 * math.pi))

    def stoutness(self, known: tuple[int, ...], logs: Array) -> float:
        """Return the stoutness ln(kg / m^2) that the known readings tell of."""
        weights, _ = self._stoutness(known)
        return float(weights @ (logs - self.mean[list(known)])) + self._mean_stoutness

    def in_domain(self, known: tuple[int, ...], logs: Array) -> bool:
        """Say whether the body that the known readings tell of is near enough to the fit to be compared."""
        return bool(self.domain.beyond(self.stoutness(known, logs)) <= SILENT_AT)

    @property
    def thresholds(self) -> tuple[float, float]:
        """Return `threshold` and `cap`, as `flag_limit` takes them."""
        return self.threshold, self.cap

    def moments(self, known: tuple[int, ...], logs: Array, target: int) -> tuple[float, float]:
        """Return mean and standard deviation of the reading itself (mm; kg), the fit's own spread, no check's.

        The logarithm's t has the variance scale^2 df / (df - 2); the reading is taken as lognormal.
        """
        centre, scale = self.regress(known, logs, target)
        df = self.n - 1 - len(known)
        counted = len(known)
        far = self.distance(known, logs)
        grown = max(1.0, (self.domain.tail + far) / (self.domain.tail + USUAL * counted))
        grown *= (1 + float(self.domain.beyond(self.stoutness(known, logs))) / DOUBLED_AT) ** 2
        variance = scale**2 * df / (df - 2) * grown
        mean = math.exp(centre + variance / 2)
        return mean, mean * math.sqrt(math.expm1(variance))

    def precision_of(self, known: tuple[int, ...]) -> Array:
        """Return the inverse covariance of some dimensions, with the wider spread of a check."""
        return self._part(known).wide

    def _part(self, known: tuple[int, ...]) -> _Part:
        if known not in self._parts:
            if len(self._parts) > 2000:
                self._parts.clear()
            places = list(known)
            tight = _inverse(self.covariance[np.ix_(places, places)])
            wide = _inverse(self.wide[np.ix_(places, places)])
            size = len(known)
            stoutness, doubt = np.zeros((size, size)), np.zeros(size)
            for row in range(size):
                others = [place for place in range(size) if place != row]
                weights, doubt[row] = self._stoutness(tuple(known[place] for place in others))
                stoutness[row, others] = weights
            self._parts[known] = _Part(
                self.mean[places], tight, wide, _pairs(tight), _pairs(wide), stoutness, doubt
            )
        return self._parts[known]

    def _stoutness(self, known: tuple[int, ...]) -> tuple[Array, float]:
        """Return the weights by which deviations of the known readings add up to ln(kg / m^2), and its doubt."""
        if known not in self._weights:
            if len(self._weights) > 20000:
                self._weights.clear()
            places = list(known)
            across = self.wide[WEIGHT] - 2 * self.wide[HEIGHT]
            weights = np.linalg.solve(self.wide[np.ix_(places, places)], across[places])
            left = across[WEIGHT] - 2 * across[HEIGHT] - across[places] @ weights
            self._weights[known] = weights, math.sqrt(max(float(left), 0.0))
        return self._weights[known]

    @property
    def _mean_stoutness(self) -> float:
        return float(self.mean[WEIGHT] - 2 * (self.mean[HEIGHT] - math.log(1000)))


def flag_limit(slip: float, mean: float, sd: float, threshold: float, cap: float) -> float:
    """Return how many standard deviations off a reading must be before it is flagged.

    Neyman and Pearson's rule for a slip of ten (cm, kg) at equal odds for every reading: with the slip
    delta standard deviations wide, delta / 2 + threshold / delta; never more than `cap`, so that small
    girths, where ten would be seen anyway, are also guarded against smaller slips. `mean` and `sd` are
    those of the logarithm, `slip` is in the unit of the reading.
    """
    delta = math.log1p(slip / math.exp(mean)) / sd
    return min(cap, delta / 2 + threshold / delta)


def selection_spread(covariance: Array) -> Array:
    """Return what a wider spread of height and of stoutness at a given height adds to a covariance (14, 14).

    With the selected variables v = (height, weight) and their covariance changed from V to V', all others
    keep their regression B on v, so the covariance grows by B (V' - V) B^T.
    """
    places = [HEIGHT, WEIGHT]
    selected = covariance[np.ix_(places, places)]
    loading = np.linalg.solve(selected, covariance[places]).T
    slope = selected[0, 1] / selected[0, 0]
    apart = selected[1, 1] - slope * selected[0, 1]
    tall = np.array([1.0, slope])
    stout = np.array([0.0, 1.0])
    more = (HEIGHT_WIDER**2 - 1) * selected[0, 0] * np.outer(tall, tall)
    more += (STOUTNESS_WIDER**2 - 1) * apart * np.outer(stout, stout)
    return np.asarray(loading @ more @ loading.T)


def normal_deviate(t: float, df: float) -> float:
    """Return the standard normal deviate as far out as `t` is in Student's distribution.

    Wallace 1959, Annals of Mathematical Statistics 30:1124-1130; stays finite however far out.
    """
    factor = (8 * df + 1) / (8 * df + 3)
    return math.copysign(factor * math.sqrt(df * math.log1p(t**2 / df)), t)


def student_deviate(z: float, df: float) -> float:
    """Return the inverse of `normal_deviate`: how far out in Student's distribution `z` lies."""
    factor = (8 * df + 1) / (8 * df + 3)
    return math.copysign(math.sqrt(df * math.expm1((z / factor) ** 2 / df)), z)


def read_model(record: Mapping[str, Any]) -> dict[str, BodyModel]:
    """Return the models by sex from the contents of the data file."""
    if tuple(record["codes"]) != CODES:
        raise ValueError(f"The body model must have the dimensions {', '.join(CODES)}, in this order.")
    return {
        sex: BodyModel(
            n=int(entry["n"]),
            mean=np.array(entry["mean_log"], dtype=float),
            covariance=np.array(entry["covariance_log"], dtype=float),
            domain=Domain(**entry["domain"]),
            threshold=float(record["threshold"]),
            cap=float(record["cap"]),
        )
        for sex, entry in record["sexes"].items()
    }


@cache
def shipped_models() -> Mapping[str, BodyModel]:
    """Return the models of `studio/data/body_model.json`, read once."""
    return read_model(json.loads(DATA_FILE.read_text(encoding="utf-8")))


def _inverse(matrix: Array) -> Array:
    return np.asarray(np.linalg.inv(matrix), dtype=np.float64)


def _pairs(precision: Array) -> Array:
    """Return at (i, j) the precision of j when i is not among the others."""
    own = np.diag(precision)
    pairs = own[None, :] - precision**2 / own[:, None]
    np.fill_diagonal(pairs, 1.0)
    return np.asarray(pairs)
