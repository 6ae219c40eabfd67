"""What to do on the paper, in the order in which a fitter does it: lengths, then widths, then details.

Lengths come first because they move the levels: a torso 20 mm longer than the paper lowers the waist line by
20 mm, and the width belongs at the line where the waist then is. A measure inside its ease range is left
alone; any other is brought to the target, rounded at each edge to what can be drawn. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from fitting.calc import inputs, plan_words
from fitting.calc.ease import EaseRule, outside, verdict
from fitting.calc.plan_cases import (
    EVERY_PIECE,
    FOUR_PANELS,
    HALF_FRONTS,
    ONE_EDGE,
    Case,
    check_codes,
    pieces_of,
)
from fitting.calc.plan_notices import (
    dart_notice,
    front_length,
    notices_of,
    take_in_limit,  # noqa: F401 - published as a name of this module
)
from fitting.calc.plan_parts import (
    Alteration,
    Blend,
    Bust,
    Dart,
    Detail,
    FitPlan,
    Kind,
    Length,
    Notice,
    Outcome,
    Share,
)
from fitting.calc.sizing import SizeChoice, SizeRow, choose_sizes, paper_measure, rule_of

STEP = 2.0
"""What can be drawn, mm."""
FRONT_LENGTH = "centre_front_length"
"""The code of the length that a bust adjustment brings with it."""
SIXTEENTH_INCH = 1.5875
"""1/16 in, the step of studios that draw in inches."""


def share(total: float, edges: int) -> float:
    """Return the change at each edge: the total over the edges that share it; four on a four-panel garment."""
    return inputs.number("Total change", total) / inputs.whole("Number of edges", edges)


def let_out_limit(allowance: float, keep: float, edges: int) -> float:
    """Return the most in mm that cut or sewn edges can give: edges * (allowance - keep), never below 0.

    `allowance` is the seam allowance that is really there, `keep` the least to leave. Paper has no such
    limit.
    """
    spare = inputs.length("Seam allowance", allowance) - inputs.length("Seam allowance to keep", keep)
    return inputs.whole("Number of edges", edges) * max(0.0, spare)


def bust_adjustment(full_bust: float, paper_full_bust: float) -> float:
    """Return what each half front gains in mm: half the difference (negative: what it loses).

    `paper_full_bust` is the full bust that the paper was drawn for: the chart's bust, or the finished girth
    less the ease wanted. Source: half of the excess over the high bust's size on each half front,
    sewing-teaching pages.
    """
    difference = inputs.positive("Full bust", full_bust) - inputs.positive(
        "Full bust of the paper", paper_full_bust
    )
    return difference / 2


def round_change(
    finished: float, body: float, rule: EaseRule, edges: int, step: float = STEP
) -> tuple[float, float]:
    """Return (change at each edge, step used) that brings an ease to its target; 0 where it is in range.

    The change is the nearest whole number of steps to the exact one, of two equally near the larger garment.
    Where that would leave the range (a range narrower than the rounding), a half or a quarter of the step is
    used, and at last the exact amount (step used 0). So the ease ends in range and within edges * step / 2 of
    the target.
    """
    inputs.positive("Rounding step", step)
    if outside(finished - body, rule) == 0:
        return 0.0, step
    each = share(body + rule.target - finished, edges)
    for used in (step, step / 2, step / 4):
        drawn = math.floor(each / used + 0.5) * used
        if outside(finished + drawn * edges - body, rule) == 0:
            return drawn, used
    return each, 0.0


def plan(
    body: Mapping[str, float],
    sizes: Sequence[SizeRow],
    zones: Sequence[str],
    rules: Mapping[str, EaseRule],
    errors: Mapping[str, float] | None = None,
    *,
    lengths: Sequence[Length] = (),
    details: Sequence[Detail] = (),
    edges: Mapping[str, int | Mapping[str, int]] | None = None,
    readings: Mapping[str, str] | None = None,
    fixed: Mapping[str, str] | None = None,
    bust: Bust | None = None,
    darts: Mapping[str, Dart | Mapping[str, Dart]] | None = None,
    amounts: Mapping[str, float] | None = None,
    joins: Mapping[str, Sequence[str]] | None = None,
    step: float = STEP,
    say: Callable[[float], str] = inputs.say_mm,
) -> FitPlan:
    """Set a pattern against a body: a size for each zone, then the alterations in order.

    `body`, `sizes`, `zones`, `rules`, `errors` and `fixed` as for `choose_sizes`; for lengths and details the
    same mappings hold a value under their codes. `edges` maps a code to the number of edges that share its
    change, or to edges by piece, all copies counted (default: front 2, back 2 for a zone, 1 for a detail).
    `readings` maps codes to the codes of the readings behind them (default: the same code). `bust` asks for
    sizing by the high bust. `darts` gives the dart of a zone, for all sizes or by size; `amounts` the change in
    all that somebody set by hand for a code (0: leave it; lengths move what lies below as ever), which may end
    out of range and then says so; `joins` the pieces sewn to it (waistband,
    sleeve) that must follow a change. `step` is what an edge is rounded to, `say` writes lengths in
    sentences.

    Every measure that nobody set by hand ends in its range; an altered one within edges * step / 2 of its target.
    Raises ValueError naming the measure, rule, size or piece that is missing or impossible.
    """
    inputs.positive("Rounding step", step)
    margins = errors or {}
    by_hand, bust = _by_hand(amounts, bust)
    codes = check_codes(
        zones, lengths, details, {"edges": edges, "darts": darts, "amounts": by_hand, "joins": joins}, bust
    )
    sized, worn = dict(body), dict(body)
    if bust is not None:
        worn[bust.zone] = inputs.positive("Full bust", bust.full_bust)
        high = inputs.positive("High bust", bust.high_bust)
        sized[bust.zone] = high + inputs.length("Base cup", bust.base_cup)
    choice = choose_sizes(sized, sizes, zones, rules, margins, fixed=fixed, say=say)

    choice = _choice_in_words(choice, bust, say)
    rows = {row.name: row for row in sizes}

    def case(code: str, kind: Kind, follows: tuple[str, ...], pieces: Mapping[str, int]) -> Case:
        size = rows[choice.sizes[next((zone for zone in follows if zone in zones), zones[0])]]
        rule = rule_of(rules, code)
        girth = inputs.measure_of(worn, code, "The body")
        inputs.positive(f"Body plus target ease: {code}", girth + rule.target)
        return Case(
            code=code,
            kind=kind,
            size=size,
            body=girth,
            paper=paper_measure(size, code, rule),
            rule=rule,
            error=inputs.length(f"Error of {code}", margins.get(code, 0.0)),
            pieces=pieces,
            reading=(readings or {}).get(code, code),
            length=relations.get(code),
            is_bust=bust is not None and code == bust.zone,
        )

    relations = {length.code: length for length in lengths}
    cases = [case(length.code, "length", length.follows, EVERY_PIECE) for length in lengths]
    for zone in zones:
        at_bust = bust is not None and zone == bust.zone
        cases.append(
            case(zone, "width", (zone,), HALF_FRONTS if at_bust else pieces_of(edges, zone, FOUR_PANELS))
        )
    cases += [
        case(item.code, "detail", item.follows, pieces_of(edges, item.code, ONE_EDGE)) for item in details
    ]

    carried = dict.fromkeys(codes, 0.0)
    lowered = dict.fromkeys(codes, 0.0)
    outcomes: list[Outcome] = []
    alterations: list[Alteration] = []
    notices: list[Notice] = []
    for one in cases:
        outcome, alteration = _decide(
            one, carried[one.code], lowered[one.code], step, say, by_hand.get(one.code)
        )
        outcomes.append(outcome)
        if one.length is not None:
            for level in one.length.lowers:
                lowered[level] = lowered.get(level, 0.0) + outcome.change
            for longer in one.length.part_of:
                carried[longer] = carried.get(longer, 0.0) + outcome.change
        notices += notices_of(one, outcome, alteration, sizes=sizes, step=step, say=say)
        notices += dart_notice(one, alteration, (darts or {}).get(one.code), say)
        if alteration is not None:
            alterations.append(alteration)
            notices += [
                Notice("walk", one.code, plan_words.joined(one.code, piece, alteration.total, say))
                for piece in (joins or {}).get(one.code, ())
            ]
        if bust is not None and one.is_bust:
            front = front_length(alteration, bust, one.reading, step, say)
            if front is not None:
                alterations.append(front)
            if front is not None or alteration is not None:
                notices.append(Notice("walk", one.code, plan_words.WALK_FRONT))
    # The length at centre front comes with the bust but is drawn last; the sort is stable.
    alterations.sort(key=lambda item: ("length", "width", "detail").index(item.kind))
    alterations = [replace(item, order=place) for place, item in enumerate(alterations, start=1)]
    if choice.basis == "body":
        notices.append(Notice("chart", "", plan_words.CHART))
    blends = _blends(choice)
    return FitPlan(
        sizes=choice,
        outcomes=tuple(outcomes),
        blends=blends,
        alterations=tuple(alterations),
        notices=tuple(notices),
        step=step,
        rounding=plan_words.rounding(step, say),
        summary=plan_words.summary(len(alterations), len(blends), outcomes),
    )


def _by_hand(amounts: Mapping[str, float] | None, bust: Bust | None) -> tuple[dict[str, float], Bust | None]:
    """The amounts set by hand, the length at centre front handed on to the bust that brings it."""
    found = {
        code: inputs.number(f"Amount set by hand for {code}", mm) for code, mm in (amounts or {}).items()
    }
    if bust is not None and FRONT_LENGTH in found:
        bust = replace(bust, front_length=found.pop(FRONT_LENGTH))
    return found, bust


def _choice_in_words(choice: SizeChoice, bust: Bust | None, say: Callable[[float], str]) -> SizeChoice:
    """Say in the bust's reason that it was sized by the high bust."""
    if bust is None:
        return choice
    note = plan_words.by_high_bust(bust.high_bust, bust.base_cup, say)
    return replace(
        choice,
        zones=tuple(
            replace(zone, reason=f"{zone.reason} {note}") if zone.zone == bust.zone else zone
            for zone in choice.zones
        ),
    )


