"""Reading body charts: the studio's own, those with a source that it may take over, and what paper follows from one."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from fitting.models import BodyChart, ChartMeasure, ChartSize, Pattern
from fitting.queries.paper_zones import ONE_OF, needs_of, paper_zones
from fitting.queries.patterns import SizeLine, SizeTable, measures_of
from fitting.queries.plan_text import say_in
from studio.calc.units import format_length
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right
from studio.queries.choices import known_measures

TABLE = Path(__file__).resolve().parents[1] / "data" / "body_charts.json"
MM_PER = {"cm": Decimal(10), "in": Decimal("25.4")}


@dataclass(frozen=True)
class SourcedChart:
    """A chart with a source that ships with the house; lengths in mm, `sizes` small to large."""

    code: str
    name: str
    source: str
    unit: str
    base_height_mm: Decimal | None
    base_cup_mm: Decimal | None
    notes: str
    sizes: Mapping[str, Mapping[str, Decimal]]


@cache
def sourced_charts() -> dict[str, SourcedChart]:
    """The charts that a studio may take over, by code."""
    table: dict[str, Any] = json.loads(TABLE.read_text(encoding="utf-8"))
    return {row["code"]: _sourced(row) for row in table["charts"]}


def _sourced(row: Mapping[str, Any]) -> SourcedChart:
    mm = MM_PER[row["unit"]]
    return SourcedChart(
        code=row["code"],
        name=row["name"],
        source=row["source"],
        unit=row["unit"],
        base_height_mm=Decimal(row["base_height"]) * mm if row["base_height"] else None,
        base_cup_mm=Decimal(row["base_cup"]) * mm if row["base_cup"] else None,
        notes=row["notes"],
        sizes={
            size: {code: Decimal(values[place]) * mm for code, values in row["measures"].items()}
            for place, size in enumerate(row["sizes"])
        },
    )


def chart_rows() -> "QuerySet[BodyChart]":
    """Charts by name with sizes and measures. Three queries."""
    rows: QuerySet[BodyChart] = BodyChart.objects.prefetch_related(
        Prefetch("sizes", ChartSize.objects.order_by("place")),
        Prefetch("sizes__measures", ChartMeasure.objects.order_by("id")),
    ).order_by("name")
    return rows


def chart_list(actor: Actor) -> "QuerySet[BodyChart]":
    """The studio's charts by name, with sizes and measures. Three queries."""
    actor.need(Right.READ_PAPER)
    return chart_rows()


def chart_get(actor: Actor, chart_id: UUID) -> BodyChart:
    """One chart with sizes and measures. Three queries; raises NotHere."""
    found = chart_list(actor).filter(pk=chart_id).first()
    if found is None:
        raise NotHere("body chart")
    return found


def measures_of_chart(chart: BodyChart) -> dict[str, dict[str, Decimal]]:
    """Size name to the catalogue's code to mm, sizes small to large; uses what was prefetched."""
    return {size.name: {row.measure: row.value for row in size.measures.all()} for size in chart.sizes.all()}


def paper_of_chart(chart: BodyChart, kind: str) -> dict[str, dict[str, Decimal]]:
    """The chart as the run of a pattern of this kind: size name to the paper's measure to the body's mm.

    Round the chest a chart with a bust gives a bust, one without gives a chest.
    """
    needs = needs_of(kind)
    found: dict[str, dict[str, Decimal]] = {}
    for size, body in measures_of_chart(chart).items():
        row: dict[str, Decimal] = {}
        for code in (*needs.lengths, *needs.zones, *needs.details):
            if code == ONE_OF[1] and ONE_OF[0] in row:
                continue
            served = paper_zones()[code].served(body)
            if served is not None:
                row[code] = body[served]
        found[size] = row
    return found


def drawn_ease(pattern: Pattern, unit: str) -> dict[str, tuple[str, ...]]:
    """The ease that the paper holds over the body chart that it was drawn for: measure to a text for each size.

    Only for finished measures, and sizes that the chart names alike. Three queries where there is a chart.
    """
    if pattern.chart_id is None or pattern.basis != Pattern.Basis.FINISHED:
        return {}
    chart = chart_rows().get(pk=pattern.chart_id)
    bodies, say = paper_of_chart(chart, pattern.kind), say_in(unit)
    sizes = measures_of(pattern)
    found = {}
    for code in dict.fromkeys(code for row in sizes.values() for code in row):
        texts = tuple(
            say(row[code] - float(bodies[size][code])) if code in row and code in bodies.get(size, {}) else ""
            for size, row in sizes.items()
        )
        if any(texts):
            found[code] = texts
    return found


def chart_table(actor: Actor, chart: BodyChart, unit: str) -> SizeTable:
    """The chart as a table of texts in `unit`."""
    rows = measures_of_chart(chart)
    used = {code for row in rows.values() for code in row}
    return SizeTable(
        sizes=tuple(rows),
        lines=tuple(
            SizeLine(
                code,
                one.name,
                one.instruction,
                tuple(format_length(row[code], unit) if code in row else "" for row in rows.values()),
            )
            for code, one in known_measures(actor).items()
            if code in used
        ),
    )
