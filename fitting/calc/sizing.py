"""One body, several sizes: which size of a pattern serves each zone, and why.

The order of preference, each only where those before it are equal:

1. fewest zones outside their ease range;
2. least total distance outside the ranges, in units of each rule's tolerance (half the width of its range);
3. fewest changes of size from one zone to the next;
4. least sum of squared deviations from the target ease (mm^2);
5. the larger sizes.

Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from fitting.calc import inputs
from fitting.calc.ease import EaseRule, Verdict, outside, verdict
from fitting.calc.size_search import Cell, SizeCost, best_runs, best_single, cost_of

Basis = Literal["finished", "body"]
BASE_CUP = 50.0
"""Full bust less high bust that commercial women's patterns are drawn for, mm (sewing-teaching pages)."""


@dataclass(frozen=True)
class SizeRow:
    """One size of a pattern. `measures` maps zone codes to mm.

    `basis` says what they are: `"finished"` (the sewn garment, or the paper net of allowances and intakes) or
    `"body"` (the body chart that the pattern was drawn for; the paper is then taken to hold the target ease).
    """

    name: str
    measures: Mapping[str, float]
    basis: Basis = "finished"


@dataclass(frozen=True)
class ZoneSize:
    """The size chosen for one zone. `outside` is mm outside the range: negative too little, 0 in range."""

    zone: str
    size: str
    body: float
    finished: float
    ease: float
    outside: float
    verdict: Verdict
    reason: str


@dataclass(frozen=True)
class Alternative:
    """Another answer: a (zone, size) pair for each zone, its cost, and what it gives up against the first."""

    sizes: tuple[tuple[str, str], ...]
    cost: SizeCost
    text: str


@dataclass(frozen=True)
class SizeChoice:
    """The best answer, why, and the next best ones. `basis` is that of the size rows."""

    zones: tuple[ZoneSize, ...]
    cost: SizeCost
    reason: str
    basis: Basis
    alternatives: tuple[Alternative, ...]

    @property
    def sizes(self) -> dict[str, str]:
        """Zone code to size name."""
        return {zone.zone: zone.size for zone in self.zones}


@dataclass(frozen=True)
class HighBustSize:
    """A size found by the high bust. `adjustment` is mm of full bust still missing (negative: to spare)."""

    size: str
    chart_bust: float
    adjustment: float
    each_half_front: float
    text: str


def paper_measure(row: SizeRow, code: str, rule: EaseRule) -> float:
    """Return the finished measure of a size in mm; from a body chart: its measure plus the ease drawn in."""
    value = inputs.measure_of(row.measures, code, f"Size {row.name} of the pattern")
    if row.basis == "finished":
        return value
    return value + (rule.target if rule.drawn is None else rule.drawn)


def check_run(sizes: Sequence[SizeRow]) -> None:
    """Raise ValueError unless the sizes are a run: not empty, names unlike, one basis."""
    if len(sizes) == 0:
        raise ValueError("The pattern has no sizes; at least one is needed.")
    names = [row.name for row in sizes]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"Size {twice[0]} occurs more than once in the pattern; each size once.")
    for row in sizes:
        if row.basis not in ("finished", "body"):
            raise ValueError(f'Size {row.name}: basis must be "finished" or "body", not {row.basis!r}.')
        if row.basis != sizes[0].basis:
            raise ValueError("All sizes of a run must have one basis: finished measures or a body chart.")


def rule_of(rules: Mapping[str, EaseRule], code: str) -> EaseRule:
    """Look up an ease rule, or say which one is missing."""
    if code not in rules:
        raise ValueError(f"There is no ease rule for {code}; choose one for this plan.")
    return rules[code]


