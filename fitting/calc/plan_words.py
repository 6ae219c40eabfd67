"""The sentences of a fit plan. Bodies have no faults: the paper is what is changed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from fitting.calc.inputs import HAIR, name
from fitting.calc.plan_parts import Length, Outcome

Say = Callable[[float], str]

CHART = (
    "Sizes come from a body chart: the paper is taken to hold the target ease. Measure the paper, net of "
    "seam allowances and darts, before it is altered."
)
WALK_FRONT = (
    "The front has changed alone: fold its dart closed, walk the front side seam along the back's, and true "
    "the dart's end, the waist and the armhole."
)


def rounding(step: float, say: Say) -> str:
    amount = "1/16 in" if abs(step - 1.5875) < HAIR else say(step)
    return f"Amounts are rounded to {amount} at each edge, the least that can be drawn."


def by_high_bust(high_bust: float, base_cup: float, say: Say) -> str:
    return f"Sized by the high bust, {say(high_bust)}, plus the pattern's base cup, {say(base_cup)}."


def reason(outcome: Outcome, say: Say) -> str:
    text = f"The body measures {say(outcome.body)}, the paper {say(outcome.paper)} in size {outcome.size}"
    if outcome.carried:
        text += f", {say(outcome.paper + outcome.carried)} with the lengths changed before"
    if outcome.by_hand:
        return f"{text}. {by_hand(outcome, say)}"
    side = "below" if outcome.ease_before < outcome.low else "above"
    return (
        f"{text}: its ease of {say(outcome.ease_before)} is {side} the range of {say(outcome.low)} to "
        f"{say(outcome.high)}, target {say(outcome.target)} ({outcome.source})."
    )


def by_hand(outcome: Outcome, say: Say) -> str:
    """What somebody set against the reckoning."""
    done = f"{_sized(outcome.change, say)} in all" if outcome.change else "left as it is"
    would = f"{_sized(outcome.reckoned, say)} in all" if outcome.reckoned else "no change"
    return f"{name(outcome.zone).capitalize()}: {done}, set by hand; by the rule it would be {would}."


def _sized(total: float, say: Say) -> str:
    return f"{say(abs(total))} {'more' if total > 0 else 'less'}"


def out_of_range(outcome: Outcome, off: float, say: Say) -> str:
    side = "below the least" if off < 0 else "above the most"
    return (
        f"{name(outcome.zone).capitalize()}: with the amount set by hand the ease is {say(outcome.ease_after)}, "
        f"{say(abs(off))} {side} of the range {say(outcome.low)} to {say(outcome.high)}."
    )


def method(
    outcome: Outcome,
    each: float,
    pieces: Mapping[str, int],
    length: Length | None,
    *,
    is_bust: bool,
    say: Say,
) -> str:
    """How the change is made on the paper (common practice)."""
    amount, grows = say(abs(each)), each > 0
    if length is not None:
        return _length_method(length, amount, grows)
    if is_bust:
        return _bust_method(amount, grows)
    edges = sum(pieces.values())
    where = f"the {edges} edges" if edges > 1 else "the edge"
    if set(pieces) != {"edge"}:
        where += f" ({', '.join(f'{piece} {count}' for piece, count in pieces.items())})"
    if outcome.kind == "detail":
        verb = "Add" if grows else "Take off"
        return f"{verb} {amount} at each of {where}; true the seams that meet there and what is sewn to them."
    level = f"at the {name(outcome.zone)} line"
    if outcome.lowered_by:
        way = "lower" if outcome.lowered_by > 0 else "higher"
        level += f", which now lies {say(abs(outcome.lowered_by))} {way}"
    verb = "Draw the seam out" if grows else "Draw the seam in"
    return (
        f"{verb} by {amount} at each of {where} {level}. Taper to the unaltered line above and below, and "
        "true the seam."
    )


def _length_method(length: Length, amount: str, grows: bool) -> str:
    where = "every piece that the line crosses"
    if length.side:
        where = f"every piece of the {length.side} side that the line crosses, and on no other"
    if length.at_hem:
        return f"Draw the hem line {amount} {'lower' if grows else 'higher'} on every piece that reaches it."
    if grows:
        act = f"Cut along the lengthen or shorten line, square to the grain, and spread by {amount}"
    else:
        act = f"Fold out {amount} along the lengthen or shorten line, square to the grain"
    return f"{act}, alike on {where}. True the seams and darts across it."


def _bust_method(amount: str, grows: bool) -> str:
    act = (
        f"open the cuts by {amount} at the bust line"
        if grows
        else f"lap the cuts by {amount} at the bust line"
    )
    turn = "swallows the same amount more" if grows else "swallows the same amount less"
    return (
        "On each half front cut from the waist up to the bust point and on to the armhole seam, which stays "
        f"hinged, and from the side seam to the bust point; {act}, the edges below it parallel. The bust "
        f"dart {turn}. Take up the change at the waist in the waist dart or the side seam, so that the waist "
        "stays as planned."
    )


def front_length(change: float, say: Say) -> str:
    verb = "Spread" if change > 0 else "Fold out"
    return f"{verb} {say(abs(change))} across the centre front below the bust, square to the grain."


def front_reason(*, stated: bool) -> str:
    if stated:
        return "The fitter asked for this length at centre front."
    return (
        "The front changes in length with its width: by half of what each half front gains (common practice)."
    )


def measure_again(code: str, error: float, say: Say) -> str:
    return (
        f"{name(code).capitalize()}: the error of the tape, {say(error)} either way, cannot tell this ease "
        "from one in range. Tape again before drawing."
    )


def finer_step(code: str, step: float, say: Say) -> str:
    drawn = f"drawn to {say(step)} at each edge" if step else "drawn exactly"
    return (
        f"{name(code).capitalize()}: its range is narrower than the usual rounding; this change is {drawn}."
    )


def grade_step(code: str, each: float, grade: float, *, further: bool, say: Say) -> str:
    advice = "Consider another size." if further else "The size run ends here: consider another pattern."
    return (
        f"{name(code).capitalize()}: {say(abs(each))} at an edge is more than one step of the grading, "
        f"{say(grade)}. {advice}"
    )


def take_in(code: str, most: float, say: Say) -> str:
    return (
        f"{name(code).capitalize()}: taking in more than {say(most)} at the seams alone disturbs darts and "
        "balance (common practice). Share it with the darts, or consider a smaller size."
    )


def dart(code: str, intake: float, most: float, say: Say) -> str:
    return (
        f"{name(code).capitalize()}: a dart of {say(intake)} is wider than {say(most)} (common practice). "
        "Split it in two, or turn part of it into gathers or a seam."
    )


def joined(code: str, piece: str, total: float, say: Say) -> str:
    verb = "longer" if total > 0 else "shorter"
    return (
        f"The {piece} joins at the {name(code)}, which is now {say(abs(total))} {verb} in all: change it to "
        "match and walk the seam."
    )


def blend(upper: str, upper_size: str, lower: str, lower_size: str) -> str:
    return (
        f"Draw a smooth line from size {upper_size} at the {name(upper)} to size {lower_size} at the "
        f"{name(lower)}, alike on the pieces that meet there."
    )


def summary(alterations: int, blends: int, outcomes: Sequence[Outcome]) -> str:
    left = sum(1 for outcome in outcomes if not outcome.change)
    acts = f"{alterations} alteration{'' if alterations == 1 else 's'}" if alterations else "no alterations"
    lines = f", {blends} change{'' if blends == 1 else 's'} of size to blend" if blends else ""
    return f"{acts.capitalize()} on paper{lines}; {left} of {len(outcomes)} measures left alone."
