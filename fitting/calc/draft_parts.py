"""From the seam lines of a draft to a piece: allowances put round, darts, bands, curves."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from fitting.calc import inputs
from fitting.calc.lay_rules import Point, Ring
from fitting.calc.outline import Dart, Edge, Gauge, Outline

STEPS = 24  # points of a curve


@dataclass(frozen=True)
class Drafted:
    """One piece of a draft: its name, how often it is cut, and its outline."""

    name: str
    cut: int
    outline: Outline


@dataclass(frozen=True)
class Plan:
    """Edges round a piece, anticlockwise from the first; `kinds` says for each "seam", "hem" or "fold"."""

    name: str
    cut: int
    edges: tuple[tuple[str, str, Ring], ...]  # name, kind, points
    grain: tuple[Point, Point]
    darts: tuple[Dart, ...] = ()
    notches: Mapping[str, tuple[float, ...]] | None = None
    mirrored: bool = True
    gauges: tuple[Gauge, ...] = ()


def with_allowance(plan: Plan, allowance: float, hem: float) -> Drafted:
    ring = tuple(point for _, _, points in plan.edges for point in points[:-1])
    seam = Polygon(ring)
    if not seam.is_valid or seam.area <= 0:
        raise ValueError(
            f"{plan.name}: these measures don't go together, its lines cross. Look at the table of sizes again."
        )
    grown: BaseGeometry = seam
    for _, kind, points in plan.edges:
        width = {"seam": allowance, "hem": hem, "fold": 0.0}[kind]
        if width:
            line = _longer(points, allowance) if kind == "hem" else points
            grown = grown.union(LineString(line).buffer(width, cap_style="flat", join_style="mitre"))
    # Corners between two allowances are squared up by a mitre of the smaller one.
    if allowance:
        grown = grown.union(seam.buffer(min(allowance, hem) or allowance, join_style="mitre", mitre_limit=3))
    fold = next((points for _, kind, points in plan.edges if kind == "fold"), None)
    if fold is not None:
        grown = grown.intersection(_beside(fold, seam))
    if not isinstance(grown, Polygon):
        raise ValueError(f"{plan.name}: its seam allowance tears it apart; take a smaller one.")
    shape = grown.simplify(0.05)
    assert isinstance(shape, Polygon)
    cut = tuple((float(x), float(y)) for x, y in shape.exterior.coords[:-1])
    marks = plan.notches or {}
    edges = tuple(
        Edge(name, points, marks.get(name, ())) for name, kind, points in plan.edges if kind == "seam"
    )
    return Drafted(
        plan.name,
        plan.cut,
        Outline(
            cut=cut,
            seam=ring,
            grain=plan.grain,
            arrow="both",
            fold=_fold_on(cut, fold) if fold is not None else None,
            mirrored=plan.mirrored and fold is None,
            notches=tuple(point_at(edge.points, notch) for edge in edges for notch in edge.notches),
            darts=plan.darts,
            edges=edges,
            gauges=plan.gauges,
        ),
    )


def _longer(points: Ring, by: float) -> Ring:
    """A line carried on at both ends, so that a hem reaches across the allowances beside it."""
    ends = []
    for (ax, ay), (bx, by_) in ((points[1], points[0]), (points[-2], points[-1])):
        long = math.hypot(bx - ax, by_ - ay)
        ends.append((bx + (bx - ax) / long * by, by_ + (by_ - ay) / long * by))
    return (ends[0], *points, ends[1])


def _beside(fold: Ring, seam: Polygon) -> Polygon:
    """The half plane of the fold in which the piece lies."""
    (ax, ay), (bx, by) = fold[0], fold[-1]
    long = math.dist(fold[0], fold[-1])
    ux, uy = (bx - ax) / long, (by - ay) / long
    side = 1.0 if (ux * (seam.centroid.y - ay) - uy * (seam.centroid.x - ax)) > 0 else -1.0
    nx, ny = -uy * side, ux * side
    far = 1e4
    return Polygon(
        [
            (ax - far * ux, ay - far * uy),
            (bx + far * ux, by + far * uy),
            (bx + far * (ux + nx), by + far * (uy + ny)),
            (ax + far * (nx - ux), ay + far * (ny - uy)),
        ]
    )


def _fold_on(cut: Ring, fold: Ring) -> tuple[Point, Point]:
    """The fold as far as the cut line has it: hem and allowances lengthen it."""
    (ax, ay), (bx, by) = fold[0], fold[-1]
    long = math.dist(fold[0], fold[-1])
    ux, uy = (bx - ax) / long, (by - ay) / long
    on = [(x, y) for x, y in cut if abs(ux * (y - ay) - uy * (x - ax)) < 0.01]
    on.sort(key=lambda p: (p[0] - ax) * ux + (p[1] - ay) * uy)
    return on[0], on[-1]


def point_at(points: Ring, along: float) -> Point:
    dot = LineString(points).interpolate(along)
    return float(dot.x), float(dot.y)


def curve(start: Point, lean_out: Point, lean_in: Point, end: Point) -> Ring:
    """A cubic arc from start to end, leaning to two points."""
    found = []
    for step in range(STEPS + 1):
        t = step / STEPS
        a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        found.append(
            (
                a * start[0] + b * lean_out[0] + c * lean_in[0] + d * end[0],
                a * start[1] + b * lean_out[1] + c * lean_in[1] + d * end[1],
            )
        )
    return tuple(found)


def reverse(points: Ring) -> Ring:
    return tuple(reversed(points))


def join(*runs: Ring) -> Ring:
    found: list[Point] = list(runs[0])
    for run in runs[1:]:
        found += run[1:]
    return tuple(found)


def run_length(points: Ring) -> float:
    return math.fsum(math.dist(a, b) for a, b in pairwise(points))


def dart_in(edge: Ring, place: float, intake: float, long: float) -> tuple[Dart, ...]:
    if intake < 4.0:  # less is eased in
        return ()
    left, right = point_at(edge, place - intake / 2), point_at(edge, place + intake / 2)
    middle = ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)
    return (Dart(left, right, (middle[0], middle[1] - long)),)


def band(name: str, ring: Ring, cut: int) -> Plan:
    """A straight strip; the grain runs along it."""
    a, b, c, d = ring
    middle = (a[1] + c[1]) / 2
    return Plan(
        name,
        cut,
        (
            ("long", "seam", (a, b)),
            ("end", "seam", (b, c)),
            ("long two", "seam", (c, d)),
            ("end two", "seam", (d, a)),
        ),
        ((a[0] + 0.2 * (b[0] - a[0]), middle), (a[0] + 0.8 * (b[0] - a[0]), middle)),
        mirrored=False,
    )


def gauge_edge(plan: Plan, zone: str, edge: str, *, less: float = 0.0) -> Gauge:
    """A whole edge feeds a measure; `less` mm of it are the overlap of a front."""
    taken = (("extension", less),) if less else ()
    return Gauge(zone, f"{edge} edge", "along", edge_of(plan, edge), taken)


def edge_of(plan: Plan, name: str) -> Ring:
    return next(points for found, _, points in plan.edges if found == name)


class Measures:
    def __init__(self, given: Mapping[str, float]) -> None:
        self._given = dict(given)

    def need(self, *codes: str) -> float:
        for code in codes:
            if code in self._given:
                return inputs.positive(f"The measure {inputs.name(code)}", self._given[code])
        words = " or ".join(inputs.name(code) for code in codes)
        raise ValueError(f"The size table has no {words}; the draft needs it.")

    def get(self, code: str, otherwise: float) -> float:
        return self.need(code) if code in self._given else otherwise
