"""Words on a piece of a lay: where it is roomiest beside its grainline, as large as they fit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from shapely import LineString, Polygon, maximum_inscribed_circle
from shapely.geometry.base import BaseGeometry

from fitting.calc.lay_rules import Point, Ring
from studio.figures import palette
from studio.figures.svg import el, text, text_width, wrap

SMALLEST = 0.45  # of the text's size, for names in narrow pieces
SMALL_ENOUGH = 0.7  # a smaller name would rather lie over the grainline than beside it
LEADING = 1.18
FAR = 1e5


class Named(Protocol):
    """What a label needs to know of a piece."""

    @property
    def name(self) -> str: ...
    @property
    def note(self) -> str: ...
    @property
    def cut(self) -> Ring: ...
    @property
    def grain(self) -> tuple[Point, Point] | None: ...
    @property
    def darts(self) -> tuple[Ring, ...]: ...
    @property
    def mirrored(self) -> bool: ...


@dataclass(frozen=True)
class _Words:
    """Where a label would lie, and its lines with their sizes."""

    share: float
    x: float
    y: float
    lines: tuple[tuple[str, float, bool], ...]
    wide: float


def label(piece: Named, up: float, size: float) -> str:
    """Name and note where the piece is roomiest beside its grainline, as large as they fit."""
    if not piece.name:
        return ""
    whole = Polygon(piece.cut)
    beside: BaseGeometry = whole
    for line in (*([piece.grain] if piece.grain else []), *piece.darts):
        beside = beside.difference(LineString(line).buffer(size * 0.35))
    parts = [one for one in getattr(beside, "geoms", [beside]) if isinstance(one, Polygon)]
    parts.sort(key=lambda one: -one.area)
    found = _best(piece, parts[:3], size)
    if found is None or found.share < SMALL_ENOUGH:
        over = _best(piece, [whole], size)
        if over is not None and (found is None or over.share > found.share):
            found = over
    if found is None:
        return ""
    total = sum(one * LEADING for _, one, _ in found.lines)
    top = up - found.y - total / 2
    ground = palette.SHADE if piece.mirrored else palette.SHEET
    drawn = [
        el(
            "rect",
            x=found.x - found.wide / 2,
            y=top,
            width=found.wide,
            height=total,
            fill=ground,
            fill_opacity="0.86",
        )
    ]
    for words, one, bold in found.lines:
        top += one * LEADING
        drawn.append(text(found.x, top - one * 0.28, words, one, anchor="middle", bold=bold))
    return "".join(drawn)


def _best(piece: Named, parts: Sequence[Polygon], size: float) -> _Words | None:
    """The largest label that fits without breaking a word; the smallest one, broken, where none does."""
    found: _Words | None = None
    for polygon in parts:
        circle = maximum_inscribed_circle(polygon, tolerance=max(1.0, size / 4))
        places = [circle.coords[0]]
        if polygon.contains(polygon.centroid):
            places.append(polygon.centroid.coords[0])
        for x, y in places:
            one = _fitted(piece, polygon, x, y, size)
            if one is not None and (found is None or one.share > found.share + 0.01):
                found = one
    return found


def _fitted(piece: Named, polygon: Polygon, x: float, y: float, size: float) -> _Words | None:
    for share in (1.0, 0.85, 0.7, 0.58, SMALLEST):
        big, small = size * share, size * share * 0.78
        wide, _ = _room(polygon, x, y, big)
        longest = max(
            (text_width(word, one, bold=bold)
             for words, one, bold in ((piece.name, big, True), (piece.note, small, False))
             for word in words.split()),
            default=0.0,
        )  # fmt: skip
        if longest > wide and share > SMALLEST:
            continue
        if wide <= 0:
            return None
        lines = [(line, big, True) for line in wrap(piece.name, big, wide, bold=True)]
        lines += [(line, small, False) for line in (wrap(piece.note, small, wide) if piece.note else [])]
        total = sum(one * LEADING for _, one, _ in lines)
        if _room(polygon, x, y, total)[0] >= longest * 0.98 and _room(polygon, x, y, 0)[1] >= total:
            widest = max(text_width(line, one, bold=bold) for line, one, bold in lines)
            return _Words(share, x, y, tuple(lines), widest)
    name = wrap(piece.name, size * SMALLEST, max(size, _room(polygon, x, y, 0)[0]), bold=True)
    lines = [(line, size * SMALLEST, True) for line in name]
    widest = max((text_width(line, one, bold=bold) for line, one, bold in lines), default=0.0)
    return _Words(SMALLEST / 2, x, y, tuple(lines), widest)


def _room(polygon: Polygon, x: float, y: float, high: float) -> tuple[float, float]:
    """How wide a label of this height may be about a point, and how high the piece is there."""
    wide = math.inf
    for level in (y - high / 2, y, y + high / 2):
        low, top = _run(polygon, (x - FAR, level), (x + FAR, level), x, 0)
        wide = min(wide, 2 * min(x - low, top - x) * 0.94)
    low, top = _run(polygon, (x, y - FAR), (x, y + FAR), y, 1)
    return max(0.0, wide), 2 * min(y - low, top - y) * 0.94


def _run(polygon: Polygon, a: Point, b: Point, at: float, axis: int) -> tuple[float, float]:
    """The ends of the stretch of a line inside a piece that holds a place."""
    cut = polygon.intersection(LineString([a, b]))
    for one in getattr(cut, "geoms", [cut]):
        if not one.is_empty and one.bounds[axis] - 1e-6 <= at <= one.bounds[axis + 2] + 1e-6:
            return float(one.bounds[axis]), float(one.bounds[axis + 2])
    return at, at
