"""Our own neutral body outline: where each level lies, and the curves of the front, back and side.

The body stands 800 units tall (y grows downwards, the crown is 0, the floor 800) and is centred on x = 0. It
has no face, no sex and no ideal: two builds, adult and child, differ in proportion only. The proportions are
drawn by hand for legibility (common practice of figure drawing, no source): nothing may be measured from the
picture.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from studio.figures.svg import Cubic, Point, along, flatten, smooth

VIEWS = ("front", "back", "side")
BUILDS = ("adult", "child")
HEIGHT = 800.0

_LEVELS: dict[str, dict[str, float]] = {
    "adult": {
        "head_top": 0, "brow": 38, "chin": 103, "neck": 114, "neck_base": 128, "shoulder": 136,
        "shoulder_point": 150, "armpit": 206, "chest": 214, "bust": 238, "underbust": 268, "waist": 306,
        "abdomen": 344, "hip": 392, "crotch": 424, "thigh": 456, "knee": 580, "calf": 644, "ankle": 752,
        "floor": 800,
    },
    "child": {
        "head_top": 0, "brow": 52, "chin": 140, "neck": 150, "neck_base": 162, "shoulder": 169,
        "shoulder_point": 182, "armpit": 236, "chest": 244, "bust": 266, "underbust": 294, "waist": 328,
        "abdomen": 366, "hip": 410, "crotch": 444, "thigh": 474, "knee": 592, "calf": 652, "ankle": 752,
        "floor": 800,
    },
}  # fmt: skip

ARM_LEVELS = ("upper_arm", "elbow", "forearm", "wrist", "hand", "fingertip")
LEG_LEVELS = ("thigh", "mid_thigh", "knee", "below_knee", "calf", "ankle")
FOOT_POINTS = ("floor", "ball", "heel", "toe", "ball_inside", "ball_outside")


def _all_levels(build: str, arm_axis: list[Point]) -> dict[str, float]:
    """Height of every level and point; those between two others are reckoned from them."""
    levels = dict(_LEVELS[build])

    def between(a: str, b: str, share: float) -> float:
        return levels[a] + share * (levels[b] - levels[a])

    levels["ear"] = between("brow", "chin", 0.3)
    levels["nape"] = levels["neck_base"] - 8
    levels["neck_point"] = levels["neck_base"] - 4
    levels["neck_front"] = levels["neck_base"] + 6
    levels["front_arm_crease"] = levels["back_arm_crease"] = between("shoulder_point", "armpit", 0.6)
    levels["bust_point"] = levels["bust"]
    levels["centre_front_waist"] = levels["centre_back_waist"] = levels["waist"]
    levels["high_hip"] = between("abdomen", "hip", 0.5)
    levels["mid_thigh"] = between("crotch", "knee", 0.5)
    levels["below_knee"] = between("knee", "calf", 0.42)
    levels["heel"], levels["toe"] = levels["floor"] - 6, levels["floor"] - 4
    levels["ball"] = levels["ball_inside"] = levels["ball_outside"] = levels["floor"] - 8
    for level in ARM_LEVELS:
        levels[level] = _arm_point(arm_axis, level)[1]
    return levels


def _arm_point(axis: Sequence[Point], level: str) -> Point:
    joint, elbow, wrist = axis
    if level == "upper_arm":
        return along((joint, elbow), 0.5)
    if level == "forearm":
        return along((elbow, wrist), 0.3)
    if level in ("hand", "fingertip"):
        share = 0.4 if level == "hand" else 0.64
        return (wrist[0] + share * (wrist[0] - elbow[0]) * 0.8, wrist[1] + share * (wrist[1] - elbow[1]))
    return {"elbow": elbow, "wrist": wrist}.get(level, joint)


@dataclass(frozen=True)
class Outline:
    """One view of one build. `edge` is the whole silhouette, `arm` the arm lying on it in the side view."""

    edge: tuple[Cubic, ...]
    arm: tuple[Cubic, ...]
    details: tuple[tuple[Cubic, ...], ...]
    flat_edge: tuple[Point, ...]
    flat_arm: tuple[Point, ...]
    arm_axis: tuple[Point, ...]  # shoulder joint, elbow, wrist on the right of the picture
    leg_axis: tuple[Point, ...]  # hip joint, knee, ankle on the right of the picture
    levels: dict[str, float]


def _front_half(build: str) -> tuple[list[Point], list[Point], list[Point]]:
    """Right half of the front contour from crown to crotch, the arm axis and the leg axis."""
    if build == "adult":
        half: list[Point] = [
            (0, 0), (21, 6), (34, 27), (35, 54), (30, 80), (23, 98), (21, 108), (23, 120), (36, 132),
            (66, 140), (88, 147), (102, 164), (111, 194), (120, 240), (132, 284), (141, 314), (147, 344),
            (154, 390), (159, 418), (166, 440), (170, 466), (168, 490), (160, 504), (150, 500), (143, 484),
            (138, 464), (137, 444), (136, 424), (129, 392), (116, 352), (109, 320), (103, 292), (93, 250),
            (81, 208), (81, 208), (79, 224), (76, 246), (72, 272), (70, 300), (71, 318), (75, 346),
            (79, 376), (81, 402), (81, 430), (79, 468), (74, 516), (64, 560), (60, 584), (61, 612),
            (62, 640), (57, 680), (47, 728), (45, 756), (49, 776), (60, 792), (59, 799), (40, 801),
            (22, 798), (19, 784), (23, 762), (23, 744), (19, 700), (15, 650), (17, 612), (18, 584),
            (14, 552), (8, 500), (3, 440), (0, 424),
        ]  # fmt: skip
        return half, [(93, 162), (122, 302), (148, 422)], [(42, 424), (39, 580), (34, 752)]
    half = [
        (0, 0), (30, 8), (48, 36), (50, 72), (43, 106), (29, 132), (24, 145), (26, 156), (38, 166),
        (62, 173), (82, 180), (95, 196), (104, 226), (113, 268), (123, 306), (131, 332), (137, 362),
        (144, 402), (149, 426), (155, 446), (158, 468), (156, 486), (149, 497), (140, 493), (134, 478),
        (130, 462), (129, 446), (128, 430), (121, 402), (109, 368), (102, 338), (96, 312), (87, 278),
        (76, 240), (76, 240), (75, 256), (73, 280), (71, 306), (70, 330), (72, 352), (75, 378), (77, 402),
        (78, 430), (76, 464), (70, 520), (61, 570), (57, 594), (58, 622), (58, 648), (54, 686), (46, 730),
        (44, 756), (48, 776), (60, 792), (59, 799), (40, 801), (21, 798), (18, 784), (21, 762), (21, 744),
        (18, 704), (14, 656), (15, 622), (16, 596), (13, 566), (8, 516), (3, 458), (0, 444),
    ]  # fmt: skip
    return half, [(86, 194), (113, 324), (139, 428)], [(39, 444), (36, 592), (32, 752)]


def _side(build: str) -> tuple[list[Point], list[Point], list[Point], list[Point]]:
    """Side contour facing left (closed), arm contour (closed), arm axis, leg axis."""
    if build == "adult":
        edge: list[Point] = [
            (2, 0), (-27, 9), (-43, 34), (-45, 62), (-40, 88), (-27, 103), (-13, 106), (-12, 118),
            (-18, 132), (-34, 154), (-48, 186), (-56, 222), (-56, 246), (-51, 274), (-49, 302), (-52, 330),
            (-54, 356), (-51, 388), (-48, 424), (-47, 470), (-41, 524), (-33, 572), (-30, 592), (-27, 624),
            (-24, 664), (-21, 716), (-21, 748), (-33, 768), (-62, 784), (-80, 792), (-80, 800), (-40, 801),
            (6, 801), (28, 799), (30, 782), (21, 760), (20, 738), (28, 696), (36, 652), (34, 620),
            (27, 590), (28, 562), (38, 516), (50, 462), (58, 420), (60, 394), (54, 364), (43, 334),
            (37, 304), (41, 270), (50, 226), (52, 188), (44, 156), (28, 134), (22, 120), (24, 108),
            (32, 92), (42, 66), (42, 38), (28, 10),
        ]  # fmt: skip
        arm: list[Point] = [
            (4, 150), (-18, 164), (-23, 194), (-18, 240), (-14, 280), (-17, 312), (-24, 350), (-30, 392),
            (-33, 420), (-42, 446), (-44, 474), (-36, 498), (-24, 502), (-14, 484), (-11, 456), (-12, 424),
            (-4, 388), (12, 342), (18, 306), (20, 278), (25, 234), (29, 194), (24, 162),
        ]  # fmt: skip
        return edge, arm, [(3, 162), (2, 302), (-22, 422)], [(0, 424), (-2, 580), (0, 752)]
    edge = [
        (2, 0), (-36, 11), (-57, 44), (-58, 82), (-51, 116), (-34, 138), (-14, 142), (-13, 152),
        (-18, 164), (-32, 184), (-44, 214), (-51, 248), (-52, 276), (-52, 304), (-54, 330), (-58, 360),
        (-56, 388), (-49, 418), (-45, 446), (-43, 486), (-38, 540), (-31, 584), (-28, 602), (-25, 632),
        (-22, 670), (-20, 718), (-20, 748), (-32, 768), (-58, 784), (-75, 792), (-75, 800), (-36, 801),
        (6, 801), (27, 799), (29, 782), (20, 760), (19, 740), (25, 700), (32, 660), (30, 630), (24, 602),
        (26, 574), (36, 526), (47, 476), (55, 436), (57, 412), (52, 384), (41, 354), (36, 326), (39, 294),
        (46, 254), (47, 218), (40, 188), (28, 168), (22, 156), (26, 146), (42, 128), (55, 92), (54, 50),
        (36, 13),
    ]  # fmt: skip
    arm = [
        (4, 182), (-15, 194), (-20, 222), (-16, 264), (-12, 300), (-15, 330), (-21, 364), (-27, 400),
        (-30, 428), (-38, 450), (-40, 474), (-33, 494), (-22, 498), (-13, 482), (-10, 456), (-11, 430),
        (-4, 396), (10, 354), (16, 324), (18, 298), (22, 258), (25, 222), (21, 192),
    ]  # fmt: skip
    return edge, arm, [(3, 194), (2, 324), (-20, 428)], [(0, 444), (-2, 592), (0, 752)]


def _details(view: str, build: str, levels: dict[str, float]) -> list[list[Point]]:
    """A few quiet lines that tell front from back: collarbones and knees, or blades, seat, heels."""
    w = 1.0 if build == "adult" else 0.9
    thumb = (148.0, 450.0) if build == "adult" else (138.0, 450.0)
    if view == "front":
        base, knee, navel = levels["neck_base"], levels["knee"], levels["abdomen"] - 16
        right: list[list[Point]] = [
            [(8 * w, base + 9), (30 * w, base + 10), (62 * w, base + 16)],
            [(30, knee + 8), (39, knee + 14), (49, knee + 7)],
            [thumb, (thumb[0] + 2, thumb[1] + 16), (thumb[0] - 1, thumb[1] + 28)],
        ]
        middle: list[list[Point]] = [[(0, navel - 5), (0, navel + 3)]]
    elif view == "back":
        blade, seat, heel = levels["armpit"], levels["crotch"], levels["ankle"]
        right = [
            [(22 * w, blade - 24), (30 * w, blade + 16), (44 * w, blade + 24), (56 * w, blade + 4)],
            [(6, seat + 3), (22, seat + 9), (42 * w, seat + 4)],
            [(29, heel), (30, heel + 26)],
            [(37, heel), (37, heel + 26)],
        ]
        middle = [[(0, levels["neck_base"] + 4), (0, levels["waist"]), (0, levels["hip"] - 22)]]
    else:
        return []
    return middle + right + [[(-x, y) for x, y in line] for line in right]


@cache
def outline(view: str, build: str) -> Outline:
    """The outline of one view ("front", "back", "side") of one build ("adult", "child")."""
    arm: tuple[Cubic, ...] = ()
    if view == "side":
        edge_points, arm_points, arm_axis, leg_axis = _side(build)
        edge = tuple(smooth(edge_points, closed=True))
        arm = tuple(smooth(arm_points, closed=True))
    else:
        half, arm_axis, leg_axis = _front_half(build)
        # The crown and the crotch lie on the centre line: each is given once, so that the curve runs on
        # smoothly there.
        whole = half[:-1] + [half[-1]] + [(-x, y) for x, y in reversed(half[1:-1])]
        edge = tuple(_close_with_corners(whole))
    levels = _all_levels(build, arm_axis)
    return Outline(
        edge=edge,
        arm=arm,
        details=tuple(tuple(smooth(line)) for line in _details(view, build, levels)),
        flat_edge=tuple(flatten(edge, 8)),
        flat_arm=tuple(flatten(arm, 8)) if arm else (),
        arm_axis=tuple(arm_axis),
        leg_axis=tuple(leg_axis),
        levels=levels,
    )


def _close_with_corners(points: list[Point]) -> list[Cubic]:
    """A closed curve with corners at doubled points; it is cut open at the first corner."""
    first = next(i for i, p in enumerate(points) if p == points[i + 1])
    turned = points[first + 1 :] + points[: first + 1]
    return smooth(turned)


def arm_point(body: Outline, level: str) -> Point:
    """The arm's axis at an arm level, on the right of the picture; the joint for any other level."""
    return _arm_point(body.arm_axis, level)


def leg_x(body: Outline, y: float) -> float:
    """The leg's axis at height `y`, on the right of the picture."""
    hip, knee, ankle = body.leg_axis
    a, b = (hip, knee) if y < knee[1] else (knee, ankle)
    return a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1])


LEVELS = (*outline("front", "adult").levels, "centre")


def across(points: tuple[Point, ...], centre: Point, direction: Point) -> list[float]:
    """Signed distances from `centre` along `direction` at which a closed contour is crossed, in order."""
    hits = []
    dx, dy = direction
    for a, b in zip(points, points[1:] + points[:1], strict=True):
        sa = (a[0] - centre[0]) * dy - (a[1] - centre[1]) * dx
        sb = (b[0] - centre[0]) * dy - (b[1] - centre[1]) * dx
        if (sa < 0) != (sb < 0):
            t = sa / (sa - sb)
            x, y = a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])
            hits.append((x - centre[0]) * dx + (y - centre[1]) * dy)
    return sorted(hits)
