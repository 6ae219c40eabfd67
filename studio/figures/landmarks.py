"""Where the levels and points lie on an outline, and the way of the tape from one to another."""

from studio.figures.outline import (
    ARM_LEVELS,
    FOOT_POINTS,
    LEG_LEVELS,
    Outline,
    across,
    arm_point,
    leg_x,
)
from studio.figures.svg import Point

_NECK = ("neck", "neck_base", "nape", "neck_point", "neck_front", "chin")


def side_x(body: Outline, y: float, side: int) -> float:
    """The trunk's or leg's outer contour at height `y` without the arms; front or back in the side view."""
    hits = across(body.flat_edge, (0.0, y), (1.0, 0.0))
    if body.flat_arm:
        return hits[0] if side < 0 else hits[-1]
    if y > body.levels["crotch"]:
        x = leg_x(body, y)
        return side * min(h for h in hits if h > x)
    return side * min(h for h in hits if h > 0)


def landmark(body: Outline, view: str, level: str, side: int) -> Point:
    """The point of a level on one side of the picture (-1 left, 1 right) or on the centre line (0)."""
    y = body.levels[level]
    if view == "side":
        return _side_landmark(body, level, side, y)
    if level in ARM_LEVELS:
        x, y = arm_point(body, level)
        return ((side or 1) * x, y)
    if level in ("ball_inside", "ball_outside"):
        return ((side or 1) * (22.0 if level == "ball_inside" else 57.0), y)
    if side == 0 or level in ("head_top", "chin", "crotch", "nape", "neck_front"):
        return (0.0, y)
    half_shoulder = body.arm_axis[0][0]
    match level:
        case "neck_base" | "neck_point":
            return (side * 27.0, body.levels["neck_point"])
        case "shoulder":
            return (side * (27 + half_shoulder) / 2, y + 3)
        case "shoulder_point":
            return (side * half_shoulder, y)
        case "bust" | "bust_point":
            return (side * 0.52 * abs(side_x(body, y, 1)), y)
        case "armpit":
            return (side * abs(side_x(body, y + 4, 1)), y + 2)
        case "front_arm_crease" | "back_arm_crease":
            inset = 2 if level == "back_arm_crease" else 8
            return (side * (abs(side_x(body, body.levels["armpit"] + 4, 1)) - inset), y)
        case "centre_front_waist" | "centre_back_waist":
            return (0.0, y)
        case "floor" | "ball" | "heel" | "toe":
            return (side * (leg_x(body, body.levels["ankle"]) + 10), y)
        case _:
            return (side_x(body, y, side), y)


def _side_landmark(body: Outline, level: str, side: int, y: float) -> Point:
    """The side view faces left: the front of the body is on the left, the back on the right."""
    if level in ARM_LEVELS:
        return arm_point(body, level)
    if level == "shoulder_point":
        return (arm_point(body, level)[0], y)
    fixed = {
        "brow": -1, "neck_front": -1, "bust_point": -1, "front_arm_crease": -1, "centre_front_waist": -1,
        "toe": -1, "nape": 1, "back_arm_crease": 1, "centre_back_waist": 1, "heel": 1,
    }  # fmt: skip
    side = fixed.get(level, side)
    if level == "armpit" and side == 0:
        return (arm_point(body, "joint")[0], y)
    if level in ("ball", "ball_inside", "ball_outside"):
        return (-50.0, y)
    if side == 0 or level in ("head_top", "ear", "shoulder", "neck_point", "crotch"):
        return (0.0, y)
    return (side_x(body, y, side), y)


