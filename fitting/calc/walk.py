"""Walking the seams: are two edges that will be sewn together equally long, and do their notches meet?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from fitting.calc import inputs
from fitting.calc.outline import Edge, edge_length

# What hands bring together without noticing (common practice, no source).
SLACK_MM = 2.0


@dataclass(frozen=True)
class Stretch:
    """A seam between two notches: the length of each side (mm)."""

    first: float
    second: float

    @property
    def eased(self) -> float:
        """How much longer the first side is, mm; negative: shorter."""
        return self.first - self.second


@dataclass(frozen=True)
class Walk:
    """What came of walking two sides of a seam. `eased` is how much longer the first side is, in mm."""

    first: float
    second: float
    stretches: tuple[Stretch, ...]
    verdict: Literal["equal", "eased", "too long", "too short", "notches"]
    words: str

    @property
    def eased(self) -> float:
        return self.first - self.second

    @property
    def is_good(self) -> bool:
        return self.verdict in ("equal", "eased")


def walk(
    first: Sequence[Edge],
    second: Sequence[Edge],
    *,
    ease_least: float = 0.0,
    ease_most: float = 0.0,
    slack: float = SLACK_MM,
    say: Callable[[float], str] = inputs.say_mm,
) -> Walk:
    """Walk the first side along the second; each is one edge or several that follow one another.

    The first may be longer by `ease_least` to `ease_most` mm (a sleeve cap eased into an armhole), give or take
    `slack`. With as many notches on both sides every stretch between them is compared too: where no ease is
    wanted the notches must meet to the slack; where it is, no stretch may be shorter than its partner by more
    than that. Raises ValueError for a side without an edge and for unreal figures.
    """
    if len(first) == 0 or len(second) == 0:
        raise ValueError("A seam has two sides; name at least one edge of each.")
    low, high = inputs.number("The least ease", ease_least), inputs.number("The most ease", ease_most)
    if low > high:
        raise ValueError(f"The least ease ({low:g} mm) must not be more than the most ({high:g} mm).")
    slack = inputs.length("The slack", slack)
    a, b = _cuts(first), _cuts(second)
    one, other = a[-1], b[-1]
    eased = one - other
    names = f"{_names(first)} and {_names(second)}"
    if eased > high + slack:
        more = "" if high == 0 else f"; at most {say(high)} is eased in"
        words = f"{names}: the first is {say(eased)} longer{more}."
        return Walk(one, other, _stretches(a, b), "too long", words)
    if eased < low - slack:
        wanted = f"; it should be {say(low)} longer, to be eased in" if low > 0 else ""
        how = f"{say(-eased)} shorter" if eased < 0 else f"only {say(eased)} longer"
        return Walk(one, other, _stretches(a, b), "too short", f"{names}: the first is {how}{wanted}.")
    if len(a) != len(b):
        counts = f"{len(a) - 2} on one side and {len(b) - 2} on the other"
        return Walk(one, other, (), "notches", f"{names}: the notches don't pair up, {counts}.")
    stretches = _stretches(a, b)
    for number, stretch in enumerate(stretches, 1):
        out = abs(stretch.eased) > slack if high == 0 else stretch.eased < -slack
        if out and len(stretches) > 1:
            words = f"{names}: the notches don't meet; stretch {number} is off by {say(abs(stretch.eased))}."
            return Walk(one, other, stretches, "notches", words)
    if abs(eased) <= slack:
        return Walk(one, other, stretches, "equal", f"{names} are equally long, {say(other)}.")
    return Walk(one, other, stretches, "eased", f"{names}: {say(eased)} is eased in over {say(other)}.")


def _cuts(edges: Sequence[Edge]) -> list[float]:
    """Beginning, notches and end of a side, as distances along it."""
    gone = 0.0
    cuts = [0.0]
    for edge in edges:
        cuts += [gone + notch for notch in sorted(edge.notches)]
        gone += edge_length(edge)
    return [*cuts, gone]


def _stretches(a: Sequence[float], b: Sequence[float]) -> tuple[Stretch, ...]:
    if len(a) != len(b):
        return ()
    return tuple(Stretch(a[i + 1] - a[i], b[i + 1] - b[i]) for i in range(len(a) - 1))


def _names(edges: Sequence[Edge]) -> str:
    return " with ".join(edge.name for edge in edges)
