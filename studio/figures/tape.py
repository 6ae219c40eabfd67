"""Tape lines on the body: what each one is, and the strokes and points that draw it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, cast

from studio.figures import palette
from studio.figures.landmarks import landmark, tape_path
from studio.figures.outline import (
    ARM_LEVELS,
    BUILDS,
    LEG_LEVELS,
    LEVELS,
    VIEWS,
    Outline,
    across,
    arm_point,
    leg_x,
    outline,
)
from studio.figures.svg import Point, along, curve_path, el, line_path

KINDS = ("girth", "line", "height")
SIDES = ("left", "right", "centre")
ONE_LEVEL_GIRTHS = (
    "brow", "neck", "neck_base", "shoulder", "shoulder_point", "armpit", "chest", "bust", "underbust",
    "waist", "abdomen", "high_hip", "hip", *LEG_LEVELS, *ARM_LEVELS[:-1], "ball",
)  # fmt: skip
TWO_LEVEL_GIRTHS = (("armpit", "shoulder_point"), ("shoulder", "crotch"), ("heel", "ankle"))

REACH = 190.0  # half width of the body with its arms
LANE = 16.0  # distance between two height lines


@dataclass(frozen=True)
class TapeLine:
    """One measure to draw.

    `number` is printed in the marker. `kind`: "girth" (round the body at `start`; where `end` differs, a loop
    through both), "line" (along the body from `start` to `end`; equal levels give the width across) or
    "height" (upright distance between two levels, drawn beside the body). Levels and points are those of
    ``LEVELS``. `label` and `value` are printed as they come (the caller formats numbers and units). `side` is
    "left", "right" or "centre" of the picture.
    """

    number: int
    kind: Literal["girth", "line", "height"]
    start: str
    end: str = ""
    label: str = ""
    value: str = ""
    side: Literal["left", "right", "centre"] = "centre"


def tape_line(
    number: int, figure: Mapping[str, str], *, body_side: str = "centre", label: str = "", value: str = ""
) -> TapeLine:
    """The tape line of a measure of the catalogue: its `figure` (view, kind, from, to) and the side of the
    body.

    `body_side` is the wearer's "left", "right" or "centre". From behind the wearer's right is the picture's
    right; from the front it is the picture's left; from the side both lie on the middle of the picture.
    Raises ValueError when a key of `figure` is missing or the side is unknown.
    """
    for key in ("view", "kind", "from", "to"):
        if key not in figure:
            raise ValueError(
                f"figure of measure {number}: {key!r} is missing; it needs view, kind, from and to."
            )
    if body_side not in SIDES:
        raise ValueError(f"measure {number}: side is {body_side!r}; allowed are {', '.join(SIDES)}.")
    side = body_side
    if figure["view"] == "side":
        side = "centre"
    elif figure["view"] == "front" and side != "centre":
        side = "left" if side == "right" else "right"
    return TapeLine(
        number,
        cast(Literal["girth", "line", "height"], figure["kind"]),
        figure["from"],
        figure["to"],
        label,
        value,
        cast(Literal["left", "right", "centre"], side),
    )


@dataclass(frozen=True)
class Drawn:
    """A tape line with its geometry: what to draw, and the points where its leader may begin."""

    tape: TapeLine
    marks: tuple[str, ...]
    anchors: tuple[Point, ...]  # best first
    column: int  # -1 left, 1 right, 0 not decided


def _check(view: str, lines: Sequence[TapeLine], build: str) -> None:
    if view not in VIEWS:
        raise ValueError(f"view is {view!r}; allowed are {', '.join(VIEWS)}.")
    if build not in BUILDS:
        raise ValueError(f"build is {build!r}; allowed are {', '.join(BUILDS)}.")
    seen: set[int] = set()
    for tape in lines:
        where = f"tape line {tape.number}"
        if tape.number < 1:
            raise ValueError(f"{where}: number must be 1 or more.")
        if tape.number in seen:
            raise ValueError(f"{where}: the number is used twice; each line needs its own.")
        seen.add(tape.number)
        if tape.kind not in KINDS:
            raise ValueError(f"{where}: kind is {tape.kind!r}; allowed are {', '.join(KINDS)}.")
        if tape.side not in SIDES:
            raise ValueError(f"{where}: side is {tape.side!r}; allowed are {', '.join(SIDES)}.")
        end = tape.end or tape.start
        for name, level in (("start", tape.start), ("end", end)):
            if level not in LEVELS:
                raise ValueError(f"{where}: {name} is {level!r}; allowed levels are {', '.join(LEVELS)}.")
        if tape.kind == "girth":
            _check_girth(where, tape.start, end)
        elif tape.start == "centre" and end == "centre":
            raise ValueError(f"{where}: start and end are both 'centre'; one of them must be a level.")
        elif tape.kind == "height" and ("centre" in (tape.start, end) or end == tape.start):
            raise ValueError(f"{where}: a height needs two different levels, not {tape.start!r} and {end!r}.")


def _check_girth(where: str, start: str, end: str) -> None:
    if start == end:
        if start not in ONE_LEVEL_GIRTHS:
            raise ValueError(
                f"{where}: no girth is taken at {start!r}; girths are taken at {', '.join(ONE_LEVEL_GIRTHS)}."
            )
    elif (start, end) not in TWO_LEVEL_GIRTHS and (end, start) not in TWO_LEVEL_GIRTHS:
        pairs = "; ".join(" and ".join(pair) for pair in TWO_LEVEL_GIRTHS)
        raise ValueError(f"{where}: no girth runs through {start!r} and {end!r}; the loops are {pairs}.")


def draw(view: str, lines: Sequence[TapeLine], build: str) -> list[Drawn]:
    """Every tape line with its geometry, in the order given. Bad lines are refused with a sentence."""
    _check(view, lines, build)
    body = outline(view, build)
    drawn: list[Drawn] = []
    lane = {-1: 0, 1: 0}
    for tape in lines:
        if tape.kind == "girth":
            drawn.append(_girth(body, view, tape))
        elif tape.kind == "line":
            drawn.append(_line(body, view, tape))
        else:
            column = {"left": -1, "right": 1}.get(tape.side) or (-1 if lane[-1] <= lane[1] else 1)
            drawn.append(_height(body, tape, column, lane[column]))
            lane[column] += 1
    return drawn


def _tape(d: str, *, far: bool = False) -> str:
    """One stroke of tape: solid where it is seen, thin and broken where it runs behind the body."""
    if far:
        return el("path", d=d, stroke=palette.THREAD, stroke_width=1.4, stroke_dasharray="4 4")
    return el(
        "path", d=d, stroke=palette.THREAD, stroke_width=3.4, stroke_linecap="round", stroke_linejoin="round"
    )


def _girth(body: Outline, view: str, tape: TapeLine) -> Drawn:
    level, end = tape.start, tape.end or tape.start
    mirror = -1 if tape.side == "left" and view != "side" else 1
    column = {"left": -1, "right": 1, "centre": 0}[tape.side]
    y = body.levels[level]
    if level != end or level == "shoulder_point":
        ends = _loop(body, view, level, end)
    elif level == "ball":
        ends = _foot_ends(body, view)
    elif level in ARM_LEVELS:
        contour = body.flat_arm or body.flat_edge
        joint, elbow, wrist = body.arm_axis
        a, b = (joint, elbow) if level in ("upper_arm", "elbow") else (elbow, wrist)
        length = math.dist(a, b)
        direction = ((b[1] - a[1]) / length, -(b[0] - a[0]) / length)
        ends = _nearest(contour, arm_point(body, level), direction)
    elif level in LEG_LEVELS:
        ends = _nearest(body.flat_edge, (leg_x(body, y), y), (1.0, 0.0))
    else:
        if level == "shoulder":
            y = body.levels["shoulder_point"] + 22  # over the arms, at the widest
        elif level == "armpit":
            y += 4  # just below the crease, clear of the arms
        ends = _nearest(body.flat_edge, (0.0, y), (1.0, 0.0))
        mirror = 1
    if mirror < 0:
        ends = ((-ends[0][0], ends[0][1]), (-ends[1][0], ends[1][1]))
    left, right = sorted(ends)
    marks = _band(left, right)
    if column == 0 and (left[0] > 0 or right[0] < 0):
        column = 1 if left[0] > 0 else -1
    anchors = (left, right) if column < 0 else (right, left)
    return Drawn(tape, marks, anchors, column)


def _loop(body: Outline, view: str, start: str, end: str) -> tuple[Point, Point]:
    """Ends of a loop that runs up and down: armhole, trunk, heel and instep; on the picture's right."""
    names = {start, end}
    if "crotch" in names:
        return (landmark(body, view, "shoulder", 1), (4.0, body.levels["crotch"]))
    if "heel" in names:
        if view == "side":
            return ((27.0, 796.0), (-22.0, body.levels["ankle"] + 8))
        return _nearest(body.flat_edge, (leg_x(body, 780.0), 780.0), (1.0, 0.0))
    if view == "side":
        x, top = arm_point(body, "joint")
        return ((x - 4, top - 12), (x - 4, body.levels["armpit"]))
    x, top = landmark(body, view, "shoulder_point", 1)
    x_low, low = landmark(body, view, "armpit", 1)
    return ((x - 4, top), (x_low + 2, low))


