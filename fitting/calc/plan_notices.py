"""What to warn of before a plan is drawn, and the length that a bust adjustment brings with it. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from fitting.calc import inputs, plan_words
from fitting.calc.ease import Verdict, outside
from fitting.calc.plan_cases import Case
from fitting.calc.plan_parts import Alteration, Bust, Dart, Notice, Outcome, Share
from fitting.calc.sizing import SizeRow

TAKE_IN_PER_EDGE = 12.0
"""Most to take in at one edge before darts and balance suffer, mm (common practice, no source)."""
FRONT_LENGTH_SHARE = 0.5
"""Length at centre front as a share of what each half front gains (common practice, no source)."""


def take_in_limit(edges: int, per_edge: float = TAKE_IN_PER_EDGE) -> float:
    """Return the most in mm to take in over all edges before darts and balance suffer.

    The default per edge is common practice, no source.
    """
    return inputs.whole("Number of edges", edges) * inputs.length("Most to take in at an edge", per_edge)


def notices_of(
    one: Case,
    outcome: Outcome,
    alteration: Alteration | None,
    *,
    sizes: Sequence[SizeRow],
    step: float,
    say: Callable[[float], str],
) -> list[Notice]:
    found = []
    if outcome.by_hand:
        found.append(Notice("by_hand", one.code, plan_words.by_hand(outcome, say)))
        off = outside(outcome.ease_after, one.rule)
        if off:
            found.append(Notice("out_of_range", one.code, plan_words.out_of_range(outcome, off, say)))
    if outcome.before is Verdict.CANNOT_TELL:
        found.append(Notice("measure_again", one.code, plan_words.measure_again(one.code, one.error, say)))
    if alteration is None:
        return found
    if alteration.step != step:
        found.append(Notice("finer_step", one.code, plan_words.finer_step(one.code, alteration.step, say)))
    if one.kind == "length":
        return found
    grade, further = _grade_step(one, sizes, alteration.total > 0)
    if grade and abs(alteration.total) > grade + inputs.HAIR:
        text = plan_words.grade_step(
            one.code, alteration.per_edge, grade / one.edges, further=further, say=say
        )
        found.append(Notice("grade_step", one.code, text))
    most = take_in_limit(one.edges)
    if one.kind == "width" and not one.is_bust and -alteration.total > most + inputs.HAIR:
        found.append(Notice("take_in", one.code, plan_words.take_in(one.code, most, say)))
    return found


def _grade_step(one: Case, sizes: Sequence[SizeRow], growing: bool) -> tuple[float, bool]:
    """Return the step of this measure to the next size that way, and whether there is one.

    At the end of the run the step from the size before serves; 0 where there is nothing to compare with.
    """
    place = [row.name for row in sizes].index(one.size.name)
    ahead, behind = (place + 1, place - 1) if growing else (place - 1, place + 1)
    for other, further in ((ahead, True), (behind, False)):
        if 0 <= other < len(sizes) and one.code in sizes[other].measures:
            return abs(sizes[other].measures[one.code] - one.size.measures[one.code]), further
    return 0.0, False


def dart_notice(
    one: Case,
    alteration: Alteration | None,
    dart: Dart | Mapping[str, Dart] | None,
    say: Callable[[float], str],
) -> list[Notice]:
    """Warn of a dart that swallows too much; a bust adjustment opens the dart by what each half front gains."""
    if isinstance(dart, Mapping):
        dart = dart.get(one.size.name)
    growth = alteration.per_edge if alteration is not None and one.is_bust else 0.0
    if dart is None:
        if not growth:
            return []
        dart = Dart(0.0)
    intake = inputs.length(f"Dart at {one.code}: intake", dart.intake) + growth
    most = inputs.positive(f"Dart at {one.code}: most", dart.most)
    if intake <= most + inputs.HAIR:
        return []
    return [Notice("dart", one.code, plan_words.dart(one.code, intake, most, say))]


def front_length(
    alteration: Alteration | None, bust: Bust, reading: str, step: float, say: Callable[[float], str]
) -> Alteration | None:
    """Return the change of length at centre front that goes with the bust, or None where it rounds to nothing."""
    if bust.front_length is not None:
        wanted = inputs.number("Length at centre front", bust.front_length)
    else:
        wanted = FRONT_LENGTH_SHARE * (alteration.per_edge if alteration is not None else 0.0)
    change = math.floor(wanted / step + 0.5) * step
    if change == 0:
        return None
    return Alteration(
        order=0,
        kind="detail",
        zone="centre_front_length",
        total=change,
        edges=1,
        per_edge=change,
        shares=(Share("front", 1, change, change),),
        step=step,
        method=plan_words.front_length(change, say),
        reason=plan_words.front_reason(stated=bust.front_length is not None),
        reading=reading,
        paper=None,
        finished=None,
        ease=None,
    )
