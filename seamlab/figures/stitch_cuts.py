"""Stitches cut open: how their threads hold. Along the seam where one line is sewn, across it where several are.

Coordinates are those of one panel (`stitch_threads`); thickness is drawn freely.
"""

import itertools

from seamlab.figures.stitch_threads import (
    BOTTOM,
    HOLES,
    LEFT,
    RIGHT,
    SEAM,
    TOP,
    Look,
    bend,
    cloth,
    layers,
    run,
    thread,
)
from studio.figures import palette
from studio.figures.svg import Point, el, number

_GAP = 5.0


# --- along the seam ---


def _dipping(start: float, depth: float) -> str:
    """A thread along one face at height `start` that dips to `depth` in every hole and comes back."""
    path = f"M{number(LEFT)} {number(start)}"
    for x in HOLES:
        near, far = number(x - _GAP), number(x + _GAP)
        path += f"L{near} {number(start)}C{near} {number(depth)} {far} {number(depth)} {far} {number(start)}"
    return path + f"L{number(RIGHT)} {number(start)}"


def lock() -> list[str]:
    # A cubic reaches three quarters of the way to its handles, so these curves hook into each other mid-cloth:
    # the needle thread passes behind the bobbin thread on one side of each hole and before it on the other.
    start, depth = TOP - 3.5, SEAM + 17
    parts = [
        *layers(),
        thread(_dipping(start, depth), "needle"),
        thread(_dipping(BOTTOM + 3.5, SEAM - 17), "under"),
    ]
    low = (start + 3 * depth) / 4
    for x in HOLES:
        path = (
            f"M{number(x)} {number(low)}C{number(x + _GAP / 2)} {number(low)} {number(x + _GAP)} "
            f"{number((start + depth) / 2)} {number(x + _GAP)} {number(start)}"
        )
        parts.append(thread(path, "needle"))
    return parts


def running() -> list[str]:
    """One thread in and out through both layers."""
    path = f"M{number(LEFT)} {number(BOTTOM + 4)}"
    for i, x in enumerate(HOLES):
        here, there = (BOTTOM + 4, TOP - 4) if i % 2 == 0 else (TOP - 4, BOTTOM + 4)
        path += (
            f"L{number(x - 9)} {number(here)}C{number(x)} {number(here)} {number(x)} {number(there)} "
            f"{number(x + 9)} {number(there)}"
        )
    return [*layers(), thread(path, "needle")]


def back() -> list[str]:
    """Two stitches on beneath, one back on top."""
    parts = layers()
    for i, (a, b) in enumerate(zip(HOLES, HOLES[2:], strict=False)):
        low = BOTTOM + (12.0 if i % 2 else 5.0)
        points = [
            (a - 3, TOP - 4),
            (a + 2, SEAM),
            (a + 10, low),
            (b - 10, low),
            (b - 2, SEAM),
            (b + 3, TOP - 4),
        ]
        parts.append(bend(points, "needle"))
    for a, b in itertools.pairwise(HOLES):
        parts.append(run([(a + 3, TOP - 4), (b - 3, TOP - 4)], "needle"))
    return parts


def chain(*, looper: bool) -> list[str]:
    """Loops through all layers: held by the next loop of the same thread, or by a looper thread."""
    parts = layers()
    if looper:
        path = f"M{number(LEFT)} {number(BOTTOM + 15)}"
        for x in HOLES:
            near, far = number(BOTTOM + 7), number(BOTTOM + 15)
            path += (
                f"C{number(x - 14)} {far} {number(x - 12)} {near} {number(x)} {near}"
                f"S{number(x + 14)} {far} {number(x + 22)} {far}"
            )
        parts.append(thread(path + f"L{number(RIGHT)} {number(BOTTOM + 15)}", "under"))
    else:
        for a, b in itertools.pairwise(HOLES):
            parts.append(
                bend(
                    [(a, BOTTOM + 4), (a + 18, BOTTOM + 12), (b - 12, BOTTOM + 14), (b + 6, BOTTOM + 9)],
                    "needle",
                )
            )
    path = f"M{number(LEFT)} {number(TOP - 3.5)}"
    for x in HOLES:
        low = BOTTOM + (20 if looper else 14)
        path += (
            f"L{number(x - 4)} {number(TOP - 3.5)}L{number(x - 4)} {number(BOTTOM)}"
            f"C{number(x - 10)} {number(low)} {number(x + 10)} {number(low)} {number(x + 4)} {number(BOTTOM)}"
            f"L{number(x + 4)} {number(TOP - 3.5)}"
        )
    parts.append(thread(path + f"L{number(RIGHT)} {number(TOP - 3.5)}", "needle"))
    return parts


