"""Reading lays: one with its drawings, what to buy, whether a bolt reaches, the grain at the table."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from fitting.calc.lay_buy import Buy, length_to_buy, whats_left
from fitting.calc.lay_check import check_lay
from fitting.calc.lay_rules import TWO_WAY, LayCloth, LayPiece, Placement, turns_allowed, why_turns
from fitting.calc.outline import Outline, along_grain, opened, outline_from
from fitting.calc.outline import lay_piece as piece_to_lay
from fitting.models import (
    GrainChange,
    GrainCheck,
    LayDrawing,
    LayLine,
    LayPlan,
    PatternPiece,
    PatternSize,
    PieceOutline,
    Remnant,
)
from seamlab.models import Bolt
from seamlab.queries.bolts import bolt_list
from studio.calc.units import format_length
from studio.platform.errors import NotHere
from studio.platform.models import Job
from studio.platform.rights import Actor, Right

LAY_JOB = "lay"


@dataclass(frozen=True)
class Reach:
    """Whether one bolt reaches: what lies on it, and what would be left (negative: missing), mm."""

    bolt: Bolt
    remaining: float
    left: float


@dataclass(frozen=True)
class LayView:
    """A lay as a person reads it."""

    lay: LayPlan
    lines: tuple[LayLine, ...]
    drawings: tuple[LayDrawing, ...]  # newest first
    pieces: tuple[LayPiece, ...]
    outlines: Mapping[str, Outline]  # by key, turned onto the grain, opened out on single cloth
    chosen: LayDrawing | None
    one_way: LayDrawing | None
    two_way: LayDrawing | None
    buy: Buy | None
    reach: tuple[Reach, ...]
    checks: Mapping[tuple[str, int], GrainCheck]  # newest by (key, copy)
    remnants: tuple[Remnant, ...]  # of this cloth, that nobody has used
    why: str  # the direction in words

    @property
    def cloth(self) -> LayCloth:
        return cloth_of(self.lay)

    @property
    def price_mm(self) -> float | None:
        """How much longer the lay is one way, mm."""
        if self.one_way is None or self.two_way is None:
            return None
        return max(0.0, float(self.one_way.length_mm) - float(self.two_way.length_mm))


def lay_list(actor: Actor) -> "QuerySet[LayPlan]":
    """Lays, newest first, with cloth, job and lines; three queries."""
    actor.need(Right.READ_PAPER, Right.READ_SEAMS)
    return (
        LayPlan.objects.select_related("cloth", "job", "planned_by", "cut__bolt", "taken_from")
        .prefetch_related(
            Prefetch("lines", LayLine.objects.select_related("pattern", "size").order_by("id")),
            Prefetch("drawings", LayDrawing.objects.select_related("made_by").order_by("-number")),
        )
        .order_by("-id")
    )


def lay_get(actor: Actor, lay_id: UUID) -> LayPlan:
    """Raises NotHere."""
    found: LayPlan | None = lay_list(actor).filter(pk=lay_id).first()
    if found is None:
        raise NotHere("lay")
    return found


def lay_view(actor: Actor, lay_id: UUID) -> LayView:
    """A lay with all that its page shows; six queries. Raises NotHere."""
    lay = lay_get(actor, lay_id)
    drawings = tuple(lay.drawings.all())
    chosen = next((row for row in drawings if row.number == lay.chosen), None)
    pieces, outlines = pieces_of(lay)
    best = {way: _shortest(drawings, way, pieces) for way in LayDrawing.Way.values}
    buy = buy_for(lay, chosen, actor.unit) if chosen else None
    bolts = list(bolt_list(actor, cloth_id=lay.cloth_id)) if buy else []
    checks: dict[tuple[str, int], GrainCheck] = {}
    for row in GrainCheck.objects.filter(lay_id=lay.pk).select_related("by").order_by("at", "id"):
        checks[row.key, row.copy] = row
    return LayView(
        lay=lay,
        lines=tuple(lay.lines.all()),
        drawings=drawings,
        pieces=pieces,
        outlines=outlines,
        chosen=chosen,
        one_way=best[LayDrawing.Way.ONE_WAY],
        two_way=best[LayDrawing.Way.TWO_WAY],
        buy=buy,
        reach=tuple(_reach(bolt, buy.length) for bolt in bolts) if buy else (),
        checks=checks,
        remnants=tuple(free_remnants(lay.cloth_id)),
        why=why_turns(pieces[0], lay.direction),
    )


def _shortest(drawings: Sequence[LayDrawing], way: str, pieces: Sequence[LayPiece]) -> LayDrawing | None:
    """The shortest drawing of this way, of those that were made for the grain as it is now."""
    turns = {piece.key: turns_allowed(piece, TWO_WAY) for piece in pieces}
    now = [
        row
        for row in drawings
        if row.way == way and all(one["turn"] in turns[one["key"]] for one in row.placements)
    ]
    return min(now, key=lambda row: row.length_mm, default=None)


def _reach(bolt: Bolt, needed: float) -> Reach:
    remaining = float(bolt.remaining_mm)  # type: ignore[attr-defined]
    return Reach(bolt, remaining, whats_left(remaining, needed))


def free_remnants(cloth_id: UUID) -> "QuerySet[Remnant]":
    """Remnants of a cloth that are still there, smallest first."""
    return Remnant.objects.filter(cloth_id=cloth_id, used_in=None, is_gone=False).order_by("length_mm", "id")


def remnant_list(actor: Actor) -> "QuerySet[Remnant]":
    """Every remnant that is still there, by cloth; one query."""
    actor.need(Right.READ_SEAMS)
    return (
        Remnant.objects.filter(used_in=None, is_gone=False)
        .select_related("cloth", "kept_by")
        .order_by("cloth__name", "length_mm", "id")
    )


def remnant_get(actor: Actor, remnant_id: UUID) -> Remnant:
    found = remnant_list(actor).filter(pk=remnant_id).first()
    if found is None:
        raise NotHere("remnant")
    return found


def cloth_of(lay: LayPlan) -> LayCloth:
    return LayCloth(float(lay.width_mm), lay.direction, lay.folded)


def pieces_of(lay: LayPlan) -> tuple[tuple[LayPiece, ...], dict[str, Outline]]:
    """The frozen pieces of a lay, and their outlines as they lie: grain along x, opened out on single cloth."""
    return frozen_pieces(lay.pieces, folded=lay.folded)


def frozen_pieces(
    kept: Sequence[Mapping[str, Any]], *, folded: bool
) -> tuple[tuple[LayPiece, ...], dict[str, Outline]]:
    """Raises ValueError for a piece that can't be laid."""
    pieces = []
    outlines = {}
    for row in kept:
        outline = outline_from(row["drawing"])
        one = piece_to_lay(
            outline,
            key=row["key"],
            name=row["name"],
            cut=row["cut"],
            grain_change=float(row["grain_change"]),
        )
        times = int(row["times"])
        pieces.append(
            LayPiece(
                key=one.key,
                name=one.name,
                shape=one.shape,
                count=one.count * times,
                mirrored=one.mirrored * times,
                arrow=one.arrow,
                bias=one.bias,
                grain_change=one.grain_change,
                fold=one.fold,
            )
        )
        turned = along_grain(outline)
        outlines[row["key"]] = turned if folded else opened(turned)
    return tuple(pieces), outlines