def tape_path(body: Outline, view: str, start: str, end: str, side: int) -> list[Point]:
    """The points that a tape passes from one level or point to another, on one side or the centre."""
    if start == end:
        return _width(body, view, start)
    if "centre" in (start, end):
        level = end if start == "centre" else start
        point = landmark(body, view, level, side or 1)
        centre = (0.0, point[1])
        return [centre, point] if start == "centre" else [point, centre]
    if _order(body, start) > _order(body, end):
        return tape_path(body, view, end, start, side)[::-1]
    if start == "head_top" or {start, end} == {"brow", "nape"}:
        return _over_head(body, view, end, side)
    if {start, end} == {"centre_front_waist", "centre_back_waist"} and view == "side":
        return _through_legs(body)
    if end in ARM_LEVELS:
        return _to_arm(body, view, start, end, side)
    if start == "crotch":
        return _inside_leg(body, view, end, side or 1)
    if end in FOOT_POINTS and start in FOOT_POINTS:
        return [landmark(body, view, start, side), landmark(body, view, end, side)]
    if view == "side" and start == "centre_front_waist" and end == "crotch":
        way = _through_legs(body)
        return way[: len(way) // 2]
    if side == 0 and view != "side" and end in (*LEG_LEVELS, "floor"):
        side = 1 if start not in ("head_top", *_NECK) else 0
    if side == 0 or end == "crotch":
        return [landmark(body, view, start, side if end == "crotch" else 0), landmark(body, view, end, 0)]
    if view == "side":
        return _contour(body, view, start, end, side)
    return _down_front(body, view, start, end, side)


def _down_front(body: Outline, view: str, start: str, end: str, side: int) -> list[Point]:
    """From the neck or shoulder over the bust point and down; straight where there is nothing to go round."""
    levels = body.levels
    if start in ("neck_base", "neck_point", "nape", "shoulder"):
        first = [landmark(body, view, start, side)]
        if start == "nape":
            first.append(landmark(body, view, "neck_point", side))
        if levels["bust"] <= levels[end] <= levels["hip"]:
            apex = landmark(body, view, "bust_point", side)
            return [*first, apex] if end in ("bust", "bust_point") else [*first, apex, (apex[0], levels[end])]
        if levels[end] < levels["bust"]:
            return [*first, landmark(body, view, end, side)]
    if start in ("shoulder_point", "bust", "bust_point", *_NECK) and levels[end] <= levels["hip"]:
        return [landmark(body, view, start, side), landmark(body, view, end, side)]
    return _contour(body, view, start, end, side)


def _width(body: Outline, view: str, level: str) -> list[Point]:
    """Straight across the body at one level."""
    y = body.levels[level]
    if view == "side":
        return [(side_x(body, y, -1), y), (side_x(body, y, 1), y)]
    left, right = landmark(body, view, level, -1), landmark(body, view, level, 1)
    if left != right:
        return [left, right]
    if level == "head_top":
        return [(-12.0, y), (12.0, y)]
    x = abs(side_x(body, y - 4, 1))
    return [(-x, y - 4), (x, y - 4)]


def _over_head(body: Outline, view: str, end: str, side: int) -> list[Point]:
    """Over the crown: from ear to ear, from the brow to the nape, or down one side of the head."""
    low = body.levels[end]
    steps = max(2, int(low // 10))
    ys = [max(low * k / steps, 1.5) for k in range(steps + 1)]
    if view == "side":
        back = [(side_x(body, y, 1), y) for y in ys]
        if end != "nape":
            return [(0.0, 0.0), (0.0, low)]
        brow = body.levels["brow"]
        front = [(side_x(body, y, -1), y) for y in ys if y < brow]
        return [(side_x(body, brow, -1), brow), *reversed(front), *back]
    if end == "ear":
        left, right = ([(side_x(body, y, s), y) for y in ys] for s in (-1, 1))
        return [*reversed(left), *right]
    if side == 0 and end not in ("neck_point",):
        return [(0.0, 0.0), landmark(body, view, end, 0)]
    return [(0.0, 0.0), *((side_x(body, y, side or 1), y) for y in ys)]


def _through_legs(body: Outline) -> list[Point]:
    """Side view: from the waist in front through the legs to the waist behind."""
    waist, crotch = body.levels["waist"], body.levels["crotch"]
    ys = [waist + (crotch - 26 - waist) * k / 6 for k in range(7)]
    front = [(side_x(body, y, -1) + 2, y) for y in ys]
    back = [(side_x(body, y, 1) - 2, y) for y in ys]
    return [
        *front,
        (front[-1][0] + 14, crotch - 6),
        (0.0, crotch + 2),
        (back[-1][0] - 14, crotch - 6),
        *back[::-1],
    ]


def _to_arm(body: Outline, view: str, start: str, end: str, side: int) -> list[Point]:
    """Down the arm: from the shoulder point, from the neck over it, or from the armpit on the inside."""
    if start == "armpit" and view != "side":
        s = side or 1
        chain = [n for n in ("elbow", "wrist") if body.levels[n] <= body.levels[end]]
        inner = [(s * (arm_point(body, n)[0] - 9), body.levels[n]) for n in chain]
        return [landmark(body, view, "armpit", s), *inner]
    whole = ("shoulder_point", *ARM_LEVELS)
    if start in whole:
        names = [n for n in whole if body.levels[start] <= body.levels[n] <= body.levels[end]]
        return [landmark(body, view, n, side or 1) for n in names]
    first = landmark(body, view, start, 0 if start in ("neck", "neck_base") else side)
    return [first, *_to_arm(body, view, "shoulder_point", end, side)]


def _order(body: Outline, level: str) -> tuple[int, float]:
    return (1 if level in ARM_LEVELS else 0, body.levels[level])


def _contour(body: Outline, view: str, start: str, end: str, side: int) -> list[Point]:
    """Down the side of the trunk and the outside of the leg."""
    a, b = landmark(body, view, start, side), landmark(body, view, end, side)
    inset = 0.0 if view == "side" else 3.0
    steps = max(2, int((b[1] - a[1]) // 12))
    low = max(a[1], body.levels["armpit"] + 6) if view != "side" else a[1]
    ys = [a[1] + (b[1] - a[1]) * k / steps for k in range(1, steps)]
    foot = body.levels["ankle"] + 6
    middle = [
        (side_x(body, y, side) - side * inset, y) for y in ys if y < body.levels["chin"] or low < y < foot
    ]
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
