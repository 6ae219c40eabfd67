"""Recording paper: a pattern with its run of sizes."""

from collections.abc import Sequence
from decimal import Decimal
from uuid import UUID

from django.db import IntegrityError, transaction

from fitting.models import BodyChart, Closeness, GarmentKind, Pattern, PatternMeasure, PatternSize
from fitting.queries.charts import chart_rows, paper_of_chart
from fitting.queries.paper_zones import needs_of
from fitting.services.pattern_pieces import FlatGiven, IntakeGiven, PieceGiven, keep_pieces, with_flats
from fitting.services.size_runs import MOST_SIZES, SizeGiven, paper_known, run_reasons
from studio.calc.units import format_length
from studio.platform.errors import Refused
from studio.platform.queries.people import studio_get
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new

__all__ = [
    "MOST_SIZES",
    "FlatGiven",
    "IntakeGiven",
    "PieceGiven",
    "SizeGiven",
    "change_pattern",
    "record_pattern",
]

# Least and most in mm; they only catch slips of typing (common practice, no source).
BOUNDS = {
    "seam_allowance_mm": ("seam allowance", 0, 100),
    "base_height_mm": ("height that the pattern was drawn for", 300, 2500),
    "base_cup_mm": ("cup that the pattern was drawn for", 0, 300),
}


def record_pattern(
    actor: Actor,
    *,
    name: str,
    kind: str,
    closeness: str,
    structure: str,
    basis: str,
    sizes: Sequence[SizeGiven] = (),
    pieces: Sequence[PieceGiven] = (),
    chart_id: UUID | None = None,
    seam_allowance_mm: Decimal = Decimal(15),
    base_height_mm: Decimal | None = None,
    base_cup_mm: Decimal | None = None,
    stretch_wanted_percent: Decimal | None = None,
    notes: str = "",
) -> Pattern:
    """Record a pattern with its sizes, smallest first, each with the same measures.

    `pieces` are what was measured flat, in the sizes that are given: their finished measures are worked out
    and stand beside those that are stated. `chart_id` is the body chart that it was drawn for; with the basis
    "chart" and no sizes the run is the chart's. Afterwards the pattern, its sizes, pieces and measures exist
    together, and its sizes never change. Raises Refused naming the field; a reason for one cell is named
    ``sizes.<place>.measures.<code>``, for something flat ``pieces.<place>.flats.<place>.<field>``, places
    counted from 0.
    """
    actor.need(Right.KEEP_PAPER)
    name = " ".join(name.split())
    unit = studio_get(actor).unit
    reasons = _facts_reasons(
        name=name,
        kind=kind,
        closeness=closeness,
        structure=structure,
        basis=basis,
        stretch=stretch_wanted_percent,
    )
    chart = None
    if chart_id is not None:
        chart = chart_rows().filter(pk=chart_id).first()
        if chart is None:
            reasons["chart"] = "There is no such body chart here."
        else:
            base_height_mm = chart.base_height_mm if base_height_mm is None else base_height_mm
            base_cup_mm = chart.base_cup_mm if base_cup_mm is None else base_cup_mm
    given = {
        "seam_allowance_mm": seam_allowance_mm,
        "base_height_mm": base_height_mm,
        "base_cup_mm": base_cup_mm,
    }
    for field, value in given.items():
        words, least, most = BOUNDS[field]
        if value is not None and not (value.is_finite() and least <= value <= most):
            reasons[field] = (
                f"The {words} must lie between {format_length(least, unit)} and {format_length(most, unit)}."
            )
    if name and Pattern.objects.filter(name__iexact=name).exists():
        reasons["name"] = f"There is already a pattern named {name}; give this one another name."
    sizes, of_sizes = _run(actor, sizes, pieces, chart, kind=kind, basis=basis)
    reasons |= of_sizes or run_reasons(sizes, unit, paper_known())
    if reasons:
        raise Refused(reasons)
    try:
        with transaction.atomic():
            pattern = save_new(
                Pattern(
                    name=name,
                    kind=kind,
                    closeness=closeness,
                    structure=structure,
                    basis=basis,
                    stretch_wanted_percent=stretch_wanted_percent,
                    notes=notes.strip(),
                    chart=chart,
                    **given,
                )
            )
    except IntegrityError as exc:  # two people at the same moment
        raise Refused(
            {"name": f"There is already a pattern named {name}; give this one another name."}
        ) from exc
    rows = [
        PatternSize(pattern=pattern, name=size.name.strip(), place=place)
        for place, size in enumerate(sizes, 1)
    ]
    PatternSize.objects.bulk_create(rows)
    from_pieces = {flat.measure for piece in pieces for flat in piece.flats}
    PatternMeasure.objects.bulk_create(
        PatternMeasure(size=row, measure=code, value=value, from_pieces=code in from_pieces)
        for row, size in zip(rows, sizes, strict=True)
        for code, value in size.measures.items()
    )
    keep_pieces(pattern, {row.name: row for row in rows}, pieces)
    record_act(actor, "record_pattern", pattern, name=name, sizes=len(rows), pieces=len(pieces))
    return pattern