def _decide(
    one: Case,
    carried: float,
    lowered: float,
    step: float,
    say: Callable[[float], str],
    by_hand: float | None,
) -> tuple[Outcome, Alteration | None]:
    before = one.paper + carried
    if before <= 0:
        raise ValueError(
            f"{one.code}: the paper measures {one.paper:g} mm, yet its parts are to lose {-carried:g} mm; "
            "check the measures of the paper."
        )
    each, used = round_change(before, one.body, one.rule, one.edges, step)
    reckoned = total = each * one.edges
    if by_hand is not None:
        total, each, used = by_hand, by_hand / one.edges, step
        if before + total <= 0:
            raise ValueError(
                f"{one.code}: {say(total)} set by hand leaves nothing of the {say(before)} that the paper has."
            )
    outcome = Outcome(
        zone=one.code,
        kind=one.kind,
        size=one.size.name,
        reading=one.reading,
        body=one.body,
        paper=one.paper,
        carried=carried,
        change=total,
        finished=before + total,
        ease_before=before - one.body,
        ease_after=before + total - one.body,
        low=one.rule.low,
        target=one.rule.target,
        high=one.rule.high,
        source=one.rule.source,
        before=verdict(before, one.body, one.rule, one.error),
        after=verdict(before + total, one.body, one.rule, one.error),
        lowered_by=lowered,
        reckoned=reckoned,
        by_hand=by_hand is not None,
    )
    if total == 0:
        return outcome, None
    return outcome, Alteration(
        order=0,
        kind=one.kind,
        zone=one.code,
        total=total,
        edges=one.edges,
        per_edge=each,
        shares=tuple(Share(piece, count, each, each * count) for piece, count in one.pieces.items()),
        step=used,
        method=plan_words.method(outcome, each, one.pieces, one.length, is_bust=one.is_bust, say=say),
        reason=plan_words.reason(outcome, say),
        reading=one.reading,
        paper=before,
        finished=outcome.finished,
        ease=outcome.ease_after,
        by_hand=outcome.by_hand,
    )


def _blends(choice: SizeChoice) -> tuple[Blend, ...]:
    return tuple(
        Blend(
            upper.zone,
            upper.size,
            lower.zone,
            lower.size,
            plan_words.blend(upper.zone, upper.size, lower.zone, lower.size),
        )
        for upper, lower in pairwise(choice.zones)
        if upper.size != lower.size
    )