def _foot_ends(body: Outline, view: str) -> tuple[Point, Point]:
    """Round the ball of the foot, seen from the side or from the front."""
    if view == "side":
        hits = across(body.flat_edge, (-50.0, 790.0), (0.0, 1.0))
        above, below = max(h for h in hits if h < 0), min(h for h in hits if h > 0)
        return ((-50.0, 790.0 + above), (-50.0, 790.0 + below))
    y = body.levels["ball"]
    return ((22.0, y), (57.0, y))


def _nearest(contour: tuple[Point, ...], centre: Point, direction: Point) -> tuple[Point, Point]:
    hits = across(contour, centre, direction)
    low, high = max(h for h in hits if h < 0), min(h for h in hits if h > 0)
    return (
        (centre[0] + low * direction[0], centre[1] + low * direction[1]),
        (centre[0] + high * direction[0], centre[1] + high * direction[1]),
    )


def _band(left: Point, right: Point) -> tuple[str, ...]:
    """An ellipse-like band: the near half sags below the level, the far half runs broken above it."""
    width = math.dist(left, right)
    drop = min(max(width * 0.075, 3.5), 13.0)
    ux, uy = (right[0] - left[0]) / width, (right[1] - left[1]) / width

    def arc(sag: float) -> str:
        px, py = -uy * sag * 4 / 3, ux * sag * 4 / 3
        lean = 0.12 * width
        c1 = (left[0] + ux * lean + px, left[1] + uy * lean + py)
        c2 = (right[0] - ux * lean + px, right[1] - uy * lean + py)
        return curve_path([(left, c1, c2, right)])

    return (_tape(arc(-drop), far=True), _tape(arc(drop)))


