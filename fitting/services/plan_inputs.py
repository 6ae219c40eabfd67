"""What a fit plan rests on: body, paper and ease rules brought together, and frozen as they were.

`gather` refuses what is missing; `frozen` is what is stored; `reckon` is pure: the same frozen inputs
give the same plan for ever.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime, tzinfo
from math import sqrt
from typing import Any

from fitting.calc import alteration
from fitting.calc.ease import EaseRule, learned_ease
from fitting.calc.plan_parts import LENGTHS, Bust, Detail, FitPlan
from fitting.calc.sizing import Basis, SizeRow
from fitting.models import Pattern
from fitting.queries.ease_rules import FoundRule
from fitting.queries.paper_zones import (
    ONE_OF,
    GarmentNeeds,
    lacking,
    listed,
    needs_of,
    paper_zones,
    zone_name,
)
from fitting.queries.patterns import lacks_words, measures_of, no_rule_words
from fitting.queries.plan_text import say_in, say_range
from studio.platform.errors import Refused
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.measuring import BodyMeasure
from studio.queries.trust import ErrorUsed

NORMAL_95 = 1.96
HIGH_BUST = "chest_girth"  # above the breast, where there is one (see the catalogue)
OLD_AFTER_DAYS = {False: 365, True: 92}  # adults, children; common practice, no source


@dataclass(frozen=True)
class Gathered:
    """Everything that one plan needs, by the code of the paper's measure.

    `paper` maps size to code to mm; `zones`, `lengths` and `details` list the codes that are compared.
    """

    needs: GarmentNeeds
    unit: str
    zone: tzinfo
    planned_on: date
    basis: str
    zones: tuple[str, ...]
    lengths: tuple[str, ...]
    details: tuple[str, ...]
    body: Mapping[str, BodyMeasure]
    errors: Mapping[str, float]
    error_sources: Mapping[str, str]
    rules: Mapping[str, FoundRule]
    targets: Mapping[str, "Target"]
    paper: Mapping[str, Mapping[str, float]]
    bust: Mapping[str, Any] | None
    left_out: tuple[Mapping[str, str], ...]
    minor: bool
    old: tuple[Mapping[str, str], ...]


@dataclass(frozen=True)
class Target:
    """The ease aimed at in one zone, where what this client accepted has shifted it."""

    target_mm: float
    accepted: tuple[float, ...]
    words: str


def gather(
    *,
    pattern: Pattern,
    client_name: str,
    minor: bool,
    unit: str,
    now: datetime,
    body: Mapping[str, BodyMeasure],
    catalogue: Mapping[str, CatalogueMeasure],
    rules: Mapping[str, FoundRule],
    accepted: Mapping[str, Sequence[float]],
    technical_errors: Mapping[str, ErrorUsed],
) -> Gathered:
    """Bring body, paper and rules together; `now` is in the studio's zone. Raises Refused (client, pattern,
    ease_set).
    """
    today, zone = now.date(), now.tzinfo or UTC
    needs = needs_of(pattern.kind)
    sizes = measures_of(pattern)
    on_paper = frozenset.intersection(*(frozenset(row) for row in sizes.values())) if sizes else frozenset()
    lacks = lacking(pattern.kind, on_paper)
    if lacks:
        raise Refused({"pattern": lacks_words(pattern.kind, lacks)})
    _need_of_body(needs, on_paper, body, catalogue, client_name)
    used, left_out = _compared(needs, on_paper, body, catalogue, rules)
    for group in needs.needed:
        if not any(code in used for code in group):
            have = next(code for code in group if code in on_paper)
            raise Refused({"ease_set": no_rule_words(pattern, have)})
    measures = {code: body[str(paper_zones()[code].served(body))] for code in used}
    errors = {code: error_of(one, technical_errors) for code, one in measures.items()}
    found = {code: rules[paper_zones()[code].rule] for code in used}
    bust = _bust(pattern, used, body)
    if bust is not None:
        measures["high_bust"] = body[HIGH_BUST]
    return Gathered(
        needs=needs,
        unit=unit,
        zone=zone,
        planned_on=today,
        basis=pattern.basis,
        zones=tuple(code for code in used if code in needs.zones),
        lengths=tuple(code for code in used if code in needs.lengths),
        details=tuple(code for code in used if code in needs.details),
        body=measures,
        errors=errors,
        error_sources={code: technical_errors[one.code].source for code, one in measures.items()},
        rules=found,
        targets=_targets(found, accepted, pattern.basis, unit),
        paper={size: {code: row[code] for code in used} for size, row in sizes.items()},
        bust=bust,
        left_out=tuple(left_out),
        minor=minor,
        old=_old(measures, today, zone, minor=minor),
    )


def error_of(measure: BodyMeasure, technical_errors: Mapping[str, ErrorUsed]) -> float:
    """The 95 % half-width in mm of a measure's figure: 1.96 * technical error / sqrt(takes).

    The figure of three takes is their median, hardly surer than the mean of two, so a third is not counted.
    """
    return NORMAL_95 * technical_errors[measure.code].value / sqrt(min(measure.takes, 2))


def frozen(given: Gathered, pattern: Pattern, set_title: str) -> dict[str, Any]:
    """The inputs as plain data for JSON: everything that `reckon` needs and where each figure comes from."""
    return {
        "unit": given.unit,
        "planned_on": given.planned_on.isoformat(),
        "pattern": {
            "name": pattern.name,
            "kind": pattern.kind,
            "closeness": pattern.closeness,
            "structure": pattern.structure,
            "basis": pattern.basis,
            "seam_allowance_mm": float(pattern.seam_allowance_mm),
        },
        "ease_set": set_title,
        "zones": list(given.zones),
        "lengths": list(given.lengths),
        "details": list(given.details),
        "body": {
            code: {
                "measure": one.code,
                "name": one.name,
                "value_mm": float(one.value),
                "takes": one.takes,
                "error_source": given.error_sources.get(code, ""),
                "old": _is_old(one, given.planned_on, given.zone, minor=given.minor),
                "measured_at": one.measured_at.isoformat(),
                "measured_on": _day(one.measured_at, given.zone).isoformat(),
                "measured_by": str(one.measured_by),
                "measuring": str(one.measuring_id),
                "readings": [str(reading) for reading in one.reading_ids],
            }
            for code, one in given.body.items()
        },
        "errors": dict(given.errors),
        "rules": {
            code: {
                "low": found.rule.low,
                "target": given.targets[code].target_mm if code in given.targets else found.rule.target,
                "high": found.rule.high,
                "source": found.rule.source,
                "set": found.set_title,
                "note": found.note,
                "borrowed": found.borrowed,
                "stated_target": found.rule.target,
                "accepted": list(given.targets[code].accepted) if code in given.targets else [],
                "learned": given.targets[code].words if code in given.targets else "",
            }
            for code, found in given.rules.items()
        },
        # A list: the order of the sizes is part of the paper, and JSON objects in the database keep none.
        "paper": [{"size": size, "measures": dict(row)} for size, row in given.paper.items()],
        "bust": dict(given.bust) if given.bust else None,
        "joins": {zone: list(pieces) for zone, pieces in given.needs.joins.items() if zone in given.errors},
        "edges": {zone: dict(pieces) for zone, pieces in given.needs.edges.items() if zone in given.errors},
        "left_out": [dict(one) for one in given.left_out],
        "old": [dict(one) for one in given.old],
    }


def reckon(inputs: Mapping[str, Any]) -> FitPlan:
    """The plan from frozen inputs; raises ValueError where the figures are impossible."""
    basis: Basis = "finished" if inputs["pattern"]["basis"] == Pattern.Basis.FINISHED else "body"
    bust = inputs["bust"]
    return alteration.plan(
        {code: one["value_mm"] for code, one in inputs["body"].items()},
        [SizeRow(row["size"], row["measures"], basis) for row in inputs["paper"]],
        inputs["zones"],
        {
            code: EaseRule(row["low"], row["target"], row["high"], row["source"])
            for code, row in inputs["rules"].items()
        },
        inputs["errors"],
        # In the fitter's order, whichever the table names first.
        lengths=[
            replace(length, code=code)
            for length in LENGTHS
            for code in inputs["lengths"]
            if paper_zones()[code].rule == length.code
        ],
        details=[Detail(code, follows=ONE_OF) for code in inputs["details"]],
        edges=inputs["edges"],
        readings={code: one["measure"] for code, one in inputs["body"].items()},
        bust=Bust(bust["high_bust"], bust["full_bust"], bust["base_cup"]) if bust else None,
        joins=inputs["joins"],
        step=alteration.SIXTEENTH_INCH if inputs["unit"] == "in" else alteration.STEP,
        say=say_in(inputs["unit"]),
    )


def _need_of_body(
    needs: GarmentNeeds,
    on_paper: frozenset[str],
    body: Mapping[str, BodyMeasure],
    catalogue: Mapping[str, CatalogueMeasure],
    client_name: str,
) -> None:
    """Raise Refused unless the body has a measure for each need that the paper answers."""
    missing = []
    for group in needs.needed:
        wanted = [paper_zones()[code] for code in group if code in on_paper]
        if not any(zone.served(body) for zone in wanted):
            missing.append(" or the ".join(_measure_name(zone.body[-1], catalogue) for zone in wanted))
    if missing:
        have = "has" if len(missing) == 1 else "have"
        raise Refused(
            {
                "client": f"This plan needs {listed([f'the {name}' for name in missing])}, which {have} not "
                f"been taken for {client_name}."
            }
        )


def _measure_name(code: str, catalogue: Mapping[str, CatalogueMeasure]) -> str:
    return _lower(catalogue[code].name.removesuffix(", right"))


def _lower(name: str) -> str:
    return name[0].lower() + name[1:]


def _compared(
    needs: GarmentNeeds,
    on_paper: frozenset[str],
    body: Mapping[str, BodyMeasure],
    catalogue: Mapping[str, CatalogueMeasure],
    rules: Mapping[str, FoundRule],
) -> tuple[list[str], list[Mapping[str, str]]]:
    """The codes of all that can be compared, and in words what can't."""
    used: list[str] = []
    left_out: list[Mapping[str, str]] = []
    for group in needs.groups:
        drawn = [code for code in group if code in on_paper]
        taken = [code for code in drawn if paper_zones()[code].served(body)]
        ruled = [code for code in taken if paper_zones()[code].rule in rules]
        if ruled:
            used.append(ruled[0])
            continue
        if taken:
            why = "no ease set has a rule for it. Judge it at the fitting."
        elif drawn:
            name = _measure_name(paper_zones()[drawn[0]].body[-1], catalogue)
            why = f"the {name} has not been taken."
        elif group[0] in needs.zones and paper_zones()[group[0]].served(body):
            why = "the pattern has no such measure."
        else:
            continue  # a sleeveless dress has no sleeve: nobody expects it
        zone = (drawn or group)[0]
        left_out.append({"zone": zone, "words": f"{zone_name(zone)} was not compared: {why}"})
    return used, left_out


