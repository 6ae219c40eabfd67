"""Whether the body has been measured since a plan was made, and whether that would change it."""

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from fitting.models import FitPlan
from fitting.queries.paper_zones import zone_name, zone_of
from fitting.queries.plan_figures import HIGH_BUST, Figure, apart, figure_for, taken_figures
from fitting.queries.plan_reckon import Overrule, as_stored, reckon
from fitting.queries.plan_text import say_in
from studio.platform.rights import Actor, Right
from studio.queries.measuring import BodyMeasure, body_of
from studio.queries.trust import technical_errors_for


@dataclass(frozen=True)
class News:
    """``newer`` names the measures taken anew since; ``changes`` what that would change on the plan."""

    newer: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        if not self.newer:
            return ""
        if not self.changes:
            return "They would change nothing on this plan: every size and amount stays."
        return "They would change this plan."


def overrules_in(result: Mapping[str, Any]) -> list[Overrule]:
    """What was overruled in a stored result, older plans having none."""
    return [Overrule(**one) for one in result.get("overrules", ())]


def news_of(actor: Actor, plan: FitPlan) -> News:
    """What has been measured since, and what it would change. Three queries, two more where there is anything."""
    actor.need(Right.READ_READINGS)
    body = body_of(actor, plan.client_id)
    newer = _newer(plan.inputs, body)
    if not newer:
        return News()
    figures = taken_figures(body, technical_errors_for(actor))
    return News(tuple(newer), tuple(_changes(plan, figures)))


def _newer(inputs: Mapping[str, Any], body: Mapping[str, BodyMeasure]) -> list[str]:
    found: dict[str, str] = {}
    for one in inputs["body"].values():
        newest = body.get(one["measure"])
        if one.get("how") and not one.get("estimated"):
            continue  # worked out from several: those among them that are newer speak for themselves
        if newest is None:
            if not one.get("estimated"):
                found[one["measure"]] = f"{one['name']}: its reading no longer counts."
        elif one.get("estimated"):
            found[one["measure"]] = f"{one['name']} was estimated and has been taped since."
        elif {str(reading) for reading in newest.reading_ids} != set(one["readings"]):
            taken = timezone.localtime(newest.measured_at)
            found[one["measure"]] = f"{one['name']} has a newer reading, of {taken:%-d %B %Y}."
    return list(found.values())


def _changes(plan: FitPlan, figures: Mapping[str, Figure]) -> list[str]:
    """The plan reckoned anew from its own paper, rules and overrules and the newest figures, set beside it."""
    inputs, found = deepcopy(plan.inputs), []
    for code, one in inputs["body"].items():
        figure = figures.get(HIGH_BUST) if code == "high_bust" else figure_for(zone_of(code), figures)
        if figure is None:
            continue
        one["value_mm"] = figure.value
        if code in inputs["errors"]:
            inputs["errors"][code] = figure.half_width
        if apart(code, figures):
            found.append(f"{zone_name(code)}: right and left now differ by more than the tape. Plan again.")
    if inputs["bust"]:
        inputs["bust"]["high_bust"] = inputs["body"]["high_bust"]["value_mm"]
        inputs["bust"]["full_bust"] = inputs["body"]["bust"]["value_mm"]
    try:
        anew = as_stored(reckon(inputs, overrules_in(plan.result)))
    except ValueError as exc:
        return [*found, f"No plan can be made from the newer figures: {exc}"]
    say = say_in(inputs["unit"])
    return found + _differences(plan.result, anew, say)


def _differences(old: Mapping[str, Any], new: Mapping[str, Any], say: Any) -> list[str]:
    found = []
    before = {one["zone"]: one["size"] for one in old["sizes"]["zones"]}
    for one in new["sizes"]["zones"]:
        was = before.get(one["zone"])
        if was is not None and was != one["size"]:
            found.append(f"{zone_name(one['zone'])}: size {one['size']} instead of {was}.")
    totals = [{one["zone"]: one["total"] for one in result["alterations"]} for result in (old, new)]
    for zone in dict.fromkeys([*totals[0], *totals[1]]):
        was, now = (by_zone.get(zone, 0.0) for by_zone in totals)
        if abs(was - now) > 1e-6:
            found.append(f"{zone_name(zone)}: {_amount(now, say)} instead of {_amount(was, say)}.")
    return found


def _amount(total: float, say: Any) -> str:
    return f"{say(abs(total))} {'more' if total > 0 else 'less'} in all" if total else "no alteration"
