"""Stitches as they lie on the cloth: from above and from below. See `stitch` for what is drawn of which type.

`wide` is the width of the stitch in drawing units. Coordinates are those of one panel (`stitch_threads`).
"""

from itertools import pairwise

from seamlab.figures.stitch_threads import (
    ADVANCE,
    HOLES,
    LEFT,
    MIDDLE,
    RIGHT,
    Look,
    bend,
    edge_line,
    hole,
    plan_cloth,
    run,
)
from studio.figures.svg import Point

_GAP = 4.5  # half the opening that the needle leaves
EDGE_Y = 84.0  # of the cloth under an over-edge stitch


def rows_of(count: int, wide: float, centre: float = MIDDLE) -> tuple[float, ...]:
    """Heights of `count` needle lines spread over `wide`."""
    if count == 1:
        return (centre,)
    return tuple(centre - wide / 2 + wide * i / (count - 1) for i in range(count))


def _runs(row: float, look: Look = "needle", gap: float = _GAP) -> list[str]:
    return [run([(a + gap, row), (b - gap, row)], look) for a, b in pairwise(HOLES)]


def _holes(row: float) -> list[str]:
    return [hole((x, row)) for x in HOLES]


# --- lines and zigzags ---


def straight(look: Look, rows: int = 1, wide: float = 0.0) -> list[str]:
    """One run of thread from hole to hole, in each row."""
    parts = [plan_cloth()]
    for row in rows_of(rows, wide):
        parts += [*_runs(row, look), *_holes(row)]
    return parts


def running(look: Look, *, beneath: bool = False) -> list[str]:
    """A stitch on this face, then a gap where the thread lies on the other."""
    first = 1 if beneath else 0
    runs = [run([(a + _GAP, MIDDLE), (b - _GAP, MIDDLE)], look) for a, b in list(pairwise(HOLES))[first::2]]
    return [plan_cloth(), *runs, *_holes(MIDDLE)]


def back_below() -> list[str]:
    """The underside of a backstitch: each thread runs two stitches on, so that they overlap."""
    parts = [plan_cloth(), *_holes(MIDDLE)]
    for i, (a, b) in enumerate(zip(HOLES, HOLES[2:], strict=False)):
        off = 4.0 if i % 2 else -4.0
        parts.append(
            bend([(a, MIDDLE), (a + 14, MIDDLE + off), (b - 14, MIDDLE + off), (b, MIDDLE)], "needle")
        )
    return parts


def zigzag_points(wide: float, steps: int) -> list[Point]:
    """Needle holes of a zigzag that takes `steps` stitches from one side to the other."""
    points = []
    for i, x in enumerate(HOLES):
        turn, share = divmod(i, steps)
        along = share / steps
        y = along if turn % 2 == 0 else 1 - along
        points.append((x, MIDDLE - wide / 2 + wide * y))
    return points


def zigzag(look: Look, wide: float, steps: int = 1) -> list[str]:
    points = zigzag_points(wide, steps)
    runs = [run([_toward(a, b, _GAP), _toward(b, a, _GAP)], look) for a, b in pairwise(points)]
    return [plan_cloth(), *runs, *(hole(point) for point in points)]


def _toward(a: Point, b: Point, distance: float) -> Point:
    length = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
    return (a[0] + (b[0] - a[0]) * distance / length, a[1] + (b[1] - a[1]) * distance / length)


# --- chains, seen from below ---


def _loop(a: Point, b: Point, look: Look, swell: float = 10.0, beyond: float = 9.0) -> str:
    """A loop that leaves the cloth at `a` and lies around what comes through at `b`."""
    (ax, ay), (bx, by) = a, b
    length = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
    ux, uy = (bx - ax) / length, (by - ay) / length

    def at(along: float, aside: float) -> Point:
        return (ax + ux * along - uy * aside, ay + uy * along + ux * aside)

    points = [
        at(0, 0),
        at(0.35 * length, -swell * 0.8),
        at(length - 5, -swell),
        at(length + beyond, 0),
        at(length - 5, swell),
        at(0.35 * length, swell * 0.8),
        at(0, 0),
    ]
    return bend(points, look)


def chain_below(wide: float = 0.0) -> list[str]:
    """One thread: each loop holds the next. With a width the holes swing from side to side."""
    points = zigzag_points(wide, 1) if wide else [(x, MIDDLE) for x in HOLES]
    parts = [plan_cloth(), *(hole(point) for point in points)]
    return parts + [_loop(a, b, "needle") for a, b in pairwise(points)]


