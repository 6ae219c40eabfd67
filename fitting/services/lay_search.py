"""The search for a lay as long work: prepared in scope, done without a database, its drawings kept."""

from collections.abc import Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any
from uuid import UUID

from fitting.calc.lay import BothWays, NoLay, lay_both_ways
from fitting.calc.lay_rules import TWO_WAY, LayCloth, Placement
from fitting.models import LayDrawing, LayPlan
from fitting.queries.lays import LAY_JOB, frozen_pieces
from studio.platform.errors import JobFailed, NotHere, Refused
from studio.platform.registries import Progress
from studio.platform.rights import Actor
from studio.platform.services.jobs import ask_for


def prepare_lay(arguments: dict[str, Any]) -> dict[str, Any]:
    """In scope: the frozen pieces and cloth."""
    row = LayPlan.objects.filter(pk=UUID(arguments["lay"])).first()
    if row is None:
        raise JobFailed("This lay is not there any more.")
    return {
        "pieces": row.pieces,
        "cloth": (float(row.width_mm), row.direction, row.folded),
        "most": None if row.most_length_mm is None else float(row.most_length_mm),
        "seconds": row.seconds,
        "seed": 1 + LayDrawing.objects.filter(lay=row).count(),  # another search, other luck
    }


def work_lay(prepared: dict[str, Any], progress: Progress) -> BothWays:
    """Without a database: the best lays one way and two ways, checked."""
    width, direction, folded = prepared["cloth"]
    cloth = LayCloth(width, direction, folded)

    def tell(gone: float, best: float | None) -> None:
        words = "Looking for a lay" if best is None else f"Best so far {best / 1000:.2f} m"
        progress(min(99, round(100 * gone)), words)

    try:
        pieces, _ = frozen_pieces(prepared["pieces"], folded=folded)
        found = lay_both_ways(pieces, cloth, seconds=prepared["seconds"], seed=prepared["seed"], tell=tell)
    except (ValueError, NoLay) as exc:
        raise JobFailed(str(exc)) from exc
    best = found.two_way if direction == TWO_WAY else found.one_way
    if prepared["most"] is not None and best.length > prepared["most"]:
        raise JobFailed(
            f"The pieces need {best.length / 1000:.2f} m and the remnant is {prepared['most'] / 1000:.2f} m long."
        )
    return found


def finish_lay(arguments: dict[str, Any], prepared: dict[str, Any], found: BothWays) -> dict[str, Any]:
    """In scope: keep both drawings; the legal one is chosen unless the chosen one is shorter."""
    row = (
        LayPlan.objects.select_for_update(no_key=True, of=("self",)).filter(pk=UUID(arguments["lay"])).first()
    )
    if row is None:
        raise NotHere("lay")
    if row.pieces != prepared["pieces"]:
        raise Refused("The pieces were changed while the lay was searched for; search again.")
    own = keep_found(row, found, row.planned_by_id)
    row.version += 1
    row.save()
    return {"lay": str(row.pk), "length_mm": str(own.length_mm if own else "")}


def keep_found(row: LayPlan, found: BothWays, member_id: UUID) -> LayDrawing | None:
    """Keep what a search found, both ways; the legal one is chosen unless the chosen one is shorter.

    The caller saves the lay. None where a remnant is too short for it: then nothing is kept.
    """
    best = found.two_way if row.direction == TWO_WAY else found.one_way
    if row.most_length_mm is not None and best.length > row.most_length_mm:
        return None
    drawings = [
        keep_drawing(member_id, row, way, one.placements, one.length, one.density)
        for way, one in ((LayDrawing.Way.ONE_WAY, found.one_way), (LayDrawing.Way.TWO_WAY, found.two_way))
    ]
    own = drawings[1] if row.direction == TWO_WAY else drawings[0]
    before = LayDrawing.objects.filter(lay=row, number=row.chosen).first() if row.chosen else None
    if before is None or own.length_mm < before.length_mm:
        row.chosen = own.number
    return own


def start_search(actor: Actor, row: LayPlan) -> None:
    job = ask_for(actor, LAY_JOB, {"lay": str(row.pk)})
    row.job = job
    row.save()


def keep_drawing(
    member_id: UUID,
    row: LayPlan,
    way: LayDrawing.Way,
    placements: Sequence[Placement],
    length: float,
    density: float,
) -> LayDrawing:
    last = (
        LayDrawing.objects.filter(lay=row).order_by("-number").values_list("number", flat=True).first() or 0
    )
    return LayDrawing.objects.create(
        lay=row,
        number=last + 1,
        way=way,
        placements=[{**asdict(one), "x": round(one.x, 4), "y": round(one.y, 4)} for one in placements],
        length_mm=Decimal(str(round(length, 4))),
        density_percent=Decimal(str(round(density, 2))),
        made_by_id=member_id,
    )
