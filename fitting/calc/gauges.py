"""What the pieces of a pattern measure where their gauges say, sewn: darts and overlaps taken off. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from shapely import LineString, Point, Polygon

from fitting.calc import inputs
from fitting.calc.lay_rules import Ring
from fitting.calc.outline import Gauge, Outline, checked, width_at

ON_LINE = (
    0.5  # mm; how far a dart's mouth may lie from the line that it is sewn in, kept coordinates are rounded
)
CORNER_DEG = 25.0  # a seam line that turns by more begins another edge (common practice, no source)


@dataclass(frozen=True)
class Gauged:
    """One piece at one gauge: the paper there, what darts and overlaps take of it, (what, mm)."""

    name: str
    width: float
    taken: tuple[tuple[str, float], ...]

    @property
    def gives(self) -> float:
        return self.width - math.fsum(mm for _, mm in self.taken)


def gauged(outline: Outline, zone: str, who: str) -> tuple[Gauged, ...]:
    """Every gauge of a piece that feeds a measure, measured.

    Raises ValueError for an outline that can't be used (no grainline, lines that cross), a gauge that misses the
    piece, and where nothing is left once darts and overlaps are taken off.
    """
    found = []
    for gauge in outline.gauges:
        if gauge.zone != zone:
            continue
        checked(outline, who)
        one = _across(outline, gauge, who) if gauge.kind == "across" else _along(outline, gauge, who)
        if one.gives <= 0:
            raise ValueError(f"{who}, {gauge.name}: darts and overlaps leave nothing of it.")
        found.append(one)
    return tuple(found)


def _across(outline: Outline, gauge: Gauge, who: str) -> Gauged:
    found = width_at(outline, 0.0, gauge.points[0], who)
    return Gauged(gauge.name, found.width, (*(("dart", mm) for mm in found.intakes), *gauge.less))


def _along(outline: Outline, gauge: Gauge, who: str) -> Gauged:
    points = gauge.points
    if len(points) < 2:
        raise ValueError(f"{who}, {gauge.name}: a length is measured between two points.")
    if gauge.kind == "down":
        assert outline.grain is not None
        (ax, ay), (bx, by) = outline.grain
        (px, py), (qx, qy) = points[0], points[-1]
        long = abs((qx - px) * (bx - ax) + (qy - py) * (by - ay)) / math.dist(*outline.grain)
        return Gauged(gauge.name, inputs.positive(f"{who}, {gauge.name}", long), gauge.less)
    line = LineString(points)
    darts = [
        ("dart", dart.intake)
        for dart in outline.darts
        if line.distance(Point(dart.left)) < ON_LINE and line.distance(Point(dart.right)) < ON_LINE
    ]
    long = math.fsum(math.dist(a, b) for a, b in pairwise(points))
    return Gauged(gauge.name, inputs.positive(f"{who}, {gauge.name}", long), (*darts, *gauge.less))


def stretches(ring: Ring, corner: float = CORNER_DEG) -> tuple[Ring, ...]:
    """The edges of a seam line from corner to corner, anticlockwise from the corner that lies lowest and leftmost.

    A corner is where the line turns by more than `corner` degrees. A line without a corner is one stretch.
    """
    points = list(ring[:-1] if ring[0] == ring[-1] else ring)
    if not Polygon(points).exterior.is_ccw:
        points.reverse()
    turns = [
        place
        for place in range(len(points))
        if _turn(points[place - 1], points[place], points[(place + 1) % len(points)]) > corner
    ]
    if not turns:
        return ((*points, points[0]),)
    first = min(turns, key=lambda place: (round(points[place][1], 1), round(points[place][0], 1)))
    turns = [place for place in turns if place >= first] + [place for place in turns if place < first]
    found = []
    for start, end in zip(turns, [*turns[1:], turns[0]], strict=True):
        stop = end if end > start else end + len(points)
        found.append(tuple(points[place % len(points)] for place in range(start, stop + 1)))
    return tuple(found)


def _turn(a: Sequence[float], b: Sequence[float], c: Sequence[float]) -> float:
    """By how many degrees a line turns at its middle point."""
    before = math.atan2(b[1] - a[1], b[0] - a[0])
    after = math.atan2(c[1] - b[1], c[0] - b[0])
    return abs(math.degrees((after - before + math.pi) % (2 * math.pi) - math.pi))
