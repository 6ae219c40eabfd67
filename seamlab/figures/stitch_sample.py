"""A seam from above at true scale: stitch length, width and thread as thick as it is, over a ruler.

All samples have one scale, so that they can be laid side by side. Threads are solid, hollow or striped as in the
drawings of `stitch`. The thickness of a thread is an estimate (`seamlab.calc.thread.thread_diameter`).
"""

from dataclasses import dataclass
from itertools import pairwise

from seamlab.calc.bounds import not_negative, positive, whole
from seamlab.figures.stitch_threads import Look, thread
from studio.figures import palette
from studio.figures.svg import Point, curve_path, document, el, line_path, smooth, text

SEAM_MM = 36.0
WIDEST_MM = 12.0
_PER_MM = 10.0
_LEFT, _TOP, _CLOTH = 20.0, 4.0, 140.0
_MIDDLE = _TOP + _CLOTH / 2
_HOLE_GAP_MM = 0.22


@dataclass(frozen=True)
class _Shape:
    """How a type lies on the upper face: needle rows, stitches to each side of a zigzag (0: none), what else is seen.

    `wrap` names the look of the thread that wraps the edge, `cover` that there is one on top; `apart` that every
    second stitch lies beneath.
    """

    rows: int = 1
    steps: int = 0
    wrap: Look | None = None
    cover: bool = False
    apart: bool = False


_SHAPES: dict[str, _Shape] = {
    "101": _Shape(),
    "103": _Shape(steps=1),
    "107": _Shape(steps=1),
    "202": _Shape(),
    "209": _Shape(apart=True),
    "301": _Shape(),
    "304": _Shape(steps=1),
    "308": _Shape(steps=2),
    "315": _Shape(steps=3),
    "401": _Shape(),
    "406": _Shape(rows=2),
    "407": _Shape(rows=3),
    "503": _Shape(wrap="under"),
    "504": _Shape(wrap="third"),
    "512": _Shape(rows=2, wrap="third"),
    "514": _Shape(rows=2, wrap="third"),
    "515": _Shape(wrap="under"),
    "516": _Shape(wrap="third"),
    "602": _Shape(rows=2, cover=True),
    "605": _Shape(rows=3, cover=True),
    "607": _Shape(rows=4, cover=True),
}
SAMPLED: tuple[str, ...] = tuple(_SHAPES)


def sample_figure(
    stitch_type: str | int,
    *,
    stitch_length_mm: float,
    width_mm: float = 0.0,
    thread_mm: float = 0.2,
    passes: int = 1,
    ends: int = 1,
    title: str = "",
) -> str:
    """SVG of `SEAM_MM` of seam from above, all of it at one scale.

    `thread_mm` is the diameter of one needle thread; `ends` of them lie beside one another, `passes` times. Wider
    than `WIDEST_MM` is drawn as wide as that and said. Raises ValueError for a type that is not in `SAMPLED`, or
    figures that are not greater than 0 (width: 0 or more).
    """
    code = str(stitch_type)
    shape = _SHAPES.get(code)
    if shape is None:
        raise ValueError(f"stitch_type must be one of {', '.join(SAMPLED)} to be drawn; got {stitch_type!r}.")
    length = positive("stitch_length_mm", stitch_length_mm)
    width = not_negative("width_mm", width_mm)
    strands = whole("passes", passes) * whole("ends", ends)
    diameter = positive("thread_mm", thread_mm)
    wide = min(width, WIDEST_MM) * _PER_MM
    size = f"{length:g} mm long" + (f", {width:g} mm wide" if width else "")
    words = (
        f"{size}; {strands} {'strand' if strands == 1 else 'strands'} of thread about {diameter:.2f} mm thick"
    )
    return document(
        (0, 0, 400, 176),
        title or f"Seam from above at true scale: {words}",
        f"{SEAM_MM:g} mm of seam, {words}." + (" Drawn narrower than it is." if width > WIDEST_MM else ""),
        *_cloth(shape, wide),
        *_threads(shape, length * _PER_MM, wide, diameter * _PER_MM, strands),
        *_ruler(),
    )


