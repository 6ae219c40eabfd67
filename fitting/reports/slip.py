"""Claim slip and work ticket: a page for the client, a page for the bench. Pure: a plain dict in, PDF out."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from studio.reports.pdf import CannotRender, Progress, as_image, made_with, page_of, write_pdf

FOLDER = Path(__file__).resolve().parent / "templates"
SHAPE = 1
PARTS = 2  # the client's page and the bench's
# How tightly the pages are set; the first that needs one page each is taken.
DENSITIES = ("roomy", "close")
QUIET_MODULES = 4  # the empty border that ISO/IEC 18004 asks for round a code


@dataclass(frozen=True)
class Slip:
    """The finished PDF, how many pages it has, and what made it."""

    pdf: bytes
    pages: int
    rendered_with: dict[str, str]


def render_slip(snapshot: Mapping[str, Any], progress: Progress | None = None) -> Slip:
    """The PDF of a snapshot (see queries.ticket_slips), tagged for screen readers. Raises CannotRender."""
    tell = progress or (lambda percent, words: None)
    tell(10, "Drawing the code")
    pdf, pages = b"", 0
    for place, density in enumerate(DENSITIES):
        html = slip_html(snapshot, density)
        tell(30 + 30 * place, "Laying out the pages")
        pdf, pages = write_pdf(html, made_at=snapshot["made_at"], snapshot=snapshot)
        if pages == PARTS:
            break
    tell(95, "Writing the PDF")
    return Slip(pdf, pages, made_with())


def slip_html(snapshot: Mapping[str, Any], density: str = DENSITIES[0]) -> str:
    """The slip's HTML with everything that it needs inside. Raises CannotRender."""
    if snapshot.get("shape") != SHAPE:
        raise CannotRender(f"This version can't read a snapshot of shape {snapshot.get('shape')!r}.")
    title = f"Ticket {snapshot['number']}"
    context = {
        **snapshot,
        "density": density,
        "title": title,
        "image": code_image(snapshot["code"], snapshot["number"]),
    }
    return page_of(
        FOLDER / "slip.html",
        context,
        author=snapshot["studio"],
        about=f"{title}: claim slip and work ticket",
        made_at=snapshot["made_at"],
    )


def code_image(code: str, number: str) -> dict[str, str]:
    """The code as an image; error correction M: a slip is folded and carried in a purse."""
    import segno

    made = segno.make(code, error="m", micro=False)
    size = made.symbol_size(border=QUIET_MODULES)[0]
    path = "".join(
        f"M{x + QUIET_MODULES} {y + QUIET_MODULES}h1v1h-1z"
        for y, row in enumerate(made.matrix)
        for x, dark in enumerate(row)
        if dark
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" shape-rendering="crispEdges">'
        f'<rect width="{size}" height="{size}" fill="#ffffff"/><path d="{path}" fill="#000000"/></svg>'
    )
    return as_image(svg, f"Code that opens ticket {number} for the studio's staff")