def _bust(pattern: Pattern, used: Sequence[str], body: Mapping[str, BodyMeasure]) -> dict[str, float] | None:
    """Sizing by the high bust: where high and full bust are known, and the cup of the pattern."""
    if pattern.base_cup_mm is None or "bust" not in used or HIGH_BUST not in body:
        return None
    return {
        "high_bust": float(body[HIGH_BUST].value),
        "full_bust": float(body["bust_girth"].value),
        "base_cup": float(pattern.base_cup_mm),
    }


def _targets(
    rules: Mapping[str, FoundRule], accepted: Mapping[str, Sequence[float]], basis: str, unit: str
) -> dict[str, Target]:
    """The targets that accepted garments have shifted; each range stays what the rule says.

    One accepted ease counts as much as the rule (its sd is the rule's). A body chart's paper holds the rule's
    own ease as far as anybody knows, so nothing is shifted there.
    """
    if basis != Pattern.Basis.FINISHED:
        return {}
    found: dict[str, Target] = {}
    for code, one in rules.items():
        values, rule = accepted.get(code, ()), one.rule
        if not values or rule.sd == 0:
            continue
        learned = learned_ease(rule.target, rule.sd, values, rule.sd)
        target = min(max(learned.mean, rule.low), rule.high)
        garments = "1 accepted garment" if learned.n == 1 else f"{learned.n} accepted garments"
        say = say_in(unit)
        found[code] = Target(
            target_mm=target,
            accepted=tuple(values),
            words=(
                f"Target {say(target)} instead of {say(rule.target)}: learnt from {garments} of this kind "
                f"with {say_range(values, say)} of ease; the range stays."
            ),
        )
    return found


