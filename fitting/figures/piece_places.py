"""A piece with the numbers of its edges, or with the places where it is measured. Units are mm."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import LineString, Polygon

from fitting.calc.gauges import stretches
from fitting.calc.lay_rules import Point
from fitting.calc.outline import Outline
from fitting.figures.lay_strip import piece_figure, upright
from studio.figures import palette
from studio.figures.svg import el, line_path, text

ROOM = 14.0  # points; a number on an edge stands half outside the piece


def numbered_figure(outline: Outline, *, name: str, unit: str, scale: float) -> str:
    """The piece with a number at the middle of each edge, as `calc.gauges.stretches` counts them."""
    size = 14.0 / scale
    turned = upright(outline)
    # Counted on the piece as it is kept, drawn where it is turned to.
    flat = dict(zip(outline.sewn, turned.sewn, strict=True))
    parts = []
    for number, points in enumerate(stretches(outline.sewn), 1):
        middle = LineString([flat[point] for point in points]).interpolate(0.5, normalized=True)
        parts.append(_badge((middle.x, -middle.y), str(number), size))
    return piece_figure(
        outline, name=name, unit=unit, scale=scale, over=parts, note="its edges numbered", room=ROOM
    )


def gauges_figure(outline: Outline, *, name: str, unit: str, scale: float, zones: Sequence[str]) -> str:
    """The piece with a line where it is measured for each of these measures."""
    turned = upright(outline)
    left, _, right, _ = Polygon(turned.sewn).bounds
    parts = []
    for gauge in turned.gauges:
        if gauge.zone not in zones:
            continue
        if gauge.kind == "across":
            y = -gauge.points[0][1]
            points: list[Point] = [(left, y), (right, y)]
        elif gauge.kind == "down":
            x = gauge.points[0][0]
            points = [(x, -gauge.points[0][1]), (x, -gauge.points[-1][1])]
        else:
            points = [(x, -y) for x, y in gauge.points]
        parts.append(
            el("path", d=line_path(points), stroke=palette.THREAD, stroke_width=2.2 / scale, class_="gauge")
        )
    return piece_figure(
        outline, name=name, unit=unit, scale=scale, over=parts, note="measured at the red lines"
    )


def _badge(at: Point, words: str, size: float) -> str:
    x, y = at
    return el(
        "circle",
        cx=x,
        cy=y,
        r=size * 0.75,
        fill=palette.SHEET,
        stroke=palette.THREAD,
        stroke_width=size * 0.09,
    ) + text(x, y + size * 0.35, words, size, anchor="middle")
