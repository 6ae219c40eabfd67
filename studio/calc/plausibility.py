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

import numpy as np

from studio.calc import slips
from studio.calc.landmark_shifts import learn_shifts
from studio.calc.plausibility_judge import Judge
from studio.calc.plausibility_model import CODES, INDEX, SEXES, BodyModel, shipped_models
from studio.calc.slips import Suggestion

Value = float | Decimal
OffsetsBySex = Mapping[str, Mapping[str, Value]]


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
    offsets_by_sex: OffsetsBySex | None = None,
) -> list[Flag]:
    """Return the readings to take again, most surprising first; an empty list where all go together.

    `readings` maps measure codes to mm (weight: kg). Those in `CODES` are judged beside each other, all
    others by range and own history. `sex` is "female", "male" or None: then a reading is flagged only
    where both models flag it. `earlier` maps codes to (own last value, days ago). `offsets` come from
    `learn_offsets`; `offsets_by_sex` gives each model its own, for a sex that is not known. `compare=False` leaves
    the model of bodies out (pregnancy, prosthesis); `child=True` (under 18) does so too, and allows for growth.
    `suggest=False` leaves the suggestions out, several times faster. `models` are by sex, those shipped
    where none are given.

    A reading beside which there is nothing to compare (too few others, or a body unlike the fitted people)
    is not flagged by the model; `limits` says where that is so.

    Raises `ValueError` for an unknown sex, and for a reading, an earlier value, an age in days or an offset
    that is not a finite number or not above 0 (days: at least 0; an offset may be negative).
    """
    values = _readings(readings, "reading")
    judges = _judges(
        sex, earlier, offsets, offsets_by_sex, compare=compare and not child, child=child, models=models
    )
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
    offsets_by_sex: OffsetsBySex | None = None,
) -> dict[str, tuple[float, float]]:
    """Return, by code, between which values (mm; weight kg) a reading passes beside the others as they stand.

    For a page that must judge without asking back. A code is left out where there is nothing to compare.
    Arguments and errors as in `check`; a code's own reading, if there is one, does not count.
    """
    values = _readings(readings, "reading")
    judges = _judges(sex, earlier, offsets, offsets_by_sex, compare=compare and not child, child=child)
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
    *,
    offsets_by_sex: OffsetsBySex | None = None,
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
    for judge in _judges(sex, None, offsets, offsets_by_sex, compare=True, child=False):
        assert judge.model is not None
        known = tuple(place for place, each in enumerate(CODES) if each in values and each != code)
        logs = np.array([judge.log(CODES[place], values[CODES[place]]) for place in known])
        if judge.model.in_domain(known, logs):
            weight = judge.model.log_likelihood(known, logs) if known else 0.0
            mean, sd = judge.model.moments(known, logs, INDEX[code])
            parts.append((weight, mean + judge.offsets.get(code, 0.0), sd))
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
    return Estimate(mean, math.sqrt(max(square - mean**2, 0.0)))


def suspects(
    sets: Sequence[Mapping[str, Value]],
    sex: str | None = None,
    offsets_by_sex: OffsetsBySex | None = None,
) -> list[int]:
    """Return the places of those sets of an adult's readings of which `check` might flag a modelled one.

    For long lists: many sets of the same measures are looked at in one stroke, and `check` is asked about the
    few that remain. It never leaves out a set that the comparison of readings beside each other would flag; what own
    history and range say is not looked at. Readings outside `CODES` do not count.

    Raises `ValueError` as `check`.
    """
    alike: dict[tuple[int, ...], list[int]] = {}
    values = [_readings(each, "reading") for each in sets]
    for place, readings in enumerate(values):
        known = tuple(at for at, code in enumerate(CODES) if code in readings)
        if len(known) > 1:
            alike.setdefault(known, []).append(place)
    judges = _judges(sex, None, None, offsets_by_sex, compare=True, child=False)
    found: list[int] = []
    for known, places in alike.items():
        doubtful = np.ones(len(places), dtype=bool)
        for judge in judges:
            assert judge.model is not None
            logs = np.array(
                [[judge.log(CODES[at], values[place][CODES[at]]) for at in known] for place in places]
            )
            doubtful &= judge.model.may_surprise(known, logs)
        found += [place for place, each in zip(places, doubtful, strict=True) if each]
    return sorted(found)


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
    judges: Sequence[Judge],
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
            best[key] = (
                min(good),
                Suggestion(candidate.value, candidate.slip, text, candidate.partner, candidate.partner_value),
            )
    return tuple(suggestion for _, suggestion in sorted(best.values(), key=lambda each: each[0]))


def _judges(
    sex: str | None,
    earlier: Mapping[str, tuple[Value, Value]] | None,
    offsets: Mapping[str, Value] | None,
    offsets_by_sex: OffsetsBySex | None,
    *,
    compare: bool,
    child: bool,
    models: Mapping[str, BodyModel] | None = None,
) -> list[Judge]:
    if sex is not None and sex not in SEXES:
        raise ValueError(f"Unknown sex {sex!r}: use 'female', 'male' or None.")
    before = {}
    for code, (value, days) in (earlier or {}).items():
        age = float(days)
        if not math.isfinite(age) or age < 0:
            raise ValueError(f"The earlier {code} must be 0 or more days ago (got {days}).")
        before[code] = (_positive(value, f"earlier {code}"), age)
    if not compare:
        return [Judge(None, before, {}, child)]
    known = shipped_models() if models is None else models
    return [
        Judge(known[each], before, _shifts((offsets_by_sex or {}).get(each, offsets or {})), child)
        for each in (SEXES if sex is None else (sex,))
    ]


def _shifts(offsets: Mapping[str, Value]) -> dict[str, float]:
    shifts = {code: float(value) for code, value in offsets.items()}
    for code, shift in shifts.items():
        if not math.isfinite(shift):
            raise ValueError(f"The offset of {code} must be a finite number (got {shift}).")
    return shifts


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
