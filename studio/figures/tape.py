"""Tape lines on the body: what each one is, and the strokes and points that draw it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from studio.figures import palette
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
NO_GIRTH = ("head_top", "chin", "crotch", "floor", "centre")

REACH = 190.0  # half width of the body with its arms
LANE = 16.0  # distance between two height lines


@dataclass(frozen=True)
class TapeLine:
    """One measure to draw.

    `number` is printed in the marker. `kind`: "girth" (round the body at `start`), "line" (along the body
    from `start` to `end`; equal levels give the width across) or "height" (upright distance between two
    levels, drawn beside the body). Levels are those of ``LEVELS``; for a girth `end` is empty or equals
    `start`. `label` and `value` are printed as they come (the caller formats numbers and units). `side` is
    "left", "right" or "centre" of the picture.
    """

    number: int
    kind: Literal["girth", "line", "height"]
    start: str
    end: str = ""
    label: str = ""
    value: str = ""
    side: Literal["left", "right", "centre"] = "centre"


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
            if tape.start in NO_GIRTH:
                raise ValueError(
                    f"{where}: no girth is taken at {tape.start!r}; choose another level or kind."
                )
            if end != tape.start:
                raise ValueError(
                    f"{where}: a girth has one level, but start is {tape.start!r} and end {end!r}."
                )
        elif tape.start == "centre" and end == "centre":
            raise ValueError(f"{where}: start and end are both 'centre'; one of them must be a level.")
        elif tape.kind == "height" and ("centre" in (tape.start, end) or end == tape.start):
            raise ValueError(f"{where}: a height needs two different levels, not {tape.start!r} and {end!r}.")


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
    level = tape.start
    mirror = -1 if tape.side == "left" and view != "side" else 1
    column = {"left": -1, "right": 1, "centre": 0}[tape.side]
    y = body.levels[level]
    if level in ARM_LEVELS:
        contour = body.flat_arm or body.flat_edge
        joint, elbow, wrist = body.arm_axis
        a, b = (joint, elbow) if level in ("upper_arm", "elbow") else (elbow, wrist)
        length = math.dist(a, b)
        direction = ((b[1] - a[1]) / length, -(b[0] - a[0]) / length)
        centre = arm_point(body, level)
        ends = _nearest(contour, centre, direction)
    elif level == "shoulder_point" and view != "side":
        # The armhole: a tape from the shoulder point through the armpit and back.
        x, y_top = _landmark(body, view, "shoulder_point", 1)
        x_low, y_low = _landmark(body, view, "armpit", 1)
        ends = ((x - 4, y_top), (x_low + 2, y_low))
    elif level in LEG_LEVELS:
        centre = (leg_x(body, y), y)
        ends = _nearest(body.flat_edge, centre, (1.0, 0.0))
    else:
        if level == "shoulder":
            y = body.levels["shoulder_point"] + 22  # over the arms, at the widest
        if level == "shoulder_point":
            y = body.levels["armpit"] - 20
        hits = across(body.flat_edge, (0.0, y), (1.0, 0.0))
        inner = (max(h for h in hits if h < 0), min(h for h in hits if h > 0))
        ends = ((inner[0], y), (inner[1], y))
        mirror = 1
    if mirror < 0:
        ends = ((-ends[0][0], ends[0][1]), (-ends[1][0], ends[1][1]))
    left, right = sorted(ends)
    marks = _band(left, right)
    if column == 0 and (left[0] > 0 or right[0] < 0):
        column = 1 if left[0] > 0 else -1
    anchors = (left, right) if column < 0 else (right, left)
    return Drawn(tape, marks, anchors, column)


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


def _side_x(body: Outline, y: float, side: int) -> float:
    """The trunk's or leg's outer contour at height `y` without the arms; front or back in the side view."""
    hits = across(body.flat_edge, (0.0, y), (1.0, 0.0))
    if body.flat_arm:
        return hits[0] if side < 0 else hits[-1]
    if y > body.levels["crotch"]:
        x = leg_x(body, y)
        return side * min(h for h in hits if h > x)
    return side * min(h for h in hits if h > 0)


def _landmark(body: Outline, view: str, level: str, side: int) -> Point:
    """The point of a level on one side of the picture (-1 left, 1 right) or on the centre line (0)."""
    y = body.levels[level]
    if view == "side":
        if level in ARM_LEVELS or (level == "shoulder_point"):
            return arm_point(body, level)
        if side == 0 or level in ("head_top", "shoulder"):
            return (0.0, y)
        if level == "crotch":
            return (0.0, y)
        return (_side_x(body, y, side), y)
    if level in ARM_LEVELS:
        x, y = arm_point(body, level)
        return ((side or 1) * x, y)
    if side == 0:
        return (0.0, y + (4 if level == "neck_base" and view == "front" else 0))
    half_shoulder = body.arm_axis[0][0]
    match level:
        case "head_top" | "chin" | "crotch":
            return (0.0, y)
        case "neck_base":
            return (side * 27.0, body.levels["neck_base"] - 4)
        case "shoulder":
            return (side * (27 + half_shoulder) / 2, y + 3)
        case "shoulder_point":
            return (side * half_shoulder, y)
        case "bust":
            return (side * 0.52 * abs(_side_x(body, y, 1)), y)
        case "armpit":
            return (side * abs(_side_x(body, y + 4, 1)), y + 2)
        case "floor":
            return (side * 46.0, y)
        case _:
            return (_side_x(body, y, side), y)


def _line(body: Outline, view: str, tape: TapeLine) -> Drawn:
    start, end = tape.start, tape.end or tape.start
    side = {"left": -1, "right": 1, "centre": 0}[tape.side]
    path = _line_points(body, view, start, end, side)
    shares = (0.5, 0.36, 0.64, 0.24, 0.76, 0.14, 0.86, 0.43, 0.57)
    anchors = [along(path, t) for t in shares]
    column = side
    if side == 0 and all(x > 1 for x, _ in anchors):
        column = 1
    if start == end:  # a width: its leader starts at an end
        anchors = sorted((path[0], path[-1]), key=lambda p: -p[0] * (column or 1))
    ends = [el("circle", cx=x, cy=y, r=3, fill=palette.THREAD) for x, y in (path[0], path[-1])]
    return Drawn(tape, (_tape(line_path(path)), *ends), tuple(anchors), column)


def _line_points(body: Outline, view: str, start: str, end: str, side: int) -> list[Point]:
    levels = body.levels
    if start == end:
        if view == "side":
            y = levels[start]
            return [(_side_x(body, y, -1), y), (_side_x(body, y, 1), y)]
        left, right = _landmark(body, view, start, -1), _landmark(body, view, start, 1)
        if left == right:
            y = left[1] if start != "crotch" else left[1] - 4
            x = _side_x(body, y, 1) if start != "head_top" else 0.0
            return [(-x, y), (x, y)] if x else [(-12.0, y), (12.0, y)]
        return [left, right]
    if "centre" in (start, end):
        level = end if start == "centre" else start
        point = _landmark(body, view, level, side or 1)
        centre = (0.0, point[1])
        return [centre, point] if start == "centre" else [point, centre]
    if _order(body, start) > _order(body, end):
        return _line_points(body, view, end, start, side)[::-1]
    arm_end = end in ARM_LEVELS
    if arm_end and start in (*ARM_LEVELS, "shoulder_point"):
        chain = [n for n in ("shoulder_point", *ARM_LEVELS) if _between(body, start, n, end)]
        return [_landmark(body, view, n, side or 1) for n in chain]
    if arm_end:  # from neck or back over the shoulder point and down the arm
        first = _landmark(body, view, start, side if start not in ("neck", "neck_base") else 0)
        return [first, *_line_points(body, view, "shoulder_point", end, side)]
    if start == "crotch":
        return _inside_leg(body, view, end, side or 1)
    if side == 0 and end in (*LEG_LEVELS, "floor"):
        side = 1 if start not in ("head_top", "chin", "neck", "neck_base") else 0
    if side == 0 or end == "crotch":
        a, b = _landmark(body, view, start, side if end == "crotch" else 0), _landmark(body, view, end, 0)
        return [(b[0], a[1]), b] if end == "crotch" and side == 0 else [a, b]
    if (
        view != "side"
        and start in ("neck_base", "shoulder")
        and levels["bust"] < levels[end] <= levels["hip"]
    ):
        apex = _landmark(body, view, "bust", side)
        return [_landmark(body, view, start, side), apex, (apex[0], levels[end])]
    straight = ("neck_base", "shoulder", "shoulder_point", "bust", "chin", "head_top", "neck")
    if view != "side" and start in straight and levels[end] <= levels["hip"]:
        return [_landmark(body, view, start, side), _landmark(body, view, end, side)]
    return _contour(body, view, start, end, side)


def _order(body: Outline, level: str) -> tuple[int, float]:
    return (1 if level in ARM_LEVELS else 0, body.levels[level])


def _between(body: Outline, start: str, level: str, end: str) -> bool:
    """Whether a level lies between two others, both included."""
    return body.levels[start] <= body.levels[level] <= body.levels[end]


def _contour(body: Outline, view: str, start: str, end: str, side: int) -> list[Point]:
    """Down the side of the trunk and the outside of the leg."""
    a, b = _landmark(body, view, start, side), _landmark(body, view, end, side)
    inset = 0.0 if view == "side" else 3.0
    steps = max(2, int((b[1] - a[1]) // 12))
    low = max(a[1], body.levels["armpit"] + 6) if view != "side" else a[1]
    ys = [a[1] + (b[1] - a[1]) * k / steps for k in range(1, steps)]
    foot = body.levels["ankle"] + 6
    middle = [(_side_x(body, y, side) - side * inset, y) for y in ys if low < y < foot]
    return [(a[0] - side * inset, a[1]), *middle, (b[0] - side * inset, b[1])]


def _inside_leg(body: Outline, view: str, end: str, side: int) -> list[Point]:
    top = body.levels["crotch"]
    if view == "side":
        return [(0.0, top), (0.0, body.levels[end])]
    y_end = body.levels[end]
    points: list[Point] = [(0.0, top)]
    y = top + 14
    while y < min(y_end, body.levels["ankle"] + 6):
        hits = across(body.flat_edge, (0.0, y), (1.0, 0.0))
        points.append((side * (min(h for h in hits if h > 0) + 2), y))
        y += 12
    points.append((points[-1][0], y_end))
    return points


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
