"""The measures that the studio knows, read once from ``studio/data/measures.json``, which people edit by
hand.

A slip in that file stops the start with a sentence that names the measure and the key.
"""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from studio.calc.units import format_change, format_length, format_weight

FILE = Path(__file__).resolve().parents[1] / "data" / "measures.json"
KINDS = ("girth", "length", "width", "height", "weight")
SIDES = ("left", "right", "centre")
WEIGHT_UNITS = {"cm": "kg", "mm": "kg", "in": "lb"}  # the scale's unit beside the tape's


@dataclass(frozen=True)
class CatalogueMeasure:
    """A named body dimension and how to take it. Lengths are mm; where ``unit`` is "kg" every figure is
    kilograms.

    ``technical_error`` is the standard deviation of one taping by one measurer, ``between_error`` that
    between measurers; ``adult`` and ``child`` are the lowest and highest value that is accepted.
    """

    code: str
    name: str
    kind: str
    unit: str
    side: str
    instruction: str
    technical_error: float
    between_error: float
    technical_error_source: str
    adult: tuple[float, float]
    child: tuple[float, float]
    range_source: str
    iso_8559: str | None
    iso_20685_limit_mm: float | None
    iso_20685_class: str | None
    garments: tuple[str, ...]
    figure: Mapping[str, str] | None
    order: int
    note: str

    @property
    def technical_error_mm(self) -> float | None:
        return self.technical_error if self.unit == "mm" else None

    @property
    def between_error_mm(self) -> float | None:
        return self.between_error if self.unit == "mm" else None

    @property
    def range_adult_mm(self) -> tuple[float, float] | None:
        return self.adult if self.unit == "mm" else None

    @property
    def range_child_mm(self) -> tuple[float, float] | None:
        return self.child if self.unit == "mm" else None

    def range_for(self, *, minor: bool) -> tuple[float, float]:
        return self.child if minor else self.adult

    def typed_in(self, unit: str) -> str:
        """The unit in which this measure is typed by somebody who tapes in ``unit`` ("cm" or "in")."""
        return WEIGHT_UNITS[unit] if self.unit == "kg" else unit

    def in_words(self, value: Decimal | float, unit: str) -> str:
        """A value of this measure (mm or kg) in the reader's unit: "97.2 cm", "38 1/4 in", "60.5 kg"."""
        if self.unit == "kg":
            return format_weight(value, WEIGHT_UNITS[unit])
        return format_length(value, unit)

    def change_in_words(self, before: Decimal | float, after: Decimal | float, unit: str) -> str:
        """A change of this measure (mm or kg) as the difference of the two values that `in_words` shows."""
        if self.unit == "mm":
            return format_change(before, after, unit)
        shown = (Decimal(self.in_words(value, unit).split()[0]) for value in (after, before))
        tenths = next(shown) - next(shown)
        sign = {1: "+", -1: "\u2212"}.get((tenths > 0) - (tenths < 0), "")
        return f"{sign}{abs(tenths)} {WEIGHT_UNITS[unit]}"


@dataclass(frozen=True)
class MeasureSet:
    """Measures that are taken together; those in ``repeat`` are taken twice."""

    code: str
    name: str
    measures: tuple[str, ...]
    repeat: frozenset[str]


@dataclass(frozen=True)
class Catalogue:
    """All measures and sets by their codes, in the order of the walk round the body."""

    version: int
    measures: Mapping[str, CatalogueMeasure]
    sets: Mapping[str, MeasureSet]


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    """The catalogue of this version; raises ValueError where the file can't be used."""
    return read_catalogue(json.loads(FILE.read_text(encoding="utf-8")))


def measure(code: str) -> CatalogueMeasure:
    """The measure of this code; raises ValueError where the catalogue has none."""
    found = catalogue().measures.get(code)
    if found is None:
        raise ValueError(f"There is no measure {code[:64]!r} in the catalogue.")
    return found


