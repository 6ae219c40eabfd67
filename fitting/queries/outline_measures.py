"""What a pattern's outlines measure, zone by zone and size by size, beside what is recorded."""

import math
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from uuid import UUID

from fitting.calc.drafts import SEAMS
from fitting.calc.gauges import Gauged, gauged, stretches
from fitting.calc.outline import Outline, end_of, outline_from
from fitting.models import FlatMeasure, Pattern, PatternMeasure, PatternPiece, PatternSize, PieceOutline
from fitting.queries.flat_sums import panel_words
from fitting.queries.outlines import OutlineGrid, outline_grid, role_of
from fitting.queries.paper_zones import listed, needs_of, paper_zones, zone_name
from studio.calc.units import format_length
from studio.platform.errors import NotHere
from studio.platform.rights import Actor

DIFFERS_MM = 3.0  # beyond what two tapings of paper differ by (common practice, no source)
ROUND_THE_BODY = ("bust", "chest", "waist", "hip")  # every copy of a piece goes in
ROUND_A_LIMB = ("thigh",)  # half of its copies do: a leg has its own
OTHER_EDGES = ("waist", "hem", "neck", "centre")  # not walked, but measured


@dataclass(frozen=True)
class Part:
    """What one piece adds to a measure, mm; `times` it goes in."""

    piece: PatternPiece
    times: int
    gauges: tuple[Gauged, ...]

    @property
    def width(self) -> float:
        return sum(one.width for one in self.gauges)

    @property
    def taken(self) -> tuple[tuple[str, float], ...]:
        return tuple(taken for one in self.gauges for taken in one.taken)

    @property
    def gives(self) -> float:
        return self.times * sum(one.gives for one in self.gauges)

    @property
    def places(self) -> str:
        return ", ".join(one.name for one in self.gauges)


@dataclass(frozen=True)
class OutlineMeasure:
    """One measure in one size: what the outlines give and what is recorded; `trouble` says why it can't be used."""

    zone: str
    name: str
    size: PatternSize
    parts: tuple[Part, ...]
    recorded: PatternMeasure | None
    trouble: str = ""

    @property
    def total(self) -> float | None:
        """What the outlines give, mm; None where nothing does."""
        return sum(part.gives for part in self.parts) if self.parts and not self.trouble else None

    @property
    def difference(self) -> float | None:
        """How much more the outlines give than is recorded, mm."""
        if self.total is None or self.recorded is None:
            return None
        return self.total - float(self.recorded.value)

    @property
    def differs(self) -> bool:
        return self.difference is not None and abs(self.difference) > DIFFERS_MM

    @property
    def is_taken(self) -> bool:
        """Whether the recorded figure is this one already."""
        return (
            self.recorded is not None
            and self.recorded.from_outline
            and self.difference is not None
            and abs(self.difference) < 0.01
        )


@dataclass(frozen=True)
class OutlineMeasures:
    """Of every zone that matters for a pattern: one measure for each size, small to large."""

    pattern: Pattern
    grid: OutlineGrid
    rows: tuple[tuple[OutlineMeasure, ...], ...]
    why_not: str  # why none of them may be taken over, "" where they may

    def of_size(self, name: str) -> list[OutlineMeasure]:
        return [one for row in self.rows for one in row if one.size.name == name]


def outline_measures(actor: Actor, pattern_id: UUID) -> OutlineMeasures:
    """Everything that a pattern's outlines measure; five queries. Raises NotHere."""
    grid = outline_grid(actor, pattern_id)
    recorded = {
        (row.size_id, row.measure): row
        for row in PatternMeasure.objects.filter(size__pattern_id=pattern_id).order_by("id")
    }
    outlines = {
        (piece.pk, row.size_id): outline_from(row.drawing)
        for piece, rows in grid.rows
        for row in rows
        if row is not None
    }
    fed: dict[str, set[UUID]] = {}
    for (piece_id, _), outline in outlines.items():
        for gauge in outline.gauges:
            fed.setdefault(gauge.zone, set()).add(piece_id)
    rows = tuple(
        tuple(
            _measure(zone, size, grid, outlines, fed.get(zone, set()), recorded.get((size.pk, zone)))
            for size in grid.sizes
        )
        for zone in _zones(grid.pattern, {code for _, code in recorded}, set(fed))
    )
    return OutlineMeasures(grid.pattern, grid, rows, _why_not(grid))


def _why_not(grid: OutlineGrid) -> str:
    if not grid.any:
        return "This pattern has no outlines yet; draft them or read a drawing."
    if grid.pattern.basis != Pattern.Basis.FINISHED:
        return (
            "The size table is the body chart that the pattern was drawn for; outlines give finished measures, "
            "and the two can't stand in one table."
        )
    return ""


def _zones(pattern: Pattern, recorded: set[str], fed: set[str]) -> list[str]:
    """What is recorded, and of every further need of the kind the first that the outlines give."""
    wanted = set(recorded & set(paper_zones()))
    for group in needs_of(pattern.kind).groups:
        if not wanted & set(group):
            wanted |= set([code for code in group if code in fed][:1])
    return [code for code in paper_zones() if code in wanted]


