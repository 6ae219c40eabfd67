"""From a plan's frozen inputs to its result: pure, so the same inputs give the same plan for ever."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from fitting.calc import alteration
from fitting.calc.ease import EaseRule
from fitting.calc.plan_parts import LENGTHS, Bust, Dart, Detail, FitPlan
from fitting.calc.sizing import Basis, SizeRow
from fitting.models import Pattern
from fitting.queries.paper_zones import ONE_OF, zone_of
from fitting.queries.plan_text import say_in

SIZE, AMOUNT = "size", "amount"


@dataclass(frozen=True)
class Overrule:
    """What an instructor set against the reckoning: a size for a zone, or a change in all, mm. ``by`` and
    ``at`` (ISO 8601) are blank while she only looks at what would follow."""

    what: str
    zone: str
    reason: str = ""
    size: str = ""
    amount_mm: float = 0.0
    by: str = ""
    at: str = ""


def reckon(inputs: Mapping[str, Any], overrules: Sequence[Overrule] = ()) -> FitPlan:
    """The plan from frozen inputs and what was overruled; raises ValueError where the figures are impossible."""
    basis: Basis = "finished" if inputs["pattern"]["basis"] == Pattern.Basis.FINISHED else "body"
    bust = inputs["bust"]
    return alteration.plan(
        {code: one["value_mm"] for code, one in inputs["body"].items()},
        [SizeRow(row["size"], row["measures"], basis) for row in inputs["paper"]],
        inputs["zones"],
        {
            code: EaseRule(row["low"], row["target"], row["high"], row["source"], row.get("drawn"))
            for code, row in inputs["rules"].items()
        },
        inputs["errors"],
        # In the fitter's order, whichever the table names first.
        lengths=[
            replace(length, code=code, side=zone_of(code).side)
            for length in LENGTHS
            for code in inputs["lengths"]
            if zone_of(code).rule == length.code
        ],
        details=[Detail(code, follows=ONE_OF) for code in inputs["details"]],
        edges=inputs["edges"],
        readings={code: one["measure"] for code, one in inputs["body"].items()},
        fixed={one.zone: one.size for one in overrules if one.what == SIZE},
        amounts={one.zone: one.amount_mm for one in overrules if one.what == AMOUNT},
        bust=Bust(bust["high_bust"], bust["full_bust"], bust["base_cup"]) if bust else None,
        darts={
            code: {size: Dart(mm) for size, mm in by_size.items()}
            for code, by_size in inputs.get("darts", {}).items()
        },
        joins=inputs["joins"],
        step=alteration.SIXTEENTH_INCH if inputs["unit"] == "in" else alteration.STEP,
        say=say_in(inputs["unit"]),
    )


def as_stored(plan: FitPlan, overrules: Sequence[Overrule] = ()) -> dict[str, Any]:
    """A plan as JSON keeps it: lists for tuples, words for verdicts."""
    found: dict[str, Any] = json.loads(json.dumps(asdict(plan)))
    found["overrules"] = [asdict(one) for one in overrules]
    return found
