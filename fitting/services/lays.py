"""Lays: asked for, searched in the background, laid by hand, chosen. Only what keeps every rule is kept."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from fitting.calc.lay import MOST_SECONDS, BothWays, NoLay, lay_both_ways, measured
from fitting.calc.lay_buy import usable_after_wash
from fitting.calc.lay_check import Problem, check_lay
from fitting.calc.lay_rules import LayCloth, LayPiece, Placement
from fitting.models import Garment, GrainChange, LayDrawing, LayLine, LayPlan, Remnant
from fitting.queries.lays import (
    cloth_of,
    frozen_pieces,
    is_legal,
    is_searching,
    pieces_of,
    placements_from,
)
from fitting.queries.outlines import outline_grids
from fitting.services.lay_search import keep_drawing, keep_found, start_search
from seamlab.queries.cloth import cloth_get, newest_tests
from studio.calc.units import format_length
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_new

MOST_LINES = 12
MOST_TIMES = 20
BOUNDS = {"end_allowance_mm": ("end allowance", 0, 1000), "cutting_unit_mm": ("cutting unit", 1, 2000)}


@dataclass(frozen=True)
class LineGiven:
    """A pattern in a size, so many times; for a garment where it is known."""

    pattern_id: UUID
    size_id: UUID
    times: int = 1
    garment_id: UUID | None = None


def ask_lay(
    actor: Actor,
    *,
    cloth_id: UUID,
    lines: Sequence[LineGiven],
    name: str = "",
    folded: bool = False,
    washed_first: bool = False,
    matched: int = 0,
    end_allowance_mm: Decimal = Decimal(0),
    cutting_unit_mm: Decimal = Decimal(100),
    seconds: int = 20,
    remnant_id: UUID | None = None,
) -> LayPlan:
    """Ask for the best lay of these garments on a cloth; the lay and its search come together.

    Cloth and pieces are frozen. Raises NotHere, and Refused naming what can't be laid: a pattern without outlines, a
    cloth without a width, a piece wider than the cloth.
    """
    actor.need(Right.KEEP_PAPER, Right.READ_SEAMS)
    cloth = cloth_get(actor, cloth_id)
    tests = newest_tests(cloth)
    lengthwise = tests.wash_lengthwise.percent if tests.wash_lengthwise else None
    crosswise = float(tests.wash_crosswise.percent) if tests.wash_crosswise else None
    reasons = _facts_reasons(
        actor, matched, seconds, {"end_allowance_mm": end_allowance_mm, "cutting_unit_mm": cutting_unit_mm}
    )
    if matched and cloth.repeat_lengthwise_mm is None:
        reasons["matched"] = (
            "Matching needs the lengthwise repeat of the cloth; record it on the cloth first."
        )
    remnant = None
    width = float(cloth.usable_width_mm)
    if remnant_id is not None:
        remnant = Remnant.objects.select_for_update(no_key=True, of=("self",)).filter(pk=remnant_id).first()
        if remnant is None or remnant.cloth_id != cloth_id:
            reasons["remnant"] = "There is no such remnant of this cloth."
        elif remnant.used_in_id or remnant.is_gone:
            reasons["remnant"] = "This remnant is used already; choose another."
        else:
            width = min(width, float(remnant.width_mm))
    if reasons:
        raise Refused(reasons)
    kept = _frozen(actor, lines)
    washes = washed_first and not (remnant and remnant.is_washed)
    on_table = told("cloth", lambda: usable_after_wash(width, crosswise, washes))
    laid_on = told("cloth", lambda: LayCloth(on_table, cloth.direction, folded))
    pieces = told("lines", lambda: frozen_pieces(kept, folded=folded)[0])
    # The first lay that comes: it tells at once whether every piece can be laid, and is shown while one is searched.
    comes = told("lines", lambda: first_lay(pieces, laid_on))
    pattern = outline_grids(actor, [lines[0].pattern_id])[lines[0].pattern_id].pattern.name
    row = save_new(
        LayPlan(
            name=" ".join(name.split()) or f"{pattern} on {cloth.name}"[:120],
            cloth=cloth,
            direction=cloth.direction,
            width_mm=Decimal(str(round(on_table, 4))),
            most_length_mm=remnant.length_mm if remnant else None,
            folded=folded,
            washed_first=washes,
            change_percent=lengthwise,
            repeat_mm=cloth.repeat_lengthwise_mm,
            matched=matched,
            end_allowance_mm=end_allowance_mm,
            cutting_unit_mm=cutting_unit_mm,
            seconds=seconds,
            pieces=kept,
            planned_by_id=actor.member_id,
        )
    )
    keep_lines(row, lines)
    if remnant is not None:
        remnant.used_in, remnant.version = row, remnant.version + 1
        remnant.save()
    keep_found(row, comes, actor.member_id)
    start_search(actor, row)
    record_act(actor, "ask_lay", row, cloth=str(cloth_id), lines=len(lines), folded=folded)
    return row


def keep_lines(row: LayPlan, lines: Iterable[LineGiven | LayLine]) -> None:
    """Keep what a lay is made of: as it was given, or as an earlier lay has it."""
    LayLine.objects.bulk_create(
        LayLine(
            lay=row,
            pattern_id=one.pattern_id,
            size_id=one.size_id,
            garment_id=one.garment_id,
            times=one.times,
        )
        for one in lines
    )


def search_again(
    actor: Actor, lay_id: UUID, *, seconds: int | None = None, expected_version: int | None = None
) -> LayPlan:
    """Search once more, perhaps longer; drawings that are there stay. Raises NotHere, Stale, Conflict, Refused."""
    actor.need(Right.KEEP_PAPER)
    row = lock_for_edit(LayPlan, lay_id, expected_version)
    if is_searching(row):
        raise Conflict("A lay is being searched for already; wait for it or stop it first.")
    if seconds is not None:
        reasons = _facts_reasons(actor, 0, seconds, {})
        if reasons:
            raise Refused(reasons)
        row.seconds = seconds
    row.version += 1
    start_search(actor, row)
    record_act(actor, "search_lay_again", row, seconds=row.seconds)
    return row


def lay_by_hand(
    actor: Actor,
    lay_id: UUID,
    *,
    placements: Sequence[Mapping[str, Any]],
    expected_version: int | None = None,
) -> LayDrawing:
    """Keep a lay as somebody laid it, checked here whatever the page showed; it becomes the one that is cut.

    Raises NotHere, Stale, Refused (``placements``) with the first rules that it breaks.
    """
    actor.need(Right.KEEP_PAPER)
    row = lock_for_edit(LayPlan, lay_id, expected_version)
    try:
        given = placements_from(placements)
    except (KeyError, TypeError, ValueError) as exc:
        raise Refused({"placements": "Every placement needs key, mirrored, x, y and turn."}) from exc
    pieces, _ = pieces_of(row)
    problems = problems_with(row, pieces, given)
    if problems:
        more = f" And {len(problems) - 3} more." if len(problems) > 3 else ""
        raise Refused({"placements": " ".join(one.words for one in problems[:3]) + more})
    length, density = measured(pieces, cloth_of(row), given)
    drawing = keep_drawing(actor.member_id, row, LayDrawing.Way.BY_HAND, given, length, density)
    row.chosen, row.version = drawing.number, row.version + 1
    row.save()
    record_act(actor, "lay_by_hand", row, number=drawing.number)
    return drawing


def problems_with(
    row: LayPlan, pieces: Sequence[LayPiece], placements: Sequence[Placement]
) -> tuple[Problem, ...]:
    """Everything that placements break of a lay's rules."""
    most = None if row.most_length_mm is None else float(row.most_length_mm)
    return check_lay(pieces, cloth_of(row), placements, length=most)


