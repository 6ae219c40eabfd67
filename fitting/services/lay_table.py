"""At the table: is the pinned piece on grain, and what is left over."""

from decimal import Decimal
from uuid import UUID

from fitting.calc.lay_rules import GRAIN_TOLERANCE_DEG
from fitting.models import GrainCheck, LayPlan, Remnant
from seamlab.calc.cloth import grain_angle
from seamlab.queries.cloth import cloth_get
from studio.calc.units import format_length
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new

SHORTEST_LINE_MM = Decimal(100)  # a shorter grainline turns a millimetre of the tape into half a degree
SMALLEST_MM, LARGEST_MM = Decimal(50), Decimal(20000)


def check_grain(
    actor: Actor,
    lay_id: UUID,
    *,
    key: str,
    copy: int = 1,
    distance_a_mm: Decimal,
    distance_b_mm: Decimal,
    line_mm: Decimal,
    tolerance_degrees: Decimal | None = None,
) -> GrainCheck:
    """Record two tape readings from a pinned grainline to the selvedge, `line_mm` apart along it, and the angle.

    The line is on grain where the angle is within the tolerance (half a degree unless one is given); else the piece
    is pinned anew and checked again: nothing is overwritten. Raises NotHere, Refused naming the reading.
    """
    actor.need(Right.KEEP_PAPER)
    lay = LayPlan.objects.filter(pk=lay_id).first()
    if lay is None:
        raise NotHere("lay")
    tolerance = Decimal(str(GRAIN_TOLERANCE_DEG)) if tolerance_degrees is None else tolerance_degrees
    reasons = {}
    piece = next((one for one in lay.pieces if one["key"] == key), None)
    if piece is None:
        reasons["key"] = "Choose a piece of this lay."
    elif not 1 <= copy <= int(piece["cut"]) * int(piece["times"]):
        reasons["copy"] = f"{piece['name']} is cut {int(piece['cut']) * int(piece['times'])} times."
    for field, value in (("distance_a_mm", distance_a_mm), ("distance_b_mm", distance_b_mm)):
        if not (value.is_finite() and 0 <= value <= LARGEST_MM):
            reasons[field] = "The reading must be 0 or more, and no longer than a table."
    if not (line_mm.is_finite() and SHORTEST_LINE_MM <= line_mm <= LARGEST_MM):
        shortest = format_length(SHORTEST_LINE_MM, actor.unit)
        reasons["line_mm"] = f"Tape at two places at least {shortest} apart along the grainline."
    if not (tolerance.is_finite() and Decimal("0.1") <= tolerance <= 5):
        reasons["tolerance_degrees"] = "The tolerance must lie between 0.1 and 5 degrees."
    if reasons:
        raise Refused(reasons)
    try:
        angle = grain_angle(float(distance_a_mm), float(distance_b_mm), float(line_mm))
    except ValueError as exc:
        raise Refused(
            {
                "distance_b_mm": "The two readings differ by more than the places are apart: tape both again, "
                "square to the selvedge."
            }
        ) from exc
    row = save_new(
        GrainCheck(
            lay=lay,
            key=key,
            copy=copy,
            distance_a_mm=distance_a_mm,
            distance_b_mm=distance_b_mm,
            line_mm=line_mm,
            degrees=Decimal(str(round(angle, 2))),
            tolerance=tolerance,
            within=abs(angle) <= float(tolerance),
            by_id=actor.member_id,
        )
    )
    record_act(actor, "check_grain", lay, key=key, copy=copy, degrees=str(row.degrees), within=row.within)
    return row


def keep_remnant(
    actor: Actor,
    *,
    cloth_id: UUID,
    length_mm: Decimal,
    width_mm: Decimal,
    is_washed: bool = False,
    place: str = "",
    note: str = "",
    lay_id: UUID | None = None,
) -> Remnant:
    """Keep what is left over of a cloth, from a lay where it is known. Raises NotHere, Refused (the size)."""
    actor.need(Right.KEEP_PAPER)
    cloth = cloth_get(actor, cloth_id)
    if lay_id is not None and not LayPlan.objects.filter(pk=lay_id, cloth_id=cloth_id).exists():
        raise NotHere("lay")
    reasons = {}
    for field, words, value in (("length_mm", "length", length_mm), ("width_mm", "width", width_mm)):
        if not (value.is_finite() and SMALLEST_MM <= value <= LARGEST_MM):
            least, most = (format_length(mm, actor.unit) for mm in (SMALLEST_MM, LARGEST_MM))
            reasons[field] = f"The {words} must lie between {least} and {most}."
    if not reasons and width_mm > cloth.width_mm:
        reasons["width_mm"] = f"{cloth.name} is only {format_length(cloth.width_mm, actor.unit)} wide."
    if reasons:
        raise Refused(reasons)
    row = save_new(
        Remnant(
            cloth=cloth,
            length_mm=length_mm,
            width_mm=width_mm,
            is_washed=is_washed,
            place=place.strip(),
            note=note.strip(),
            from_lay_id=lay_id,
            kept_by_id=actor.member_id,
        )
    )
    record_act(actor, "keep_remnant", row, cloth=str(cloth_id))
    return row


def drop_remnant(actor: Actor, remnant_id: UUID, *, expected_version: int | None = None) -> Remnant:
    """Say that a remnant is not there any more. Raises NotHere, Stale, Refused where it is gone already."""
    actor.need(Right.KEEP_PAPER)
    row = lock_for_edit(Remnant, remnant_id, expected_version)
    if row.is_gone or row.used_in_id:
        raise Refused({"": "This remnant is used already."})
    save_edit(row, {"is_gone": True})
    record_act(actor, "drop_remnant", row)
    return row
