"""Pieces out of a file: what was found, every doubt about it, and the pieces once all doubts are answered.

The readers (`exchange_svg`, `exchange_dxf`) guess nothing that could spoil a garment: no unit, no grainline, no
arrow, an open outline, an unknown layer are doubts, and a person answers them before a piece is used.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from shapely import LineString, Polygon

from fitting.calc.lay_rules import Point, Ring, checked_ring, opened_out
from fitting.calc.outline import Outline, checked

UNITS: Mapping[str, float] = {"mm": 1.0, "cm": 10.0, "in": 25.4}
MOST_BYTES = 8_000_000
MOST_POINTS = 200_000
MOST_PIECES = 200
OPEN_SLACK = 1e-6  # of the drawing's size: ends that lie closer than this are one point
LEAVE_OUT = "leave"


@dataclass(frozen=True)
class Doubt:
    """One question: its code (which the answer names), the sentence, and the answers (code, words) to choose from."""

    code: str
    words: str
    choices: tuple[tuple[str, str], ...]
    piece: str = ""


@dataclass(frozen=True)
class RawPiece:
    """A piece as the file has it, in the file's own unit and y up. Lines may be open, and nothing is checked."""

    name: str
    size: str = ""
    outline: Ring = ()
    is_closed: bool = True
    seam: Ring = ()
    grain: tuple[Point, Point] | None = None
    heads: tuple[bool, bool] = (False, False)  # an arrow head at the beginning, at the end of the grainline
    fold: tuple[Point, Point] | None = None
    notches: tuple[Point, ...] = ()
    drills: tuple[Point, ...] = ()
    inner: tuple[Ring, ...] = ()
    cutouts: tuple[Ring, ...] = ()
    unknown: Mapping[str, tuple[Ring, ...]] = field(default_factory=dict)  # by layer or class
    cut: int | None = None
    mirrored: int | None = None  # of `cut`, where the file says so


@dataclass(frozen=True)
class Reading:
    """What a file holds. `unit` is one of `UNITS`, a number of mm as text, or "" where the file doesn't say."""

    pieces: tuple[RawPiece, ...]
    unit: str = ""
    doubts: tuple[Doubt, ...] = ()


@dataclass(frozen=True)
class ReadPiece:
    """A piece that is ready: its name, size ("" where none is stated), how often it is cut, and its outline in mm."""

    name: str
    size: str
    cut: int
    outline: Outline


def reading(pieces: Sequence[RawPiece], unit: str) -> Reading:
    """A file's pieces with every doubt about them. Raises ValueError where there is nothing to use."""
    if not pieces:
        raise ValueError("The file has no piece in it: no closed outline was found.")
    if len(pieces) > MOST_PIECES:
        raise ValueError(f"The file has {len(pieces)} pieces; at most {MOST_PIECES} are read at once.")
    doubts: list[Doubt] = []
    if not unit:
        doubts.append(_unit_doubt(pieces))
    layers = sorted({layer for piece in pieces for layer in piece.unknown})
    doubts += [
        Doubt(
            f"layer:{layer}",
            f"Lines named {layer!r} are not known. What are they?",
            (("inner", "Lines inside the piece"), (LEAVE_OUT, "Leave them out")),
        )
        for layer in layers
    ]
    for number, piece in enumerate(pieces):
        doubts += _piece_doubts(number, piece)
    return Reading(tuple(pieces), unit, tuple(doubts))


def open_doubts(found: Reading, answers: Mapping[str, str]) -> tuple[Doubt, ...]:
    """The doubts that have no usable answer yet. A piece that is left out has no more doubts."""
    left_out = {
        code.partition(":")[2]
        for code, answer in answers.items()
        if answer == LEAVE_OUT and not code.startswith("layer:")
    }
    return tuple(
        doubt
        for doubt in found.doubts
        if answers.get(doubt.code) not in {code for code, _ in doubt.choices}
        and not (doubt.piece and doubt.code.partition(":")[2] in left_out)
    )


