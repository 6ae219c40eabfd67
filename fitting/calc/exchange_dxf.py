"""Pieces out of a DXF in the open exchange form for garment pieces (ASTM D6673, before it the AAMA form).

Every piece is a block; lines are told apart by the number of their layer. Read by the library `ezdxf`.
Layer numbers: ASTM D6673-10 as an open reference restates them (secondary source).
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable
from typing import Any

import ezdxf
from ezdxf import recover
from ezdxf.path import make_path

from fitting.calc.exchange import MOST_BYTES, MOST_POINTS, RawPiece, Reading, joined, reading
from fitting.calc.lay_rules import Point, Ring

CUT, NOTCH, MIRROR, GRAIN, INNER, CUTOUT, DRILL, SEWN = "1", "4", "6", "7", "8", "11", "13", "14"
# Turn and curve points, grade references, stripes and plaids, notes, and the lines that check a conversion.
PASSED_OVER = {"2", "3", "5", "9", "10", "12", "15", "84", "85", "86", "87"}
NOTCHES = {NOTCH, "80", "81", "82", "83"}  # the same mark in its several shapes
UNITS_OF_HEADER = {1: "in", 4: "mm", 5: "cm"}
FLAT = 0.05  # of a drawing's unit that a straight piece may lie off a curve
_SAID = re.compile(r"^\s*([A-Za-z ]+?)\s*:\s*(.*?)\s*$")


def read_dxf(data: bytes) -> Reading:
    """What pieces a DXF holds, with every doubt. Raises ValueError if it is none, or has no piece."""
    if len(data) > MOST_BYTES:
        raise ValueError(f"The file is larger than {MOST_BYTES // 1_000_000} MB; save the pieces alone.")
    if not re.match(rb"\s*(999|0)\s*\r?\n", data[:200]) and not data.startswith(b"AutoCAD Binary DXF"):
        raise ValueError("This is not a DXF file: it does not begin like one.")
    try:
        doc, _ = recover.read(io.BytesIO(data))
    except (OSError, ezdxf.DXFError, ValueError, TypeError, KeyError, IndexError, AttributeError) as exc:
        raise ValueError("This is not a DXF file that can be read; save it again, as ASCII.") from exc
    said = _texts(doc.modelspace())
    pieces = []
    points = 0
    for block in doc.blocks:
        if block.name.startswith("*"):
            continue
        try:
            piece, size = _piece(block, said)
        except (ezdxf.DXFError, ValueError, TypeError, ArithmeticError) as exc:
            raise ValueError(f"The piece {block.name} has a line that can't be read.") from exc
        points += size
        if points > MOST_POINTS:
            raise ValueError(f"The file has more than {MOST_POINTS} points; save the pieces alone.")
        if piece is not None:
            pieces.append(piece)
    if not pieces:
        raise ValueError(
            "The DXF has no garment piece in it: a piece is a block with its boundary on layer 1 (ASTM D6673)."
        )
    return reading(pieces, _unit(doc, said))


def _unit(doc: Any, said: dict[str, str]) -> str:
    words = said.get("units", "").lower()
    if words.startswith("metric"):
        return "mm"
    if words.startswith("english"):
        return "in"
    return UNITS_OF_HEADER.get(int(doc.header.get("$INSUNITS", 0) or 0), "")


def _texts(layout: Iterable[Any]) -> dict[str, str]:
    """The "NAME: value" texts of a block or of the whole style."""
    found: dict[str, str] = {}
    for entity in layout:
        if entity.dxftype() in ("TEXT", "MTEXT"):
            text = entity.dxf.text if entity.dxftype() == "TEXT" else entity.plain_text()
            match = _SAID.match(text)
            if match:
                found.setdefault(match.group(1).lower(), match.group(2))
    return found


def _piece(block: Any, style: dict[str, str]) -> tuple[RawPiece | None, int]:
    lines: dict[str, list[Ring]] = {}
    dots: dict[str, list[Point]] = {}
    for entity in block:
        layer, kind = str(entity.dxf.layer), entity.dxftype()
        if kind == "POINT":
            at = entity.dxf.location
            dots.setdefault(layer, []).append((float(at.x), float(at.y)))
        elif kind == "CIRCLE" and layer in (DRILL, *NOTCHES):
            at = entity.dxf.center
            dots.setdefault(layer, []).append((float(at.x), float(at.y)))
        elif kind in ("LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"):
            path = make_path(entity)
            ring = tuple((float(p.x), float(p.y)) for p in path.flattening(FLAT))
            if len(ring) > 1:
                lines.setdefault(layer, []).append(ring)
    if CUT not in lines:
        return None, 0
    said = _texts(block)
    outline, closed = joined(lines.pop(CUT))
    seam, seam_closed = joined(lines.pop(SEWN, []))
    grain, heads = _grain(lines.pop(GRAIN, []))
    mirror = max(lines.pop(MIRROR, []), key=lambda line: math.dist(line[0], line[-1]), default=None)
    cut, mirrored = _quantity(said.get("quantity", ""))
    name = said.get("piece name") or block.name
    size = said.get("size") or style.get("sample size", "")
    notches = [dot for layer in NOTCHES for dot in dots.get(layer, [])]
    for layer in NOTCHES:
        notches += [_middle(line) for line in lines.pop(layer, [])]
    inner = lines.pop(INNER, [])
    cutouts = lines.pop(CUTOUT, [])
    unknown = {layer: tuple(found) for layer, found in lines.items() if layer not in PASSED_OVER}
    count = sum(len(ring) for found in lines.values() for ring in found) + len(outline) + len(seam)
    return (
        RawPiece(
            name=" ".join(name.split())[:60],
            size=size.strip()[:16],
            outline=outline,
            is_closed=closed,
            seam=seam if seam_closed else (),
            grain=grain,
            heads=heads,
            fold=(mirror[0], mirror[-1]) if mirror else None,
            notches=tuple(notches),
            drills=tuple(dots.get(DRILL, [])),
            inner=tuple(inner),
            cutouts=tuple(cutouts),
            unknown=unknown,
            cut=cut,
            mirrored=mirrored,
        ),
        count,
    )


def _grain(lines: list[Ring]) -> tuple[tuple[Point, Point] | None, tuple[bool, bool]]:
    """The longest line is the grainline; a short one that touches an end of it is an arrow head there."""
    if not lines:
        return None, (False, False)
    longest = max(lines, key=lambda line: math.dist(line[0], line[-1]))
    start, end = longest[0], longest[-1]
    long = math.dist(start, end)
    heads = [False, False]
    for line in lines:
        if line is longest or math.dist(line[0], line[-1]) > long / 2:
            continue
        for place, tip in enumerate((start, end)):
            if min(math.dist(tip, point) for point in line) < long * 0.02:
                heads[place] = True
    return (start, end), (heads[0], heads[1])


def _quantity(text: str) -> tuple[int | None, int | None]:
    """ "2" is two; "1,1" one as drawn and one mirrored; anything else is not known."""
    numbers = [int(part) for part in re.findall(r"\d+", text)]
    if len(numbers) == 1 and 1 <= numbers[0] <= 40:
        return numbers[0], None
    if len(numbers) == 2 and 1 <= sum(numbers) <= 40:
        return sum(numbers), numbers[1]
    return None, None


def _middle(line: Ring) -> Point:
    return sum(x for x, _ in line) / len(line), sum(y for _, y in line) / len(line)