# --- across the seam ---

_EDGE = 280.0


def _needle_loop(x: float, top: float = TOP, bottom: float = BOTTOM) -> str:
    """A needle thread as it goes through all layers: down, around, and up again."""
    path = (
        f"M{number(x - 4)} {number(top - 4)}Q{number(x)} {number(top - 11)} {number(x + 4)} {number(top - 4)}"
        f"L{number(x + 4)} {number(bottom + 5)}Q{number(x)} {number(bottom + 13)} {number(x - 4)} {number(bottom + 5)}Z"
    )
    return thread(path, "needle")


def overedge(
    *,
    needles: int = 1,
    over: Look = "third",
    under: Look = "under",
    reach: int = 0,
    chain_beside: bool = False,
) -> list[str]:
    """The edge wrapped: one thread over the upper face, one over the lower, meeting at the edge."""
    holes = (150.0,) if needles == 1 else (150.0, 205.0)
    parts = layers(_EDGE)
    upper: list[Point] = [
        (holes[reach] - 2, TOP - 5),
        (_EDGE - 20, TOP - 5),
        (_EDGE + 9, TOP + 6),
        (_EDGE + 9, SEAM + 6),
    ]
    lower: list[Point] = [
        (holes[0] - 2, BOTTOM + 5),
        (_EDGE - 20, BOTTOM + 5),
        (_EDGE + 9, BOTTOM - 6),
        (_EDGE + 9, SEAM - 6),
    ]
    parts += [bend(lower, under), bend(upper, over)]
    parts += [_needle_loop(x) for x in holes]
    if chain_beside:
        parts += [
            el("circle", cx=x, cy=BOTTOM + 9, r=5, fill=palette.SHEET, stroke=palette.INK, stroke_width=1.1)
            for x in (66.0, 80.0)
        ]
        parts.append(_needle_loop(73.0))
    return parts


def cover(rows: int, *, covered: bool, butted: bool = False) -> list[str]:
    """Rows of needle thread through the cloth, the looper thread beneath, and a cover thread on top."""
    left, right = 120.0, 280.0
    holes = [left + (right - left) * i / (rows - 1) for i in range(rows)]
    if butted:
        middle = (left + right) / 2
        parts = [
            cloth(LEFT, SEAM - 10, middle - LEFT - 2, 20),
            cloth(middle + 2, SEAM - 10, RIGHT - middle - 2, 20),
        ]
        top, bottom = SEAM - 10, SEAM + 10
    else:
        # A hem: the turned-up layer ends under the stitch.
        parts = [
            cloth(LEFT, TOP, RIGHT - LEFT, SEAM - TOP),
            cloth(LEFT, SEAM, (left + right) / 2 + 40 - LEFT, BOTTOM - SEAM),
        ]
        top, bottom = TOP, BOTTOM
    parts.append(bend([(holes[0] - 8, bottom + 5), (200, bottom + 9), (holes[-1] + 8, bottom + 5)], "under"))
    if covered:
        parts.append(bend([(holes[0] - 8, top - 5), (200, top - 9), (holes[-1] + 8, top - 5)], "third"))
    return parts + [_needle_loop(x, top, bottom) for x in holes]


def blind() -> list[str]:
    """103 across: the curved needle bites into the fold, never through to the right side."""
    garment = (
        f"M{number(LEFT)} 86H{number(RIGHT)}V70H238C220 70 220 30 202 30C184 30 184 70 166 70H{number(LEFT)}Z"
    )
    return [
        el(
            "path",
            d=garment,
            class_="stitch-cloth",
            fill=palette.SHADE,
            stroke=palette.EDGE,
            stroke_width=0.8,
        ),
        cloth(60, 54, 112, 16),
        bend(
            [
                (132, 50),
                (152, 66),
                (178, 52),
                (202, 44),
                (226, 48),
                (240, 36),
                (204, 22),
                (160, 30),
                (132, 50),
            ],
            "needle",
        ),
    ]