def settled(found: Reading, answers: Mapping[str, str]) -> tuple[ReadPiece, ...]:
    """The pieces, in mm, with every doubt answered; those left out are not among them.

    Raises ValueError naming the first question without an answer, or the piece that can't be used all the same.
    """
    still = open_doubts(found, answers)
    if still:
        raise ValueError(f"A question is not answered yet: {still[0].words}")
    unit = found.unit or answers["unit"]
    scale = UNITS[unit] if unit in UNITS else float(unit)
    ready = []
    for number, piece in enumerate(found.pieces):
        said = {
            code.partition(":")[0]: answer
            for code, answer in answers.items()
            if code.partition(":")[2] == str(number) and not code.startswith("layer:")
        }
        if LEAVE_OUT not in said.values():
            ready.append(_ready(piece, said, answers, scale))
    if not ready:
        raise ValueError("Every piece of the file was left out.")
    return tuple(ready)


def _unit_doubt(pieces: Sequence[RawPiece]) -> Doubt:
    tallest = max((_extent(piece.outline) for piece in pieces), default=0.0)
    choices = tuple(
        (code, f"{words}: the largest piece is {tallest * mm / 10:.1f} cm long")
        for code, words, mm in (
            ("mm", "Millimetres", 1.0),
            ("cm", "Centimetres", 10.0),
            ("in", "Inches", 25.4),
            (f"{25.4 / 96:.9f}", "Screen points, 96 to the inch", 25.4 / 96),
            (f"{25.4 / 72:.9f}", "Printer's points, 72 to the inch", 25.4 / 72),
        )
    )
    return Doubt(
        "unit", "The file does not say its unit. Which is it? Measure one piece of the paper.", choices
    )


def _piece_doubts(number: int, piece: RawPiece) -> list[Doubt]:
    doubts = []
    leave = (LEAVE_OUT, "Leave this piece out")

    def doubt(what: str, words: str, *choices: tuple[str, str]) -> None:
        doubts.append(Doubt(f"{what}:{number}", words, (*choices, leave), piece.name))

    if not piece.outline:
        doubt("outline", f"{piece.name} has no outline.")
        return doubts
    if not piece.is_closed:
        gap = math.dist(piece.outline[0], piece.outline[-1]) / max(_extent(piece.outline), 1e-9)
        doubt(
            "open",
            f"The outline of {piece.name} is open: its ends lie {100 * gap:.1f} % of its length apart.",
            ("close", "Close it with a straight line"),
        )
    try:
        checked_ring(piece.outline, piece.name)
    except ValueError as exc:
        doubt("outline", f"{exc} It can't be used as it is.")
        return doubts
    if piece.cutouts:
        doubt(
            "hole",
            f"{piece.name} has {len(piece.cutouts)} closed lines inside that may be holes.",
            ("inner", "Cut or marked after the piece is cut out: keep them as lines inside"),
        )
    if piece.grain is None:
        doubt(
            "grain",
            f"{piece.name} has no grainline.",
            ("up", "The grain runs up the drawing"),
            ("across", "The grain runs across the drawing"),
        )
    if not any(piece.heads):
        doubt(
            "arrow",
            f"The grainline of {piece.name} has no arrow: may the piece be turned where the cloth allows it?",
            ("both", "Yes, either way where the cloth allows it"),
            ("end", f"No, always {_way(piece)} first"),
            ("start", f"No, always {_way(piece, back=True)} first"),
        )
    if piece.fold is not None and not _folds(piece):
        doubt(
            "fold",
            f"The fold of {piece.name} does not lie on a straight edge of its outline.",
            ("none", "It is a whole piece; leave the fold out"),
        )
    if piece.cut is None:
        on_fold = piece.fold is not None
        doubt(
            "cut",
            f"How often is {piece.name} cut?",
            *((("1", "Once, on the fold"),) if on_fold else (("1", "Once"), ("pair", "Twice, as a pair"))),
            ("2", "Twice alike"),
            ("4", "Four times" if on_fold else "Two pairs"),
        )
    return doubts


