"""Which decided changes of a fitting are carried to the paper, and which are still to be."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Exists, OuterRef

from fitting.models import FitNote, FitPlan, Garment, SignOff
from fitting.queries.fittings import GROWS, LENGTHS, MEASURED_DECISIONS, WIDTHS, current_notes
from fitting.queries.planned import read_plan


@dataclass(frozen=True)
class Carrying:
    """What a plan can take of a session: the change by zone, mm in all; ``before`` is what the plan changes already.

    ``by_hand`` are the notes whose place the plan does not hold; they are drawn by hand.
    """

    zones: dict[str, float]
    before: dict[str, float]
    note_ids: tuple[UUID, ...]
    by_hand: tuple[FitNote, ...]


def carried_ids(plan: FitPlan | None) -> frozenset[str]:
    """The notes whose changes stand in a plan already, so that nothing counts them twice."""
    return frozenset((plan.inputs or {}).get("carried", ())) if plan is not None else frozenset()


def uncarried_of(garments: Sequence[Garment]) -> dict[UUID, int]:
    """By garment, the changes decided at signed-off fittings that its plan could hold and does not: one query."""
    planned = {garment.pk: garment.plan for garment in garments if garment.plan is not None}
    signed = SignOff.objects.filter(session=OuterRef("session"))
    notes = current_notes().filter(
        Exists(signed), session__garment_id__in=planned, decision__in=MEASURED_DECISIONS, amount_mm__gt=0
    )
    found: dict[UUID, int] = defaultdict(int)
    kinds: dict[UUID, dict[str, str]] = {}
    for note in notes.select_related("session"):
        garment_id = note.session.garment_id
        plan = planned[garment_id]
        if str(note.pk) in carried_ids(plan):
            continue
        if garment_id not in kinds:
            kinds[garment_id] = {zone.zone: zone.kind for zone in read_plan(plan).zones}
        kind = kinds[garment_id].get(note.place)
        if kind is not None and note.decision in (LENGTHS if kind == "length" else WIDTHS):
            found[garment_id] += 1
    return found


def to_carry(session_id: UUID, plan: FitPlan) -> Carrying:
    """What is left to carry from a session to a plan: one query."""
    planned = read_plan(plan)
    kinds = {zone.zone: zone.kind for zone in planned.zones}
    done = carried_ids(plan)
    zones: dict[str, float] = defaultdict(float)
    ids: list[UUID] = []
    by_hand: list[FitNote] = []
    notes = current_notes().filter(
        session_id=session_id, decision__in=[*MEASURED_DECISIONS, FitNote.Decision.RESHAPE]
    )
    for note in notes.order_by("id"):
        if str(note.pk) in done:
            continue
        kind = kinds.get(note.place)
        counted = LENGTHS if kind == "length" else WIDTHS
        if kind is None or note.decision not in counted or note.amount_mm is None:
            by_hand.append(note)
            continue
        zones[note.place] += float(note.amount_mm) * (1 if note.decision in GROWS else -1)
        ids.append(note.pk)
    before: dict[str, float] = defaultdict(float)
    for alteration in planned.alterations:
        before[alteration.zone] += alteration.total
    return Carrying(dict(zones), dict(before), tuple(ids), tuple(by_hand))
