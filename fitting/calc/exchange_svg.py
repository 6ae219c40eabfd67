"""Pieces out of an SVG drawing.

No standard says how a drawing names the lines of a piece, so the house's own words are read: every piece is a group
whose title (or id) is its name; a line inside carries one of `WORDS` as its class, id or title. The largest closed
line without a word is the cut line. Coordinates come back y up, in the drawing's unit. XML is read without entities
or outside references; paths and transforms by the library `svgelements`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element

import defusedxml.ElementTree
import svgelements

from fitting.calc.exchange import MOST_BYTES, MOST_POINTS, RawPiece, Reading, reading
from fitting.calc.lay_rules import Point, Ring

WORDS = ("cut", "seam", "grain", "fold", "notch", "drill", "inner")
SHAPES = ("path", "polygon", "polyline", "line", "rect", "circle", "ellipse")
CHORD = 3.0  # mm of a curve that one straight piece stands for
_LENGTH = re.compile(r"^\s*([0-9.]+(?:e[-+]?\d+)?)\s*(mm|cm|in|pt|pc|px|q)?\s*$", re.IGNORECASE)
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}


@dataclass(frozen=True)
class _Line:
    word: str  # one of WORDS, "" for none, or what was written
    points: Ring
    closed: bool
    heads: tuple[bool, bool]


def read_svg(data: bytes) -> Reading:
    """What pieces an SVG drawing holds, with every doubt. Raises ValueError if it is no drawing with a piece."""
    if len(data) > MOST_BYTES:
        raise ValueError(f"The drawing is larger than {MOST_BYTES // 1_000_000} MB; save the pieces alone.")
    try:
        root = defusedxml.ElementTree.fromstring(data)
    except Exception as exc:
        raise ValueError("This is not an SVG drawing that can be read.") from exc
    if _tag(root) != "svg":
        raise ValueError("This is not an SVG drawing: its first element is another one.")
    unit, mm = _unit_of(root)
    groups: dict[str, list[_Line]] = {}
    count = 0
    try:
        for name, line in _lines(root, svgelements.Matrix(), "", 0, CHORD / mm):
            count += len(line.points)
            if count > MOST_POINTS:
                raise ValueError(f"The drawing has more than {MOST_POINTS} points; save the pieces alone.")
            groups.setdefault(name, []).append(line)
    except (TypeError, KeyError, IndexError, AttributeError, ArithmeticError) as exc:
        raise ValueError("The drawing has a line that can't be read.") from exc
    pieces = []
    for name, lines in groups.items():
        pieces += _pieces(name, lines, alone=len(groups) == 1 and not name)
    return reading(pieces, unit)


def _unit_of(root: Element) -> tuple[str, float]:
    """Mm of one unit of the drawing as text ("" where it isn't stated), and a guess for curves."""
    box = [float(part) for part in re.findall(r"-?[0-9.]+(?:e[-+]?\d+)?", root.get("viewBox", ""))]
    found = [_LENGTH.match(root.get(side, "")) for side in ("width", "height")]
    scales = []
    for match, extent in zip(found, box[2:4] or (None, None), strict=False):
        unit = (match.group(2) or "").lower() if match else ""
        if match and unit in _MM and (extent is None or extent > 0):
            number = float(match.group(1))
            scales.append(number * _MM[unit] / extent if extent else 25.4 / 96)
    if not scales or max(scales) / max(min(scales), 1e-12) > 1.001:
        return "", 25.4 / 96
    return f"{scales[0]:.9f}", scales[0]


def _lines(
    element: Element, matrix: svgelements.Matrix, name: str, depth: int, chord: float
) -> Iterator[tuple[str, _Line]]:
    """(piece, line) of every drawn line below an element."""
    if depth > 40:
        raise ValueError("The drawing has groups within groups more than 40 deep.")
    for child in element:
        tag = _tag(child)
        own = svgelements.Matrix(child.get("transform", "")) * matrix
        if tag in ("g", "svg", "a"):
            words = _title(child)
            inside = name if not words or words.lower() in WORDS else words
            yield from _lines(child, own, inside, depth + 1, chord)
        elif tag in SHAPES:
            yield from ((name, line) for line in _shape(child, tag, own, chord))


def _shape(element: Element, tag: str, matrix: svgelements.Matrix, chord: float) -> Iterator[_Line]:
    word = _word(element)
    heads = tuple(element.get(f"marker-{end}", "none") not in ("", "none") for end in ("start", "end"))
    classes = element.get("class", "").lower().split()
    if "two-way" in classes:
        heads = (True, True)
    elif "one-way" in classes:
        heads = (False, True)
    path = _path(element, tag)
    path *= matrix
    path.reify()
    for part in path.as_subpaths():
        points, closed = _flat(svgelements.Path(part), chord)
        if points:
            yield _Line(word, points, closed, (heads[0], heads[1]))


def _path(element: Element, tag: str) -> svgelements.Path:
    def number(key: str) -> float:
        return float(element.get(key, "0"))

    if tag == "path":
        return svgelements.Path(element.get("d", ""))
    if tag == "line":
        return svgelements.Path(
            svgelements.SimpleLine(number("x1"), number("y1"), number("x2"), number("y2"))
        )
    if tag == "rect":
        return svgelements.Path(svgelements.Rect(number("x"), number("y"), number("width"), number("height")))
    if tag == "circle":
        return svgelements.Path(svgelements.Circle(number("cx"), number("cy"), number("r")))
    if tag == "ellipse":
        return svgelements.Path(svgelements.Ellipse(number("cx"), number("cy"), number("rx"), number("ry")))
    shape = svgelements.Polygon if tag == "polygon" else svgelements.Polyline
    return svgelements.Path(shape(element.get("points", "")))


def _flat(path: svgelements.Path, chord: float) -> tuple[Ring, bool]:
    """A path as straight pieces, y up, and whether it closes."""
    points: list[Point] = []
    closed = False
    for part in path:
        if isinstance(part, svgelements.Move):
            points.append((part.end.x, -part.end.y))
        elif isinstance(part, svgelements.Close):
            closed = True
        elif isinstance(part, svgelements.Line):
            points.append((part.end.x, -part.end.y))
        else:
            steps = max(6, min(160, math.ceil(part.length(error=1e-3) / chord)))
            for step in range(1, steps + 1):
                dot = part.point(step / steps)
                points.append((float(dot.x), -float(dot.y)))
    if any(not (math.isfinite(x) and math.isfinite(y)) for x, y in points):
        raise ValueError("The drawing has a point without a place.")
    clean = [point for i, point in enumerate(points) if i == 0 or math.dist(point, points[i - 1]) > 1e-9]
    if len(clean) > 2 and math.dist(clean[0], clean[-1]) < 1e-6 * (1 + abs(clean[0][0]) + abs(clean[0][1])):
        clean, closed = clean[:-1], True
    return tuple(clean), closed


def _pieces(name: str, lines: list[_Line], *, alone: bool) -> list[RawPiece]:
    """The piece that a group of lines is; lines of no group are a piece each where they close."""
    if not name and (alone or all(line.word not in WORDS for line in lines)):
        outlines = [line for line in lines if len(line.points) > 2]
        if len(outlines) > 1 and not any(line.word in WORDS for line in lines):
            return [
                RawPiece(f"Piece {number}", outline=line.points, is_closed=line.closed)
                for number, line in enumerate(outlines, 1)
            ]
    by_word: dict[str, list[_Line]] = {}
    for line in lines:
        by_word.setdefault(line.word, []).append(line)
    cut = by_word.pop("cut", [])
    rest = by_word.pop("", [])
    if not cut:
        shapes = sorted((line for line in rest if len(line.points) > 2), key=lambda line: -_box(line.points))
        cut = shapes[:1]
        rest = [line for line in rest if line is not (cut[0] if cut else None)]
    else:
        cut = sorted(cut, key=lambda line: -_box(line.points))
        rest = [*cut[1:], *rest]
    grain = max(by_word.pop("grain", []), key=lambda line: _box(line.points), default=None)
    fold = next(iter(by_word.pop("fold", [])), None)
    seam = next(iter(by_word.pop("seam", [])), None)
    marks = {word: tuple(_middle(line) for line in by_word.pop(word, [])) for word in ("notch", "drill")}
    inner = by_word.pop("inner", [])
    return [
        RawPiece(
            name or "Piece 1",
            outline=cut[0].points if cut else (),
            is_closed=cut[0].closed if cut else True,
            seam=seam.points if seam else (),
            grain=(grain.points[0], grain.points[-1]) if grain and len(grain.points) > 1 else None,
            heads=grain.heads if grain else (False, False),
            fold=(fold.points[0], fold.points[-1]) if fold and len(fold.points) > 1 else None,
            notches=marks["notch"],
            drills=marks["drill"],
            inner=tuple(line.points for line in [*inner, *(line for line in rest if not line.closed)]),
            cutouts=tuple(line.points for line in rest if line.closed),
            unknown={word: tuple(line.points for line in found) for word, found in by_word.items()},
        )
    ]


def _middle(line: _Line) -> Point:
    xs, ys = [x for x, _ in line.points], [y for _, y in line.points]
    return sum(xs) / len(xs), sum(ys) / len(ys)


def _box(points: Ring) -> float:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return math.hypot(max(xs) - min(xs), max(ys) - min(ys))


def _tag(element: Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _title(element: Element) -> str:
    """What a person named it: its title, else the label of a layer, else its id."""
    title = next((child.text for child in element if _tag(child) == "title" and child.text), "")
    label = next((value for key, value in element.attrib.items() if key.endswith("}label")), "")
    return " ".join((title or label or element.get("id", "")).split())[:60]


def _word(element: Element) -> str:
    """The word of a line: a class of `WORDS`; else its title where that is one; else its first class."""
    classes = element.get("class", "").lower().split()
    known = next((word for word in classes if word in WORDS), "")
    if known:
        return known
    title = _title(element).lower()
    if title in WORDS:
        return title
    return next((word for word in classes if word not in ("one-way", "two-way")), "")
