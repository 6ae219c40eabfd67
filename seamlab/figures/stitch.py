"""Stitch types as drawings: the stitch as it lies on the cloth, and cut open to show how its threads hold.

Plain data in, SVG text out. The plan view keeps the proportion of stitch length to width as far as there is
room; thickness is drawn freely. Threads differ in weight of line and are named beside the drawing, so colour
is never needed. Lines of cloth and text take ``currentColor``; the classes (``stitch-cloth``,
``stitch-needle-thread``, ``stitch-under-thread``) are for pages that want to say more.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from seamlab.calc.bounds import not_negative, positive
from studio.figures import palette
from studio.figures.svg import Point, document, el, line_path, number, text

_LEFT, _RIGHT = 30.0, 370.0
_STITCHES = 5
_ADVANCE = (_RIGHT - _LEFT) / (_STITCHES + 1)
_HOLES = tuple(_LEFT + _ADVANCE * (i + 0.5) for i in range(_STITCHES + 2))[:-1]
_GAP = 4.0  # half the opening that the needle leaves
_SIZE = 13.0


@dataclass(frozen=True)
class _Stitch:
    """What is drawn for one type: its name, two captions, two panels, and what the threads are called."""

    name: str
    captions: tuple[str, str]
    plan: Callable[[float], list[str]]
    cut: Callable[[], list[str]]
    threads: tuple[str, str]
    has_width: bool = False


def stitch_figure(
    stitch_type: str | int, *, stitch_length_mm: float = 2.5, width_mm: float = 0.0, title: str = ""
) -> str:
    """SVG of a stitch type (`DRAWN` lists them), `stitch_length_mm` long and `width_mm` wide.

    Types without a width ignore `width_mm`. A title is made where none is given. Raises ValueError for a type
    without a drawing, a length that is not greater than 0, or a type with a width (304, 504) and none given.
    """
    code = str(stitch_type)
    stitch = _STITCH_TYPES.get(code)
    if stitch is None:
        raise ValueError(f"stitch_type must be one of {', '.join(DRAWN)} to be drawn; got {stitch_type!r}.")
    length = positive("stitch_length_mm", stitch_length_mm)
    width = not_negative("width_mm", width_mm)
    if stitch.has_width and width == 0:
        raise ValueError(f"width_mm must be greater than 0 for stitch type {code}.")
    wide = max(10.0, min(92.0, _ADVANCE * width / length)) if stitch.has_width else 0.0
    size = f"{length:g} mm long" + (f", {width:g} mm wide" if stitch.has_width else "")
    above, below = stitch.captions
    return document(
        (0, 0, 400, 330),
        title or f"{code} {stitch.name}, {size}",
        f"{above}: the stitch {size}. {below}: {' and '.join(name for name in stitch.threads if name)}.",
        el("g", *stitch.plan(wide), class_="stitch-plan"),
        _caption(26, f"{above}: {size}"),
        el("g", *stitch.cut(), class_="stitch-cut"),
        _caption(192, below),
        *_legend(stitch.threads),
    )


def _caption(y: float, words: str) -> str:
    return text(_LEFT - 10, y, words, _SIZE, fill="currentColor")


def _needle(path: str) -> str:
    return _thread(path, "stitch-needle-thread", palette.THREAD, 3.2)


def _under(path: str) -> str:
    return _thread(path, "stitch-under-thread", "currentColor", 1.6)


def _thread(path: str, name: str, colour: str, weight: float) -> str:
    return el(
        "path",
        d=path,
        class_=name,
        stroke=colour,
        stroke_width=weight,
        stroke_linecap="round",
        stroke_linejoin="round",
    )


def _legend(threads: tuple[str, str]) -> list[str]:
    marks = []
    x = _LEFT - 10
    for name, draw in zip(threads, (_needle, _under), strict=True):
        if name:
            marks += [
                draw(line_path([(x, 312), (x + 26, 312)])),
                text(x + 34, 316, name, _SIZE, fill="currentColor"),
            ]
            x += 190
    return marks


def _cloth(x: float, y: float, width: float, height: float) -> str:
    return el(
        "rect",
        x=x,
        y=y,
        width=width,
        height=height,
        class_="stitch-cloth",
        fill=palette.SHADE,
        stroke="currentColor",
        stroke_width=0.8,
    )


def _hole(at: Point) -> str:
    return el("circle", cx=at[0], cy=at[1], r=2.2, class_="stitch-hole", fill="currentColor")


def _plan_cloth() -> str:
    return _cloth(_LEFT - 10, 36, 360, 128)


def _layers() -> list[str]:
    """Two layers, cut along the seam."""
    return [_cloth(_LEFT - 10, 222, 360, 20), _cloth(_LEFT - 10, 242, 360, 20)]


_TOP, _MIDDLE, _BOTTOM = 222.0, 242.0, 262.0

# --- as it lies on the cloth ---


def _plan_straight(_wide: float) -> list[str]:
    y = 100.0
    runs = [line_path([(a + _GAP, y), (a + _ADVANCE - _GAP, y)]) for a in _HOLES[:-1]]
    return [_plan_cloth(), *(_hole((x, y)) for x in _HOLES), *(_needle(run) for run in runs)]


def _plan_running(_wide: float) -> list[str]:
    y = 100.0
    on_top = [line_path([(a + _GAP, y), (a + _ADVANCE - _GAP, y)]) for a in _HOLES[:-1:2]]
    beneath = [line_path([(a + _GAP, y), (a + _ADVANCE - _GAP, y)]) for a in _HOLES[1:-1:2]]
    hidden = [
        el(
            "path",
            d=run,
            class_="stitch-hidden",
            stroke="currentColor",
            stroke_width=0.8,
            stroke_dasharray="2 4",
        )
        for run in beneath
    ]
    return [_plan_cloth(), *(_hole((x, y)) for x in _HOLES), *hidden, *(_needle(run) for run in on_top)]


def _plan_zigzag(wide: float) -> list[str]:
    points = [(x, 100 + (wide / 2 if i % 2 else -wide / 2)) for i, x in enumerate(_HOLES)]
    runs = []
    for (ax, ay), (bx, by) in pairwise(points):
        share = _GAP / math.hypot(bx - ax, by - ay)
        dx, dy = share * (bx - ax), share * (by - ay)
        runs.append(line_path([(ax + dx, ay + dy), (bx - dx, by - dy)]))
    return [_plan_cloth(), *(_hole(point) for point in points), *(_needle(run) for run in runs)]


def _plan_chain_below(_wide: float) -> list[str]:
    """The underside of 401: the looper thread makes a chain, and each needle loop holds one link."""
    y = 100.0
    parts = [_plan_cloth(), *(_hole((x, y)) for x in _HOLES)]
    for x in _HOLES[:-1]:
        end = x + _ADVANCE + 10
        loop = (
            f"M{number(x)} {number(y)}C{number(x + 14)} {number(y - 20)} {number(end)} {number(y - 20)} "
            f"{number(end)} {number(y)}C{number(end)} {number(y + 20)} {number(x + 14)} {number(y + 20)} "
            f"{number(x)} {number(y)}"
        )
        parts.append(_under(loop))
    for x in _HOLES:
        parts.append(
            _needle(
                f"M{number(x)} {number(y)}C{number(x + 5)} {number(y - 9)} {number(x + 16)} "
                f"{number(y - 9)} {number(x + 16)} {number(y)}C{number(x + 16)} {number(y + 9)} "
                f"{number(x + 5)} {number(y + 9)} {number(x)} {number(y)}"
            )
        )
    return parts


def _plan_overedge(wide: float) -> list[str]:
    """504 from above: the needle line, and the upper looper thread swinging to the edge of the cloth."""
    edge = 150.0
    line = edge - wide
    swing: list[Point] = []
    for x in _HOLES[:-1]:
        swing += [(x, line), (x + _ADVANCE / 2, edge + 3)]
    swing.append((_HOLES[-1], line))
    needle = [line_path([(a + _GAP, line), (a + _ADVANCE - _GAP, line)]) for a in _HOLES[:-1]]
    return [
        _cloth(_LEFT - 10, 36, 360, edge - 36),
        _under(line_path(swing)),
        *(_hole((x, line)) for x in _HOLES),
        *(_needle(run) for run in needle),
    ]


# --- cut open ---


def _dipping(start: float, depth: float) -> str:
    """A thread along one face at height `start` that dips to `depth` in every hole and comes back."""
    path = f"M{number(_LEFT)} {number(start)}"
    for x in _HOLES:
        path += (
            f"L{number(x - _GAP)} {number(start)}C{number(x - _GAP)} {number(depth)} {number(x + _GAP)} "
            f"{number(depth)} {number(x + _GAP)} {number(start)}"
        )
    return path + f"L{number(_RIGHT)} {number(start)}"


def _cut_lock() -> list[str]:
    # A cubic reaches three quarters of the way to its handles, so these two curves hook into each other
    # mid-cloth.
    return [
        *_layers(),
        _under(_dipping(_BOTTOM + 3, _MIDDLE - 14)),
        _needle(_dipping(_TOP - 3, _MIDDLE + 14)),
    ]


def _cut_chain() -> list[str]:
    """Needle thread through all layers into a loop below each hole, where the looper thread holds it."""
    parts = _layers()
    near, far = number(_BOTTOM + 6), number(_BOTTOM + 15)
    looper = f"M{number(_LEFT)} {far}"
    for x in _HOLES:
        looper += (
            f"C{number(x - 12)} {far} {number(x - 12)} {near} {number(x)} {near}"
            f"S{number(x + 14)} {far} {number(x + 20)} {far}"
        )
    parts.append(_under(looper + f"L{number(_RIGHT)} {far}"))
    path = f"M{number(_LEFT)} {number(_TOP - 3)}"
    for x in _HOLES:
        low = _BOTTOM + 20
        path += (
            f"L{number(x - 3)} {number(_TOP - 3)}L{number(x - 3)} {number(_BOTTOM)}"
            f"C{number(x - 9)} {number(low)} {number(x + 9)} {number(low)} {number(x + 3)} {number(_BOTTOM)}"
            f"L{number(x + 3)} {number(_TOP - 3)}"
        )
    parts.append(_needle(path + f"L{number(_RIGHT)} {number(_TOP - 3)}"))
    return parts


def _cut_running() -> list[str]:
    """One thread in and out through both layers."""
    path = f"M{number(_LEFT)} {number(_BOTTOM + 4)}"
    for i, x in enumerate(_HOLES):
        here, there = (_BOTTOM + 4, _TOP - 4) if i % 2 == 0 else (_TOP - 4, _BOTTOM + 4)
        path += (
            f"L{number(x - 9)} {number(here)}C{number(x)} {number(here)} {number(x)} {number(there)} "
            f"{number(x + 9)} {number(there)}"
        )
    return [*_layers(), _needle(path)]


def _cut_overedge() -> list[str]:
    """Across the seam: the needle thread holds both looper threads, which meet at the edge of the cloth."""
    edge, hole = 270.0, 130.0
    upper = (
        f"M{number(hole)} {number(_TOP - 3)}L{number(edge - 6)} {number(_TOP - 3)}"
        f"Q{number(edge + 8)} {number(_TOP - 3)} {number(edge + 8)} {number(_MIDDLE + 5)}"
    )
    lower = (
        f"M{number(hole)} {number(_BOTTOM + 3)}L{number(edge - 6)} {number(_BOTTOM + 3)}"
        f"Q{number(edge + 8)} {number(_BOTTOM + 3)} {number(edge + 8)} {number(_MIDDLE - 5)}"
    )
    needle = (
        f"M{number(hole - 5)} {number(_TOP - 6)}Q{number(hole)} {number(_TOP - 12)} {number(hole + 5)} "
        f"{number(_TOP - 6)}L{number(hole + 5)} {number(_BOTTOM + 6)}Q{number(hole)} {number(_BOTTOM + 12)} "
        f"{number(hole - 5)} {number(_BOTTOM + 6)}Z"
    )
    return [
        _cloth(_LEFT - 10, _TOP, edge - _LEFT + 10, 20),
        _cloth(_LEFT - 10, _MIDDLE, edge - _LEFT + 10, 20),
        _under(upper),
        _under(lower),
        _needle(needle),
    ]


_ALONG = "Cut along the seam"
_STITCH_TYPES: dict[str, _Stitch] = {
    "209": _Stitch(
        "running stitch by hand", ("From above", _ALONG), _plan_running, _cut_running, ("hand thread", "")
    ),
    "301": _Stitch(
        "lockstitch", ("From above", _ALONG), _plan_straight, _cut_lock, ("needle thread", "bobbin thread")
    ),
    "304": _Stitch(
        "zigzag lockstitch",
        ("From above", _ALONG),
        _plan_zigzag,
        _cut_lock,
        ("needle thread", "bobbin thread"),
        has_width=True,
    ),
    "401": _Stitch(
        "two-thread chain stitch",
        ("From below", _ALONG),
        _plan_chain_below,
        _cut_chain,
        ("needle thread", "looper thread"),
    ),
    "504": _Stitch(
        "three-thread over-edge stitch",
        ("From above", "Cut across the seam"),
        _plan_overedge,
        _cut_overedge,
        ("needle thread", "two looper threads"),
        has_width=True,
    ),
}
DRAWN: tuple[str, ...] = tuple(_STITCH_TYPES)