def choose_sizes(
    body: Mapping[str, float],
    sizes: Sequence[SizeRow],
    zones: Sequence[str],
    rules: Mapping[str, EaseRule],
    errors: Mapping[str, float] | None = None,
    *,
    fixed: Mapping[str, str] | None = None,
    others: int = 2,
    say: Callable[[float], str] = inputs.say_mm,
) -> SizeChoice:
    """Choose a size for each zone by the order of preference of this module.

    `body` maps zones to mm; `sizes` run from the smallest to the largest; `zones` run from top to bottom;
    `rules` give the ease for each zone; `errors` the 95 % half-width of the error of each zone's ease in mm
    (a zone that is not named counts as 0). Errors never change the choice, only how sure the verdict is.
    `fixed` sets the size of some zones by hand. `others` is how many next best answers are wanted; the best
    single size is added when it is not among them. `say` writes lengths in the sentences.

    Raises ValueError naming the measure, rule or size that is missing or impossible.
    """
    if isinstance(zones, str) or len(zones) == 0:
        raise ValueError("A choice of size needs at least one zone.")
    if len(set(zones)) != len(zones):
        raise ValueError("Each zone may be named only once.")
    check_run(sizes)
    margins = {zone: inputs.length(f"Error of {zone}", (errors or {}).get(zone, 0.0)) for zone in zones}
    girths = {zone: inputs.measure_of(body, zone, "The body") for zone in zones}
    table = [[_cell(row, zone, girths[zone], rule_of(rules, zone)) for row in sizes] for zone in zones]
    allowed = _allowed(sizes, zones, fixed or {})

    runs = best_runs(table, allowed, 1 + max(0, others))
    best = runs[0]
    cost = cost_of(table, best)
    chosen = []
    for place, zone in enumerate(zones):
        cell = table[place][best[place]]
        judged = verdict(cell.finished, girths[zone], rules[zone], margins[zone])
        reason = _zone_reason(
            zone=zone,
            own=best[place],
            cells=table[place],
            sizes=sizes,
            rule=rules[zone],
            by_hand=zone in (fixed or {}),
            say=say,
        )
        if judged is Verdict.CANNOT_TELL:
            reason += f" The error of the tape, {say(margins[zone])} either way, leaves this open:"
            reason += " tape again."
        chosen.append(
            ZoneSize(
                zone=zone,
                size=sizes[best[place]].name,
                body=girths[zone],
                finished=cell.finished,
                ease=cell.ease,
                outside=cell.outside,
                verdict=judged,
                reason=reason,
            )
        )
    rest = list(runs[1:])
    single = best_single(table, allowed)
    if single is not None and single not in runs:
        rest.append(single)
    return SizeChoice(
        zones=tuple(chosen),
        cost=cost,
        reason=_reason(chosen, cost, sizes[0].basis),
        basis=sizes[0].basis,
        alternatives=tuple(_alternative(run, zones, sizes, table, cost) for run in rest),
    )


def size_by_high_bust(
    high_bust: float,
    full_bust: float,
    chart: Sequence[SizeRow],
    zone: str = "bust",
    base_cup: float = BASE_CUP,
) -> HighBustSize:
    """Find the size whose frame fits: high bust against the chart's bust less its base cup.

    What the full bust needs beyond that size is a bust adjustment.

    `chart` holds body measures (basis `"body"`), smallest size first. Between two sizes equally near, the
    larger. Shoulders, neck and armhole follow the high bust, so a cup unlike the paper's would otherwise
    spoil them. Source: the base cup of commercial women's patterns, four sewing-teaching pages.
    """
    high = inputs.positive("High bust", high_bust)
    full = inputs.positive("Full bust", full_bust)
    cup = inputs.length("Base cup", base_cup)
    check_run(chart)
    if chart[0].basis != "body":
        raise ValueError('A size by high bust needs the body chart: rows of basis "body".')
    busts = [inputs.measure_of(row.measures, zone, f"Size {row.name} of the chart") for row in chart]
    place = min(range(len(chart)), key=lambda i: (round(abs(busts[i] - cup - high) / inputs.HAIR), -i))
    missing = full - busts[place]
    return HighBustSize(
        size=chart[place].name,
        chart_bust=busts[place],
        adjustment=missing,
        each_half_front=missing / 2,
        text=(
            f"Size {chart[place].name} by the high bust: the chart's bust less its base cup is "
            f"{inputs.say_mm(busts[place] - cup)}, the body's high bust {inputs.say_mm(high)}. The full bust "
            f"asks for {inputs.say_mm(abs(missing))} {'less' if missing < 0 else 'more'} than the paper: "
            "half of it on each half front."
        ),
    )


