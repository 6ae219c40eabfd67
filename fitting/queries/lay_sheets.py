"""What the table's sheet of a lay shows, frozen as plain data."""

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from fitting.calc.lay_rules import why_turns
from fitting.calc.outline import outline_data
from fitting.models import LayDrawing, LaySheet
from fitting.queries.lays import LayView, buy_for, lay_view, placements_of, say_long
from fitting.reports.lay import SHAPE
from studio.calc.units import format_length
from studio.platform.errors import Conflict, NotHere
from studio.platform.models import StoredFile, Studio
from studio.platform.rights import Actor, Right

LAY_SHEET_JOB = "lay_sheet"
SHOWN = 12


@dataclass(frozen=True)
class LaySheetLine:
    """One sheet that was asked for, of the drawing with this number; ``ready`` once it can be opened."""

    id: UUID
    job_id: UUID
    number: int
    asked_by: str
    asked_at: datetime
    ready: bool


def lay_snapshot(
    actor: Actor, lay_id: UUID, *, studio: Studio, made_at: datetime, number: int | None = None
) -> tuple[dict[str, Any], int]:
    """The chosen drawing of a lay (or the one with this number) for the printed sheet, and its number.

    Raises NotHere, Conflict where none is chosen yet.
    """
    view = lay_view(actor, lay_id)
    drawing = _drawing(view, number)
    unit = actor.unit
    by_key = {piece.key: piece for piece in view.pieces}
    buy = buy_for(view.lay, drawing, unit)
    counts: dict[str, int] = {}
    for row in drawing.placements:
        counts[row["key"]] = counts.get(row["key"], 0) + 1
    snapshot = {
        "shape": SHAPE,
        "studio": studio.name,
        "studio_colour": studio.colour,
        "made_at": made_at.isoformat(),
        "made_on": f"{made_at.day} {made_at:%B %Y}",
        "name": view.lay.name,
        "cloth": view.lay.cloth.name,
        "way": drawing.get_way_display(),
        "unit": unit,
        "folded": view.lay.folded,
        "width": float(view.lay.width_mm) / (2 if view.lay.folded else 1),
        "length": float(drawing.length_mm),
        "facts": [
            ("Lay length", say_long(drawing.length_mm, unit)),
            ("Usable width", format_length(view.lay.width_mm, unit)),
            ("Laid", "folded in half" if view.lay.folded else "open, one layer"),
            ("Cloth used", f"{drawing.density_percent:.1f} %"),
            ("To buy", say_long(buy.length, unit)),
        ],
        "why": why_turns(view.pieces[0], view.lay.direction),
        "pieces": [
            {
                "key": key,
                "name": by_key[key].name,
                "count": int(by_key[key].count + by_key[key].mirrored),
                "laid": count,
            }
            for key, count in counts.items()
        ],
        "placements": [asdict(one) for one in placements_of(drawing)],
        "outlines": {key: outline_data(view.outlines[key]) for key in counts},
        "lay_pieces": {
            key: {
                "count": int(by_key[key].count),
                "mirrored": int(by_key[key].mirrored),
                "fold": by_key[key].fold,
                "shape": by_key[key].shape,
                "grain_change": by_key[key].grain_change,
                "bias": by_key[key].bias,
            }
            for key in counts
        },
    }
    return snapshot, drawing.number


def lay_sheets_of(actor: Actor, lay_id: UUID) -> list[LaySheetLine]:
    """The sheets of a lay, newest first. One query."""
    actor.need(Right.READ_PAPER)
    rows = LaySheet.objects.filter(lay_id=lay_id).select_related("asked_by").order_by("-id")[:SHOWN]
    return [
        LaySheetLine(row.pk, row.job_id, row.number, row.asked_by.name, row.asked_at, row.file_id is not None)
        for row in rows
    ]


def lay_sheet_file(actor: Actor, lay_id: UUID, sheet_id: UUID) -> StoredFile:
    """The drawn sheet; raises NotHere for one that is no sheet of this lay or not drawn yet."""
    actor.need(Right.READ_PAPER)
    row = LaySheet.objects.filter(pk=sheet_id, lay_id=lay_id).select_related("file").first()
    if row is None or row.file is None:
        raise NotHere("sheet of this lay")
    file: StoredFile = row.file
    return file


def _drawing(view: LayView, number: int | None) -> LayDrawing:
    if number is not None:
        found = next((row for row in view.drawings if row.number == number), None)
        if found is None:
            raise NotHere("drawing of this lay")
        return found
    if view.chosen is None:
        raise Conflict("There is no lay to print yet; wait for the search, or lay the pieces by hand.")
    return view.chosen
