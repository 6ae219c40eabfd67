"""The table's sheet of a lay: the strip of cloth to a stated scale, with rulers. Pure: a plain dict in, PDF out."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitting.calc.lay_rules import LayPiece, Placement
from fitting.calc.outline import outline_from
from fitting.figures.lay_strip import RIGHT, Lying, lying, margins, strip_figure
from studio.reports.pdf import CannotRender, as_image, page_of, write_pdf

FOLDER = Path(__file__).resolve().parent / "templates"
SHAPE = 1
# Room for the drawing on A4 across, mm of paper.
ROOM_WIDE, ROOM_HIGH = 269.0, 151.0
BESIDE = 150.0  # a strip that is no wider leaves room for the lists beside it, mm of paper
SCALES = (2, 4, 5, 8, 10, 12, 15, 20, 25, 30, 40)
GAP, LEAST_WIDE = 9.0, 60.0  # between the strip and the lists; for the words under a short strip
TEXT_MM = 3.0  # of paper


@dataclass(frozen=True)
class DrawnSheet:
    pdf: bytes
    pages: int
    scale: int  # one mm of paper is so many of cloth


def render_lay_sheet(snapshot: Mapping[str, Any]) -> DrawnSheet:
    """The sheet of a snapshot (see queries.lay_sheets), tagged for screen readers. Raises CannotRender."""
    scale = scale_for(snapshot["length"], snapshot["width"])
    pdf, pages = write_pdf(
        lay_sheet_html(snapshot, scale), made_at=snapshot["made_at"], snapshot={**snapshot, "scale": scale}
    )
    return DrawnSheet(pdf, pages, scale)


def scale_for(length: float, width: float) -> int:
    """The largest drawing whose width fits on the page and whose length on at most three."""
    for scale in SCALES:
        text = TEXT_MM * scale
        left, low = margins(text)
        if (width + low) / scale <= ROOM_HIGH and length <= 3 * (ROOM_WIDE * scale - left - RIGHT * text):
            return scale
    raise CannotRender("This lay is too large for the printed sheet; part it into two.")


def lay_sheet_html(snapshot: Mapping[str, Any], scale: int) -> str:
    """The sheet's HTML with everything that it needs inside. Raises CannotRender."""
    if snapshot.get("shape") != SHAPE:
        raise CannotRender(f"This version can't read a snapshot of shape {snapshot.get('shape')!r}.")
    strips = _strips(snapshot, scale)
    wide = max(LEAST_WIDE, float(strips[0]["wide"]))
    title = f"Lay: {snapshot['name']}"
    context = {
        **snapshot,
        "title": title,
        "scale": scale,
        "check_cloth": "12 inches" if snapshot["unit"] == "in" else "50 cm",
        "check_paper": f"{(304.8 if snapshot['unit'] == 'in' else 500) / scale:.1f}".removesuffix(".0"),
        "strips": strips,
        "beside": len(strips) == 1 and wide <= BESIDE,
        "strip_wide": f"{wide:.2f}",
        "after_wide": f"{ROOM_WIDE - GAP - wide:.2f}",
    }
    return page_of(
        FOLDER / "lay.html", context, author=snapshot["studio"], about=title, made_at=snapshot["made_at"]
    )


def _strips(snapshot: Mapping[str, Any], scale: int) -> list[dict[str, Any]]:
    """The strip in parts that fit on a page, each drawn so that a mm of paper is `scale` mm of cloth."""
    text = TEXT_MM * scale
    left, low = margins(text)
    room = ROOM_WIDE * scale - left - RIGHT * text
    length, width = float(snapshot["length"]), float(snapshot["width"])
    parts = max(1, math.ceil(length / room))
    pieces = _lying(snapshot)
    strips = []
    for part in range(parts):
        start, end = part * room, min(length, (part + 1) * room)
        where = f"Part {part + 1} of {parts}" if parts > 1 else "The whole lay"
        svg = strip_figure(
            pieces,
            length=length,
            width=width,
            unit=snapshot["unit"],
            folded=snapshot["folded"],
            title=f"Lay, {where.lower()}",
            description="Where every piece lies on the cloth, to scale.",
            text_mm=text,
            start=start,
            end=end,
        )
        strips.append(
            {
                **as_image(svg, f"{where}: {len(pieces)} pieces on the cloth, drawn to scale."),
                "wide": f"{(end - start + left + RIGHT * text) / scale:.3f}",
                "high": f"{(width + low) / scale:.3f}",
                "where": where,
            }
        )
    return strips


def _lying(snapshot: Mapping[str, Any]) -> list[Lying]:
    names = {row["key"]: row["name"] for row in snapshot["pieces"]}
    found = []
    for place, row in enumerate(snapshot["placements"]):
        facts = snapshot["lay_pieces"][row["key"]]
        fold = facts["fold"]
        piece = LayPiece(
            key=row["key"],
            name=names[row["key"]],
            shape=tuple((x, y) for x, y in facts["shape"]),
            count=facts["count"],
            mirrored=facts["mirrored"],
            grain_change=facts["grain_change"],
            bias=facts["bias"],
            fold=((fold[0][0], fold[0][1]), (fold[1][0], fold[1][1])) if fold else None,
        )
        outline = outline_from(snapshot["outlines"][row["key"]])
        found.append(lying(place, piece, outline, Placement(**row), folded=snapshot["folded"]))
    return found
