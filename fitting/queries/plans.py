"""Reading fit plans: the list, one in words, and what newer readings would change."""

from collections import defaultdict
from collections.abc import Iterable
from uuid import UUID

from django.db.models import QuerySet
from django.db.models.fields.json import KT

from fitting.models import FitPlan, PlanTick
from fitting.queries.plan_news import news_of
from fitting.queries.plan_view import PlanView, lines_of, view_of
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


def drawn_lines(plan_ids: Iterable[UUID]) -> dict[UUID, tuple[int, int]]:
    """How many lines some plans have, and how many are ticked as drawn: two queries, however many plans."""
    ids = list(plan_ids)
    done: dict[UUID, dict[str, bool]] = defaultdict(dict)
    for plan_id, line, is_done in (
        PlanTick.objects.filter(plan_id__in=ids).order_by("id").values_list("plan_id", "line", "done")
    ):
        done[plan_id][line] = is_done  # the newest counts
    found = {}
    rows = FitPlan.objects.filter(pk__in=ids).values_list("pk", "result__blends", "result__alterations")
    for plan_id, blends, alterations in rows:
        lines = lines_of({"blends": blends or (), "alterations": alterations or ()})
        found[plan_id] = (len(lines), sum(done[plan_id].get(line, False) for line in lines))
    return found


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