def _cell(row: SizeRow, zone: str, girth: float, rule: EaseRule) -> Cell:
    finished = paper_measure(row, zone, rule)
    if finished <= 0:
        raise ValueError(f"Size {row.name}: its target ease leaves nothing of {zone}; check the rule.")
    amount = finished - girth
    off = outside(amount, rule)
    # At least 1 where the zone is outside, so that no zone is both outside and free of cost.
    distance = max(1, round(abs(off) / rule.tolerance * 1e9)) if off else 0
    return Cell(finished, amount, off, distance, round((amount - rule.target) ** 2 * 1e6))


def _allowed(sizes: Sequence[SizeRow], zones: Sequence[str], fixed: Mapping[str, str]) -> list[list[int]]:
    places = {row.name: place for place, row in enumerate(sizes)}
    for zone, size in fixed.items():
        if zone not in zones:
            raise ValueError(f"A size is set by hand for {zone}, which is not a zone of this plan.")
        if size not in places:
            raise ValueError(f"Size {size}, set by hand for {zone}, is not in the pattern: {list(places)}.")
    every = list(range(len(sizes)))
    return [[places[fixed[zone]]] if zone in fixed else every for zone in zones]


def _zone_reason(
    *,
    zone: str,
    own: int,
    cells: list[Cell],
    sizes: Sequence[SizeRow],
    rule: EaseRule,
    by_hand: bool,
    say: Callable[[float], str],
) -> str:
    cell, name, words = cells[own], sizes[own].name, inputs.name(zone).capitalize()
    span = f"{say(rule.low)} to {say(rule.high)}"
    gives = f"it gives {say(cell.ease)} of ease (range {span}, target {say(rule.target)})"
    if cell.outside:
        side = "less than the least" if cell.outside < 0 else "more than the most"
        gives = f"its ease of {say(cell.ease)} is {say(abs(cell.outside))} {side} of the range {span}"
    if by_hand:
        return f"{words}: size {name} was set by hand; {gives}."
    serving = [size for size, other in enumerate(cells) if not other.outside]
    if not serving:
        return f"{words}: no size of this pattern serves; size {name} comes nearest, {gives}."
    if len(serving) == 1:
        return f"{words}: only size {name} serves; {gives}."
    names = ", ".join(sizes[size].name for size in serving)
    least = min(cells[size].square for size in serving)
    if cell.square > least:
        why = "taken because it saves a change of size between zones"
    elif any(size != own and cells[size].square == least for size in serving):
        why = "as near to the target as another, so the one with fewer changes or the larger is taken"
    else:
        why = "nearest to the target"
    return f"{words}: sizes {names} serve; size {name} is {why}; {gives}."


def _reason(chosen: list[ZoneSize], cost: SizeCost, basis: Basis) -> str:
    served = len(chosen) - cost.zones_outside
    text = f"{served} of {len(chosen)} zones in their ease range"
    if cost.changes == 0:
        text += f", all in size {chosen[0].size}."
    else:
        text += f", with {cost.changes} change{'s' if cost.changes > 1 else ''} of size from top to bottom."
    if basis == "body":
        text += (
            " Sizes are from the body chart: the paper is taken to hold the target ease. Measure the paper"
            " before cutting."
        )
    return text


def _alternative(
    run: tuple[int, ...],
    zones: Sequence[str],
    sizes: Sequence[SizeRow],
    table: list[list[Cell]],
    best: SizeCost,
) -> Alternative:
    cost = cost_of(table, run)
    pairs = tuple((zone, sizes[size].name) for zone, size in zip(zones, run, strict=True))
    if len(set(run)) == 1:
        text = f"Size {sizes[run[0]].name} throughout"
    else:
        text = ", ".join(f"{inputs.name(zone)} {size}" for zone, size in pairs)
    if cost.zones_outside > best.zones_outside:
        more = cost.zones_outside - best.zones_outside
        loss = f"{more} more zone{'s' if more > 1 else ''} outside the ease range"
    elif cost.distance > best.distance:
        loss = f"further outside the ranges, by {cost.distance - best.distance:.2g} tolerances in all"
    elif cost.changes > best.changes:
        more = cost.changes - best.changes
        loss = f"{more} more change{'s' if more > 1 else ''} of size"
    elif cost.squared_deviation > best.squared_deviation:
        loss = "further from the target ease"
    else:
        loss = "as good, but smaller"
    return Alternative(sizes=pairs, cost=cost, text=f"{text}: {loss}.")
