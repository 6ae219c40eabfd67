"""Size charts that paper is drawn for, read once from ``studio/data/standard_figures.json``, and a body beside
one.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any
from uuid import UUID

from studio.calc.standard_figure import (
    GIRTHS,
    FigureDifference,
    StandardChart,
    StandardSize,
    compare_figure,
    nearest_size,
)
from studio.calc.units import format_length
from studio.models import Client
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.queries.clients import client_get
from studio.queries.measuring import body_of
from studio.queries.retention import consent_withdrawn, withdrawn_words
from studio.queries.trust import technical_errors_for

FILE = Path(__file__).resolve().parents[1] / "data" / "standard_figures.json"
INCH_MM = 25.4


@dataclass(frozen=True)
class StandardFigures:
    """All charts by code, the sources of their figures by what they say, and what holds for most charts."""

    charts: Mapping[str, StandardChart]
    sources: Mapping[str, str]
    note: str


@dataclass(frozen=True)
class FigureComparison:
    """A client's body beside one size of a chart. ``nearest`` is the size that bust, waist and hip choose."""

    client: Client
    chart: StandardChart
    size: StandardSize
    nearest: StandardSize | None
    differences: tuple[FigureDifference, ...]


@lru_cache(maxsize=1)
def standard_figures() -> StandardFigures:
    """The charts of this version; raises ValueError naming chart and key where the file can't be used."""
    return read_figures(json.loads(FILE.read_text(encoding="utf-8")))


def read_figures(data: Mapping[str, Any]) -> StandardFigures:
    """Check the file's content; raises ValueError naming chart and key."""
    charts: dict[str, StandardChart] = {}
    for raw in data["charts"]:
        code = str(raw["code"])
        if code in charts:
            raise ValueError(f"The chart {code} stands in the file twice.")
        if not raw["sizes"]:
            raise ValueError(f"The chart {code} has no sizes.")
        height = raw["height_in"]
        charts[code] = StandardChart(
            code=code,
            name=str(raw["name"]),
            height=None
            if height is None
            else (_mm(code, "height_in", height[0]), _mm(code, "height_in", height[1])),
            waist_to_hip=_mm_or_none(code, "waist_to_hip_in", raw["waist_to_hip_in"]),
            cup=_mm_or_none(code, "cup_in", raw["cup_in"]),
            sizes=tuple(
                StandardSize(
                    name=str(size["name"]),
                    bust=_mm(code, "bust_in", size["bust_in"]),
                    waist=_mm(code, "waist_in", size["waist_in"]),
                    hip=_mm(code, "hip_in", size["hip_in"]),
                    back_waist=_mm_or_none(code, "back_waist_in", size["back_waist_in"]),
                )
                for size in raw["sizes"]
            ),
        )
    return StandardFigures(
        MappingProxyType(charts), MappingProxyType(dict(data["sources"])), str(data["note"])
    )


def standard_figure_of(actor: Actor, client_id: UUID, *, chart: str = "", size: str = "") -> FigureComparison:
    """How a body differs from a chart's (blank: the first) size (blank: the nearest by bust, waist and hip).

    Queries as `body_of` and the technical errors, whatever is compared, and one about the consent. Raises NotHere,
    Refused (chart, size, client: the consent was withdrawn).
    """
    actor.need(Right.READ_READINGS)
    client = client_get(actor, client_id)
    if client.erased_at is not None:
        raise NotHere("client")
    if consent_withdrawn(client_id):
        raise Refused({"client": withdrawn_words(client.name)})
    charts = standard_figures().charts
    chosen = charts.get(chart) if chart else next(iter(charts.values()))
    if chosen is None:
        raise Refused({"chart": f"There is no chart {chart[:32]!r}; there are {', '.join(charts)}."})
    body = body_of(actor, client_id)
    figures = {code: found.value for code, found in body.items() if found.unit == "mm"}
    nearest = nearest_size(chosen, figures) if any(code in figures for code in GIRTHS) else None
    try:
        picked = chosen.size(size) if size else nearest
    except ValueError as problem:
        raise Refused({"size": str(problem)}) from problem
    if picked is None:
        raise Refused({"size": "Bust, waist and hip have not been taken: choose the size yourself."})
    errors = technical_errors_for(actor, {code: found.measure for code, found in body.items()})
    return FigureComparison(
        client,
        chosen,
        picked,
        nearest,
        compare_figure(
            chosen,
            picked,
            figures,
            say=lambda mm: format_length(mm, client.unit),
            errors={
                code: errors[code].value / min(found.takes, 2) ** 0.5
                for code, found in body.items()
                if found.unit == "mm"
            },
        ),
    )


def _mm(code: str, key: str, inches: Any) -> float:
    if isinstance(inches, bool) or not isinstance(inches, int | float) or not 0 < inches < 120:
        raise ValueError(f"Chart {code}: {key} must be inches above 0 (got {inches!r}).")
    return float(inches) * INCH_MM


def _mm_or_none(code: str, key: str, inches: Any) -> float | None:
    return None if inches is None else _mm(code, key, inches)
