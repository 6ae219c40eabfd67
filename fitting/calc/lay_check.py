"""Is a lay right? Looked at again from its placements alone, by another geometry than the one that found it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from shapely import Polygon, STRtree

from fitting.calc.lay_rules import LayCloth, LayPiece, Placement, is_own_mirror, laid, turns_allowed

# How deep two pieces may reach into one another or over the edge, mm: less than a chalk line, more than rounding.
TOLERANCE_MM = 0.05
TURN_TOLERANCE_DEG = 0.001


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong: the places in the list of placements that it touches, and a sentence."""

    kind: Literal["overlap", "edge", "turn", "missing", "fold", "mirror", "unknown"]
    places: tuple[int, ...]
    words: str


def check_lay(
    pieces: Sequence[LayPiece],
    cloth: LayCloth,
    placements: Sequence[Placement],
    *,
    tolerance: float = TOLERANCE_MM,
    length: float | None = None,
) -> tuple[Problem, ...]:
    """Everything that is wrong with a lay; empty where every rule is kept.

    Rules: no two pieces overlap, all lie inside the usable width (and the `length`, where one is given: a
    remnant) to `tolerance` mm, every turn is allowed, every piece is there as often as wanted, as drawn and
    mirrored, and on folded cloth fold pieces lie on the fold. Geometry by Shapely.
    """
    by_key = {piece.key: piece for piece in pieces}
    unknown = [i for i, placed in enumerate(placements) if placed.key not in by_key]
    if unknown:
        return tuple(
            Problem("unknown", (i,), f"There is no piece {placements[i].key!r} in this lay.") for i in unknown
        )
    shapes = [Polygon(laid(by_key[placed.key], placed, folded=cloth.folded)) for placed in placements]
    return (
        *_turned(by_key, cloth, placements),
        *_counted(pieces, cloth, placements),
        *_outside(by_key, cloth, placements, shapes, tolerance, length),
        *_off_fold(by_key, cloth, placements, tolerance),
        *_overlapping(by_key, placements, shapes, tolerance),
    )


def copies_wanted(piece: LayPiece, folded: bool) -> tuple[int, int]:
    """How often a piece is laid as drawn and mirrored.

    On folded cloth each shape gives one as drawn and one mirrored. Where that is more than wanted (a waistband
    that is cut once) the other layer has one to spare: see `to_spare`.
    """
    count, mirrored = int(piece.count), int(piece.mirrored)
    if piece.fold is not None:  # the whole of it is its own mirror image
        return count + mirrored, 0
    if not folded:
        return count, mirrored
    if is_own_mirror(piece):
        return -(-(count + mirrored) // 2), 0
    return max(count, mirrored), 0


def to_spare(piece: LayPiece, folded: bool) -> int:
    """How many pieces folded cloth gives beyond those that are wanted: they are left uncut, or kept."""
    if not folded or piece.fold is not None:
        return 0
    return 2 * copies_wanted(piece, True)[0] - int(piece.count) - int(piece.mirrored)


def _turned(
    by_key: Mapping[str, LayPiece], cloth: LayCloth, placements: Sequence[Placement]
) -> Iterator[Problem]:
    for i, placed in enumerate(placements):
        piece = by_key[placed.key]
        allowed = (0.0,) if cloth.folded and piece.fold else turns_allowed(piece, cloth.direction)
        off = min(abs((placed.turn - turn + 180) % 360 - 180) for turn in allowed)
        if off > TURN_TOLERANCE_DEG:
            ways = " or ".join(f"{turn:g}" for turn in allowed)
            yield Problem(
                "turn", (i,), f"{piece.name} is turned by {placed.turn:g} degrees; only {ways} is allowed."
            )


def _counted(
    pieces: Sequence[LayPiece], cloth: LayCloth, placements: Sequence[Placement]
) -> Iterator[Problem]:
    found = Counter((placed.key, placed.mirrored) for placed in placements)
    for piece in pieces:
        drawn, mirrored = copies_wanted(piece, cloth.folded)
        total = found[piece.key, False] + found[piece.key, True]
        places = tuple(i for i, placed in enumerate(placements) if placed.key == piece.key)
        if total != drawn + mirrored:
            yield Problem(
                "missing",
                places,
                f"{piece.name} lies there {total} times and is wanted {drawn + mirrored} times.",
            )
        elif found[piece.key, True] != mirrored and not cloth.folded and not is_own_mirror(piece):
            yield Problem(
                "mirror",
                places,
                f"{piece.name} is wanted {mirrored} times mirrored and lies so {found[piece.key, True]} times: "
                "both would be for the same side.",
            )


def _outside(
    by_key: Mapping[str, LayPiece],
    cloth: LayCloth,
    placements: Sequence[Placement],
    shapes: Sequence[Polygon],
    tolerance: float,
    length: float | None,
) -> Iterator[Problem]:
    for i, shape in enumerate(shapes):
        left, low, right, high = shape.bounds
        name = by_key[placements[i].key].name
        over = max(-low, high - cloth.strip)
        if over > tolerance:
            yield Problem("edge", (i,), f"{name} reaches {over:.1f} mm over the usable width.")
        if -left > tolerance:
            yield Problem("edge", (i,), f"{name} reaches {-left:.1f} mm over the beginning of the cloth.")
        if length is not None and right - length > tolerance:
            yield Problem("edge", (i,), f"{name} reaches {right - length:.1f} mm over the end of the cloth.")


def _off_fold(
    by_key: Mapping[str, LayPiece], cloth: LayCloth, placements: Sequence[Placement], tolerance: float
) -> Iterator[Problem]:
    if not cloth.folded:
        return
    for i, placed in enumerate(placements):
        piece = by_key[placed.key]
        if piece.fold is None:
            continue
        sign = -1.0 if placed.mirrored else 1.0
        if any(abs(sign * y + placed.y) > tolerance for _, y in piece.fold):
            yield Problem("fold", (i,), f"{piece.name} does not lie with its fold edge on the fold.")


def _overlapping(
    by_key: Mapping[str, LayPiece],
    placements: Sequence[Placement],
    shapes: Sequence[Polygon],
    tolerance: float,
) -> Iterator[Problem]:
    if len(shapes) < 2:
        return
    firsts, seconds = STRtree(shapes).query(shapes, predicate="intersects")
    for a, b in zip(firsts.tolist(), seconds.tolist(), strict=True):
        if a >= b:
            continue
        common = shapes[a].intersection(shapes[b])
        if common.area > 0 and not common.buffer(-tolerance / 2).is_empty:
            names = f"{by_key[placements[a].key].name} and {by_key[placements[b].key].name}"
            yield Problem("overlap", (a, b), f"{names} overlap.")
