"""A paper piece as it is drawn, in mm: its lines and marks, and what can be measured on it.

A piece has its own coordinates; its grainline says where the warp runs. Along the piece ("level") is measured
from a point in the direction of the grainline, positive towards the arrow. Polygons by Shapely.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Literal

from shapely import LineString, MultiPoint, Polygon

from fitting.calc import inputs
from fitting.calc.flat import Panel, finished_girth
from fitting.calc.lay_rules import LayPiece, Point, Ring, checked_ring, mirrored_in, opened_out

ARROWS = ("one", "both", "none")
SHORTEST_GRAIN = 20.0  # mm; a shorter line can't be measured to the selvedge
SHORTEST_HEM = 40.0  # mm; less than that is what rounding and corners leave
FAR = 1e5
NOTCH_SLACK = 0.5  # mm; kept coordinates are rounded


@dataclass(frozen=True)
class Edge:
    """A stretch of the seam line that is sewn in one go; `notches` are distances in mm along it."""

    name: str
    points: Ring
    notches: tuple[float, ...] = ()


@dataclass(frozen=True)
class Dart:
    """A dart: the two ends of its mouth on the edge, and its tip."""

    left: Point
    right: Point
    tip: Point

    @property
    def intake(self) -> float:
        """The cloth that it swallows at its mouth, mm."""
        return math.dist(self.left, self.right)


@dataclass(frozen=True)
class Gauge:
    """Where a piece gives a measure of the garment, said once by the draft or by whoever read the drawing in.

    `zone` is the code of the paper's measure, `name` what the place is called. `kind` "across": the level of its
    one point, square to the grain; "along": its line along the curve, darts in it taken off; "down": between its
    two points, along the grain. `less` is what is taken off besides, (what, mm): the overlap of a front.
    """

    zone: str
    name: str
    kind: Literal["across", "along", "down"]
    points: Ring
    less: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Outline:
    """One piece in one size.

    `cut` is the line to cut along and `seam` the line to sew along (empty where the paper shows none). `grain`
    runs from its tail to its arrow; `arrow` says whether it has one head, two, or none. `fold` is the edge that
    lies on a fold: then the piece is drawn as half. `mirrored`: of several, every other one is a mirror image.
    `inner` are lines inside (pockets, folds). `edges` name stretches of the seam line,
    `gauges` where the piece is measured for which measure of the garment.
    """

    cut: Ring
    seam: Ring = ()
    grain: tuple[Point, Point] | None = None
    arrow: Literal["one", "both", "none"] = "none"
    fold: tuple[Point, Point] | None = None
    mirrored: bool = True
    bias: bool = False
    notches: tuple[Point, ...] = ()
    darts: tuple[Dart, ...] = ()
    drills: tuple[Point, ...] = ()
    inner: tuple[Ring, ...] = ()
    edges: tuple[Edge, ...] = ()
    gauges: tuple[Gauge, ...] = ()

    @property
    def sewn(self) -> Ring:
        """The seam line, or the cut line where no seam line is drawn."""
        return self.seam or self.cut


def checked(outline: Outline, who: str) -> Outline:
    """The outline if it can be used as it is; raises ValueError naming the piece and what is wrong."""
    cut = checked_ring(outline.cut, who)
    if outline.seam:
        checked_ring(outline.seam, f"{who} (seam line)")
    if outline.arrow not in ARROWS:
        raise ValueError(f"{who}: the arrow must be one of {', '.join(ARROWS)}, not {outline.arrow!r}.")
    if outline.grain is None:
        raise ValueError(f"{who} has no grainline; draw one before it is laid on cloth.")
    if math.dist(*outline.grain) < SHORTEST_GRAIN:
        raise ValueError(
            f"{who}: the grainline is {math.dist(*outline.grain):.0f} mm long; it needs at least "
            f"{SHORTEST_GRAIN:.0f} mm to be measured to the selvedge."
        )
    if outline.fold is not None:
        opened_out(cut, outline.fold, who)
    for edge in outline.edges:
        if len(edge.points) < 2 or edge_length(edge) <= 0:
            raise ValueError(f"{who}: the edge {edge.name} has no length.")
        if any(not 0 <= notch <= edge_length(edge) + NOTCH_SLACK for notch in edge.notches):
            raise ValueError(f"{who}: a notch of the edge {edge.name} lies beyond its ends.")
    return outline


def edge_length(edge: Edge) -> float:
    """The length of an edge along its curve, mm."""
    return math.fsum(math.dist(a, b) for a, b in pairwise(edge.points))


def seam_names(outline: Outline) -> tuple[str, ...]:
    """The names of what is sewn on a piece: its edges, "hem" for what is left of its seam line, "dart".

    Empty where no edge is named. The fold is no seam.
    """
    if not outline.edges:
        return ()
    names = list(dict.fromkeys(edge.name for edge in outline.edges if edge.name))
    left = LineString([*outline.sewn, outline.sewn[0]]).length - math.fsum(map(edge_length, outline.edges))
    if outline.fold is not None:
        left -= math.dist(*outline.fold)
    if left > SHORTEST_HEM and "hem" not in names:
        names.append("hem")
    return (*names, *(["dart"] if outline.darts and "dart" not in names else ()))


@dataclass(frozen=True)
class WidthAt:
    """A piece across its grain at one level: the paper between its seam lines, and what darts take there, mm."""

    width: float
    intakes: tuple[float, ...]


def width_at(outline: Outline, level: float, origin: Point, who: str = "The piece") -> WidthAt:
    """How wide a piece is between its seam lines, square to the grain, `level` mm from `origin` along it.

    Raises ValueError where it has no grainline, or nothing of it lies at that level.
    """
    if outline.grain is None:
        raise ValueError(f"{who} has no grainline, so no level can be found on it.")
    (ax, ay), (bx, by) = outline.grain
    long = math.dist(*outline.grain)
    ux, uy = (bx - ax) / long, (by - ay) / long
    level = inputs.number("The level", level)
    mx, my = origin[0] + level * ux, origin[1] + level * uy
    across = LineString([(mx - FAR * uy, my + FAR * ux), (mx + FAR * uy, my - FAR * ux)])
    width = Polygon(outline.sewn).intersection(across).length
    if width <= 0:
        raise ValueError(f"{who} does not reach {inputs.say_mm(level)} from there.")
    intakes = (
        Polygon([dart.left, dart.right, dart.tip]).intersection(across).length for dart in outline.darts
    )
    return WidthAt(width, tuple(intake for intake in intakes if intake > 0))


def end_of(outline: Outline, *, foot: bool, who: str = "The piece") -> Point:
    """The point of a piece's seam line that lies furthest back along its grain (its top), or furthest on (its foot).

    Raises ValueError where it has no grainline.
    """
    if outline.grain is None:
        raise ValueError(f"{who} has no grainline, so it has no top and no foot.")
    (ax, ay), (bx, by) = outline.grain
    pick = max if foot else min
    return pick(outline.sewn, key=lambda point: point[0] * (bx - ax) + point[1] * (by - ay))


def point_along(outline: Outline, origin: Point, mm: float) -> Point:
    """The point `mm` from another along the grain, towards its arrow. Raises ValueError without a grainline."""
    if outline.grain is None:
        raise ValueError("A piece without a grainline has no level.")
    (ax, ay), (bx, by) = outline.grain
    long = math.dist(*outline.grain)
    return origin[0] + mm * (bx - ax) / long, origin[1] + mm * (by - ay) / long


def girth_at(parts: Sequence[tuple[Outline, int, float, Point]]) -> float:
    """The finished girth in mm at one level of all pieces: (outline, how often cut, level, its origin).

    A half on the fold counts twice. Raises ValueError as `width_at` and `finished_girth` do.
    """
    panels = []
    for number, (outline, count, level, origin) in enumerate(parts, 1):
        found = width_at(outline, level, origin, f"Piece {number}")
        times = count * 2 if outline.fold else count
        panels.append(Panel(found.width, times, (), found.intakes))
    return finished_girth(panels)


def lay_piece(outline: Outline, *, key: str, name: str, cut: int, grain_change: float = 0.0) -> LayPiece:
    """The piece as it is laid: grainline along x, arrow to greater x; `cut` is how often it is cut.

    Of an even number of mirrored pieces half are mirror images; of an odd one the odd one is as drawn. Raises
    ValueError as `checked` does.
    """
    checked(outline, f"Piece {name}")
    count = inputs.whole(f"Piece {name}: how often it is cut", cut)
    turned = along_grain(outline)
    paired = outline.mirrored and outline.fold is None
    return LayPiece(
        key=key,
        name=name,
        shape=turned.cut,
        count=count - count // 2 if paired else count,
        mirrored=count // 2 if paired else 0,
        arrow="one" if outline.arrow == "one" else "both",
        bias=outline.bias,
        grain_change=grain_change,
        fold=turned.fold,
    )


def along_grain(outline: Outline) -> Outline:
    """The same piece turned so that its grainline runs along x, and moved so that its cut line begins at 0."""
    assert outline.grain is not None
    (ax, ay), (bx, by) = outline.grain
    long = math.hypot(bx - ax, by - ay)
    c, s = (bx - ax) / long, (by - ay) / long

    def turn(points: Sequence[Point]) -> Ring:
        return tuple((c * x + s * y, c * y - s * x) for x, y in points)

    left, low, _, _ = MultiPoint(turn(outline.cut)).bounds

    def lay(points: Sequence[Point]) -> Ring:
        return tuple((x - left, y - low) for x, y in turn(points))

    return Outline(
        cut=lay(outline.cut),
        seam=lay(outline.seam),
        grain=_pair(lay(outline.grain)),
        arrow=outline.arrow,
        fold=_pair(lay(outline.fold)) if outline.fold else None,
        mirrored=outline.mirrored,
        bias=outline.bias,
        notches=lay(outline.notches),
        darts=tuple(Dart(*lay((dart.left, dart.right, dart.tip))) for dart in outline.darts),
        drills=lay(outline.drills),
        inner=tuple(lay(line) for line in outline.inner),
        edges=tuple(Edge(edge.name, lay(edge.points), edge.notches) for edge in outline.edges),
        gauges=tuple(replace(gauge, points=lay(gauge.points)) for gauge in outline.gauges),
    )


def opened(outline: Outline) -> Outline:
    """The piece opened out at its fold: marks and lines on both halves. As it is where it has none."""
    fold = outline.fold
    if fold is None:
        return outline

    def other(points: Sequence[Point]) -> Ring:
        return tuple(mirrored_in(point, fold) for point in points)

    seam_fold = _fold_of(outline.seam, fold) if outline.seam else None
    return Outline(
        cut=opened_out(outline.cut, fold, "The piece"),
        seam=opened_out(outline.seam, seam_fold, "The piece") if seam_fold else (),
        grain=outline.grain,
        arrow=outline.arrow,
        bias=outline.bias,
        mirrored=False,
        notches=(*outline.notches, *other(outline.notches)),
        darts=(
            *outline.darts,
            *(Dart(*other((dart.left, dart.right, dart.tip))) for dart in outline.darts),
        ),
        drills=(*outline.drills, *other(outline.drills)),
        inner=(*outline.inner, *(other(line) for line in outline.inner)),
        edges=outline.edges,
        gauges=outline.gauges,
    )


def _fold_of(ring: Ring, fold: tuple[Point, Point]) -> tuple[Point, Point] | None:
    """The stretch of a seam line that lies on the fold."""
    line = LineString(fold)
    on = [point for point in ring if line.distance(LineString([point, point])) < 0.5]
    if len(on) < 2:
        return None
    (ax, ay), (bx, by) = fold
    on.sort(key=lambda p: (p[0] - ax) * (bx - ax) + (p[1] - ay) * (by - ay))
    return on[0], on[-1]


def _pair(points: Ring) -> tuple[Point, Point]:
    return points[0], points[1]


def outline_data(outline: Outline) -> dict[str, Any]:
    """The outline as plain data for keeping (JSON); coordinates to a thousandth of a millimetre."""

    def line(points: Sequence[Point]) -> list[list[float]]:
        return [[round(x, 3), round(y, 3)] for x, y in points]

    return {
        "cut": line(outline.cut),
        "seam": line(outline.seam),
        "grain": line(outline.grain) if outline.grain else None,
        "arrow": outline.arrow,
        "fold": line(outline.fold) if outline.fold else None,
        "mirrored": outline.mirrored,
        "bias": outline.bias,
        "notches": line(outline.notches),
        "darts": [line((dart.left, dart.right, dart.tip)) for dart in outline.darts],
        "drills": line(outline.drills),
        "inner": [line(one) for one in outline.inner],
        "edges": [
            {
                "name": edge.name,
                "points": line(edge.points),
                "notches": [round(notch, 3) for notch in edge.notches],
            }
            for edge in outline.edges
        ],
        "gauges": [
            {
                "zone": gauge.zone,
                "name": gauge.name,
                "kind": gauge.kind,
                "points": line(gauge.points),
                "less": [[what, round(mm, 3)] for what, mm in gauge.less],
            }
            for gauge in outline.gauges
        ],
    }


def outline_from(data: Mapping[str, Any]) -> Outline:
    """The outline that `outline_data` kept."""

    def line(points: Sequence[Sequence[float]]) -> Ring:
        return tuple((float(x), float(y)) for x, y in points)

    return Outline(
        cut=line(data["cut"]),
        seam=line(data["seam"]),
        grain=_pair(line(data["grain"])) if data["grain"] else None,
        arrow=data["arrow"],
        fold=_pair(line(data["fold"])) if data["fold"] else None,
        mirrored=bool(data["mirrored"]),
        bias=bool(data["bias"]),
        notches=line(data["notches"]),
        darts=tuple(Dart(*line(dart)) for dart in data["darts"]),
        drills=line(data["drills"]),
        inner=tuple(line(one) for one in data["inner"]),
        edges=tuple(
            Edge(edge["name"], line(edge["points"]), tuple(float(n) for n in edge["notches"]))
            for edge in data["edges"]
        ),
        gauges=tuple(
            Gauge(
                one["zone"],
                one["name"],
                one["kind"],
                line(one["points"]),
                tuple((str(what), float(mm)) for what, mm in one["less"]),
            )
            for one in data.get("gauges", ())  # outlines kept before gauges were known have none
        ),
    )
