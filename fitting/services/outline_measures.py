"""Taking measures over from outlines, saying what read-in pieces measure where, and taking a piece out of a pattern."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from uuid import UUID

from shapely import LineString, Point

from fitting.calc.flat import Panel, finished_girth
from fitting.calc.gauges import gauged, stretches
from fitting.calc.outline import Edge, Gauge, Outline, end_of, outline_data, outline_from, point_along
from fitting.models import FlatMeasure, Pattern, PatternMeasure, PatternPiece, PieceOutline
from fitting.queries.outline_measures import (
    OutlineMeasure,
    OutlineMeasures,
    edge_names,
    outline_measures,
)
from fitting.queries.paper_zones import listed, needs_of, zone_name
from fitting.services.size_runs import SizeGiven, paper_known, run_reasons
from studio.calc.units import format_length
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit

NOTCH_REACH_MM = (
    30.0  # from the cut line, where notches are marked, to the seam line (an allowance, common practice)
)
MOST_LEVELS = 8
SAME_LEVEL_MM = 5.0


@dataclass(frozen=True)
class LevelGiven:
    """A level of a piece that feeds a measure: so many mm from its top, or from its foot, along the grain."""

    zone: str
    mm: Decimal
    from_foot: bool = False


def take_measures(actor: Actor, pattern_id: UUID, *, chosen: Sequence[tuple[str, UUID]]) -> int:
    """Take measures over from the outlines: (zone, size) each; returns how many there were.

    What was measured flat there before gives way; finished measure and pieces say "measured from the outline", and
    the audit entry keeps the figures from before. Plans that were made keep theirs. Raises NotHere, Conflict (the
    table holds a body chart, no outlines) and Refused naming ``<zone>.<size>`` where an outline can't be used, a new
    measure is not taken in every size, or the run of sizes would not hold together; then nothing is kept.
    """
    actor.need(Right.KEEP_PAPER)
    lock_for_edit(Pattern, pattern_id, None)
    found = outline_measures(actor, pattern_id)
    if found.why_not:
        raise Conflict(found.why_not)
    if not chosen:
        raise Refused({"chosen": "Choose at least one measure to take over."})
    by_cell = {(one.zone, one.size.pk): one for row in found.rows for one in row}
    taken: list[OutlineMeasure] = []
    reasons: dict[str, str] = {}
    for zone, size_id in dict.fromkeys(chosen):
        one = by_cell.get((zone, size_id))
        if one is None:
            reasons[f"{zone}.{size_id}"] = f"There is no measure {zone!r} of this pattern in that size."
        elif one.trouble:
            reasons[f"{zone}.{one.size.name}"] = f"{one.name}, size {one.size.name}: {one.trouble}"
        elif not one.parts:
            reasons[f"{zone}.{one.size.name}"] = (
                f"{one.name}, size {one.size.name}: no outline says where it is measured."
            )
        else:
            taken.append(one)
    if not reasons:
        values = {
            (one.zone, one.size.pk): Decimal(str(round(finished_girth(_panels(one)), 4))) for one in taken
        }
        reasons = _run_reasons(actor, found, taken, values)
    if reasons:
        raise Refused(reasons)
    changed = {}
    for one in taken:
        value = values[one.zone, one.size.pk]
        before = one.recorded.value if one.recorded else None
        changed[f"{one.zone} {one.size.name}"] = [None if before is None else str(before), str(value)]
        PatternMeasure.objects.update_or_create(
            size=one.size,
            measure=one.zone,
            defaults={"value": value, "from_pieces": True, "from_outline": True},
        )
    _keep_flats(taken)
    record_act(actor, "take_outline_measures", found.pattern, changed=changed)
    return len(taken)


def _panels(one: OutlineMeasure) -> list[Panel]:
    return [
        Panel(round(part.width, 4), part.times, (), [round(mm, 4) for _, mm in part.taken])
        for part in one.parts
    ]


def _keep_flats(taken: Sequence[OutlineMeasure]) -> None:
    for one in taken:
        FlatMeasure.objects.filter(size=one.size, measure=one.zone).delete()
    FlatMeasure.objects.bulk_create(
        FlatMeasure(
            piece=part.piece,
            size=one.size,
            measure=one.zone,
            width_mm=Decimal(str(round(part.width, 4))),
            times=part.times,
            intakes=[{"what": what, "mm": f"{mm:.4f}"} for what, mm in part.taken],
            from_outline=True,
        )
        for one in taken
        for part in one.parts
    )


def _run_reasons(
    actor: Actor,
    found: OutlineMeasures,
    taken: Sequence[OutlineMeasure],
    values: Mapping[tuple[str, UUID], Decimal],
) -> dict[str, str]:
    """What would be wrong with the size table once these are taken over."""
    reasons = {}
    for row in found.rows:
        zone = row[0].zone
        mine = [one for one in taken if one.zone == zone]
        if mine and len(mine) < len(row) and all(one.recorded is None for one in row):
            reasons[zone] = (
                f"The {zone_name(zone).lower()} is not recorded yet: take it over in every size, since a plan "
                "compares what every size has."
            )
    if reasons:
        return reasons
    sizes = []
    for size in found.grid.sizes:
        table = {
            one.zone: one.recorded.value
            for row in found.rows
            for one in row
            if one.size.pk == size.pk and one.recorded is not None
        }
        sizes.append(SizeGiven(size.name, table | {z: v for (z, pk), v in values.items() if pk == size.pk}))
    return run_reasons(sizes, actor.unit, paper_known())


def say_gauges(
    actor: Actor,
    outline_id: UUID,
    *,
    names: Mapping[int, str],
    feeds: Mapping[int, str],
    levels: Sequence[LevelGiven] = (),
    every_size: bool = False,
    expected_version: int | None = None,
) -> list[PieceOutline]:
    """Say of a piece that was read from a drawing what its edges are and which measures it feeds; what was said
    before is replaced.

    Edges are numbered by `calc.gauges.stretches`; `names` gives them names by which seams are walked, `feeds` the
    measure of the paper that one feeds, `levels` those across the piece. `every_size` says the edges of all sizes
    alike (their levels differ, so those stay as they are). Raises NotHere, Stale, Conflict (a draft knows its own)
    and Refused (``name-<n>``, ``feed-<n>``, ``level-<n>``, ``every_size``).
    """
    actor.need(Right.KEEP_PAPER)
    row = lock_for_edit(PieceOutline, outline_id, expected_version)
    if row.source == PieceOutline.Source.DRAFTED:
        raise Conflict(
            "A drafted piece knows its own edges and levels; only what was read from a drawing is asked."
        )
    piece = PatternPiece.objects.select_related("pattern").get(pk=row.piece_id)
    outline = outline_from(row.drawing)
    rows = [row]
    if every_size:
        others = PieceOutline.objects.select_for_update(no_key=True, of=("self",)).filter(piece=piece)
        rows += list(others.exclude(pk=row.pk).exclude(source=PieceOutline.Source.DRAFTED).order_by("id"))
    reasons = _said_reasons(piece, outline, names, feeds, levels, actor.unit)
    corners = len(stretches(outline.sewn))
    if any(len(stretches(outline_from(one.drawing).sewn)) != corners for one in rows):
        reasons["every_size"] = (
            "The piece has other corners in another size, so its edges are numbered otherwise there: name them "
            "size by size."
        )
    if reasons:
        raise Refused(reasons)
    for one in rows:
        _say(one, piece.name, names, feeds, levels if one is row else None)
    record_act(actor, "say_gauges", piece.pattern, piece=piece.name, outlines=len(rows), levels=len(levels))
    return rows


def _say(
    row: PieceOutline,
    who: str,
    names: Mapping[int, str],
    feeds: Mapping[int, str],
    levels: Sequence[LevelGiven] | None,
) -> None:
    """Store what was said; without `levels` those that are there stay."""
    outline = outline_from(row.drawing)
    edges, gauges = [], []
    for number, points in enumerate(stretches(outline.sewn), 1):
        if names.get(number):
            edges.append(_edge(outline, names[number], points))
        if feeds.get(number):
            gauges.append(Gauge(feeds[number], f"{names.get(number) or 'edge'} edge", "along", points))
    if levels is None:
        gauges += [gauge for gauge in outline.gauges if gauge.kind == "across"]
    else:
        gauges += [_level(outline, one, who) for one in levels]
    row.drawing = outline_data(replace(outline, edges=tuple(edges), gauges=tuple(gauges)))
    row.version += 1
    row.save()


def _level(outline: Outline, one: LevelGiven, who: str) -> Gauge:
    origin = end_of(outline, foot=one.from_foot, who=who)
    mm = -float(one.mm) if one.from_foot else float(one.mm)
    return Gauge(
        one.zone, f"{zone_name(one.zone).lower()} level", "across", (point_along(outline, origin, mm),)
    )


def _edge(outline: Outline, name: str, points: tuple[tuple[float, float], ...]) -> Edge:
    """An edge from the foot of the piece to its top where it has one, with the notches that lie beside it."""
    assert outline.grain is not None
    (ax, ay), (bx, by) = outline.grain

    def level(at: tuple[float, float]) -> float:
        return at[0] * (bx - ax) + at[1] * (by - ay)

    long = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
    if level(points[-1]) - level(points[0]) > SAME_LEVEL_MM * long:
        points = points[::-1]
    line = LineString(points)
    others = [LineString(one) for one in stretches(outline.sewn)]
    marks = []
    for notch in outline.notches:
        gap = line.distance(Point(notch))
        if gap <= NOTCH_REACH_MM and gap <= min(other.distance(Point(notch)) for other in others) + 0.01:
            marks.append(line.project(Point(notch)))
    return Edge(name, points, tuple(sorted(marks)))


def _said_reasons(
    piece: PatternPiece,
    outline: Outline,
    names: Mapping[int, str],
    feeds: Mapping[int, str],
    levels: Sequence[LevelGiven],
    unit: str,
) -> dict[str, str]:
    reasons = {}
    count = len(stretches(outline.sewn))
    known = edge_names(piece.pattern.kind, piece.name)
    zones = {code for group in needs_of(piece.pattern.kind).groups for code in group}
    for number in {*names, *feeds}:
        if not 1 <= number <= count:
            reasons[f"name-{number}"] = f"{piece.name} has edges 1 to {count}."
    for number, name in names.items():
        if name and name not in known:
            reasons[f"name-{number}"] = f"An edge of {piece.name} is called {', '.join(known)}."
        elif name and list(names.values()).count(name) > 1:
            reasons[f"name-{number}"] = f"Two edges are called {name}; only one is."
    if len(levels) > MOST_LEVELS:
        reasons["levels"] = f"At most {MOST_LEVELS} levels of one piece."
    for field, zone in [
        *((f"feed-{number}", zone) for number, zone in feeds.items()),
        *((f"level-{place}", one.zone) for place, one in enumerate(levels)),
    ]:
        if zone and zone not in zones:
            reasons[field] = f"A {piece.pattern.get_kind_display().lower()} is not compared there: {zone!r}."
    if reasons:
        return reasons
    for place, one in enumerate(levels):
        if not (one.mm.is_finite() and 0 <= one.mm <= 5000):
            reasons[f"level-{place}"] = (
                f"A level lies between 0 and {format_length(5000, unit)} from the end."
            )
            continue
        try:
            gauged(replace(outline, gauges=(_level(outline, one, piece.name),)), one.zone, piece.name)
        except ValueError as exc:
            reasons[f"level-{place}"] = str(exc)
    return reasons


def remove_piece(actor: Actor, pattern_id: UUID, piece_id: UUID) -> str:
    """Take a piece with its outlines out of a pattern; returns its name.

    Lays keep it: they hold their pieces as they were. Raises NotHere, and Conflict while a finished measure rests on
    the piece.
    """
    actor.need(Right.KEEP_PAPER)
    pattern = lock_for_edit(Pattern, pattern_id, None)
    piece = PatternPiece.objects.filter(pattern=pattern, pk=piece_id).first()
    if piece is None:
        raise NotHere("piece of this pattern")
    fed = FlatMeasure.objects.filter(piece=piece).values_list("measure", flat=True).distinct()
    if fed:
        names = listed(sorted(zone_name(code).lower() for code in fed))
        raise Conflict(
            f"{piece.name} can't be taken out: the {names} of {pattern.name} is measured on it, and plans are "
            "made from that."
        )
    outlines = PieceOutline.objects.filter(piece=piece)
    count = outlines.count()
    outlines.delete()
    piece.delete()
    record_act(actor, "remove_piece", pattern, piece=piece.name, outlines=count)
    return str(piece.name)