def _cloth(shape: _Shape, wide: float) -> list[str]:
    height = _CLOTH / 2 + wide / 2 if shape.wrap else _CLOTH
    return [
        el(
            "rect",
            x=_LEFT,
            y=_TOP,
            width=SEAM_MM * _PER_MM,
            height=height,
            class_="stitch-cloth",
            fill=palette.SHADE,
            stroke=palette.EDGE,
            stroke_width=0.8,
        )
    ]


def _threads(shape: _Shape, advance: float, wide: float, diameter: float, strands: int) -> list[str]:
    end = _LEFT + SEAM_MM * _PER_MM
    count = max(2, int((end - _LEFT - 8) / advance) + 1)
    xs = [_LEFT + 4 + advance * i for i in range(count)]
    parts: list[str] = []
    high, low = _MIDDLE - wide / 2, _MIDDLE + wide / 2
    if shape.wrap:
        parts.append(_swing(xs, advance, high, low + diameter, shape.wrap, diameter))
    if shape.cover:
        parts.append(_swing(xs, advance, high - diameter, low + diameter, "third", diameter))
    for row in _rows(shape, wide):
        points = [(x, _height(shape, i, row, wide)) for i, x in enumerate(xs)]
        for i, (a, b) in enumerate(pairwise(points)):
            if not (shape.apart and i % 2):
                parts += _strands(a, b, diameter, strands)
    return parts


def _rows(shape: _Shape, wide: float) -> list[float]:
    high = _MIDDLE - wide / 2
    if shape.wrap:
        return [high + wide * 0.42 * i for i in range(shape.rows)]
    if shape.rows == 1:
        return [_MIDDLE]
    return [high + wide * i / (shape.rows - 1) for i in range(shape.rows)]


def _height(shape: _Shape, i: int, row: float, wide: float) -> float:
    if not shape.steps:
        return row
    turn, step = divmod(i, shape.steps)
    share = step / shape.steps
    return row - wide / 2 + wide * (share if turn % 2 == 0 else 1 - share)


def _strands(a: Point, b: Point, diameter: float, strands: int) -> list[str]:
    """Strands side by side from hole to hole; they meet in the holes."""
    (ax, ay), (bx, by) = a, b
    reach = max(((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5, 1e-6)
    ux, uy = (bx - ax) / reach, (by - ay) / reach
    gap = min(_HOLE_GAP_MM * _PER_MM + diameter / 2, reach / 3)
    parts = []
    for k in range(strands):
        off = (k - (strands - 1) / 2) * diameter * 1.15
        points = [
            (ax + ux * gap, ay + uy * gap),
            ((ax + bx) / 2 - uy * off, (ay + by) / 2 + ux * off),
            (bx - ux * gap, by - uy * gap),
        ]
        path = line_path(points) if off == 0 else curve_path(smooth(points))
        parts.append(thread(path, "needle", scale=diameter / 4.0, margin=False))
    return parts


def _swing(xs: list[float], advance: float, high: float, low: float, look: Look, diameter: float) -> str:
    points: list[Point] = []
    for x in xs[:-1]:
        points += [(x + advance * 0.1, high), (x + advance * 0.6, low)]
    points.append((xs[-1], high))
    return thread(curve_path(smooth(points)), look, scale=max(diameter, 1.6) / 4.4, margin=False)


def _ruler() -> list[str]:
    y = _TOP + _CLOTH + 8
    right = _LEFT + 30 * _PER_MM
    parts = [el("path", d=line_path([(_LEFT, y), (right, y)]), stroke=palette.INK, stroke_width=1)]
    for mm in range(0, 31, 5):
        x = _LEFT + mm * _PER_MM
        tall = 7 if mm % 10 == 0 else 4
        parts.append(el("path", d=line_path([(x, y), (x, y + tall)]), stroke=palette.INK, stroke_width=1))
        if mm % 10 == 0:
            parts.append(text(x, y + 19, f"{mm} mm" if mm == 30 else f"{mm}", 11, anchor="middle"))
    return parts
