"""Where a lay's cloth comes from: its length off a bolt, its small pieces from a remnant."""

from collections.abc import Sequence
from decimal import Decimal
from uuid import UUID

from fitting.calc.lay_buy import usable_after_wash
from fitting.calc.lay_rules import LayCloth
from fitting.models import LayDrawing, LayPlan, Remnant
from fitting.queries.lays import buy_for, frozen_pieces, is_searching, say_long
from fitting.services.lay_search import keep_found, start_search
from fitting.services.lays import first_lay, keep_lines, told
from seamlab.models import Bolt
from seamlab.queries.cloth import cloth_get, newest_tests
from seamlab.services.bolts import cut_bolt
from studio.platform.errors import Conflict, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_new

TAKEN_OVER = (
    "cloth_id",
    "direction",
    "width_mm",
    "folded",
    "washed_first",
    "change_percent",
    "repeat_mm",
    "matched",
    "end_allowance_mm",
    "cutting_unit_mm",
    "seconds",
)


def cut_for_lay(actor: Actor, lay_id: UUID, *, bolt_id: UUID, expected_version: int | None = None) -> LayPlan:
    """Take the length that the chosen drawing needs off a bolt, once; the bolt's record names the lay.

    Raises NotHere, Stale, Conflict (it is cut already, nothing is chosen, it lies on a remnant, it was laid anew),
    Refused (``bolt``: another cloth, or it does not reach).
    """
    actor.need(Right.KEEP_PAPER, Right.KEEP_SEAMS)
    row = lock_for_edit(LayPlan, lay_id, expected_version)
    if row.cut_id is not None:
        raise Conflict("The cloth of this lay is cut already.")
    if row.most_length_mm is not None:
        raise Conflict("This lay lies on a remnant; nothing is cut off a bolt for it.")
    _not_laid_anew(row)
    drawing = LayDrawing.objects.filter(lay=row, number=row.chosen).first() if row.chosen else None
    if drawing is None:
        raise Conflict("Choose the drawing that is cut first.")
    if is_searching(row):
        raise Conflict("A lay is being searched for; wait for it or stop it first.")
    if not Bolt.objects.filter(pk=bolt_id, cloth_id=row.cloth_id).exists():
        raise Refused({"bolt": "Choose a bolt of this lay's cloth."})
    needed = Decimal(str(round(buy_for(row, drawing, actor.unit).length, 4)))
    try:
        row.cut = cut_bolt(actor, bolt_id, length_mm=needed, reason=f"For the lay “{row.name}”")
    except Refused as exc:
        raise Refused({"bolt": " ".join(exc.reasons.values())}) from exc
    row.version += 1
    row.save()
    record_act(actor, "cut_for_lay", row, bolt=str(bolt_id), length_mm=str(needed))
    return row


def lay_on_remnant(
    actor: Actor,
    lay_id: UUID,
    *,
    remnant_id: UUID,
    keys: Sequence[str],
    expected_version: int | None = None,
) -> tuple[LayPlan, LayPlan]:
    """Start a lay of these pieces on a remnant and one of the others on the cloth; both are searched for.

    The lay from before stays to be read; its garments look at the two instead. Pieces stay frozen as they are in it.
    Returns (on the remnant, the rest). Raises NotHere, Stale, Conflict (cut already, laid anew already, on a remnant
    itself), Refused (``remnant``, ``keys``).
    """
    actor.need(Right.KEEP_PAPER, Right.READ_SEAMS)
    row = lock_for_edit(LayPlan, lay_id, expected_version)
    if row.cut_id is not None:
        raise Conflict("The cloth of this lay is cut already.")
    if row.most_length_mm is not None:
        raise Conflict("This lay lies on a remnant already.")
    _not_laid_anew(row)
    if is_searching(row):
        raise Conflict("A lay is being searched for; wait for it or stop it first.")
    remnant = Remnant.objects.select_for_update(no_key=True, of=("self",)).filter(pk=remnant_id).first()
    if remnant is None or remnant.cloth_id != row.cloth_id:
        raise Refused({"remnant": "There is no such remnant of this cloth."})
    if remnant.used_in_id or remnant.is_gone:
        raise Refused({"remnant": "This remnant is used already; choose another."})
    small = [one for one in row.pieces if one["key"] in set(keys)]
    rest = [one for one in row.pieces if one["key"] not in set(keys)]
    if not small or len(small) != len(set(keys)):
        raise Refused({"keys": "Choose which pieces of this lay are cut from the remnant."})
    if not rest:
        raise Refused({"keys": "All pieces are chosen: plan a lay of its own on the remnant instead."})
    washes = row.washed_first and not remnant.is_washed
    wash = newest_tests(cloth_get(actor, row.cloth_id)).wash_crosswise
    width = told(
        "remnant",
        lambda: usable_after_wash(
            min(float(row.cloth.usable_width_mm), float(remnant.width_mm)),
            float(wash.percent) if wash else None,
            washes,
        ),
    )
    on_it = told("remnant", lambda: LayCloth(width, row.direction, folded=False))
    found = told("keys", lambda: first_lay(frozen_pieces(small, folded=False)[0], on_it))
    first = _sibling(
        actor,
        row,
        f"{row.name}, on a remnant",
        small,
        width_mm=Decimal(str(round(width, 4))),
        most_length_mm=remnant.length_mm,
        folded=False,
        washed_first=washes,
        matched=0,
        end_allowance_mm=Decimal(0),
    )
    if keep_found(first, found, actor.member_id) is None:
        best = min(found.one_way.length, found.two_way.length)
        raise Refused(
            {
                "keys": f"These pieces need {say_long(best, actor.unit)} as they come and the remnant is "
                f"{say_long(remnant.length_mm, actor.unit)} long; choose fewer."
            }
        )
    remnant.used_in, remnant.version = first, remnant.version + 1
    remnant.save()
    start_search(actor, first)
    second = _sibling(actor, row, f"{row.name}, the rest", rest)
    cloth = LayCloth(float(row.width_mm), row.direction, row.folded)
    keep_found(
        second,
        told("keys", lambda: first_lay(frozen_pieces(rest, folded=row.folded)[0], cloth)),
        actor.member_id,
    )
    start_search(actor, second)
    row.version += 1
    row.save()
    record_act(actor, "lay_on_remnant", row, remnant=str(remnant_id), keys=[one["key"] for one in small])
    return first, second


def _sibling(
    actor: Actor, row: LayPlan, name: str, pieces: list[dict[str, object]], **given: object
) -> LayPlan:
    """A lay of some of a lay's pieces, for the same garments."""
    values = {field: getattr(row, field) for field in TAKEN_OVER} | given
    made = save_new(
        LayPlan(
            name=name if len(name) <= 120 else f"{row.name[:100]}{name[len(row.name) :]}",
            pieces=pieces,
            taken_from=row,
            planned_by_id=actor.member_id,
            **values,
        )
    )
    keep_lines(made, row.lines.order_by("id"))
    return made


def _not_laid_anew(row: LayPlan) -> None:
    if LayPlan.objects.filter(taken_from=row).exists():
        raise Conflict("This lay was laid anew, partly on a remnant; take those lays.")
