"""How threads and cloth are drawn in stitch drawings: three looks that are told apart without colour.

A needle thread is solid, an under thread (bobbin, looper) hollow like a tube, a third thread (upper looper, top
cover) striped like a cord. Each thread has a margin in the colour of the ground, so that what crosses above is seen
to cross. No id, no ``style``: several drawings fit on one page under a strict content policy.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from studio.figures import palette
from studio.figures.svg import Point, curve_path, el, line_path, smooth, text, text_width

Look = Literal["needle", "under", "third"]

LEFT, RIGHT = 20.0, 380.0
PANEL_HEIGHT = 96.0
ADVANCE = 64.0
HOLES = tuple(40.0 + ADVANCE * i for i in range(6))
MIDDLE = PANEL_HEIGHT / 2
# The cloth cut open: two layers.
TOP, SEAM, BOTTOM = 26.0, 46.0, 66.0


@dataclass(frozen=True)
class _Line:
    """Widths of a look in drawing units: the whole thread, and its core (0: solid)."""

    name: str
    colour: str
    whole: float
    core: float
    dashes: str | None


_LINES: dict[Look, _Line] = {
    "needle": _Line("stitch-needle-thread", palette.THREAD, 4.0, 0.0, None),
    "under": _Line("stitch-under-thread", palette.INK, 4.4, 2.2, None),
    "third": _Line("stitch-third-thread", palette.INK, 4.6, 2.8, "1.8 2.6"),
}


def thread(path: str, look: Look, *, scale: float = 1.0, margin: bool = True) -> str:
    """One thread along `path` (SVG path data); `scale` makes it thicker or thinner."""
    line = _LINES[look]

    def stroke(name: str, colour: str, width: float, dashes: str | None = None) -> str:
        return el(
            "path",
            d=path,
            class_=name,
            stroke=colour,
            stroke_width=width * scale,
            stroke_linecap="butt" if dashes else "round",
            stroke_linejoin="round",
            stroke_dasharray=dashes,
        )

    parts = [stroke("stitch-margin", palette.SHADE, line.whole + 2.4)] if margin else []
    parts.append(stroke(line.name, line.colour, line.whole))
    if line.core:
        parts.append(stroke("stitch-core", palette.SHEET, line.core))
    if line.dashes:
        parts.append(stroke("stitch-core", line.colour, line.core, line.dashes))
    return "".join(parts)


def bend(points: Sequence[Point], look: Look, *, closed: bool = False) -> str:
    """A thread that runs smoothly through `points`."""
    return thread(curve_path(smooth(points, closed=closed), close=closed), look)


def run(points: Sequence[Point], look: Look) -> str:
    """A thread in straight pieces."""
    return thread(line_path(points), look)


def hole(at: Point, size: float = 2.4) -> str:
    return el("circle", cx=at[0], cy=at[1], r=size, class_="stitch-hole", fill=palette.INK)


def cloth(x: float, y: float, width: float, height: float) -> str:
    return el(
        "rect",
        x=x,
        y=y,
        width=width,
        height=height,
        class_="stitch-cloth",
        fill=palette.SHADE,
        stroke=palette.EDGE,
        stroke_width=0.8,
    )


def edge_line(points: Sequence[Point]) -> str:
    """An edge or a fold of cloth, dashed where it lies beneath."""
    return el(
        "path",
        d=line_path(points),
        class_="stitch-edge",
        stroke=palette.EDGE,
        stroke_width=1.2,
        stroke_dasharray="5 4",
    )


def plan_cloth(bottom: float = PANEL_HEIGHT) -> str:
    return cloth(LEFT, 0, RIGHT - LEFT, bottom)


def layers(right: float = RIGHT) -> list[str]:
    """Two layers, cut open."""
    return [cloth(LEFT, TOP, right - LEFT, SEAM - TOP), cloth(LEFT, SEAM, right - LEFT, BOTTOM - SEAM)]


def caption(y: float, words: str, size: float = 13.0) -> str:
    return text(LEFT, y, words, size, fill=palette.INK)


def legend(y: float, names: Sequence[tuple[Look, str]], size: float = 12.5) -> list[str]:
    """The threads by name; goes on in a second line where the first is full."""
    marks, x = [], LEFT
    for look, name in names:
        needed = 34 + text_width(name, size)
        if x + needed > RIGHT and x > LEFT:
            x, y = LEFT, y + 19
        marks.append(thread(line_path([(x + 2, y - 4), (x + 26, y - 4)]), look, margin=False))
        marks.append(text(x + 33, y, name, size, fill=palette.INK))
        x += needed + 16
    return marks