def read_catalogue(data: Mapping[str, Any]) -> Catalogue:
    """Check the file's content; raises ValueError naming measure and key."""
    measures: dict[str, CatalogueMeasure] = {}
    for raw in data["measures"]:
        found = read_measure(raw)
        if found.code in measures:
            raise ValueError(f"The measure {found.code} stands in the catalogue twice.")
        measures[found.code] = found
    ordered = sorted(measures.values(), key=lambda each: each.order)
    sets: dict[str, MeasureSet] = {}
    for raw in data["sets"]:
        chosen = read_set(raw, measures)
        if chosen.code in sets:
            raise ValueError(f"The set {chosen.code} stands in the catalogue twice.")
        sets[chosen.code] = chosen
    return Catalogue(
        int(data["version"]),
        MappingProxyType({each.code: each for each in ordered}),
        MappingProxyType(sets),
    )


def read_measure(raw: Mapping[str, Any]) -> CatalogueMeasure:
    """One measure as it stands in the file; raises ValueError naming it and the key."""
    code = str(raw.get("code", "without a code"))
    unit = raw.get("unit")
    if unit not in ("mm", "kg"):
        raise ValueError(f"Measure {code}: unit is {unit!r}; it must be mm or kg.")
    for key, allowed in (("kind", KINDS), ("side", SIDES)):
        if raw.get(key) not in allowed:
            raise ValueError(
                f"Measure {code}: {key} is {raw.get(key)!r}; it must be one of {', '.join(allowed)}."
            )
    figure = raw["figure"]
    return CatalogueMeasure(
        code=code,
        name=str(raw["name"]),
        kind=raw["kind"],
        unit=unit,
        side=raw["side"],
        instruction=str(raw["instruction"]),
        technical_error=_above_zero(raw, f"technical_error_{unit}"),
        between_error=_above_zero(raw, f"between_measurers_error_{unit}"),
        technical_error_source=str(raw["technical_error_source"]),
        adult=_range(raw, f"range_adult_{unit}"),
        child=_range(raw, f"range_child_{unit}"),
        range_source=str(raw["range_source"]),
        iso_8559=raw["iso_8559"],
        iso_20685_limit_mm=raw["iso_20685_limit_mm"],
        iso_20685_class=raw["iso_20685_class"],
        garments=tuple(raw["garments"]),
        figure=MappingProxyType(dict(figure)) if figure else None,
        order=int(raw["order"]),
        note=str(raw.get("note", "")),
    )


def _above_zero(raw: Mapping[str, Any], key: str) -> float:
    value = raw.get(key)
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or not math.isfinite(value)
        or value <= 0
    ):
        raise ValueError(f"Measure {raw.get('code')}: {key} must be a number above 0 (got {value!r}).")
    return float(value)


def _range(raw: Mapping[str, Any], key: str) -> tuple[float, float]:
    try:
        low, high = (float(value) for value in raw[key])
    except (KeyError, TypeError, ValueError) as problem:
        raise ValueError(
            f"Measure {raw.get('code')}: {key} must be a lowest and a highest number."
        ) from problem
    if not 0 < low < high < math.inf:
        raise ValueError(f"Measure {raw.get('code')}: {key} must go from a low to a higher number.")
    return low, high


def read_set(raw: Mapping[str, Any], measures: Mapping[str, CatalogueMeasure]) -> MeasureSet:
    """One set as it stands in the file; raises ValueError naming it."""
    code = str(raw["code"])
    unknown = [each for each in (*raw["measures"], *raw["repeat"]) if each not in measures]
    if unknown:
        raise ValueError(f"Set {code}: there is no measure {unknown[0]!r} in the catalogue.")
    if not raw["measures"] or not set(raw["repeat"]) <= set(raw["measures"]):
        raise ValueError(f"Set {code}: it needs measures, and only those can be repeated.")
    return MeasureSet(code, str(raw["name"]), tuple(raw["measures"]), frozenset(raw["repeat"]))