def _run(
    actor: Actor,
    sizes: Sequence[SizeGiven],
    pieces: Sequence[PieceGiven],
    chart: BodyChart | None,
    *,
    kind: str,
    basis: str,
) -> tuple[Sequence[SizeGiven], dict[str, str]]:
    """The whole run: what is stated, what the pieces add up to, or the chart's; and what is wrong with it."""
    if pieces and basis != Pattern.Basis.FINISHED:
        return sizes, {"pieces": "Pieces give finished measures: choose that the size table holds those."}
    if chart is not None and basis == Pattern.Basis.CHART and not sizes and kind in GarmentKind.values:
        rows = paper_of_chart(chart, kind)
        if not rows or not any(rows.values()):
            return sizes, {
                "chart": f"The chart {chart.name} has no measure that {needs_of(kind).words} needs."
            }
        return [SizeGiven(name, measures) for name, measures in rows.items()], {}
    return with_flats(sizes, pieces, actor.unit)


def change_pattern(
    actor: Actor,
    pattern_id: UUID,
    *,
    expected_version: int | None,
    name: str | None = None,
    notes: str | None = None,
) -> Pattern:
    """Change a pattern's name or notes; its facts and sizes stay, since plans were made from them.

    Raises NotHere, Stale, and Refused for a name that is blank or taken.
    """
    actor.need(Right.KEEP_PAPER)
    pattern = lock_for_edit(Pattern, pattern_id, expected_version)
    changes: dict[str, str] = {}
    if name is not None:
        changes["name"] = " ".join(name.split())
        if not changes["name"]:
            raise Refused({"name": "Give the pattern a name."})
        if Pattern.objects.filter(name__iexact=changes["name"]).exclude(pk=pattern.pk).exists():
            raise Refused({"name": f"There is already a pattern named {changes['name']}."})
    if notes is not None:
        changes["notes"] = notes.strip()
    changed = save_edit(pattern, changes)
    if changed:
        record_act(actor, "change_pattern", pattern, changed=sorted(changed))
    return pattern


def _facts_reasons(
    *, name: str, kind: str, closeness: str, structure: str, basis: str, stretch: Decimal | None
) -> dict[str, str]:
    reasons: dict[str, str] = {}
    if not name:
        reasons["name"] = "Give the pattern a name."
    for field, value, allowed in (
        ("kind", kind, list(GarmentKind.values)),
        ("closeness", closeness, list(Closeness.values)),
        ("structure", structure, ["woven", "knit"]),
        ("basis", basis, list(Pattern.Basis.values)),
    ):
        if value not in allowed:
            reasons[field] = f"{value!r} is not known; choose one of {', '.join(allowed)}."
    if stretch is not None and not (stretch.is_finite() and 0 <= stretch <= 400):
        reasons["stretch_wanted_percent"] = "The stretch must lie between 0 and 400 percent."
    elif structure == "woven" and stretch:
        reasons["stretch_wanted_percent"] = (
            "Only a pattern for a knit is drawn for a stretch; leave it empty."
        )
    elif structure == "knit" and closeness == "close" and stretch is None:
        reasons["stretch_wanted_percent"] = (
            "A close knit is cut smaller than the body: say for how much stretch, in percent, it was drawn."
        )
    return reasons