def _way(piece: RawPiece, *, back: bool = False) -> str:
    """Where the grainline points, in words of the drawing."""
    (ax, ay), (bx, by) = piece.grain or ((0.0, 0.0), (0.0, 1.0))
    dx, dy = (ax - bx, ay - by) if back else (bx - ax, by - ay)
    if abs(dx) > abs(dy):
        return "the right of the drawing" if dx > 0 else "the left of the drawing"
    return "the top of the drawing" if dy > 0 else "the foot of the drawing"


def _folds(piece: RawPiece) -> bool:
    assert piece.fold is not None
    try:
        opened_out(piece.outline, piece.fold, piece.name)
    except ValueError:
        return False
    return True


def _ready(piece: RawPiece, said: Mapping[str, str], answers: Mapping[str, str], scale: float) -> ReadPiece:
    def line(points: Sequence[Point]) -> Ring:
        return tuple((x * scale, y * scale) for x, y in points)

    grain, heads = piece.grain, piece.heads
    if grain is None:
        grain = _drawn_grain(piece.outline, said["grain"])
    if "arrow" in said:
        heads = {"both": (True, True), "end": (False, True), "start": (True, False)}[said["arrow"]]
    if heads == (True, False):
        grain = grain[1], grain[0]
    fold = None if said.get("fold") == "none" else piece.fold
    cut, mirrored = piece.cut, piece.mirrored
    if cut is None:
        cut, mirrored = {"1": (1, 0), "pair": (2, 1), "2": (2, 0), "4": (4, 2)}[said["cut"]]
    inner = [*piece.inner, *piece.cutouts]
    for layer, lines in piece.unknown.items():
        if answers.get(f"layer:{layer}") == "inner":
            inner += lines
    outline = Outline(
        cut=checked_ring(line(piece.outline), piece.name),
        seam=line(piece.seam),
        grain=(line(grain)[0], line(grain)[1]),
        arrow="both" if heads == (True, True) else "one",
        fold=(line(fold)[0], line(fold)[1]) if fold else None,
        mirrored=cut > 1 and (mirrored is None or mirrored > 0) and fold is None,
        notches=line(piece.notches),
        drills=line(piece.drills),
        inner=tuple(line(one) for one in inner),
    )
    if outline.seam:
        seam = Polygon(outline.seam)
        if not seam.is_valid or seam.area <= 0:
            outline = replace(outline, seam=())  # a broken seam line is no reason to lose the piece
    return ReadPiece(piece.name, piece.size, cut, checked(outline, piece.name))


def _drawn_grain(outline: Ring, way: str) -> tuple[Point, Point]:
    """A grainline through the middle of a piece, up or across the drawing, along half of it."""
    left, low, right, high = LineString(outline).bounds
    x, y = (left + right) / 2, (low + high) / 2
    if way == "up":
        return (x, y - (high - low) / 4), (x, y + (high - low) / 4)
    return (x - (right - left) / 4, y), (x + (right - left) / 4, y)


def _extent(ring: Sequence[Point]) -> float:
    if not ring:
        return 0.0
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    return max(max(xs) - min(xs), max(ys) - min(ys))


def joined(lines: Sequence[Ring]) -> tuple[Ring, bool]:
    """Lines that follow one another made one, and whether it closes; the longest such line of all."""
    if not lines:
        return (), True
    slack = max(_extent([p for line in lines for p in line]) * 1e-5, 1e-9)
    rest = [list(line) for line in lines if len(line) > 1]
    best: list[Point] = []
    while rest:
        run = rest.pop(0)
        grew = True
        while grew and math.dist(run[0], run[-1]) > slack:
            grew = False
            for i, other in enumerate(rest):
                if math.dist(run[-1], other[0]) <= slack:
                    run += other[1:]
                elif math.dist(run[-1], other[-1]) <= slack:
                    run += other[-2::-1]
                elif math.dist(run[0], other[-1]) <= slack:
                    run = other[:-1] + run
                elif math.dist(run[0], other[0]) <= slack:
                    run = other[:0:-1] + run
                else:
                    continue
                del rest[i]
                grew = True
                break
        if _extent(run) > _extent(best):
            best = run
    if not best:
        return (), True
    closed = math.dist(best[0], best[-1]) <= slack
    return tuple(best[:-1] if closed else best), closed