def choose_drawing(
    actor: Actor, lay_id: UUID, *, number: int, expected_version: int | None = None
) -> LayPlan:
    """Say which drawing is cut. Raises NotHere, Stale, and Refused for one that breaks a rule of this cloth."""
    actor.need(Right.KEEP_PAPER)
    row = lock_for_edit(LayPlan, lay_id, expected_version)
    drawing = LayDrawing.objects.filter(lay_id=lay_id, number=number).first()
    if drawing is None:
        raise NotHere("drawing of this lay")
    if not is_legal(row, drawing):
        raise Refused(
            {
                "number": "This drawing turns pieces against the direction of the cloth, or against a changed grain."
            }
        )
    row.chosen, row.version = number, row.version + 1
    row.save()
    record_act(actor, "choose_drawing", row, number=number)
    return row


def change_grain(
    actor: Actor,
    lay_id: UUID,
    *,
    key: str,
    degrees: Decimal,
    reason: str,
    expected_version: int | None = None,
) -> GrainChange:
    """Turn a piece off its grain, with a name and a reason; the lay is searched again.

    Raises NotHere, Stale, Conflict (a search is going on), Refused (``degrees``, ``reason``, ``key``).
    """
    actor.need(Right.KEEP_PAPER)
    row = lock_for_edit(LayPlan, lay_id, expected_version)
    reason = " ".join(reason.split())
    reasons = {}
    if not reason:
        reasons["reason"] = "Say why: a piece off its grain hangs and stretches otherwise."
    if not (degrees.is_finite() and -180 < degrees <= 180):
        reasons["degrees"] = "The angle must lie between -180 and 180 degrees."
    piece = next((one for one in row.pieces if one["key"] == key), None)
    if piece is None:
        reasons["key"] = "Choose a piece of this lay."
    elif piece["drawing"]["fold"] and row.folded and degrees:
        reasons["key"] = f"{piece['name']} lies on the fold of the cloth; it can't be turned there."
    if reasons or piece is None:
        raise Refused(reasons)
    if is_searching(row):
        raise Conflict("A lay is being searched for; wait for it or stop it first.")
    piece["grain_change"] = str(degrees)
    comes = told("degrees", lambda: first_lay(pieces_of(row)[0], cloth_of(row)))
    change = save_new(GrainChange(lay=row, key=key, degrees=degrees, reason=reason, by_id=actor.member_id))
    row.chosen = None
    keep_found(row, comes, actor.member_id)
    row.version += 1
    start_search(actor, row)
    record_act(actor, "change_grain", row, key=key, degrees=str(degrees))
    return change