def _line(body: Outline, view: str, tape: TapeLine) -> Drawn:
    start, end = tape.start, tape.end or tape.start
    side = {"left": -1, "right": 1, "centre": 0}[tape.side]
    path = tape_path(body, view, start, end, side)
    shares = (0.5, 0.36, 0.64, 0.24, 0.76, 0.14, 0.86, 0.43, 0.57)
    anchors = [along(path, t) for t in shares]
    column = side
    if side == 0 and all(x > 1 for x, _ in anchors):
        column = 1
    if start == end:  # a width: its leader starts at an end
        anchors = sorted((path[0], path[-1]), key=lambda p: -p[0] * (column or 1))
    ends = [el("circle", cx=x, cy=y, r=3, fill=palette.THREAD) for x, y in (path[0], path[-1])]
    return Drawn(tape, (_tape(line_path(path)), *ends), tuple(anchors), column)


def _height(body: Outline, tape: TapeLine, column: int, lane: int) -> Drawn:
    y1, y2 = sorted((body.levels[tape.start], body.levels[tape.end]))
    x = column * (REACH + lane * LANE)
    marks = [_tape(line_path([(x, y1), (x, y2)]))]
    for y in (y1, y2):
        marks.append(_tape(line_path([(x - 6, y), (x + 6, y)])))
        reach = [abs(h) for h in across(body.flat_edge, (0.0, y + 0.5), (1.0, 0.0))]
        near = column * (max(reach, default=0.0) + 6)
        if abs(near) < abs(x) - 8:
            marks.append(
                el("path", d=line_path([(near, y), (x - column * 8, y)]), stroke=palette.EDGE, stroke_width=1,
                   stroke_dasharray="2 4")
            )  # fmt: skip
    anchors = tuple((x, y1 + t * (y2 - y1)) for t in (0.5, 0.3, 0.7, 0.4, 0.6, 0.2, 0.8, 0.1, 0.9))
    return Drawn(tape, tuple(marks), anchors, column)
