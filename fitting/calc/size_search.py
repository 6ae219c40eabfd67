"""The search behind the choice of size: best runs of sizes from the top zone to the bottom, exactly.

Every cost is a sum over zones, plus one for each change of size, so the best runs are found zone by zone from
the bottom up. Costs are whole numbers inside (a billionth of a tolerance, a millionth of a mm^2), so that
ties are real ties and not accidents of rounding. A table holds one row of cells per zone, one cell per size,
smallest size first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from operator import itemgetter
from typing import Any


@dataclass(frozen=True)
class SizeCost:
    """What an answer costs, by order of preference; `distance` in tolerances, `squared_deviation` in mm^2."""

    zones_outside: int
    distance: float
    changes: int
    squared_deviation: float


@dataclass(frozen=True)
class Cell:
    """One zone in one size; `distance` and `square` are whole units, see the module's text."""

    finished: float
    ease: float
    outside: float
    distance: int
    square: int


def best_runs(table: list[list[Cell]], allowed: list[list[int]], keep: int) -> list[tuple[int, ...]]:
    """Return the `keep` best runs of size places, best first, exactly.

    The five costs are packed into one whole number, each in digits of its own that no sum can overflow.
    """
    zones, sizes = len(table), len(table[0])
    per_square = zones * sizes
    per_change = per_square * (1 + sum(max(cell.square for cell in row) for row in table))
    per_distance = per_change * zones
    per_outside = per_distance * (1 + sum(max(cell.distance for cell in row) for row in table))

    def cost(place: int, size: int) -> int:
        cell = table[place][size]
        return (
            per_outside * (cell.outside != 0)
            + per_distance * cell.distance
            + per_square * cell.square
            + (sizes - 1 - size)
        )

    # A run is (cost, minus its first size, its sizes as nested pairs); sorting is stable, so among equals the
    # run with the larger size further up stays first.
    order: Callable[[tuple[int, int, Any]], tuple[int, int]] = itemgetter(0, 1)
    below: dict[int, list[tuple[int, int, Any]]] = {
        size: [(cost(zones - 1, size), -size, (size, None))] for size in allowed[-1]
    }
    for place in range(zones - 2, -1, -1):
        # At most `keep` of the pool can be of one size, so twice `keep` leaves enough for every other size.
        pool = sorted((run for runs in below.values() for run in runs), key=order)[: 2 * keep]
        above: dict[int, list[tuple[int, int, Any]]] = {}
        for size in allowed[place]:
            ahead = [(run[0] + per_change, run[1], run[2]) for run in pool if run[1] != -size]
            ahead = sorted(ahead + below.get(size, []), key=order)[:keep]
            own = cost(place, size)
            above[size] = [(run[0] + own, -size, (size, run[2])) for run in ahead]
        below = above
    best = sorted((run for runs in below.values() for run in runs), key=order)[:keep]
    return [_unfold(run[2]) for run in best]


def _unfold(link: Any) -> tuple[int, ...]:
    places = []
    while link is not None:
        place, link = link
        places.append(place)
    return tuple(places)


def best_single(table: list[list[Cell]], allowed: list[list[int]]) -> tuple[int, ...] | None:
    shared = set(allowed[0]).intersection(*allowed)
    if not shared:
        return None

    def key(size: int) -> tuple[int, int, int, int]:
        cells = [row[size] for row in table]
        return (
            sum(cell.outside != 0 for cell in cells),
            sum(cell.distance for cell in cells),
            sum(cell.square for cell in cells),
            -size,
        )

    return (min(shared, key=key),) * len(table)


def cost_of(table: list[list[Cell]], run: tuple[int, ...]) -> SizeCost:
    cells = [row[size] for row, size in zip(table, run, strict=True)]
    return SizeCost(
        zones_outside=sum(cell.outside != 0 for cell in cells),
        distance=sum(cell.distance for cell in cells) / 1e9,
        changes=sum(upper != lower for upper, lower in pairwise(run)),
        squared_deviation=sum(cell.square for cell in cells) / 1e6,
    )