def first_lay(pieces: Sequence[LayPiece], cloth: LayCloth) -> BothWays:
    """The lay that comes without a search. Raises ValueError for pieces that can't be laid."""
    try:
        return lay_both_ways(pieces, cloth, seconds=0, workers=1)
    except NoLay as exc:
        raise ValueError(str(exc)) from exc


def told(field: str, act: Any) -> Any:
    """What a calculation says is wrong, as a refusal of a field."""
    try:
        return act()
    except ValueError as exc:
        raise Refused({field: str(exc)}) from exc


def _frozen(actor: Actor, lines: Sequence[LineGiven]) -> list[dict[str, Any]]:
    """The pieces of every line as they are drawn now. Raises NotHere, Refused (``lines.<place>``)."""
    if not lines:
        raise Refused({"lines": "Choose at least one pattern and size."})
    if len(lines) > MOST_LINES:
        raise Refused({"lines": f"A lay has at most {MOST_LINES} lines, not {len(lines)}."})
    grids = outline_grids(actor, list({one.pattern_id for one in lines}))
    garments = {row.pk: row for row in Garment.objects.filter(pk__in={one.garment_id for one in lines})}
    several = len(lines) > 1
    kept = []
    for place, one in enumerate(lines):
        grid = grids[one.pattern_id]
        if one.garment_id is not None:
            garment = garments.get(one.garment_id)
            if garment is None:
                raise NotHere("garment")
            if garment.pattern_id not in (None, one.pattern_id):
                raise Refused(
                    {
                        f"lines.{place}": f"“{garment.words}” is made from another pattern than {grid.pattern.name}."
                    }
                )
        size = next((size for size in grid.sizes if size.pk == one.size_id), None)
        if size is None:
            raise Refused({f"lines.{place}": f"{grid.pattern.name} has no such size."})
        if not 1 <= one.times <= MOST_TIMES:
            raise Refused({f"lines.{place}": f"How often must be a whole number from 1 to {MOST_TIMES}."})
        rows = grid.of_size(one.size_id)
        if not rows:
            raise Refused(
                {
                    f"lines.{place}": f"{grid.pattern.name} has no outlines in size {size.name}; draw them first."
                }
            )
        lacking = [piece.name for piece, outlines in grid.rows if piece.pk not in {p.pk for p, _ in rows}]
        if lacking:
            raise Refused(
                {
                    f"lines.{place}": f"{grid.pattern.name} lacks the outline of {', '.join(lacking)} in size "
                    f"{size.name}; a lay without them would be too short."
                }
            )
        for piece, outline in rows:
            kept.append(
                {
                    "key": f"{place}-{piece.place}",
                    "name": f"{piece.name} {size.name}" if several else piece.name,
                    "cut": piece.cut,
                    "times": one.times,
                    "grain_change": "0",
                    "drawing": outline.drawing,
                }
            )
    return kept


def _facts_reasons(
    actor: Actor, matched: int, seconds: int, lengths: Mapping[str, Decimal]
) -> dict[str, str]:
    reasons = {}
    if not 0 <= matched <= 40:
        reasons["matched"] = "How many matched pieces lie above each other must be 0 to 40."
    if not 1 <= seconds <= MOST_SECONDS:
        reasons["seconds"] = f"The time for the search must be 1 to {MOST_SECONDS} seconds."
    for field, value in lengths.items():
        words, least, most = BOUNDS[field]
        if not (value.is_finite() and least <= value <= most):
            reasons[field] = (
                f"The {words} must lie between {format_length(least, actor.unit)} and "
                f"{format_length(most, actor.unit)}."
            )
    return reasons
