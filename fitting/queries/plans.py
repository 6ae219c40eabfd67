"""Reading fit plans: the list, one in words, and what newer readings would change."""

from uuid import UUID

from django.db.models import QuerySet
from django.db.models.fields.json import KT

from fitting.models import FitPlan, PlanTick
from fitting.queries.plan_news import news_of
from fitting.queries.plan_view import PlanView, view_of
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right


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
    """One plan as a PlanView; raises NotHere. Five queries, two more where the body was measured since."""
    plan = plan_row(actor, plan_id)
    ticks = PlanTick.objects.filter(plan_id=plan.pk).select_related("by").order_by("id")
    return view_of(plan, news=news_of(actor, plan), ticks=list(ticks))


def plan_row(actor: Actor, plan_id: UUID) -> FitPlan:
    """One plan as it is stored, with client, pattern, garment and members; raises NotHere. One query."""
    actor.need(Right.READ_FIT_PLANS)
    plan: FitPlan | None = (
        FitPlan.objects.select_related("client", "pattern", "garment", "planned_by", "approved_by")
        .filter(pk=plan_id)
        .first()
    )
    if plan is None:
        raise NotHere("fit plan")
    return plan