def looper_chain(row: float) -> list[str]:
    """The underside of 401 in one row: three strands of looper thread, held by each needle loop."""
    parts = [run([(LEFT, row), (RIGHT, row)], "under"), *_holes(row)]
    for a, b in pairwise(HOLES):
        parts.append(_loop((a + 9, row), (b, row), "under", swell=11, beyond=8))
    return parts + [_loop((x, row), (x + 11, row), "needle", swell=7, beyond=7) for x in HOLES]


def double_chain_below() -> list[str]:
    return [plan_cloth(), *looper_chain(MIDDLE)]


# --- cover stitches ---


def _swing(high: float, low: float, look: Look, first: float = 0.28, second: float = 0.78) -> str:
    """A thread that swings from the upper to the lower line in every stitch."""
    points: list[Point] = [(LEFT, (high + low) / 2)]
    for x in HOLES[:-1]:
        points += [(x + first * ADVANCE, high), (x + second * ADVANCE, low)]
    points += [(RIGHT - 2, (high + low) / 2)]
    return bend(points, look)


def cover_above(rows: int, wide: float, *, covered: bool) -> list[str]:
    """Rows of needle thread, and where there is one the top cover thread that swings beneath them."""
    lines = rows_of(rows, wide)
    parts = [plan_cloth()]
    if covered:
        parts.append(_swing(lines[0] - 7, lines[-1] + 7, "third"))
    for line in lines:
        parts += [*_runs(line), *_holes(line)]
    return parts


def cover_below(rows: int, wide: float) -> list[str]:
    """The looper thread swings across all rows; a needle loop holds it in every one."""
    lines = rows_of(rows, wide)
    parts = [plan_cloth(), _swing(lines[0] - 5, lines[-1] + 5, "under")]
    for i, line in enumerate(lines):
        share = 0.28 + 0.5 * i / (rows - 1)
        parts += _holes(line)
        parts += [
            _loop((x, line), (x + share * ADVANCE - 2, line), "needle", swell=5, beyond=7) for x in HOLES[:-1]
        ]
    return parts


# --- over-edge stitches ---


def overedge(
    face: str, wide: float, *, needles: int, over: Look, under: Look, reach: int = 0, chain: bool = False
) -> list[str]:
    """An edge wrapped in thread, `face` "above" or "below".

    `over` is the look of the thread that lies on the upper face, `under` of that on the lower one. `reach` names the
    needle line (0 is the one farthest from the edge) to which the upper thread goes. With `chain` a chain stitch of
    its own runs beside it.
    """
    wide = min(wide, 36.0) if chain else wide  # room for the chain beside it
    line = EDGE_Y - wide
    lines = [line] if needles == 1 else [line, line + wide * 0.42]
    parts = [plan_cloth(EDGE_Y)]
    if face == "above":
        parts += _wrap(lines[reach], over, under)
        for row in lines:
            parts += [*_runs(row), *_holes(row)]
    else:
        parts += _wrap(lines[0], under, over)
        for row in lines:
            parts += _holes(row)
            if under != "needle":
                parts += [_loop((x, row), (x + 11, row), "needle", swell=5, beyond=6) for x in HOLES]
    if chain:
        row = line - 28
        parts += [*_runs(row), *_holes(row)] if face == "above" else looper_chain(row)
    return parts


def _wrap(line: float, look: Look, other: Look) -> list[str]:
    """The thread that goes from the needle line to the edge and back; the other one shows at the edge."""
    points: list[Point] = []
    purl: list[Point] = []
    for x in HOLES[:-1]:
        points += [(x + 8, line + 1), (x + 8, line + 1), (x + ADVANCE * 0.5, EDGE_Y + 5)]
        purl += [(x + ADVANCE * 0.28, EDGE_Y + 1), (x + ADVANCE * 0.5, EDGE_Y + 7)]
    points.append((HOLES[-1] + 8, line + 1))
    purl.append((HOLES[-1] + ADVANCE * 0.1, EDGE_Y + 1))
    return [bend(purl, other), bend(points, look)]


# --- blind stitch ---


def blind_above() -> list[str]:
    """103 on the inside of a hem: loops beside the fold, a bite into the fold at every other place."""
    fold = MIDDLE + 10
    parts = [plan_cloth(), edge_line([(LEFT, fold), (RIGHT, fold)])]
    points: list[Point] = [(x, fold + (14 if i % 2 else -14)) for i, x in enumerate(HOLES)]
    parts += [hole(point) for point in points]
    return parts + [_loop(a, b, "needle", swell=7, beyond=7) for a, b in pairwise(points)]


def blind_below() -> list[str]:
    """The right side: at most a dimple where the needle bit into a few yarns."""
    parts = [plan_cloth()]
    for x in HOLES[::2]:
        parts.append(run([(x - 1.5, MIDDLE), (x + 1.5, MIDDLE)], "needle"))
    return parts