def _measure(
    zone: str,
    size: PatternSize,
    grid: OutlineGrid,
    outlines: dict[tuple[UUID, UUID], Outline],
    feeding: set[UUID],
    recorded: PatternMeasure | None,
) -> OutlineMeasure:
    parts, lacking = [], []
    trouble = ""
    for piece, _ in grid.rows:
        if piece.pk not in feeding:
            continue
        outline = outlines.get((piece.pk, size.pk))
        try:
            found = gauged(outline, zone, piece.name) if outline else ()
        except ValueError as exc:
            trouble = trouble or str(exc)
            continue
        if found:
            parts.append(Part(piece, times_of(zone, piece), found))
        else:
            lacking.append(piece.name)
    if lacking and not trouble:
        trouble = f"{listed(lacking)} gives it in another size, and not in this one."
    return OutlineMeasure(zone, zone_name(zone), size, tuple(parts), recorded, trouble)


def times_of(zone: str, piece: PatternPiece) -> int:
    """How often what is measured on one piece goes into a measure of the garment."""
    whole = piece.cut * (2 if piece.on_fold else 1)
    if zone in ROUND_THE_BODY:
        return whole
    return max(1, whole // 2) if zone in ROUND_A_LIMB else 1


def part_words(part: Part, unit: str) -> str:
    """ "2 × (22.7 − 3.0 dart)": what a fitter can follow with a pencil."""
    return panel_words(part.width, part.times, (), part.taken, unit)


def recorded_words(one: OutlineMeasure, unit: str) -> str:
    """What is recorded and how it came about; "" where nothing is."""
    if one.recorded is None:
        return ""
    how = (
        "measured from the outline"
        if one.recorded.from_outline
        else "added up from the pieces, by tape"
        if one.recorded.from_pieces
        else "stated"
    )
    return f"{format_length(one.recorded.value, unit)}, {how}"


@dataclass(frozen=True)
class Stretched:
    """One stretch of a read-in piece's seam line, from corner to corner: its number, length in mm, name and zone."""

    number: int
    long: float
    name: str
    zone: str


@dataclass(frozen=True)
class PieceToName:
    """A read-in piece in one size, whose edges and levels somebody must name."""

    piece: PatternPiece
    row: PieceOutline
    outline: Outline
    stretches: tuple[Stretched, ...]
    names: tuple[str, ...]  # that its edges may have
    levels: tuple[tuple[str, str, Decimal], ...]  # said before: zone, "top", mm down from there
    zones: tuple[tuple[str, str], ...]  # that it may feed, code and words


def piece_to_name(actor: Actor, pattern_id: UUID, size_name: str, piece_id: UUID) -> PieceToName:
    """In this size; without one, in the first that has its outline. Raises NotHere where it has none."""
    grid = outline_grid(actor, pattern_id)
    sizes = [one for one in grid.sizes if size_name in ("", one.name)]
    found = [(piece, row) for one in sizes for piece, row in grid.of_size(one.pk) if piece.pk == piece_id]
    if not found:
        raise NotHere("outline")
    piece, row = found[0]
    outline = outline_from(row.drawing)
    named = {edge.points: edge.name for edge in outline.edges}
    fed = {gauge.points: gauge.zone for gauge in outline.gauges if gauge.kind == "along"}
    rows = []
    for number, points in enumerate(stretches(outline.sewn), 1):
        either = (points, points[::-1])
        rows.append(
            Stretched(
                number,
                math.fsum(math.dist(a, b) for a, b in pairwise(points)),
                next((named[one] for one in either if one in named), ""),
                next((fed[one] for one in either if one in fed), ""),
            )
        )
    needs = needs_of(grid.pattern.kind)
    codes = [code for group in needs.groups for code in group]
    return PieceToName(
        piece=piece,
        row=row,
        outline=outline,
        stretches=tuple(rows),
        names=edge_names(grid.pattern.kind, piece.name),
        levels=_levels(outline, piece.name),
        zones=tuple((code, zone_name(code)) for code in paper_zones() if code in codes),
    )


def _levels(outline: Outline, who: str) -> tuple[tuple[str, str, Decimal], ...]:
    if outline.grain is None:
        return ()
    (ax, ay), (bx, by) = outline.grain
    long = math.dist(*outline.grain)
    top = end_of(outline, foot=False, who=who)
    found = []
    for gauge in outline.gauges:
        if gauge.kind == "across":
            x, y = gauge.points[0]
            down = ((x - top[0]) * (bx - ax) + (y - top[1]) * (by - ay)) / long
            found.append((gauge.zone, "top", Decimal(str(round(down, 1)))))
    return tuple(found)


def edge_names(kind: str, piece: str) -> tuple[str, ...]:
    """What edges of a piece are called: those that are walked in a garment of this kind, and the others."""
    role = role_of(piece)
    walked = [
        edge
        for seam in SEAMS.get(kind, ())
        for side in (seam.first, seam.second)
        for of, edge, _ in side
        if of == role
    ]
    return tuple(dict.fromkeys([*walked, *OTHER_EDGES]))


def fed_pieces(pattern_id: UUID) -> set[UUID]:
    """The pieces of a pattern on which a finished measure rests; one query."""
    return set(FlatMeasure.objects.filter(piece__pattern_id=pattern_id).values_list("piece_id", flat=True))
