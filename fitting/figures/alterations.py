"""Where each paper alteration lies: a plain schematic of the pieces with numbered marks, and their list
below.

Plain data in, SVG text out. The pieces are our own schematic of each garment, not to scale; centre lines are
on the left of a piece, side seams on its right.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fitting.figures.pieces import GARMENTS as SHORT
from fitting.figures.pieces import Mark, Piece
from fitting.figures.pieces_long import DRESS, JACKET
from studio.figures import palette
from studio.figures.svg import (
    Point,
    curve_path,
    document,
    el,
    line_path,
    number,
    smooth,
    spread,
    text,
    text_width,
    wrap,
)

GARMENTS: dict[str, tuple[Piece, ...]] = {**SHORT, "dress": DRESS, "jacket": JACKET}
CHANGES = ("lengthen", "shorten", "let out", "take in", "adjust")

_ALLOWED = {
    "length": ("lengthen", "shorten"),
    "hem": ("lengthen", "shorten", "adjust"),
    "side": ("let out", "take in"),
    "seam": ("let out", "take in", "lengthen", "shorten", "adjust"),
    "slash": ("let out", "take in", "adjust"),
}
SMALL = 2.6  # how much heavier the marks of a small drawing are
_DISC = 12.0
_SIZE = 18.0
_WIDTH = 720.0


@dataclass(frozen=True)
class AlterationRow:
    """One alteration. `place` is one of ``places(kind)``, `change` one of ``CHANGES``; `label` and `value`
    are printed in the list as they come ("Take in the side seams at the waist", "6 mm at each edge").
    """

    number: int
    place: str
    change: str
    label: str
    value: str = ""


@dataclass(frozen=True)
class Disc:
    """A numbered marker: its centre and the point of the piece that it belongs to."""

    number: int
    centre: Point
    anchor: Point


def kinds() -> tuple[str, ...]:
    """The garments that can be drawn."""
    return tuple(GARMENTS)


def places(kind: str) -> tuple[str, ...]:
    """The places of a garment at which an alteration can be marked."""
    return tuple(dict.fromkeys(place for piece in _pieces(kind) for place in piece.marks))


def changes_at(kind: str, place: str) -> tuple[str, ...]:
    """The changes that make sense at a place of a garment. Raises ValueError for an unknown kind or place."""
    marks = [piece.marks[place] for piece in _pieces(kind) if place in piece.marks]
    if not marks:
        raise ValueError(f"a {_name(kind)} has no place {place!r}; it has {', '.join(places(kind))}.")
    return _ALLOWED[marks[0].form]


def alteration_figure(
    kind: str,
    rows: Sequence[AlterationRow],
    *,
    names: Mapping[str, str] | None = None,
    title: str = "",
    description: str = "",
) -> str:
    """SVG of a garment's pieces ("skirt", "trousers", "bodice", "dress", ...) with the alterations
    marked.

    `names` says how the pieces are called in another language. With no rows the pieces alone are drawn.
    Raises ValueError for an unknown kind, place or change, a change
    that makes no sense at its place, or a number below 1 or used twice.
    """
    pieces = _pieces(kind)
    _check(kind, rows)
    origins, bottom = _origins(pieces)
    parts: list[str] = []
    for piece, origin in zip(pieces, origins, strict=True):
        marks = [_mark(piece, row) for row in rows if row.place in piece.marks]
        shift = f"translate({number(origin[0])} {number(origin[1])})"
        said = (names or {}).get(piece.name, piece.name)
        parts.append(el("g", *_outline(piece, name=said), *marks, transform=shift))
    parts += [_marker(disc) for disc in marker_layout(kind, rows)]
    listed, end = _list(rows, bottom + 24)
    title = title or f"Pieces of the {_name(kind)}" + (" with the alterations marked" if rows else "")
    told = (f"{row.number}: {row.label} {row.value}".strip() for row in rows)
    description = description or "; ".join(told) or f"Schematic pieces of the {_name(kind)}, not to scale."
    return document((0, 0, _WIDTH, end), title, description, *parts, *listed)


def place_figure(kind: str, place: str, change: str, *, title: str = "", description: str = "") -> str:
    """Small SVG of the pieces on which one alteration lies, without numbers or a list, for a line of a sheet.

    Raises ValueError as `alteration_figure`.
    """
    row = AlterationRow(1, place, change, title)
    _check(kind, [row])
    parts, x, height = [], 14.0, 0.0
    for piece in _pieces(kind):
        if place not in piece.marks:
            continue
        shift = f"translate({number(x)} 12)"
        shapes = [*_outline(piece, 1.6), _mark(piece, row, SMALL)]
        parts.append(el("g", *shapes, transform=shift))
        x += piece.width + 30
        height = max(height, piece.height)
    said = description or f"Where it lies on the {_name(kind)}, not to scale."
    return document((0, 0, x, height + 24), title or f"Place on the {_name(kind)}", said, *parts)


def marker_layout(kind: str, rows: Sequence[AlterationRow]) -> list[Disc]:
    """Where the numbered markers of `alteration_figure` lie. Same arguments, same errors."""
    pieces = _pieces(kind)
    _check(kind, rows)
    origins, bottom = _origins(pieces)
    discs: list[Disc] = []
    for piece, (x0, y0) in zip(pieces, origins, strict=True):
        here = [(row, _anchor(piece, piece.marks[row.place])) for row in rows if row.place in piece.marks]
        here.sort(key=lambda ra: (ra[1][1], ra[0].number))
        wanted = [y0 + anchor[1] for _, anchor in here]
        centres = spread(wanted, [2 * _DISC] * len(here), 4.0, 30.0, max(bottom, 60.0 + 28 * len(here)))
        x = x0 + piece.width + 34
        for (row, anchor), y in zip(here, centres, strict=True):
            discs.append(Disc(row.number, (x, y), (x0 + anchor[0], y0 + anchor[1])))
    return discs


def _name(kind: str) -> str:
    return "T-shirt" if kind == "tshirt" else kind


def _pieces(kind: str) -> tuple[Piece, ...]:
    if kind not in GARMENTS:
        raise ValueError(f"garment kind is {kind!r}; drawings exist for {', '.join(GARMENTS)}.")
    return GARMENTS[kind]


def _check(kind: str, rows: Sequence[AlterationRow]) -> None:
    seen: set[int] = set()
    for row in rows:
        where = f"alteration {row.number}"
        if row.number < 1:
            raise ValueError(f"{where}: number must be 1 or more.")
        if row.number in seen:
            raise ValueError(f"{where}: the number is used twice; each alteration needs its own.")
        seen.add(row.number)
        if row.change not in CHANGES:
            raise ValueError(f"{where}: change is {row.change!r}; allowed are {', '.join(CHANGES)}.")
        try:
            allowed = changes_at(kind, row.place)
        except ValueError as unknown:
            raise ValueError(f"{where}: {unknown}") from None
        if row.change not in allowed:
            raise ValueError(f"{where}: at {row.place!r} one can {' or '.join(allowed)}, not {row.change!r}.")


def _origins(pieces: Sequence[Piece]) -> tuple[list[Point], float]:
    """Top left corner of each piece and the bottom of the row; the pieces share the width evenly."""
    room = _WIDTH / len(pieces)
    origins = [(room * i + max((room - p.width - 46) / 2, 8), 44.0) for i, p in enumerate(pieces)]
    return origins, 44.0 + max(p.height for p in pieces) + 14


# What a piece looks like: seams firm, darts and folds light, the grainline with its arrows.


def _outline(piece: Piece, weight: float = 1.0, *, name: str = "") -> list[str]:
    d = curve_path(smooth(piece.edge), close=True)
    parts = [
        el(
            "path",
            d=d,
            fill=palette.SHADE,
            stroke=palette.INK,
            stroke_width=1.6 * weight,
            stroke_linejoin="round",
        )
    ]
    for line in piece.inner:
        parts.append(el("path", d=line_path(line), stroke=palette.EDGE, stroke_width=1.2 * weight))
    x, top, low = piece.grain
    arrows = f"M{number(x - 4)} {number(top + 8)}L{number(x)} {number(top)}L{number(x + 4)} {number(top + 8)}"
    arrows += (
        f"M{number(x - 4)} {number(low - 8)}L{number(x)} {number(low)}L{number(x + 4)} {number(low - 8)}"
    )
    parts.append(
        el("path", d=line_path([(x, top), (x, low)]) + arrows, stroke=palette.EDGE, stroke_width=1.2 * weight)
    )
    if name:
        parts.append(text(piece.width / 2, -16, name, _SIZE, anchor="middle", bold=True))
    return parts


def _anchor(piece: Piece, mark: Mark) -> Point:
    return max(mark.points, key=lambda p: p[0])


def _mark(piece: Piece, row: AlterationRow, weight: float = 1.0) -> str:
    """The mark of one alteration on one piece, in the piece's own coordinates; small drawings are heavier."""
    mark = piece.marks[row.place]
    if mark.form in ("length", "hem"):
        (x1, y), (x2, y2) = mark.points[0], mark.points[-1]
        shapes = [_firm(line_path(mark.points), weight)]
        if mark.form == "length":
            second = [(px, py + 7 * weight**0.6) for px, py in mark.points]
            shapes.append(_firm(line_path(second), weight))
        if row.change != "adjust":
            for share in (0.3, 0.7):
                x, at = x1 + share * (x2 - x1), y + share * (y2 - y)
                shapes += _up_down((x, at), row.change == "lengthen", weight, hem=mark.form == "hem")
        return el("g", *shapes)
    if mark.form == "side":
        out = 8.0 if row.change == "let out" else -8.0
        moved = [mark.points[0], *((x + out, y) for x, y in mark.points[1:-1]), mark.points[-1]]
        middle = mark.points[len(mark.points) // 2]
        return el(
            "g",
            _firm(curve_path(smooth(mark.points)), weight),
            el(
                "path",
                d=curve_path(smooth(moved)),
                stroke=palette.THREAD,
                stroke_width=1.6 * weight,
                stroke_dasharray="5 4",
            ),
            _arrow((middle[0] - out, middle[1]), (middle[0] + out * 1.9 * weight**0.5, middle[1]), weight),
        )
    if mark.form == "slash":
        ends = [el("circle", cx=x, cy=y, r=3.5, fill=palette.THREAD) for x, y in mark.points[1:2]]
        cut = el(
            "path",
            d=line_path(mark.points),
            stroke=palette.THREAD,
            stroke_width=2.4 * weight,
            stroke_dasharray="8 4",
        )
        return el("g", cut, *ends)
    return _firm(curve_path(smooth(mark.points)), weight)


def _firm(d: str, weight: float) -> str:
    return el("path", d=d, stroke=palette.THREAD, stroke_width=3 * weight, stroke_linecap="round")


def _up_down(at: Point, apart: bool, weight: float, *, hem: bool) -> list[str]:
    x, y = at
    if hem:
        return [_arrow((x, y - 6), (x, y + 14), weight) if apart else _arrow((x, y + 6), (x, y - 14), weight)]
    if apart:
        return [_arrow((x, y - 2), (x, y - 17), weight), _arrow((x, y + 9), (x, y + 24), weight)]
    return [_arrow((x, y - 18), (x, y - 4), weight), _arrow((x, y + 25), (x, y + 11), weight)]


def _arrow(start: Point, end: Point, weight: float) -> str:
    """A short arrow along one of the two directions of the paper."""
    dx = (end[0] > start[0]) - (end[0] < start[0])
    dy = (end[1] > start[1]) - (end[1] < start[1])
    long, wide = 5 * weight**0.5, 4 * weight**0.5
    head = [
        (end[0] - long * dx + wide * dy, end[1] - long * dy + wide * dx),
        end,
        (end[0] - long * dx - wide * dy, end[1] - long * dy - wide * dx),
    ]
    return el(
        "path", d=line_path([start, end]) + line_path(head), stroke=palette.INK, stroke_width=1.6 * weight
    )


def _marker(disc: Disc) -> str:
    (x, y), digits = disc.centre, str(disc.number)
    return el(
        "g",
        el("path", d=line_path([disc.anchor, (x - _DISC, y)]), stroke=palette.INK_SOFT, stroke_width=1),
        el("circle", cx=disc.anchor[0], cy=disc.anchor[1], r=3.5, fill=palette.THREAD),
        el("circle", cx=x, cy=y, r=_DISC, fill=palette.SHEET, stroke=palette.THREAD, stroke_width=1.8),
        text(x, y + 5, digits, 15 if len(digits) < 3 else 10, anchor="middle", bold=True),
    )


def _list(rows: Sequence[AlterationRow], y: float) -> tuple[list[str], float]:
    """The list of alterations below the pieces: number, what to do, how much."""
    parts: list[str] = []
    for row in rows:
        value = wrap(row.value, _SIZE, 250, bold=True)
        room = _WIDTH - 40 - 20 - max((text_width(line, _SIZE, bold=True) for line in value), default=0)
        label = wrap(row.label, _SIZE, room)
        parts.append(el("path", d=line_path([(4, y), (_WIDTH - 4, y)]), stroke=palette.RULE, stroke_width=1))
        parts.append(
            el(
                "circle",
                cx=18,
                cy=y + 18,
                r=_DISC,
                fill=palette.SHEET,
                stroke=palette.THREAD,
                stroke_width=1.8,
            )
        )
        digits = str(row.number)
        parts.append(text(18, y + 23, digits, 15 if len(digits) < 3 else 10, anchor="middle", bold=True))
        parts += [text(40, y + 24 + 22 * i, line, _SIZE) for i, line in enumerate(label)]
        parts += [
            text(_WIDTH - 6, y + 24 + 22 * i, line, _SIZE, anchor="end", bold=True)
            for i, line in enumerate(value)
        ]
        y += 38 + 22 * (max(len(label), len(value), 1) - 1)
    return parts, y + 4