def placements_of(drawing: LayDrawing) -> tuple[Placement, ...]:
    return placements_from(drawing.placements)


def placements_from(rows: Sequence[Mapping[str, Any]]) -> tuple[Placement, ...]:
    return tuple(
        Placement(
            str(row["key"]), bool(row["mirrored"]), float(row["x"]), float(row["y"]), float(row["turn"])
        )
        for row in rows
    )


def is_legal(lay: LayPlan, drawing: LayDrawing) -> bool:
    """Whether a drawing keeps the rules of this lay's cloth as they are now."""
    if drawing.way == LayDrawing.Way.TWO_WAY and lay.direction != TWO_WAY:
        return False
    pieces, _ = pieces_of(lay)
    most = None if lay.most_length_mm is None else float(lay.most_length_mm)
    return not check_lay(pieces, cloth_of(lay), placements_of(drawing), length=most)


def buy_for(lay: LayPlan, drawing: LayDrawing, unit: str) -> Buy:
    """How much to buy for a drawing of a lay."""
    return length_to_buy(
        float(drawing.length_mm),
        change_percent=None if lay.change_percent is None else float(lay.change_percent),
        washed_first=lay.washed_first,
        repeat=None if lay.repeat_mm is None else float(lay.repeat_mm),
        matched=lay.matched,
        end_allowance=float(lay.end_allowance_mm),
        cutting_unit=float(lay.cutting_unit_mm),
        say=lambda mm: say_long(mm, unit),
    )


def layable(actor: Actor) -> list[tuple[UUID, UUID, str]]:
    """Patterns in sizes whose pieces all have an outline: (pattern, size, words); three queries."""
    actor.need(Right.READ_PAPER)
    pieces = Counter(PatternPiece.objects.values_list("pattern_id", flat=True))
    drawn = Counter(
        PieceOutline.objects.values_list("piece__pattern_id", "size_id").order_by(
            "piece__pattern__name", "size__place"
        )
    )
    ready = [key for key, count in drawn.items() if count == pieces[key[0]]]
    names = {
        size.pk: f"{size.pattern.name}, size {size.name}"
        for size in PatternSize.objects.select_related("pattern").filter(pk__in=[size for _, size in ready])
    }
    return [(pattern, size, names[size]) for pattern, size in ready]


def say_long(mm: float | Decimal, unit: str) -> str:
    """A length of cloth: metres and centimetres, or inches."""
    value = float(mm)
    if unit == "in" or value < 1000:
        return format_length(round(value, 4), unit)
    return f"{value / 1000:.2f} m"


def grain_history(actor: Actor, lay_id: UUID, key: str) -> tuple[list[GrainCheck], list[GrainChange]]:
    """Every check and change of a piece's grain, newest first; two queries."""
    actor.need(Right.READ_PAPER)
    checks = GrainCheck.objects.filter(lay_id=lay_id, key=key).select_related("by").order_by("-at", "-id")
    changes = GrainChange.objects.filter(lay_id=lay_id, key=key).select_related("by").order_by("-at", "-id")
    return list(checks), list(changes)


def is_searching(lay: LayPlan) -> bool:
    return lay.job is not None and lay.job.state not in Job.ENDED
