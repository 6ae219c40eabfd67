"""One judge of a set of readings: what each may be beside the others, the own history and the range.

`studio.calc.plausibility` asks one for each fitted model that may apply, and flags what all of them flag.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from studio.calc import own_history
from studio.calc.plausibility_model import (
    CODES,
    INDEX,
    SLIP_KG,
    SLIP_MM,
    BodyModel,
    Prediction,
    flag_limit,
    normal_deviate,
    shipped_models,
    student_deviate,
)

# A suggestion must fit this well, and a range counts as so many standard deviations to either side.
FITS: Final = 2.5
RANGE_DEVIATIONS: Final = 4.0
OWN_DF: Final = 1e6


@dataclass(frozen=True)
class Beside:
    """What the other readings let expect of one: mean and sd of the logarithm, and how far the sd opens."""

    mean: float
    sd: float
    wider: float


@dataclass(frozen=True)
class Verdict:
    z: float
    limit: float
    low: float
    high: float

    @property
    def beyond(self) -> bool:
        return abs(self.z) > self.limit


@dataclass(frozen=True)
class Judge:
    """Everything but the readings that a verdict depends on; `model` is None where none applies."""

    model: BodyModel | None
    earlier: Mapping[str, tuple[float, float]]
    offsets: Mapping[str, float]
    child: bool

    def verdicts(self, readings: Mapping[str, float], only: str | None = None) -> dict[str, Verdict]:
        """Judge each reading by all the others, by the own history and by range."""
        result: dict[str, Verdict] = {}
        predicted: dict[str, Beside] = {}
        df = OWN_DF
        if self.model is not None:
            known = tuple(place for place, code in enumerate(CODES) if code in readings)
            logs = np.array([self.log(CODES[place], readings[CODES[place]]) for place in known])
            prediction = self.model.predict(known, logs)
            df = prediction.df
            predicted = _heard(known, prediction)
        own = own_history.expect(readings, self.earlier, self.model, child=self.child)
        for code in readings if only is None else (only,):
            found = self._verdict(code, readings[code], predicted.get(code), own.get(code), df)
            if found is not None:
                result[code] = found
        return result

    def limits(self, code: str, readings: Mapping[str, float]) -> tuple[float, float] | None:
        """Return between which values a reading not yet taken would pass, or None where nothing is known."""
        predicted, df = None, OWN_DF
        known = tuple(INDEX[each] for each in readings if each in INDEX)
        if self.model is not None and code in INDEX and known:
            logs = np.array([self.log(CODES[place], readings[CODES[place]]) for place in known])
            prediction = self.model.predict_other(known, logs, INDEX[code])
            predicted, df = _heard((INDEX[code],), prediction).get(code), prediction.df
        guess = math.exp(predicted.mean) if predicted else self.earlier.get(code, (1000.0, 0.0))[0]
        own = own_history.expect({**readings, code: guess}, self.earlier, self.model, child=self.child)
        found = self._verdict(code, guess, predicted, own.get(code), df)
        return None if found is None else (found.low, found.high)

    def _verdict(
        self,
        code: str,
        value: float,
        predicted: Beside | None,
        own: own_history.Expectation | None,
        df: float,
    ) -> Verdict | None:
        verdict = None
        offset = self.offsets.get(code, 0.0) if code in INDEX else 0.0
        if predicted is not None or own is not None:
            wider = 1.0
            if predicted is None:
                assert own is not None
                mean, down, up, offset, df = own.mean, own.down, own.up, 0.0, OWN_DF
            elif own is None:
                mean, down, up, wider = predicted.mean, predicted.sd, predicted.sd, predicted.wider
            else:
                # The own history speaks of the reading itself, so the offset is taken off both.
                shifted = math.log(max(math.exp(own.mean) - offset, 1e-3)) if offset else own.mean
                others = predicted.mean, predicted.sd * predicted.wider
                mean, down = own_history.combine(others, own, shifted)
                up = down
            threshold, cap = (self.model or shipped_models()["female"]).thresholds
            slip = SLIP_KG if code == "weight" else SLIP_MM
            # Far from the fitted people the limits open: the wider spread must not lower the threshold again.
            lower, upper = (flag_limit(slip, mean, sd, threshold, cap) for sd in (down, up))
            off = (self.log(code, value) if offset else math.log(value)) - mean
            z = normal_deviate(off / wider / (up if off > 0 else down), df)
            low = math.exp(mean - student_deviate(lower, df) * down * wider) + offset
            high = math.exp(mean + student_deviate(upper, df) * up * wider) + offset
            verdict = Verdict(z, upper if off > 0 else lower, low, high)
        return _within_range(code, value, verdict, child=self.child)

    def log(self, code: str, value: float) -> float:
        offset = self.offsets.get(code, 0.0)
        # An offset as large as the reading can only come from a slip in the reading.
        return math.log(value - offset) if value > 2 * offset else math.log(value)

    def flags(self, readings: Mapping[str, float]) -> tuple[dict[str, Verdict], dict[str, float]]:
        """Return the flagged readings and the set without them.

        The most surprising is set aside first and the rest judged again without it, since a slip spoils what
        is expected of its neighbours; in the end each one set aside is heard again beside the sound ones.
        """
        sound = dict(readings)
        aside: list[str] = []
        found = self.verdicts(sound)
        while beyond := {code: each for code, each in found.items() if each.beyond}:
            code = max(beyond, key=lambda each: abs(beyond[each].z))
            aside.append(code)
            del sound[code]
            found = self.verdicts(sound)
        for code in reversed(aside):
            verdict = self.verdicts({**sound, code: readings[code]}, only=code).get(code)
            if verdict is None or not verdict.beyond:
                sound[code] = readings[code]
        result = {}
        for code in aside:
            if code not in sound:
                result.update(self.verdicts({**sound, code: readings[code]}, only=code))
        return result, sound

    def fits(self, changed: Mapping[str, float], sound: Mapping[str, float]) -> float | None:
        """Return how far off the changed readings are at most, or None where the set is not plausible."""
        found = self.verdicts({**sound, **changed})
        if any(each.beyond for each in found.values()) or not all(code in found for code in changed):
            return None
        worst = max(abs(found[code].z) for code in changed)
        return worst if worst <= FITS else None


def _heard(known: Sequence[int], prediction: Prediction) -> dict[str, Beside]:
    return {
        CODES[place]: Beside(
            float(prediction.mean[row]), float(prediction.sd[row]), float(prediction.wider[row])
        )
        for row, place in enumerate(known)
        if prediction.heard[row]
    }


def _within_range(code: str, value: float, verdict: Verdict | None, *, child: bool) -> Verdict | None:
    """Let the range have the last word where the reading is outside it, or where nothing else is known."""
    limits = own_history.plausible_range(code, child=child)
    if limits is None:
        return verdict
    low, high = limits
    if verdict is not None:
        low, high = max(low, verdict.low), min(high, verdict.high)
        if limits[0] <= value <= limits[1] and low < high:
            return Verdict(verdict.z, verdict.limit, low, high)
        low, high = (low, high) if low < high else limits
    middle, half = math.log(limits[0] * limits[1]) / 2, math.log(limits[1] / limits[0]) / 2
    z = RANGE_DEVIATIONS * (math.log(value) - middle) / half
    if verdict is not None and abs(verdict.z) > abs(z) and verdict.beyond:
        z = verdict.z
    return Verdict(z, RANGE_DEVIATIONS * (1 + 1e-9), low, high)
