"""A lay drawn to scale, and single pieces: cloth, pieces with their grain and marks, rulers. Units are mm.

Plain data in, SVG out; the same for page and PDF. Colours never carry meaning alone: a mirrored piece and one on the
fold say so in words.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from shapely import Polygon

from fitting.calc.exchange import RawPiece
from fitting.calc.lay_check import to_spare
from fitting.calc.lay_rules import LayPiece, Placement, Point, Ring, moved
from fitting.calc.outline import Dart, Outline, along_grain
from fitting.figures.lay_words import label
from studio.figures import palette
from studio.figures.svg import document, el, escape, line_path, text

INCH = 25.4
STEP = {"cm": 100.0, "in": 4 * INCH}  # a ruler's mark
LEFT, RIGHT, HIGH = 2.5, 0.9, 3.4  # of the text's size
LABEL_EVERY = {"cm": 5, "in": 3}


@dataclass(frozen=True)
class Lying:
    """One piece as it lies on the cloth, x along the selvedge, y across from the lower edge, mm."""

    place: int
    name: str
    note: str
    cut: Ring
    seam: Ring = ()
    grain: tuple[Point, Point] | None = None
    two_heads: bool = False
    notches: tuple[Point, ...] = ()
    darts: tuple[Ring, ...] = ()
    drills: tuple[Point, ...] = ()
    inner: tuple[Ring, ...] = ()
    fold: tuple[Point, Point] | None = None
    mirrored: bool = False


def margins(text_mm: float) -> tuple[float, float]:
    """What a strip's drawing adds for rulers and words: beside it on the left, above and below it together, mm.

    On the right it adds a little more, `RIGHT` of the text.
    """
    return text_mm * LEFT, text_mm * HIGH


def lying(place: int, piece: LayPiece, outline: Outline, placement: Placement, *, folded: bool) -> Lying:
    """A placed piece with all its marks. `outline` is turned onto its grain, opened out on single cloth."""

    def put(points: Sequence[Point]) -> Ring:
        return moved(points, placement.mirrored, placement.turn, placement.x, placement.y)

    notes = []
    if folded:
        spare = to_spare(piece, folded)
        once = f"cut {piece.count + piece.mirrored:g}, {spare} to spare" if spare else "two at once"
        notes.append("on the fold" if piece.fold else once)
    elif placement.mirrored:
        notes.append("mirrored")
    if piece.fold and not folded:
        notes.append("opened out")
    if piece.grain_change:
        notes.append(f"grain turned {piece.grain_change:g}°")
    if piece.bias:
        notes.append("bias")
    grain = put(outline.grain) if outline.grain else None
    fold = put(piece.fold) if folded and piece.fold else None
    return Lying(
        place=place,
        name=piece.name,
        note=", ".join(notes),
        cut=put(outline.cut),
        seam=put(outline.seam),
        grain=(grain[0], grain[1]) if grain else None,
        two_heads=outline.arrow != "one",
        notches=put(outline.notches),
        darts=tuple(put((dart.left, dart.tip, dart.right)) for dart in outline.darts),
        drills=put(outline.drills),
        inner=tuple(put(line) for line in outline.inner),
        fold=(fold[0], fold[1]) if fold else None,
        mirrored=placement.mirrored and not folded,
    )


def strip_figure(
    pieces: Sequence[Lying],
    *,
    length: float,
    width: float,
    unit: str,
    folded: bool,
    title: str,
    description: str,
    text_mm: float = 34.0,
    start: float = 0.0,
    end: float | None = None,
    after: float = 0.0,
) -> str:
    """The strip of cloth from `start` to `end` (the whole lay where none is given), with rulers along two edges.

    `text_mm` is the size of its words in mm of cloth. `after` is how much cloth is drawn beyond the lay's end, where
    pieces may be moved to by hand. Raises ValueError for a strip without a size or an unknown unit.
    """
    if length <= 0 or width <= 0:
        raise ValueError("A strip needs a length and a width.")
    if unit not in STEP:
        raise ValueError(f"The unit must be 'cm' or 'in', not {unit!r}.")
    end = length + after if end is None else end
    ruler, _ = margins(text_mm)
    box = (start - ruler, 0.0, end - start + ruler + text_mm * RIGHT, width + text_mm * HIGH)
    up = width + text_mm * 1.2  # y of the lower edge in the drawing
    parts = [
        el(
            "rect",
            x=start,
            y=up - width,
            width=end - start,
            height=width,
            fill=palette.PAPER,
            stroke=palette.EDGE,
            stroke_width=_line(text_mm, 0.05),
        ),
        *_rulers(start, end, width, up, unit, text_mm),
        _edges(start, end, width, up, folded, text_mm),
    ]
    if start < length <= end:
        parts.append(_end_line(length, width, up, text_mm))
    for piece in pieces:
        left, _, right, _ = Polygon(piece.cut).bounds
        if right > start and left < end:
            parts.append(_piece(piece, up, text_mm))
    return document(box, title, description, *parts)


def piece_figure(
    outline: Outline,
    *,
    name: str,
    note: str = "",
    unit: str = "cm",
    scale: float = 0.3,
    over: Sequence[str] = (),
    room: float = 3.0,
) -> str:
    """One piece alone, as the paper shows it: its grain upright, arrow down, `scale` points to the mm.

    `name` is its title; its words stand beside it on the page. `over` is drawn on top of it, in mm of the piece as
    `upright` turns it, y down; `room` is what is left round it, in points.
    """
    flat = upright(outline)
    left, low, right, high = Polygon(flat.cut).bounds
    size = max(right - left, high - low)
    text_mm = 15.0 / scale
    pad = room / scale
    box = (left - pad, -high - pad, right - left + 2 * pad, high - low + 2 * pad)
    shown = Lying(
        place=0,
        name="",
        note="",
        cut=flat.cut,
        seam=flat.seam,
        grain=flat.grain,
        two_heads=flat.arrow != "one",
        notches=flat.notches,
        darts=tuple((dart.left, dart.tip, dart.right) for dart in flat.darts),
        drills=flat.drills,
        inner=flat.inner,
        fold=flat.fold,
    )
    long = f"{size / 10:.1f} cm" if unit == "cm" else f"{size / INCH:.1f} in"
    says = f"Outline of {name}, {long} long" + (f", {note}" if note else "")
    return el(
        "svg",
        el("title", escape(name)),
        el("desc", escape(says)),
        _piece(shown, 0.0, text_mm),
        *over,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=" ".join(f"{one:.1f}" for one in box),
        width=f"{box[2] * scale:.1f}",
        height=f"{box[3] * scale:.1f}",
        role="img",
        fill="none",
    )


def longest_side(outlines: Sequence[Outline]) -> float:
    """The longest extent of any of these pieces along or across its grain, mm: for drawing them at one scale."""
    found = [0.0]
    for outline in outlines:
        left, low, right, high = Polygon(upright(outline).cut).bounds
        found.append(max(right - left, high - low))
    return max(found)


def raw_figure(piece: RawPiece) -> str:
    """A piece as a file has it, before its questions are answered; nothing where it has no outline."""
    if len(piece.outline) < 2:
        return ""
    xs, ys = [x for x, _ in piece.outline], [y for _, y in piece.outline]
    size = max(max(xs) - min(xs), max(ys) - min(ys)) or 1.0
    scale = 400 / size  # the file's own unit may be anything

    def put(points: Sequence[Point]) -> Ring:
        return tuple(((x - min(xs)) * scale, (y - min(ys)) * scale) for x, y in points)

    wide, high = (max(xs) - min(xs)) * scale, (max(ys) - min(ys)) * scale
    parts = [
        el(
            "path",
            d=line_path(_flip(put(piece.outline), high), close=piece.is_closed),
            fill=palette.SHEET if piece.is_closed else None,
            stroke=palette.INK,
            stroke_width=2.2,
        )
    ]
    for lines, dash in (
        ([piece.seam] if piece.seam else [], "8 5"),
        ([*piece.inner, *piece.cutouts, *(one for found in piece.unknown.values() for one in found)], None),
    ):
        parts += [
            el(
                "path",
                d=line_path(_flip(put(one), high)),
                stroke=palette.EDGE,
                stroke_width=1.2,
                stroke_dasharray=dash,
            )
            for one in lines
            if len(one) > 1
        ]
    for x, y in _flip(put((*piece.notches, *piece.drills)), high):
        parts.append(el("circle", cx=x, cy=y, r=4, fill=palette.INK))
    if piece.fold:
        parts.append(
            el(
                "path",
                d=line_path(_flip(put(piece.fold), high)),
                stroke=palette.THREAD,
                stroke_width=4,
                stroke_dasharray="16 8",
            )
        )
    if piece.grain:
        a, b = put(piece.grain)
        if piece.heads == (True, False):
            a, b = b, a
        if any(piece.heads):
            parts.append(_arrow((a, b), piece.heads == (True, True), high, 24.0))
        else:
            parts.append(
                el("path", d=line_path(_flip((a, b), high)), stroke=palette.THREAD, stroke_width=1.6)
            )
    return document((-12, -12, wide + 24, high + 24), piece.name, f"{piece.name} as the file has it", *parts)


def upright(outline: Outline) -> Outline:
    """The piece with its grain upright, arrow down; as it is where it has none."""
    if outline.grain is None:
        return outline
    flat = along_grain(outline)

    def turn(points: Sequence[Point]) -> Ring:
        """A quarter turn: what pointed along x points down."""
        return tuple((y, -x) for x, y in points)

    grain, fold = flat.grain, flat.fold
    assert grain is not None
    return replace(
        flat,
        cut=turn(flat.cut),
        seam=turn(flat.seam),
        grain=(turn(grain)[0], turn(grain)[1]),
        fold=(turn(fold)[0], turn(fold)[1]) if fold else None,
        notches=turn(flat.notches),
        darts=tuple(Dart(*turn((dart.left, dart.right, dart.tip))) for dart in flat.darts),
        drills=turn(flat.drills),
        inner=tuple(turn(line) for line in flat.inner),
        edges=tuple(replace(edge, points=turn(edge.points)) for edge in flat.edges),
        gauges=tuple(replace(gauge, points=turn(gauge.points)) for gauge in flat.gauges),
    )


def _line(text_mm: float, share: float) -> float:
    return max(0.2, text_mm * share)


def _flip(points: Sequence[Point], up: float) -> list[Point]:
    return [(x, up - y) for x, y in points]


def _rulers(start: float, end: float, width: float, up: float, unit: str, size: float) -> list[str]:
    step, every = STEP[unit], LABEL_EVERY[unit]
    per = 10.0 if unit == "cm" else INCH
    parts = []
    place = math.ceil(start / step - 1e-9)
    while place * step <= end + 1e-6:
        x, big = place * step, place % every == 0
        reach = size * (0.75 if big else 0.4)
        parts.append(_tick((x, up), (x, up + reach), size, big))
        if big:
            parts.append(text(x, up + size * 1.75, f"{place * step / per:g}", size * 0.85, anchor="middle"))
        place += 1
    place = 0
    while place * step <= width + 1e-6:
        y, big = up - place * step, place % every == 0
        reach = size * (0.75 if big else 0.4)
        parts.append(_tick((start, y), (start - reach, y), size, big))
        if big and place:
            parts.append(
                text(start - size * 0.9, y + size * 0.3, f"{place * step / per:g}", size * 0.85, anchor="end")
            )
        place += 1
    parts.append(text(start - size * 0.9, up + size * 1.75, unit, size * 0.85, anchor="end"))
    return parts


def _tick(a: Point, b: Point, size: float, big: bool) -> str:
    return el(
        "path",
        d=line_path((a, b)),
        stroke=palette.INK,
        stroke_width=_line(size, 0.06 if big else 0.035),
        class_="ruler",
    )


def _edges(start: float, end: float, width: float, up: float, folded: bool, size: float) -> str:
    """Selvedges as a line; a fold as a long dashed one, with its word."""
    low = up
    dash = f"{size * 0.8:.1f} {size * 0.4:.1f}" if folded else None
    lower = el(
        "path",
        d=line_path(((start, low), (end, low))),
        stroke=palette.THREAD if folded else palette.INK,
        stroke_width=_line(size, 0.1),
        stroke_dasharray=dash,
    )
    upper = el(
        "path",
        d=line_path(((start, up - width), (end, up - width))),
        stroke=palette.INK,
        stroke_width=_line(size, 0.1),
    )
    return (
        lower
        + upper
        + text(start, up - width - size * 0.35, "both selvedges" if folded else "selvedge", size * 0.75,
               fill=palette.INK_SOFT)
        + (text(end, up - width - size * 0.35, "lower edge: fold of the cloth", size * 0.75, anchor="end",
                fill=palette.INK_SOFT) if folded else "")
    )  # fmt: skip


def _end_line(length: float, width: float, up: float, size: float) -> str:
    return el(
        "path",
        d=line_path(((length, up - width), (length, up))),
        stroke=palette.THREAD,
        stroke_width=_line(size, 0.09),
        stroke_dasharray=f"{size * 0.35:.1f} {size * 0.25:.1f}",
        class_="lay-end",
    )


def _piece(piece: Lying, up: float, size: float) -> str:
    thin, thick = _line(size, 0.035), _line(size, 0.075)
    parts = [
        el(
            "path",
            d=line_path(_flip(piece.cut, up), close=True),
            fill=palette.SHADE if piece.mirrored else palette.SHEET,
            stroke=palette.INK,
            stroke_width=thick,
            stroke_linejoin="round",
            class_="cut-line",
        )
    ]
    if piece.seam:
        parts.append(
            el(
                "path",
                d=line_path(_flip(piece.seam, up), close=True),
                stroke=palette.EDGE,
                stroke_width=thin,
                stroke_dasharray=f"{size * 0.3:.1f} {size * 0.2:.1f}",
            )
        )
    for line in (*piece.darts, *piece.inner):
        parts.append(el("path", d=line_path(_flip(line, up)), stroke=palette.EDGE, stroke_width=thin))
    for x, y in piece.notches:
        parts.append(el("circle", cx=x, cy=up - y, r=size * 0.14, fill=palette.INK))
    for x, y in piece.drills:
        parts.append(el("circle", cx=x, cy=up - y, r=size * 0.16, stroke=palette.INK, stroke_width=thin))
    if piece.fold:
        parts.append(
            el(
                "path",
                d=line_path(_flip(piece.fold, up)),
                stroke=palette.THREAD,
                stroke_width=_line(size, 0.14),
                stroke_dasharray=f"{size * 0.8:.1f} {size * 0.4:.1f}",
            )
        )
    if piece.grain:
        parts.append(_arrow(piece.grain, piece.two_heads, up, size))
    parts.append(label(piece, up, size))
    return el("g", *parts, class_="lying", data_place=str(piece.place))


def _arrow(grain: tuple[Point, Point], two_heads: bool, up: float, size: float) -> str:
    a, b = _flip(grain, up)
    long = math.dist(a, b)
    head = min(size * 0.55, long / 4)
    parts = [el("path", d=line_path((a, b)), stroke=palette.THREAD, stroke_width=_line(size, 0.05))]
    for tip, tail in ((b, a), (a, b)) if two_heads else ((b, a),):
        ux, uy = (tip[0] - tail[0]) / long, (tip[1] - tail[1]) / long
        left = (tip[0] - head * ux + head * 0.4 * uy, tip[1] - head * uy - head * 0.4 * ux)
        right = (tip[0] - head * ux - head * 0.4 * uy, tip[1] - head * uy + head * 0.4 * ux)
        parts.append(el("path", d=line_path((left, tip, right), close=True), fill=palette.THREAD))
    return "".join(parts)
