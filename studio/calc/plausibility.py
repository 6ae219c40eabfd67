"""Catching the slip while the client still stands there.

Body dimensions go together, so the other readings say what to expect of each one
(`studio.calc.plausibility_model`); so do the person's own earlier readings, the stronger evidence; and a tape
can read only so much on anybody. A reading that none of these explains is flagged: "please tape again". It is
a word about the reading, never about the body, and it may always be kept.

Landmarks of the fitted people, which a studio may tape elsewhere (see `learn_offsets`): chest girth above the
breast (for women the high bust), waist at the narrowest and between breaths, abdomen at the navel, thigh below
the gluteal fold, upper arm flexed, the smallest girths of ankle and wrist.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

import numpy as np

from studio.calc import own_history, slips
from studio.calc.plausibility_model import (
    CODES,
    INDEX,
    SEXES,
    SLIP_KG,
    SLIP_MM,
    BodyModel,
    Prediction,
    flag_limit,
    learn_shifts,
    normal_deviate,
    shipped_models,
    student_deviate,
)
from studio.calc.slips import Suggestion

Value = float | Decimal

# A suggestion must fit this well, and a range counts as so many standard deviations to either side.
FITS: Final = 2.5
RANGE_DEVIATIONS: Final = 4.0
OWN_DF: Final = 1e6


@dataclass(frozen=True)
class Flag:
    """A reading to take again: its measure, how many standard deviations off, what was expected, what was meant.

    `low` and `high` (mm; weight kg) are the limits between which nothing would have been said. `z` is a
    standard normal deviate, negative below. `suggestions` begins with the one that fits best.
    """

    code: str
    z: float
    low: float
    high: float
    suggestions: tuple[Suggestion, ...] = ()


@dataclass(frozen=True)
class Estimate:
    """A measure estimated from others, mean and standard deviation in mm (weight: kg). Never a reading."""

    mean: float
    sd: float


@dataclass(frozen=True)
class _Beside:
    """What the other readings let expect of one: mean and sd of the logarithm, and how far the sd opens."""

    mean: float
    sd: float
    wider: float


@dataclass(frozen=True)
class _Verdict:
    z: float
    limit: float
    low: float
    high: float

    @property
    def beyond(self) -> bool:
        return abs(self.z) > self.limit


@dataclass(frozen=True)
class _Judge:
    """Everything but the readings that a verdict depends on; `model` is None where none applies."""

    model: BodyModel | None
    earlier: Mapping[str, tuple[float, float]]
    offsets: Mapping[str, float]
    child: bool

    def verdicts(self, readings: Mapping[str, float], only: str | None = None) -> dict[str, _Verdict]:
        """Judge each reading by all the others, by the own history and by range."""
        result: dict[str, _Verdict] = {}
        predicted: dict[str, _Beside] = {}
        df = OWN_DF
        if self.model is not None:
            known = tuple(place for place, code in enumerate(CODES) if code in readings)
            logs = np.array([self._log(CODES[place], readings[CODES[place]]) for place in known])
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
            logs = np.array([self._log(CODES[place], readings[CODES[place]]) for place in known])
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
        predicted: _Beside | None,
        own: own_history.Expectation | None,
        df: float,
    ) -> _Verdict | None:
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
            off = (self._log(code, value) if offset else math.log(value)) - mean
            z = normal_deviate(off / wider / (up if off > 0 else down), df)
            low = math.exp(mean - student_deviate(lower, df) * down * wider) + offset
            high = math.exp(mean + student_deviate(upper, df) * up * wider) + offset
            verdict = _Verdict(z, upper if off > 0 else lower, low, high)
        return _within_range(code, value, verdict, child=self.child)

    def _log(self, code: str, value: float) -> float:
        offset = self.offsets.get(code, 0.0)
        # An offset as large as the reading can only come from a slip in the reading.
        return math.log(value - offset) if value > 2 * offset else math.log(value)

    def flags(self, readings: Mapping[str, float]) -> tuple[dict[str, _Verdict], dict[str, float]]:
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


def check(
    readings: Mapping[str, Value],
    sex: str | None = None,
    earlier: Mapping[str, tuple[Value, Value]] | None = None,
    offsets: Mapping[str, Value] | None = None,
    *,
    compare: bool = True,
    child: bool = False,
    suggest: bool = True,
    models: Mapping[str, BodyModel] | None = None,
) -> list[Flag]:
    """Return the readings to take again, most surprising first; an empty list where all go together.

    `readings` maps measure codes to mm (weight: kg). Those in `CODES` are judged beside each other, all
    others by range and own history. `sex` is "female", "male" or None: then a reading is flagged only
    where both models flag it. `earlier` maps codes to (own last value, days ago). `offsets` come
    from `learn_offsets`. `compare=False` leaves the model of bodies out (pregnancy, prosthesis); `child=True`
    (under 18) does so too, and allows for growth. `suggest=False` leaves the suggestions out, several
    times faster. `models` are by sex, those shipped where none are given.

    A reading beside which there is nothing to compare (too few others, or a body unlike the fitted people)
    is not flagged by the model; `limits` says where that is so.

    Raises `ValueError` for an unknown sex, and for a reading, an earlier value, an age in days or an offset
    that is not a finite number or not above 0 (days: at least 0; an offset may be negative).
    """
    values = _readings(readings, "reading")
    judges = _judges(sex, earlier, offsets, compare=compare and not child, child=child, models=models)
    results = [judge.flags(values) for judge in judges]
    flags = []
    for code in results[0][0]:
        found = [flagged.get(code) for flagged, _ in results]
        verdicts = [each for each in found if each is not None]
        if len(verdicts) < len(results) or len({each.z > 0 for each in verdicts}) > 1:
            continue
        flags.append(
            Flag(
                code=code,
                z=min((each.z for each in verdicts), key=abs),
                low=min(each.low for each in verdicts),
                high=max(each.high for each in verdicts),
                suggestions=_suggestions(code, values, judges, [each for _, each in results])
                if suggest
                else (),
            )
        )
    return sorted(flags, key=lambda flag: -abs(flag.z))


def limits(
    codes: Iterable[str],
    readings: Mapping[str, Value],
    sex: str | None = None,
    earlier: Mapping[str, tuple[Value, Value]] | None = None,
    offsets: Mapping[str, Value] | None = None,
    *,
    compare: bool = True,
    child: bool = False,
) -> dict[str, tuple[float, float]]:
    """Return, by code, between which values (mm; weight kg) a reading passes beside the others as they stand.

    For a page that must judge without asking back. A code is left out where there is nothing to compare.
    Arguments and errors as in `check`; a code's own reading, if there is one, does not count.
    """
    values = _readings(readings, "reading")
    judges = _judges(sex, earlier, offsets, compare=compare and not child, child=child)
    result = {}
    for code in codes:
        others = {each: value for each, value in values.items() if each != code}
        found = [judge.limits(code, others) for judge in judges]
        pairs = [each for each in found if each is not None]
        if len(pairs) == len(judges):
            result[code] = (min(low for low, _ in pairs), max(high for _, high in pairs))
    return result


def estimate(
    readings: Mapping[str, Value],
    code: str,
    sex: str | None = None,
    offsets: Mapping[str, Value] | None = None,
) -> Estimate:
    """Estimate the measure `code` from the others, mean and standard deviation in mm (weight: kg).

    Regression on the modelled readings in `readings` (its own, if there, does not count), with the
    uncertainty of the fit. With `sex` None the two sexes are weighed by how well the readings agree with each.
    With `offsets` the estimate is for the studio's own landmarks. Show it as an estimate, never store it as a
    reading.

    Raises `ValueError` for a code outside the model, an unknown sex, an impossible reading, and where the other
    readings lie outside the fitted people, so that no comparison is available.
    """
    if code not in INDEX:
        raise ValueError(f"{code} is not in the body model and cannot be estimated: use {', '.join(CODES)}.")
    values = _readings(readings, "reading")
    parts = []
    for judge in _judges(sex, None, offsets, compare=True, child=False):
        assert judge.model is not None
        known = tuple(place for place, each in enumerate(CODES) if each in values and each != code)
        logs = np.array([judge._log(CODES[place], values[CODES[place]]) for place in known])
        if judge.model.in_domain(known, logs):
            weight = judge.model.log_likelihood(known, logs) if known else 0.0
            parts.append((weight, *judge.model.moments(known, logs, INDEX[code])))
    if not parts:
        raise ValueError(
            f"No comparison available for {code}: the other readings lie outside those of the measured people "
            "that the estimate rests on. Please tape it."
        )
    top = max(weight for weight, _, _ in parts)
    shares = [math.exp(weight - top) for weight, _, _ in parts]
    total = sum(shares)
    mean = sum(share * m for share, (_, m, _) in zip(shares, parts, strict=True)) / total
    square = sum(share * (s**2 + m**2) for share, (_, m, s) in zip(shares, parts, strict=True)) / total
    offset = float((offsets or {}).get(code, 0.0))
    return Estimate(mean + offset, math.sqrt(max(square - mean**2, 0.0)))


def learn_offsets(people: Sequence[Mapping[str, Value]], sex: str) -> dict[str, float]:
    """Return how much larger the studio tapes each measure than the fitted people were taped, mm (weight: kg).

    `people`: one mapping of codes to readings for each person of this sex, from about ten on useful; any
    measures may be missing. The shifts are shrunk toward none: with few people, or where the studio's
    tapes agree with the fit, they stay small. A group of stout or tall people is not taken for a shift.
    Pass the result as `offsets`. Codes outside the model are left out.

    Raises `ValueError` for an unknown sex or an impossible reading.
    """
    if sex not in SEXES:
        raise ValueError(f"Unknown sex {sex!r}: use 'female' or 'male'.")
    rows = [
        {INDEX[code]: math.log(value) for code, value in person.items() if code in INDEX}
        for person in (_readings(person, "reading") for person in people)
    ]
    shifts = learn_shifts(shipped_models()[sex], rows)
    return {
        CODES[place]: math.exp(float(np.median([row[place] for row in rows if place in row])))
        * -math.expm1(-shift)
        for place, shift in shifts.items()
    }


def _suggestions(
    code: str,
    values: Mapping[str, float],
    judges: Sequence[_Judge],
    sounds: Sequence[Mapping[str, float]],
) -> tuple[Suggestion, ...]:
    """Return what makes the set plausible (for at least one sex where it is not known), best first."""
    best: dict[float, tuple[float, Suggestion]] = {}
    for candidate in slips.candidates(code, values[code], values):
        changed = {code: candidate.value}
        if candidate.partner is not None and candidate.partner_value is not None:
            changed[candidate.partner] = candidate.partner_value
        fits = [judge.fits(changed, sound) for judge, sound in zip(judges, sounds, strict=True)]
        good = [each for each in fits if each is not None]
        key = round(candidate.value, 1)
        if good and (key not in best or min(good) < best[key][0]):
            text = slips.sentence(candidate, code, values[code])
            best[key] = min(good), Suggestion(candidate.value, candidate.slip, text)
    return tuple(suggestion for _, suggestion in sorted(best.values(), key=lambda each: each[0]))


def _judges(
    sex: str | None,
    earlier: Mapping[str, tuple[Value, Value]] | None,
    offsets: Mapping[str, Value] | None,
    *,
    compare: bool,
    child: bool,
    models: Mapping[str, BodyModel] | None = None,
) -> list[_Judge]:
    if sex is not None and sex not in SEXES:
        raise ValueError(f"Unknown sex {sex!r}: use 'female', 'male' or None.")
    before = {}
    for code, (value, days) in (earlier or {}).items():
        age = float(days)
        if not math.isfinite(age) or age < 0:
            raise ValueError(f"The earlier {code} must be 0 or more days ago (got {days}).")
        before[code] = (_positive(value, f"earlier {code}"), age)
    shifts = {code: float(value) for code, value in (offsets or {}).items()}
    for code, shift in shifts.items():
        if not math.isfinite(shift):
            raise ValueError(f"The offset of {code} must be a finite number (got {shift}).")
    chosen: list[BodyModel | None] = [None]
    if compare:
        known = shipped_models() if models is None else models
        chosen = [known[each] for each in (SEXES if sex is None else (sex,))]
    return [_Judge(model, before, shifts, child) for model in chosen]


def _heard(known: Sequence[int], prediction: Prediction) -> dict[str, _Beside]:
    return {
        CODES[place]: _Beside(
            float(prediction.mean[row]), float(prediction.sd[row]), float(prediction.wider[row])
        )
        for row, place in enumerate(known)
        if prediction.heard[row]
    }


def _within_range(code: str, value: float, verdict: _Verdict | None, *, child: bool) -> _Verdict | None:
    """Let the range have the last word where the reading is outside it, or where nothing else is known."""
    limits = own_history.plausible_range(code, child=child)
    if limits is None:
        return verdict
    low, high = limits
    if verdict is not None:
        low, high = max(low, verdict.low), min(high, verdict.high)
        if limits[0] <= value <= limits[1] and low < high:
            return _Verdict(verdict.z, verdict.limit, low, high)
        low, high = (low, high) if low < high else limits
    middle, half = math.log(limits[0] * limits[1]) / 2, math.log(limits[1] / limits[0]) / 2
    z = RANGE_DEVIATIONS * (math.log(value) - middle) / half
    if verdict is not None and abs(verdict.z) > abs(z) and verdict.beyond:
        z = verdict.z
    return _Verdict(z, RANGE_DEVIATIONS * (1 + 1e-9), low, high)


def _readings(readings: Mapping[str, Value], noun: str) -> dict[str, float]:
    return {code: _positive(value, f"{noun} {code}") for code, value in readings.items()}


def _positive(value: Value, name: str) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError) as problem:
        raise ValueError(f"The {name} must be a number (got {value!r}).") from problem
    if not math.isfinite(number) or number <= 0:
        raise ValueError(f"The {name} must be a finite number above 0 (got {value}).")
    return number