def _day(at: datetime, zone: tzinfo) -> date:
    return at.astimezone(zone).date()


def _is_old(measure: BodyMeasure, today: date, zone: tzinfo, *, minor: bool) -> bool:
    return (today - _day(measure.measured_at, zone)).days > OLD_AFTER_DAYS[minor]


def _old(
    measures: Mapping[str, BodyMeasure], today: date, zone: tzinfo, *, minor: bool
) -> tuple[Mapping[str, str], ...]:
    """Readings taken too long ago, those of one day told together."""
    months = "3 months" if minor else "12 months"
    by_day: dict[date, list[str]] = {}
    for code, one in measures.items():
        if _is_old(one, today, zone, minor=minor):
            by_day.setdefault(_day(one.measured_at, zone), []).append(code)
    found = []
    for day, codes in by_day.items():
        names = listed([measures[codes[0]].name, *(_lower(measures[code].name) for code in codes[1:])])
        were = "was" if len(codes) == 1 else "were"
        words = f"{names} {were} taken on {day:%-d %B %Y}, more than {months} ago. Tape again before drawing."
        found.append({"zone": codes[0] if len(codes) == 1 else "", "words": words})
    return tuple(found)


def as_stored(plan: FitPlan) -> dict[str, Any]:
    """A plan as JSON keeps it: lists for tuples, words for verdicts."""
    found: dict[str, Any] = json.loads(json.dumps(asdict(plan)))
    return found
