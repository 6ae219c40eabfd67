"""Keeping body charts: recording one's own, and taking over one that has a source."""

from collections.abc import Sequence
from decimal import Decimal
from uuid import UUID

from django.db import IntegrityError, transaction

from fitting.models import BodyChart, ChartMeasure, ChartSize
from fitting.queries.charts import sourced_charts
from fitting.services.size_runs import SizeGiven, body_known, run_reasons
from studio.calc.units import format_length
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new
from studio.queries.choices import known_measures

BOUNDS = {
    "base_height_mm": ("height of the base figure", 300, 2500),
    "base_cup_mm": ("cup of the base figure", 0, 300),
}


def record_chart(
    actor: Actor,
    *,
    name: str,
    source: str,
    unit: str,
    sizes: Sequence[SizeGiven],
    base_height_mm: Decimal | None = None,
    base_cup_mm: Decimal | None = None,
    notes: str = "",
) -> BodyChart:
    """Record a body chart: sizes from small to large, each with the same measures of the catalogue, in mm.

    `unit` ("cm" or "in") is the one that it was stated in. Raises Refused naming the field; a reason for one
    cell is named ``sizes.<place>.measures.<code>``, places counted from 0.
    """
    actor.need(Right.KEEP_PAPER)
    name = " ".join(name.split())
    reasons: dict[str, str] = {}
    if not name:
        reasons["name"] = "Give the chart a name."
    elif BodyChart.objects.filter(name__iexact=name).exists():
        reasons["name"] = f"There is already a chart named {name}; give this one another name."
    if not source.strip():
        reasons["source"] = "Say where the chart is from: who states it, or that it is your own."
    if unit not in {"cm", "in"}:
        reasons["unit"] = f"A chart is stated in cm or in inches (in), not {unit!r}."
    for field, value in (("base_height_mm", base_height_mm), ("base_cup_mm", base_cup_mm)):
        words, least, most = BOUNDS[field]
        if value is not None and not (value.is_finite() and least <= value <= most):
            low, high = format_length(least, actor.unit), format_length(most, actor.unit)
            reasons[field] = f"The {words} must lie between {low} and {high}."
    reasons |= run_reasons(sizes, actor.unit, body_known(known_measures(actor)))
    if reasons:
        raise Refused(reasons)
    try:
        with transaction.atomic():
            chart = save_new(
                BodyChart(
                    name=name,
                    source=source.strip(),
                    unit=unit,
                    base_height_mm=base_height_mm,
                    base_cup_mm=base_cup_mm,
                    notes=notes.strip(),
                )
            )
    except IntegrityError as exc:  # two people at the same moment
        raise Refused(
            {"name": f"There is already a chart named {name}; give this one another name."}
        ) from exc
    rows = [
        ChartSize(chart=chart, name=size.name.strip(), place=place) for place, size in enumerate(sizes, 1)
    ]
    ChartSize.objects.bulk_create(rows)
    ChartMeasure.objects.bulk_create(
        ChartMeasure(size=row, measure=code, value=value)
        for row, size in zip(rows, sizes, strict=True)
        for code, value in size.measures.items()
    )
    record_act(actor, "record_chart", chart, name=name, sizes=len(rows))
    return chart


def take_chart(actor: Actor, *, code: str) -> BodyChart:
    """Take a chart with a source over as the studio's own, figure by figure. Raises NotHere, Refused (name)."""
    found = sourced_charts().get(code)
    if found is None:
        raise NotHere("body chart")
    return record_chart(
        actor,
        name=found.name,
        source=found.source,
        unit=found.unit,
        base_height_mm=found.base_height_mm,
        base_cup_mm=found.base_cup_mm,
        notes=found.notes,
        sizes=[SizeGiven(size, measures) for size, measures in found.sizes.items()],
    )


def change_chart(
    actor: Actor,
    chart_id: UUID,
    *,
    expected_version: int | None,
    name: str | None = None,
    notes: str | None = None,
) -> BodyChart:
    """Change a chart's name or notes; its figures stay, since patterns rest on them.

    Raises NotHere, Stale, and Refused for a name that is blank or taken.
    """
    actor.need(Right.KEEP_PAPER)
    chart = lock_for_edit(BodyChart, chart_id, expected_version)
    changes: dict[str, str] = {}
    if name is not None:
        changes["name"] = " ".join(name.split())
        if not changes["name"]:
            raise Refused({"name": "Give the chart a name."})
        if BodyChart.objects.filter(name__iexact=changes["name"]).exclude(pk=chart.pk).exists():
            raise Refused({"name": f"There is already a chart named {changes['name']}."})
    if notes is not None:
        changes["notes"] = notes.strip()
    changed = save_edit(chart, changes)
    if changed:
        record_act(actor, "change_chart", chart, changed=changed)
    return chart
