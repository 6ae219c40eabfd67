"""Carrying what a fitting decided back to the paper: a new fit plan with the same inputs and the changed amounts."""

from datetime import UTC
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.utils import timezone

from fitting.models import FitPlan, FittingSession, PlanOverrule, SignOff
from fitting.queries.carried import Carrying, to_carry
from fitting.queries.plan_news import overrules_in
from fitting.queries.plan_reckon import AMOUNT, Overrule, as_stored, reckon
from fitting.services.garments import locked_open_garment
from fitting.services.plans import lock_pattern, store_plan
from studio.calc.units import format_length
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act


def carry_to_paper(actor: Actor, session_id: UUID) -> FitPlan:
    """Make a draft plan in which the decided widths and lengths of a signed-off fitting are amounts set by hand.

    The plan's frozen inputs stay; what was overruled before stays beside it, and an amount at the same place grows by
    what was decided. Changes at places that the plan does not hold are drawn by hand and stand on the session's page.
    Raises NotHere, and Conflict where the fitting is not signed off, the garment has no approved plan, or nothing is
    left to carry.
    """
    actor.need(Right.FIT, Right.KEEP_PAPER, Right.READ_FIT_PLANS)
    session = FittingSession.objects.filter(pk=session_id).first()
    if session is None:
        raise NotHere("fitting session")
    garment = locked_open_garment(session.garment_id)
    if not SignOff.objects.filter(session_id=session.pk).exists():
        raise Conflict("Sign the fitting off first: until then its decisions may still change.")
    plan = garment.plan
    if plan is None or plan.state != FitPlan.State.APPROVED:
        raise Conflict("There is no approved fit plan for this garment to carry the changes to.")
    pattern = lock_pattern(actor, plan.pattern_id)
    carrying = to_carry(session.pk, plan)
    if not carrying.zones:
        raise Conflict("Nothing of this fitting is left to carry to the plan.")
    given = _overrules(actor, plan, session, carrying, garment.client.unit)
    inputs = {
        **plan.inputs,
        "carried": [*plan.inputs.get("carried", ()), *(str(pk) for pk in carrying.note_ids)],
    }
    try:
        result = as_stored(reckon(inputs, given), given)
    except ValueError as exc:
        raise Refused({"": str(exc)}) from exc
    made = store_plan(
        actor, client_id=plan.client_id, pattern=pattern, garment_id=garment.pk, inputs=inputs, result=result
    )
    PlanOverrule.objects.bulk_create(
        PlanOverrule(
            plan=made,
            what=one.what,
            zone=one.zone,
            size=one.size,
            amount_mm=Decimal(str(round(one.amount_mm, 4))) if one.what == AMOUNT else None,
            reason=one.reason,
            by_id=actor.member_id,
        )
        for one in given
    )
    record_act(
        actor,
        "carry_to_paper",
        made,
        client_id=plan.client_id,
        session=str(session.pk),
        zones=sorted(carrying.zones),
    )
    return made


def _overrules(
    actor: Actor, plan: FitPlan, session: FittingSession, carrying: Carrying, unit: str
) -> list[Overrule]:
    """Those in force, with the carried places' amounts grown by what was decided."""
    now = timezone.now().astimezone(UTC).isoformat()
    on = session.held_at.astimezone(actor.zone)
    kept = [
        one for one in overrules_in(plan.result) if not (one.what == AMOUNT and one.zone in carrying.zones)
    ]
    before: dict[str, Any] = carrying.before
    for zone, change in carrying.zones.items():
        amount = format_length(abs(change), unit)
        reason = f"{session.get_kind_display()} fitting of {on:%-d %B %Y}: {amount} {'more' if change > 0 else 'less'}"
        kept.append(
            Overrule(
                AMOUNT, zone, reason=reason, amount_mm=before.get(zone, 0.0) + change, by=actor.name, at=now
            )
        )
    return kept
