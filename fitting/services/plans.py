"""Fit plans: a pattern set against a body, and its approval for the paper."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F, Q
from django.utils import timezone

from fitting.models import AcceptedEase, FitPlan, Garment, Pattern
from fitting.queries.ease_rules import rules_for, set_followed
from fitting.queries.outlines import seams_that_part
from fitting.queries.patterns import pattern_get
from fitting.queries.plan_figures import Figure, estimated_figures, taken_figures
from fitting.queries.plan_reckon import as_stored, reckon
from fitting.services.garments import take_plan
from fitting.services.plan_inputs import LONGEST_GROWING, cloth_words, frozen, gather
from seamlab.queries.cloth import cloth_get, newest_tests
from studio.calc.growth import YearlyRate
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new
from studio.queries.catalogue import catalogue
from studio.queries.estimates import estimates_of
from studio.queries.history import history_of
from studio.queries.measuring import body_of
from studio.queries.retention import consent_withdrawn, withdrawn_words
from studio.queries.trust import technical_errors_for
from studio.services.clients import client_here


def make_plan(
    actor: Actor,
    *,
    client_id: UUID,
    pattern_id: UUID,
    garment_id: UUID | None = None,
    ease_set: str = "",
    with_estimates: bool = False,
    growing_months: int = 0,
) -> FitPlan:
    """Set a pattern against a client's newest readings and store the plan with everything it rests on.

    Afterwards there is one draft of this client and pattern: the new plan; earlier drafts are "replaced".
    `ease_set` blank takes the studio's own. `with_estimates` lets estimates stand in for what was not taped
    (adults only), named as such. `growing_months` gives a child room to grow for so long, from her own yearly
    rates. Raises Refused (client, pattern, garment, ease_set, growing_months) naming what is missing.
    """
    actor.need(Right.KEEP_PAPER, Right.READ_READINGS)
    try:
        client = client_here(client_id)
    except NotHere as exc:
        raise Refused({"client": "There is no such client here."}) from exc
    except Conflict as exc:
        raise Refused({"client": "This client has been erased; there is no body to plan for."}) from exc
    pattern = lock_pattern(actor, pattern_id)
    if consent_withdrawn(client.pk):
        raise Refused({"client": withdrawn_words(client.name)})
    garment = _garment(garment_id, client.pk, pattern)
    now = timezone.now().astimezone(actor.zone)
    minor = client.is_minor(now.date())
    if not 0 <= growing_months <= LONGEST_GROWING:
        raise Refused(
            {
                "growing_months": f"Room to grow is reckoned for 0 to {LONGEST_GROWING} months, not {growing_months}."
            }
        )
    if growing_months and not minor:
        raise Refused({"growing_months": f"{client.name} is grown up: leave the months to grow at 0."})
    try:
        followed = set_followed(actor, ease_set)
        rules = rules_for(
            pattern.kind,
            pattern.closeness,
            pattern.structure,
            stretch_percent=_percent(pattern),
            followed=followed,
        )
    except ValueError as exc:
        raise Refused({"ease_set": str(exc)}) from exc
    given = gather(
        pattern=pattern,
        client_name=client.name,
        minor=minor,
        unit=client.unit,
        now=now,
        figures=_figures(actor, client.pk, now, with_estimates=with_estimates),
        catalogue=catalogue().measures,
        rules=rules,
        accepted=_accepted(client.pk, pattern),
        growing_months=growing_months,
        rates=_rates(actor, client.pk) if growing_months else {},
    )
    inputs = frozen(given, pattern, followed.words)
    inputs["cloth"] = _cloth(actor, garment, pattern)
    inputs["seam_walks"] = seams_that_part(actor, pattern_id)
    try:
        result = as_stored(reckon(inputs))
    except ValueError as exc:
        raise Refused({"pattern": str(exc)}) from exc
    return store_plan(
        actor,
        client_id=client.pk,
        pattern=pattern,
        garment_id=garment_id,
        inputs=inputs,
        result=result,
    )


def approve_plan(actor: Actor, plan_id: UUID) -> FitPlan:
    """Approve a draft for the paper and tie it to its garment; an earlier approved plan of the same is "replaced".

    Raises NotHere, and Conflict for a plan that is no draft, whose garment is handed over or whose client was
    erased.
    """
    actor.need(Right.KEEP_PAPER, Right.READ_FIT_PLANS)
    client_id = FitPlan.objects.filter(pk=plan_id).values_list("client_id", flat=True).first()
    if client_id is None:
        raise NotHere("fit plan")
    client_here(client_id)
    plan = lock_for_edit(FitPlan, plan_id, None)
    if plan.state != FitPlan.State.DRAFT:
        raise Conflict(f"Only a draft can be approved; this plan is {plan.get_state_display().lower()}.")
    earlier = FitPlan.objects.filter(
        client_id=plan.client_id, pattern_id=plan.pattern_id, state=FitPlan.State.APPROVED
    )
    same = Q(garment=None) if plan.garment_id is None else Q(garment_id=plan.garment_id)
    earlier.filter(same).update(
        state=FitPlan.State.REPLACED, version=F("version") + 1, changed_at=timezone.now()
    )
    save_edit(
        plan,
        {
            "state": FitPlan.State.APPROVED,
            "approved_by_id": actor.member_id,
            "approved_at": timezone.now(),
        },
    )
    record_act(actor, "approve_plan", plan, client_id=plan.client_id, number=plan.number)
    if plan.garment_id is not None:
        take_plan(actor, plan.garment_id, plan)
    return plan


def lock_pattern(actor: Actor, pattern_id: UUID) -> Pattern:
    """The pattern, locked so that two plans made at once get two numbers."""
    try:
        lock_for_edit(Pattern, pattern_id, None)
        return pattern_get(actor, pattern_id)
    except NotHere as exc:
        raise Refused({"pattern": "There is no such pattern here."}) from exc


def _garment(garment_id: UUID | None, client_id: UUID, pattern: Pattern) -> Garment | None:
    """The garment that the plan is for, if it is for one; raises Refused for one that it can't be for."""
    if garment_id is None:
        return None
    garment: Garment | None = Garment.objects.filter(pk=garment_id).first()
    if garment is None:
        raise Refused({"garment": "There is no such garment here."})
    if garment.client_id != client_id:
        raise Refused({"garment": "This garment is made for another client."})
    if garment.pattern_id not in {None, pattern.pk}:
        raise Refused({"garment": "This garment is made from another pattern."})
    return garment


