"""How a body differs from the figure that a paper pattern was drawn for: height, torso, hip depth, cup.

Girths choose the size; these four are what the size leaves out. Whatever differs, it is the paper that is
changed. Lengths in mm. A torso 2 cm longer than the paper's means that the waistline goes down 2 cm: common
practice, no source.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from studio.calc.cups import pattern_cup

Value = float | Decimal
Verdict = Literal["differs", "as drawn", "not taken", "not told"]

GIRTHS: Final = {"bust_girth": "bust", "waist_girth": "waist", "hip_girth": "hip"}
HEIGHT, TORSO, DEPTH = "height", "back_waist_length", "waist_to_hip"
HIGH_BUST, BUST = "chest_girth", "bust_girth"
NORMAL_95: Final = 1.96


@dataclass(frozen=True)
class StandardSize:
    """One size of a chart; mm, None where the chart says nothing."""

    name: str
    bust: float
    waist: float
    hip: float
    back_waist: float | None


@dataclass(frozen=True)
class StandardChart:
    """A size chart: whom it is drawn for; mm. `height` is (from, to), `cup` full bust less high bust."""

    code: str
    name: str
    height: tuple[float, float] | None
    waist_to_hip: float | None
    cup: float | None
    sizes: tuple[StandardSize, ...]

    def size(self, name: str) -> StandardSize:
        """Return the size of this name; raises `ValueError` where the chart has none."""
        for each in self.sizes:
            if each.name == name:
                return each
        names = ", ".join(each.name for each in self.sizes)
        raise ValueError(f"The chart {self.name} has no size {name!r}: it has {names}.")


@dataclass(frozen=True)
class FigureDifference:
    """One way in which the body may differ from the paper's.

    `part` is "height", "torso", "hip depth" or "cup". `body` and `difference` (body less paper) are mm, None
    where one side is not known. `verdict`: "as drawn" where the difference is within the tape. `words` say
    what the paper needs.
    """

    part: str
    body: float | None
    paper: tuple[float, float] | None
    difference: float | None
    verdict: Verdict
    words: str


def nearest_size(chart: StandardChart, body: Mapping[str, Value]) -> StandardSize:
    """Return the size whose bust, waist and hip lie nearest, by the sum of squared differences.

    Those of the three that `body` has are compared; of two equally near the larger is taken. Raises
    `ValueError` where it has none of them.
    """
    known = {code: _length(body[code], code) for code in GIRTHS if code in body}
    if not known:
        raise ValueError(
            "Bust, waist and hip are not known: take at least one of them to find the nearest size."
        )

    def distance(size: StandardSize) -> float:
        return math.fsum((value - getattr(size, GIRTHS[code])) ** 2 for code, value in known.items())

    return min(reversed(chart.sizes), key=distance)


def compare_figure(
    chart: StandardChart,
    size: StandardSize,
    body: Mapping[str, Value],
    *,
    say: Callable[[float], str],
    errors: Mapping[str, Value] | None = None,
) -> tuple[FigureDifference, ...]:
    """Return height, torso, hip depth and cup of the body against the chart, in that order.

    `body` maps codes of the catalogue to mm; `say` writes an amount of mm in the reader's unit. `errors` are
    the standard deviations of the body's figures: what lies within 1.96 of them is "as drawn". Raises
    `ValueError` for an impossible length.
    """
    known = {
        code: _length(body[code], code) for code in (HEIGHT, TORSO, DEPTH, HIGH_BUST, BUST) if code in body
    }
    slack = {code: NORMAL_95 * float(value) for code, value in (errors or {}).items()}
    torso = None if size.back_waist is None else (size.back_waist, size.back_waist)
    depth = None if chart.waist_to_hip is None else (chart.waist_to_hip, chart.waist_to_hip)
    return (
        _length_of("height", known.get(HEIGHT), chart.height, slack.get(HEIGHT, 0.0), say, _height_words),
        _length_of("torso", known.get(TORSO), torso, slack.get(TORSO, 0.0), say, _line_words("waistline")),
        _length_of("hip depth", known.get(DEPTH), depth, slack.get(DEPTH, 0.0), say, _line_words("hip line")),
        _cup(chart, known, math.hypot(slack.get(HIGH_BUST, 0.0), slack.get(BUST, 0.0)), say),
    )


def _length_of(
    part: str,
    body: float | None,
    paper: tuple[float, float] | None,
    slack: float,
    say: Callable[[float], str],
    words: Callable[[float, str], str],
) -> FigureDifference:
    if paper is None:
        return FigureDifference(
            part, body, None, None, "not told", f"The chart does not tell its {part}: measure the paper."
        )
    if body is None:
        return FigureDifference(part, None, paper, None, "not taken", f"The {part} has not been taken.")
    low, high = paper
    difference = body - high if body > high else min(body - low, 0.0)
    if abs(difference) <= slack:
        near = "" if difference == 0 else ", within the tape"
        return FigureDifference(part, body, paper, difference, "as drawn", f"As the paper is drawn{near}.")
    return FigureDifference(part, body, paper, difference, "differs", words(difference, say(abs(difference))))


def _height_words(difference: float, amount: str) -> str:
    how = "lower" if difference > 0 else "higher"
    change = "longer" if difference > 0 else "shorter"
    return (
        f"The paper is drawn for a height {amount} {how}: its lengths become {change}, each where its own measure "
        "says (torso, hip depth, sleeve, leg), not all in one place."
    )


def _line_words(line: str) -> Callable[[float, str], str]:
    return lambda difference, amount: (
        f"The paper's {line} goes {'down' if difference > 0 else 'up'} {amount}."
    )


def _cup(
    chart: StandardChart, known: Mapping[str, float], slack: float, say: Callable[[float], str]
) -> FigureDifference:
    paper = None if chart.cup is None else (chart.cup, chart.cup)
    if chart.cup is None or paper is None:
        return FigureDifference(
            "cup",
            None,
            None,
            None,
            "not told",
            "The chart does not tell its cup: ask whoever drew the paper.",
        )
    if HIGH_BUST not in known or BUST not in known:
        return FigureDifference(
            "cup", None, paper, None, "not taken", "High bust and full bust are needed to compare the cup."
        )
    body = known[BUST] - known[HIGH_BUST]
    difference = body - chart.cup
    if abs(difference) <= slack:
        return FigureDifference(
            "cup", body, paper, difference, "as drawn", "As the paper is drawn, within the tape."
        )
    try:
        letter = f" (a pattern cup {pattern_cup(known[HIGH_BUST], known[BUST])})"
    except ValueError:
        letter = ""  # beyond the letters; the measures themselves say enough
    way = "wider" if difference > 0 else "narrower"
    # Half the difference on each half front: the rule of fitting.calc.alteration.bust_adjustment.
    return FigureDifference(
        "cup",
        body,
        paper,
        difference,
        "differs",
        f"The paper is drawn for a full bust {say(chart.cup)} above the high bust; taped is "
        f"{say(abs(body))}{' less' if body < 0 else ''}{letter}. Choose the size by the high bust, and each half "
        f"front becomes {say(abs(difference) / 2)} {way} across the bust.",
    )


def _length(value: Value, code: str) -> float:
    number = float(value)
    if not math.isfinite(number) or number <= 0:
        raise ValueError(f"The {code} must be a length above 0 mm (got {value}).")
    return number
