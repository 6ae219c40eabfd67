"""The cutting table's sheet: one page to tick off beside the paper. Pure: a plain dict in, PDF out."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitting.figures.plan import alteration_places
from studio.reports.pdf import CannotRender, Progress, as_image, page_of, write_pdf

FOLDER = Path(__file__).resolve().parent / "templates"
SHAPE = 1
# How tightly a page is set, from roomy to dense; the first that fits on one page is taken.
DENSITIES = ("roomy", "close", "dense", "bare")


@dataclass(frozen=True)
class Sheet:
    pdf: bytes
    pages: int


def render_sheet(snapshot: Mapping[str, Any], progress: Progress | None = None) -> Sheet:
    """The sheet of a snapshot (see queries.cutting_sheets), tagged for screen readers. Raises CannotRender.

    It is one page unless even the densest setting is too long for one.
    """
    tell = progress or (lambda percent, words: None)
    tell(5, "Drawing the alterations")
    sheet = Sheet(b"", 0)
    count = len(snapshot["alterations"])
    start = 0 if count <= 3 else 1 if count <= 5 else 2  # what is surely too long is not tried
    for place, density in enumerate(DENSITIES[start:]):
        html = sheet_html(snapshot, density)
        tell(20 + 15 * place, "Laying out the page")
        pdf, pages = write_pdf(html, made_at=snapshot["made_at"], snapshot=snapshot)
        sheet = Sheet(pdf, pages)
        if pages == 1:
            break
    tell(95, "Writing the PDF")
    return sheet


def sheet_html(snapshot: Mapping[str, Any], density: str = DENSITIES[0]) -> str:
    """The sheet's HTML with everything that it needs inside. Raises CannotRender."""
    if snapshot.get("shape") != SHAPE:
        raise CannotRender(f"This version can't read a snapshot of shape {snapshot.get('shape')!r}.")
    places = alteration_places(snapshot)
    title = f"Cutting table: {snapshot['pattern']} for {snapshot['client']}"
    context = {
        **snapshot,
        "title": title,
        "density": density,
        "rows": [
            {**row, "picture": as_image(*places[row["number"]]) if row["number"] in places else None}
            for row in snapshot["alterations"]
        ],
    }
    return page_of(
        FOLDER / "cutting.html",
        context,
        author=snapshot["studio"],
        about=f"{title}, fit plan {snapshot['plan']}",
        made_at=snapshot["made_at"],
    )
