"""Pieces on cloth: the best lay that keeps every rule, what one-way costs, how much to buy.

Every lay is checked again by `lay_check` before anybody sees it. A time-boxed search doesn't repeat itself, so
placements are stored, never only the seed.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import Polygon, affinity, box
from shapely.ops import unary_union

from fitting.calc import inputs
from fitting.calc.lay_check import TURN_TOLERANCE_DEG, check_lay, copies_wanted
from fitting.calc.lay_rules import (
    FOLD_SLACK,
    TWO_WAY,
    LayCloth,
    LayPiece,
    Placement,
    Point,
    Ring,
    laid,
    normal_turn,
    turns_allowed,
)
from fitting.calc.lay_solver import NoLay, Packed, SolverItem, Task, Tell, pack

__all__ = ["BothWays", "Lay", "LayCloth", "LayPiece", "NoLay", "Placement", "lay", "lay_both_ways"]

MOST_SECONDS = 600
MOST_SHAPES = 400
DETAIL_MM = 0.25  # curves are packed with this much to spare, and cut as they are drawn
MANY_POINTS = 48
SPINE_MM = 0.2  # holds fold pieces together on the fold while the rest is packed round them
SPARE_MM = 0.02
OTHER_WAY_WAITS = 5  # niceness: about a third of a core's share beside the search that decides
MIRROR = "~"


@dataclass(frozen=True)
class Lay:
    """A lay that was found and checked. Lengths in mm; `density` is percent of the cloth under the lay."""

    placements: tuple[Placement, ...]
    length: float
    density: float
    direction: str
    folded: bool


@dataclass(frozen=True)
class BothWays:
    """The same pieces one-way and two-way; `price_of_one_way` is the extra length in mm, never negative."""

    one_way: Lay
    two_way: Lay

    @property
    def price_of_one_way(self) -> float:
        return self.one_way.length - self.two_way.length


def lay(
    pieces: Sequence[LayPiece],
    cloth: LayCloth,
    *,
    seconds: int = 20,
    seed: int = 1,
    workers: int | None = None,
    early: bool = True,
    tell: Tell | None = None,
) -> Lay:
    """The best lay found within `seconds` on the cloth's usable width, every rule kept, checked independently.

    With 0 seconds it is the first one that comes. `early` lets the search stop before its time when nothing
    gets better. `tell` hears how far it is; what it raises stops the search at once and goes on up. Raises
    ValueError for a piece or a cloth that can't be laid (the piece is named), NoLay where the search itself gave
    no answer.
    """
    return _lays([Strip(cloth, workers or _cores())], pieces, seconds, seed, early, tell)[0]


def lay_both_ways(
    pieces: Sequence[LayPiece],
    cloth: LayCloth,
    *,
    seconds: int = 20,
    seed: int = 1,
    workers: int | None = None,
    early: bool = True,
    tell: Tell | None = None,
) -> BothWays:
    """The lay with every arrow one way, and the one with half turns; the searches run side by side.

    The way that this cloth allows is the one that is cut, so its search has all cores and goes first; the other
    takes what it leaves and only shows what the direction costs. A one-way lay is legal two-way, so the two-way
    answer is the better of both. Raises as `lay` does.
    """
    one = replace(cloth, direction="not_known" if cloth.direction == TWO_WAY else cloth.direction)
    two = replace(cloth, direction=TWO_WAY)
    strips = [
        Strip(way, workers or _cores())
        if way.direction == cloth.direction
        else Strip(way, max(1, (workers or _cores()) // 2), patience=OTHER_WAY_WAITS)
        for way in (one, two)
    ]
    one_way, two_way = _lays(strips, pieces, seconds, seed, early, tell)
    if one_way.length < two_way.length:
        two_way = replace(one_way, direction=TWO_WAY)
    return BothWays(one_way, two_way)


def measured(
    pieces: Sequence[LayPiece], cloth: LayCloth, placements: Sequence[Placement]
) -> tuple[float, float]:
    """Length in mm and density in percent of a lay as it is placed, by hand or found."""
    by_key = {piece.key: piece for piece in pieces}
    shapes = [Polygon(laid(by_key[one.key], one, folded=cloth.folded)) for one in placements]
    length = max((shape.bounds[2] for shape in shapes), default=0.0)
    if length <= 0:
        return 0.0, 0.0
    return length, 100.0 * sum(shape.area for shape in shapes) / (length * cloth.strip)


def _cores() -> int:
    return os.cpu_count() or 1


@dataclass(frozen=True)
class Strip:
    """A cloth to search on, by how many threads, and how far it lets another search go before it."""

    cloth: LayCloth
    workers: int
    patience: int = 0


def _lays(
    strips: Sequence[Strip],
    pieces: Sequence[LayPiece],
    seconds: int,
    seed: int,
    early: bool,
    tell: Tell | None,
) -> list[Lay]:
    if isinstance(seconds, bool) or seconds != int(seconds) or not 0 <= seconds <= MOST_SECONDS:
        raise ValueError(
            f"The time for the search must be 0 to {MOST_SECONDS} whole seconds, not {seconds!r}."
        )
    _keys_once(pieces)
    shapes = [_task(pieces, strip.cloth) for strip in strips]
    tasks = [
        Task(items, strip.cloth.strip, strip.workers, strip.patience)
        for (items, _), strip in zip(shapes, strips, strict=True)
    ]
    packed = pack(tasks, seconds=seconds, seed=seed, early=early, tell=tell)
    return [
        _found(pieces, strip.cloth, one, on_fold)
        for strip, one, (_, on_fold) in zip(strips, packed, shapes, strict=True)
    ]


def _keys_once(pieces: Sequence[LayPiece]) -> None:
    if len(pieces) == 0:
        raise ValueError("A lay needs at least one piece.")
    keys = [piece.key for piece in pieces]
    twice = next((key for key in keys if keys.count(key) > 1), None)
    if twice is not None:
        raise ValueError(f"Two pieces have the key {twice!r}; each piece needs its own.")
    bad = next((key for key in keys if not key or key.endswith(MIRROR)), None)
    if bad is not None:
        raise ValueError(f"A piece's key must not be empty or end with {MIRROR!r}: {bad!r}.")


FoldRow = tuple[tuple[str, bool, float], ...]  # key, mirrored, where along the fold


def _task(pieces: Sequence[LayPiece], cloth: LayCloth) -> tuple[list[SolverItem], FoldRow]:
    """What the packer is given: each shape and its mirror image, and one shape for all that lies on the fold."""
    items: list[SolverItem] = []
    on_fold: list[tuple[LayPiece, int]] = []
    total = 0
    for piece in pieces:
        drawn, mirrored = copies_wanted(piece, cloth.folded)
        total += drawn + mirrored
        if cloth.folded and piece.fold is not None:
            on_fold.append((piece, drawn))
            continue
        for flipped, count in ((False, drawn), (True, mirrored)):
            if count:
                shape = tuple((x, -y) if flipped else (x, y) for x, y in piece.whole)
                turns = _turns_that_fit(piece, shape, cloth)
                key = piece.key + MIRROR * flipped
                items.append(SolverItem(key, _packable(shape), count, turns))
    if total > MOST_SHAPES:
        raise ValueError(f"A lay holds at most {MOST_SHAPES} pieces, not {total}; part it into two.")
    row: FoldRow = ()
    if on_fold:
        item, row = _fold_row(on_fold, cloth)
        items.append(item)
    return items, row


def _turns_that_fit(piece: LayPiece, shape: Ring, cloth: LayCloth) -> list[float]:
    """The allowed turns in which the piece is no wider than the cloth; ValueError if there is none."""
    high: dict[float, float] = {}
    for turn in turns_allowed(piece, cloth.direction):
        _, low, _, top = affinity.rotate(Polygon(shape), turn, origin=(0, 0)).bounds
        high[turn] = top - low
    fits = [turn for turn, needed in high.items() if needed <= cloth.strip + inputs.HAIR]
    if not fits:
        where = "half of the folded cloth" if cloth.folded else "the cloth"
        raise ValueError(
            f"Piece {piece.name} is {min(high.values()):.0f} mm across its grain and {where} is only "
            f"{cloth.strip:.0f} mm wide. Take wider cloth, or part the piece with a seam."
        )
    return fits


def _packable(shape: Ring) -> Ring:
    """The shape for the packer: where a curve has many points, fewer, lying a hair outside of the outline."""
    if len(shape) <= MANY_POINTS:
        return shape
    wider = Polygon(shape).buffer(DETAIL_MM, join_style="mitre", mitre_limit=2.0).simplify(DETAIL_MM * 0.9)
    if not isinstance(wider, Polygon) or len(wider.exterior.coords) > len(shape):
        return shape
    return tuple((float(x), float(y)) for x, y in wider.exterior.coords[:-1])


def _fold_row(on_fold: Sequence[tuple[LayPiece, int]], cloth: LayCloth) -> tuple[SolverItem, FoldRow]:
    """All fold pieces in a row along the fold, as one shape that can't leave it.

    A packer knows no fold. So the halves are pushed together along it and joined by a hair's breadth of spine;
    a whisker as high as the strip is wide keeps the whole from moving off the fold.
    """
    halves: list[tuple[str, bool, Polygon]] = []
    for piece, count in on_fold:
        assert piece.fold is not None
        shape, flipped = _half_on_fold(piece)
        if shape.bounds[3] > cloth.strip + inputs.HAIR:
            raise ValueError(
                f"Piece {piece.name} reaches {shape.bounds[3]:.0f} mm from the fold and half of the folded cloth "
                f"is only {cloth.strip:.0f} mm wide. Take wider cloth, or part the piece with a seam."
            )
        halves += [(piece.key, flipped, shape)] * count
    halves.sort(key=lambda half: -half[2].area)
    row: list[tuple[str, bool, float]] = []
    placed: list[Polygon] = []
    for key, flipped, shape in halves:
        at = _pushed(shape, placed)
        placed.append(affinity.translate(shape, at, 0))
        row.append((key, flipped, at))
    end = max(shape.bounds[2] for shape in placed)
    spine = box(0, 0, end, SPINE_MM)
    whisker = box(-SPINE_MM, 0, 0, cloth.strip - SPARE_MM)
    joined = unary_union([spine, whisker, *placed]).buffer(0)
    ring = tuple((float(x), float(y)) for x, y in joined.exterior.coords[:-1])
    return SolverItem(MIRROR, ring, 1, [0.0]), tuple(row)


def _half_on_fold(piece: LayPiece) -> tuple[Polygon, bool]:
    """The half with its fold edge on y = 0 and the rest above; whether it had to be mirrored for that."""
    assert piece.fold is not None
    (_, y1), (_, y2) = piece.fold
    if abs(y1 - y2) > FOLD_SLACK:
        raise ValueError(
            f"Piece {piece.name}: its fold does not run along the grain, so it can't lie on cloth that is folded "
            "along its length. Lay it on single cloth."
        )
    at = (y1 + y2) / 2
    flipped = Polygon(piece.shape).centroid.y < at
    ring = [(x, (at - y) if flipped else (y - at)) for x, y in piece.shape]
    return Polygon([(x, max(0.0, y)) for x, y in ring]), flipped


def _pushed(shape: Polygon, placed: Sequence[Polygon]) -> float:
    """How far along the fold a half comes to lie when it is pushed against those that lie there."""
    at = -shape.bounds[0]
    if not placed:
        return at
    taken = unary_union(list(placed))
    low, high = at, taken.bounds[2] - shape.bounds[0]
    for _ in range(40):  # halving: touching is where overlap begins
        middle = (low + high) / 2
        if affinity.translate(shape, middle, 0).intersection(taken).area > 0:
            low = middle
        else:
            high = middle
    return high + SPARE_MM


def _found(pieces: Sequence[LayPiece], cloth: LayCloth, packed: Packed, row: FoldRow) -> Lay:
    """The packer's answer as placements, moved to the beginning of the cloth, and checked."""
    by_key = {piece.key: piece for piece in pieces}
    placements: list[Placement] = []
    for key, x, y, turn in packed.placed:
        if key == MIRROR:
            for name, flipped, at in row:
                placements.append(_on_fold(by_key[name], flipped, x + at))
            continue
        mirrored = key.endswith(MIRROR)
        piece = by_key[key.removesuffix(MIRROR)]
        placements.append(Placement(piece.key, mirrored, x, y, _nearest(turn, piece, cloth)))
    shapes = [Polygon(laid(by_key[one.key], one, folded=cloth.folded)) for one in placements]
    start: Point = (min(shape.bounds[0] for shape in shapes), 0.0)
    placements = [replace(one, x=one.x - start[0]) for one in placements]
    problems = check_lay(pieces, cloth, placements)
    if problems:
        raise NoLay(f"The lay that was found breaks a rule, so it is not shown: {problems[0].words}")
    length, density = measured(pieces, cloth, placements)
    order = sorted(placements, key=lambda one: (list(by_key).index(one.key), one.mirrored, one.x, one.y))
    return Lay(tuple(order), length, density, cloth.direction, cloth.folded)


def _nearest(turn: float, piece: LayPiece, cloth: LayCloth) -> float:
    """The allowed turn that the packer, which reckons in single precision, meant; or its own, if none is near."""
    turned = normal_turn(turn)
    meant = min(turns_allowed(piece, cloth.direction), key=lambda way: abs((turned - way + 180) % 360 - 180))
    return meant if abs((turned - meant + 180) % 360 - 180) < TURN_TOLERANCE_DEG else turned


def _on_fold(piece: LayPiece, flipped: bool, x: float) -> Placement:
    assert piece.fold is not None
    (_, y1), (_, y2) = piece.fold
    at = (y1 + y2) / 2
    return Placement(piece.key, flipped, x, at if flipped else -at, 0.0)
