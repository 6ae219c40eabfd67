"""What people do with a fit plan: look at what an overrule would bring, overrule it, carry it to the paper."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.utils import timezone

from fitting.models import FitPlan, PlanOverrule, PlanTick
from fitting.queries.paper_zones import zone_name
from fitting.queries.plan_news import overrules_in
from fitting.queries.plan_reckon import AMOUNT, SIZE, Overrule, as_stored, reckon
from fitting.queries.plan_view import lines_of
from studio.calc.units import format_length
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit
from studio.services.clients import client_here

LONGEST_REASON = 400
MOST_MM = 500.0  # in all; only catches slips of typing (common practice, no source)


def look_at_overrules(plan: FitPlan, given: Sequence[Overrule]) -> dict[str, Any]:
    """What would follow from these overrules instead of those in force: a result that is not stored.

    Reasons are not asked for yet. Raises Refused (``overrules.<place>.<field>``, places counted from 0).
    """
    reasons = _reasons(plan, given, with_reason=False)
    if reasons:
        raise Refused(reasons)
    try:
        return as_stored(reckon(plan.inputs, given), given)
    except ValueError as exc:
        raise Refused({"": str(exc)}) from exc


def overrule_plan(
    actor: Actor, plan_id: UUID, *, given: Sequence[Overrule], expected_version: int | None = None
) -> FitPlan:
    """Let these overrules, and no others, be in force on a draft, and reckon it anew from its frozen inputs.

    Each is kept with who set it, when and why; one that is left out is withdrawn and the reckoning holds
    again. Raises NotHere, Stale, Conflict (no draft any more), Refused (``overrules.<place>.<field>``).
    """
    actor.need(Right.KEEP_PAPER, Right.READ_FIT_PLANS)
    plan = _locked(actor, plan_id, expected_version)
    if plan.state != FitPlan.State.DRAFT:
        raise Conflict(
            f"Only a draft can be overruled; this plan is {plan.get_state_display().lower()}. Plan again."
        )
    reasons = _reasons(plan, given, with_reason=True)
    if reasons:
        raise Refused(reasons)
    before = {(one.what, one.zone): one for one in overrules_in(plan.result)}
    now = timezone.now()
    kept = []
    rows = []
    for one in given:
        old = before.pop((one.what, one.zone), None)
        if old is not None and (old.size, old.amount_mm, old.reason) == (one.size, one.amount_mm, one.reason):
            kept.append(old)
            continue
        kept.append(replace(one, by=actor.name, at=now.isoformat()))
        rows.append(_row(actor, plan, one))
    rows += [_row(actor, plan, gone, withdrawn=True) for gone in before.values()]
    if not rows:
        return plan
    try:
        result = as_stored(reckon(plan.inputs, kept), kept)
    except ValueError as exc:
        raise Refused({"": str(exc)}) from exc
    PlanOverrule.objects.bulk_create(rows)
    save_edit(plan, {"result": result})
    record_act(
        actor,
        "overrule_plan",
        plan,
        client_id=plan.client_id,
        number=plan.number,
        overruled=sorted(f"{row.what}:{row.zone}" for row in rows),
    )
    return plan


def tick_line(actor: Actor, plan_id: UUID, *, line: str, done: bool = True) -> FitPlan:
    """Say that a line of an approved plan was carried to the paper, or (``done`` false) that it was not.

    ``line`` is the key of an alteration or a change of size (see ``lines_of``). The same answer twice is
    written once. Raises NotHere, Conflict (not approved), Refused (line).
    """
    actor.need(Right.KEEP_PAPER, Right.READ_FIT_PLANS)
    plan = _locked(actor, plan_id, None)
    if plan.state != FitPlan.State.APPROVED:
        raise Conflict("Approve the plan first: only what is approved is carried to the paper.")
    if line not in lines_of(plan.result):
        raise Refused({"line": f"This plan has no line {line[:60]!r}."})
    newest = PlanTick.objects.filter(plan_id=plan.pk, line=line).order_by("-id").first()
    if (newest is not None and newest.done) != done:
        PlanTick.objects.create(plan=plan, line=line, done=done, by_id=actor.member_id)
        record_act(actor, "tick_line", plan, client_id=plan.client_id, line=line, done=done)
    return plan


def _locked(actor: Actor, plan_id: UUID, expected_version: int | None) -> FitPlan:
    client_id = FitPlan.objects.filter(pk=plan_id).values_list("client_id", flat=True).first()
    if client_id is None:
        raise NotHere("fit plan")
    client_here(client_id)
    return lock_for_edit(FitPlan, plan_id, expected_version)


def _row(actor: Actor, plan: FitPlan, one: Overrule, *, withdrawn: bool = False) -> PlanOverrule:
    return PlanOverrule(
        plan=plan,
        what=one.what,
        zone=one.zone,
        size=one.size,
        amount_mm=Decimal(str(round(one.amount_mm, 4))) if one.what == AMOUNT else None,
        withdrawn=withdrawn,
        reason=one.reason,
        by_id=actor.member_id,
    )


def _reasons(plan: FitPlan, given: Sequence[Overrule], *, with_reason: bool) -> dict[str, str]:
    """What is wrong with the overrules, by ``overrules.<place>.<field>``."""
    inputs = plan.inputs
    widths = set(inputs["zones"])
    altered = widths | set(inputs["lengths"]) | set(inputs["details"])
    if inputs["bust"]:
        altered.add("centre_front_length")
    sizes = [row["size"] for row in inputs["paper"]]
    found: dict[str, str] = {}
    seen: set[tuple[str, str]] = set()
    for place, one in enumerate(given):
        at, name = f"overrules.{place}", zone_name(one.zone)
        if (one.what, one.zone) in seen:
            found[f"{at}.zone"] = f"{name}: overrule its {one.what} once."
        seen.add((one.what, one.zone))
        if one.what not in (SIZE, AMOUNT):
            found[f"{at}.what"] = f"{one.what!r} can't be overruled; choose size or amount."
        elif one.zone not in (widths if one.what == SIZE else altered):
            found[f"{at}.zone"] = f"{name} has no {one.what} of its own on this plan."
        elif one.what == SIZE and one.size not in sizes:
            found[f"{at}.size"] = f"{name}: the pattern has no size {one.size}; it has {', '.join(sizes)}."
        elif one.what == AMOUNT and not abs(one.amount_mm) <= MOST_MM:
            most = format_length(MOST_MM, inputs["unit"])
            found[f"{at}.amount"] = f"{name}: a change of more than {most} in all is another pattern."
        if with_reason and not one.reason.strip():
            found[f"{at}.reason"] = f"{name}: say why, so that the next person understands it."
        elif len(one.reason) > LONGEST_REASON:
            found[f"{at}.reason"] = f"{name}: a reason has at most {LONGEST_REASON} letters."
    return found
