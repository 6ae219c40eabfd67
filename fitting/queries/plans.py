"""Reading fit plans: the list, one in words, and whether the body has been measured since."""

from uuid import UUID

from django.db.models import QuerySet
from django.db.models.fields.json import KT
from django.utils import timezone

from fitting.models import FitPlan
from fitting.queries.plan_view import PlanView, view_of
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right
from studio.queries.measuring import body_of


def plan_list(
    actor: Actor, *, client_id: UUID | None = None, pattern_id: UUID | None = None, state: str = ""
) -> "QuerySet[FitPlan]":
    """Plans, newest first, without their stored figures; each row has `summary`. One query."""
    actor.need(Right.READ_FIT_PLANS)
    rows: QuerySet[FitPlan] = (
        FitPlan.objects.select_related("client", "pattern", "garment", "planned_by", "approved_by")
        .defer("inputs", "result")
        .annotate(summary=KT("result__summary"))
        .order_by("-id")
    )
    if client_id is not None:
        rows = rows.filter(client_id=client_id)
    if pattern_id is not None:
        rows = rows.filter(pattern_id=pattern_id)
    if state:
        rows = rows.filter(state=state)
    return rows


def plan_get(actor: Actor, plan_id: UUID) -> PlanView:
    """One plan as a PlanView; raises NotHere."""
    actor.need(Right.READ_FIT_PLANS)
    plan: FitPlan | None = (
        FitPlan.objects.select_related("client", "pattern", "garment", "planned_by", "approved_by")
        .filter(pk=plan_id)
        .first()
    )
    if plan is None:
        raise NotHere("fit plan")
    return view_of(plan, outdated=tuple(is_outdated(actor, plan)))


def is_outdated(actor: Actor, plan: FitPlan) -> list[str]:
    """Which measures of a plan have been taken anew since, each in a sentence; empty where none has."""
    actor.need(Right.READ_READINGS)
    now = body_of(actor, plan.client_id)
    found: dict[str, str] = {}
    for one in plan.inputs["body"].values():
        newest = now.get(one["measure"])
        if newest is None:
            found[one["measure"]] = f"{one['name']}: its reading no longer counts."
        elif {str(reading) for reading in newest.reading_ids} != set(one["readings"]):
            taken = timezone.localtime(newest.measured_at)
            found[one["measure"]] = f"{one['name']} has a newer reading, of {taken:%-d %B %Y}."
    return list(found.values())
