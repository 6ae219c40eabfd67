"""What a fit plan rests on: body, paper and ease rules brought together, and frozen as they were.

`gather` refuses what is missing; `frozen` is what is stored; from it `queries.plan_reckon` reckons, for ever
the same.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from typing import Any

from fitting.calc.ease import learned_ease
from fitting.models import Pattern
from fitting.queries.ease_rules import FoundRule
from fitting.queries.paper_zones import (
    GarmentNeeds,
    lacking,
    listed,
    needs_of,
    paper_zones,
    zone_name,
    zone_of,
)
from fitting.queries.patterns import darts_of, lacks_words, measures_of, no_rule_words
from fitting.queries.plan_figures import HIGH_BUST, Figure, apart, figure_for, old_words
from fitting.queries.plan_text import say_in, say_range
from studio.calc.growth import YearlyRate
from studio.platform.errors import Refused
from studio.queries.catalogue import CatalogueMeasure

LONGEST_GROWING = 24  # months; beyond that nobody knows (common practice, no source)


@dataclass(frozen=True)
class Gathered:
    """Everything that one plan needs, by the code of the paper's measure.

    `paper` maps size to code to mm; `zones`, `lengths` and `details` list the codes that are compared;
    `darts` maps code to size to the widest dart at that level, where the pieces were measured.
    """

    needs: GarmentNeeds
    unit: str
    zone: tzinfo
    planned_on: date
    basis: str
    zones: tuple[str, ...]
    lengths: tuple[str, ...]
    details: tuple[str, ...]
    body: Mapping[str, Figure]
    errors: Mapping[str, float]
    rules: Mapping[str, FoundRule]
    targets: Mapping[str, "Target"]
    growing: Mapping[str, "Growing"]
    growing_months: int
    paper: Mapping[str, Mapping[str, float]]
    darts: Mapping[str, Mapping[str, float]]
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


@dataclass(frozen=True)
class Growing:
    """How much a child is given to grow in one measure, mm, and from which rate that comes."""

    mm: float
    words: str


def gather(
    *,
    pattern: Pattern,
    client_name: str,
    minor: bool,
    unit: str,
    now: datetime,
    figures: Mapping[str, Figure],
    catalogue: Mapping[str, CatalogueMeasure],
    rules: Mapping[str, FoundRule],
    accepted: Mapping[str, Sequence[float]],
    growing_months: int = 0,
    rates: Mapping[str, YearlyRate] | None = None,
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
    _need_of_body(needs, on_paper, figures, catalogue, client_name)
    compared, left_out = _compared(needs, on_paper, figures, catalogue, rules)
    for group in needs.needed:
        if not any(code in compared for code in group):
            have = next(code for code in group if code in on_paper)
            raise Refused({"ease_set": no_rule_words(pattern, have)})
    measures: dict[str, Figure] = {}
    for code in compared:
        one = figure_for(zone_of(code), figures)
        assert one is not None
        measures |= apart(code, figures) or {code: one}
    used = list(measures)
    found = {code: rules[zone_of(code).rule] for code in used}
    errors = {code: one.half_width for code, one in measures.items()}
    bust = _bust(pattern, used, figures)
    if bust is not None:
        measures["high_bust"] = figures[HIGH_BUST]
    drawn = {code: zone_of(code).paper or code for code in used}
    return Gathered(
        needs=needs,
        unit=unit,
        zone=zone,
        planned_on=today,
        basis=pattern.basis,
        zones=tuple(code for code in used if drawn[code] in needs.zones),
        lengths=tuple(code for code in used if drawn[code] in needs.lengths),
        details=tuple(code for code in used if drawn[code] in needs.details),
        body=measures,
        errors=errors,
        rules=found,
        targets=_targets(
            found,
            {code: accepted.get(code) or accepted.get(drawn[code], ()) for code in used},
            pattern.basis,
            unit,
        ),
        growing=_growing(used, measures, rates or {}, growing_months, unit),
        growing_months=growing_months,
        paper={size: {code: row[drawn[code]] for code in used} for size, row in sizes.items()},
        darts={code: by_size for code, by_size in darts_of(pattern).items() if code in used},
        bust=bust,
        left_out=tuple(left_out),
        minor=minor,
        old=old_words(
            {code: one for code, one in measures.items() if not one.estimated}, today, zone, minor=minor
        ),
    )


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
        "growing_months": given.growing_months,
        "body": {
            code: {
                "measure": one.measure,
                "name": one.name,
                "value_mm": one.value,
                "takes": one.takes,
                "error_source": one.error_source,
                "old": not one.estimated and one.is_old(given.planned_on, given.zone, minor=given.minor),
                "measured_at": one.measured_at.isoformat(),
                "measured_on": one.on(given.zone).isoformat(),
                "measured_by": one.measured_by,
                "measuring": one.measuring,
                "readings": list(one.readings),
                "estimated": one.estimated,
                "how": one.how,
            }
            for code, one in given.body.items()
        },
        "errors": dict(given.errors),
        "rules": {code: _rule(code, found, given) for code, found in given.rules.items()},
        # A list: the order of the sizes is part of the paper, and JSON objects in the database keep none.
        "paper": [{"size": size, "measures": dict(row)} for size, row in given.paper.items()],
        "bust": dict(given.bust) if given.bust else None,
        "joins": {zone: list(pieces) for zone, pieces in given.needs.joins.items() if zone in given.errors},
        "edges": {zone: dict(pieces) for zone, pieces in given.needs.edges.items() if zone in given.errors},
        "darts": {code: dict(by_size) for code, by_size in given.darts.items()},
        "left_out": [dict(one) for one in given.left_out],
        "old": [dict(one) for one in given.old],
    }


def cloth_words(pattern: Pattern, name: str, structure: str, stretch_percent: float | None) -> list[str]:
    """Where a cloth is not what the paper was drawn for, each in a sentence; `stretch_percent` is crosswise."""
    if structure != pattern.structure:
        return [
            f"{name} is {structure}, and the pattern was drawn for {pattern.structure} cloth: its ease is another."
        ]
    wanted = pattern.stretch_wanted_percent
    if not wanted:
        return []
    least = f"the pattern was drawn for a knit that stretches by at least {wanted.normalize():f} %"
    if stretch_percent is None:
        return [f"The crosswise stretch of {name} has not been tested; {least}."]
    if stretch_percent < float(wanted):
        return [
            f"{name} stretched by {stretch_percent:g} % crosswise; {least}. Take another cloth, or more ease by hand."
        ]
    return []


def _rule(code: str, found: FoundRule, given: Gathered) -> dict[str, Any]:
    """A rule as it is stored: room to grow moves the whole range, for it is added to the body."""
    target, growing = given.targets.get(code), given.growing.get(code)
    grows = growing.mm if growing else 0.0
    return {
        "low": found.rule.low + grows,
        "target": (target.target_mm if target else found.rule.target) + grows,
        "high": found.rule.high + grows,
        "source": found.rule.source,
        "set": found.set_title,
        "note": found.note,
        "borrowed": found.borrowed,
        "stated_target": found.rule.target,
        "drawn": found.rule.target,
        "accepted": list(target.accepted) if target else [],
        "learned": target.words if target else "",
        "growing_mm": grows,
        "growing": growing.words if growing else "",
    }


def _need_of_body(
    needs: GarmentNeeds,
    on_paper: frozenset[str],
    body: Mapping[str, Figure],
    catalogue: Mapping[str, CatalogueMeasure],
    client_name: str,
) -> None:
    """Raise Refused unless the body has a measure for each need that the paper answers."""
    missing = []
    for group in needs.needed:
        wanted = [paper_zones()[code] for code in group if code in on_paper]
        if not any(figure_for(zone, body) for zone in wanted):
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
    body: Mapping[str, Figure],
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


def _bust(pattern: Pattern, used: Sequence[str], figures: Mapping[str, Figure]) -> dict[str, float] | None:
    """Sizing by the high bust: where high and full bust are known, and the cup of the pattern."""
    if pattern.base_cup_mm is None or "bust" not in used or HIGH_BUST not in figures:
        return None
    return {
        "high_bust": figures[HIGH_BUST].value,
        "full_bust": figures["bust_girth"].value,
        "base_cup": float(pattern.base_cup_mm),
    }


def _growing(
    used: Sequence[str],
    measures: Mapping[str, Figure],
    rates: Mapping[str, YearlyRate],
    months: int,
    unit: str,
) -> dict[str, Growing]:
    """Room to grow from the child's own yearly rates; where growth is within the tape there is none."""
    if not months:
        return {}
    say, found = say_in(unit), {}
    for code in used:
        rate = rates.get(measures[code].measure)
        if rate is None:
            found[code] = Growing(0.0, "No room to grow: it needs two measurings at least half a year apart.")
        elif not rate.beyond or rate.per_year <= 0:
            found[code] = Growing(0.0, "No room to grow: it did not grow by more than the tape.")
        else:
            mm = rate.per_year * months / 12
            found[code] = Growing(
                mm,
                f"{say(mm)} to grow in {months} months: {say(rate.per_year)} a year, give or take "
                f"{say(rate.half_width)}, from {rate.since:%-d %B %Y} to {rate.until:%-d %B %Y}.",
            )
    return found


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