def _cloth(actor: Actor, garment: Garment | None, pattern: Pattern) -> dict[str, Any] | None:
    """The garment's cloth as it is known now, and where it is not what the paper was drawn for."""
    if garment is None or garment.cloth_id is None:
        return None
    cloth = cloth_get(actor, garment.cloth_id)
    test = newest_tests(cloth).stretch_crosswise  # round the body, where the ease is
    percent = None if test is None else float(test.percent)
    return {
        "name": cloth.name,
        "structure": cloth.structure,
        "stretch_percent": percent,
        "words": cloth_words(pattern, cloth.name, cloth.structure, percent),
    }


def _figures(actor: Actor, client_id: UUID, now: datetime, *, with_estimates: bool) -> dict[str, Figure]:
    """The newest figure of everything taped, and where it is wished an estimate of the rest."""
    found = taken_figures(body_of(actor, client_id), technical_errors_for(actor))
    if with_estimates:
        found = estimated_figures(estimates_of(actor, client_id).missing, now) | found
    return found


def _rates(actor: Actor, client_id: UUID) -> dict[str, YearlyRate]:
    """How fast each measure grew, up to its newest occasion."""
    history = history_of(actor, client_id).measures
    return {code: one.last.rate for code, one in history.items() if one.last.rate is not None}


def _percent(pattern: Pattern) -> float | None:
    return None if pattern.stretch_wanted_percent is None else float(pattern.stretch_wanted_percent)


def _accepted(client_id: UUID, pattern: Pattern) -> dict[str, list[float]]:
    """What this client accepted in garments of the same kind, closeness and cloth, by zone, oldest first."""
    rows = AcceptedEase.objects.filter(
        client_id=client_id,
        kind=pattern.kind,
        garment__pattern__closeness=pattern.closeness,
        garment__pattern__structure=pattern.structure,
    ).order_by("at", "id")
    found: dict[str, list[float]] = {}
    for zone, ease in rows.values_list("zone", "ease_mm"):
        found.setdefault(zone, []).append(float(ease))
    return found


def store_plan(
    actor: Actor,
    *,
    client_id: UUID,
    pattern: Pattern,
    garment_id: UUID | None,
    inputs: Mapping[str, Any],
    result: Mapping[str, Any],
) -> FitPlan:
    """Keep a plan as the newest of its client and pattern, a draft; earlier drafts are "replaced".

    The pattern's row must be locked (see ``lock_pattern``): two plans made at once get two numbers.
    """
    earlier = FitPlan.objects.filter(client_id=client_id, pattern_id=pattern.pk).order_by("-number")
    last = earlier.values_list("pk", "number").first()
    now: datetime = timezone.now()
    earlier.filter(state=FitPlan.State.DRAFT).update(
        state=FitPlan.State.REPLACED, version=F("version") + 1, changed_at=now
    )
    plan = save_new(
        FitPlan(
            client_id=client_id,
            pattern_id=pattern.pk,
            garment_id=garment_id,
            number=last[1] + 1 if last else 1,
            supersedes_id=last[0] if last else None,
            inputs=inputs,
            result=result,
            planned_by_id=actor.member_id,
        )
    )
    record_act(actor, "make_plan", plan, client_id=client_id, pattern=str(pattern.pk), number=plan.number)
    return plan
