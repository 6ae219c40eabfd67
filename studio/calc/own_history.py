"""What a person's own earlier readings let expect of the next one.

The difference of two occasions has two sources: both tapings, and the body's own change. Adults: changes of
the modelled dimensions go together as the dimensions themselves do at a given height, and build up as

    covariance of the changes = 2 (covariance at a given height) (1 - exp(-years / 10))

so that after many years an earlier reading says little more than the other readings. Ten years, and the rates
for all other measures and for children, are our own choice: common practice, no source.
"""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from studio.calc.plausibility_model import CODES, HEIGHT, INDEX, Array, BodyModel, shipped_models

MEASURES_FILE: Final = Path(__file__).parents[1] / "data" / "measures.json"
DAYS_PER_YEAR: Final = 365.25
MEMORY_YEARS: Final = 10.0
# Standard deviation of the change in a year, as a part of the reading.
GIRTH_RATE: Final = 0.05
LENGTH_RATE: Final = 0.01
# A child grows; a girth or the weight may also lessen, a length does not.
GROWTH_RATE: Final = 0.08
SHRINKING_RATE: Final = 0.03
# Where the catalogue does not know the measure (a studio's own).
TAPE_ERROR_MM: Final = 8.0


@dataclass(frozen=True)
class Expectation:
    """The expected logarithm and its standard deviation downward and upward; `tape` is that of one taping."""

    mean: float
    down: float
    up: float
    tape: float


def expect(
    readings: Mapping[str, float],
    earlier: Mapping[str, tuple[float, float]],
    model: BodyModel | None,
    *,
    child: bool,
) -> dict[str, Expectation]:
    """Return what `earlier` ({code: (mm or kg, days ago)}) lets expect of each reading that has one."""
    codes = [code for code in readings if code in earlier]
    if not codes:
        return {}
    tape = {code: tape_error(code) / earlier[code][0] for code in codes}
    years = {code: earlier[code][1] / DAYS_PER_YEAR for code in codes}
    result = {}
    for code in codes:
        mean = math.log(earlier[code][0])
        changeable = code == "weight" or code.endswith("_girth")
        if child:
            down, up = (SHRINKING_RATE if changeable else 0.0) * years[code], GROWTH_RATE * years[code]
        else:
            down = up = (GIRTH_RATE if changeable else LENGTH_RATE) * math.sqrt(years[code])
        both = 2 * tape[code] ** 2
        result[code] = Expectation(mean, math.sqrt(both + down**2), math.sqrt(both + up**2), tape[code])
    together = [code for code in codes if code in INDEX]
    if not child and together:
        change = _change_covariance(model or shipped_models()["female"])
        places = [INDEX[code] for code in together]
        built = np.array([1 - math.exp(-years[code] / MEMORY_YEARS) for code in together])
        covariance = 2 * change[np.ix_(places, places)] * np.sqrt(np.outer(built, built))
        covariance += 2 * np.diag([tape[code] ** 2 for code in together])
        off = np.array([math.log(readings[code] / earlier[code][0]) for code in together])
        precision = np.linalg.inv(covariance)
        own = np.diag(precision)
        means = off - (precision @ off) / own
        for code, mean, sd in zip(together, means, 1 / np.sqrt(own), strict=True):
            result[code] = Expectation(
                math.log(earlier[code][0]) + float(mean), float(sd), float(sd), tape[code]
            )
    return result


def combine(
    predicted: tuple[float, float], own: Expectation, own_mean: float | None = None
) -> tuple[float, float]:
    """Join what the other readings and the own history let expect: mean and standard deviation of the log.

    Both speak of the body; the error of the new taping comes on top once. The surer one counts for more.
    """
    once = own.tape**2
    least = once / 100
    by_others, by_own = max(predicted[1] ** 2 - once, least), max(own.up**2 - once, least)
    mean = own.mean if own_mean is None else own_mean
    total = 1 / by_others + 1 / by_own
    return (predicted[0] / by_others + mean / by_own) / total, math.sqrt(1 / total + once)


@cache
def catalogue() -> Mapping[str, Mapping[str, Any]]:
    """Return the measures of `studio/data/measures.json` by code, read once."""
    record = json.loads(MEASURES_FILE.read_text(encoding="utf-8"))
    return {measure["code"]: measure for measure in record["measures"]}


def plausible_range(code: str, *, child: bool) -> tuple[float, float] | None:
    """Return the lowest and highest value that is accepted for anybody (mm; weight kg), None if not known."""
    measure = catalogue().get(code)
    if measure is None:
        return None
    kind = "child" if child else "adult"
    found = measure.get(f"range_{kind}_mm") or measure.get(f"range_{kind}_kg")
    return (float(found[0]), float(found[1])) if found else None


def tape_error(code: str) -> float:
    """Return the standard deviation of one taping (mm; weight kg), measurers' differences included."""
    measure = catalogue().get(code)
    if measure is None:
        return TAPE_ERROR_MM
    unit = "kg" if code == "weight" else "mm"
    parts = (measure.get(f"technical_error_{unit}"), measure.get(f"between_measurers_error_{unit}"))
    return math.hypot(*(float(part) for part in parts if part)) or TAPE_ERROR_MM


def _change_covariance(model: BodyModel) -> Array:
    """Return the covariance at a given height; of the height itself a hundredth of its variance is left."""
    spread = model.covariance
    left = spread - np.outer(spread[HEIGHT], spread[HEIGHT]) / spread[HEIGHT, HEIGHT]
    left[HEIGHT, HEIGHT] = spread[HEIGHT, HEIGHT] / 100
    assert left.shape == (len(CODES), len(CODES))
    return np.asarray(left)
