"""The sample sheet: a place for every swatch at its true size, the settings in words, the way back by code. Pure.

A plain dict in (see services.sample_sheets), PDF out, tagged for screen readers.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from studio.reports.pdf import CannotRender, Progress, as_image, page_of, write_pdf

FOLDER = Path(__file__).resolve().parent / "templates"
SHAPE = 1  # counts the shapes that a snapshot has had
BOX_MM = (100, 50)  # a sample of ten by five centimetres, pinned at its true size
QUIET_MODULES = 4  # the empty border that ISO/IEC 18004 asks for round a code


@dataclass(frozen=True)
class SampleSheet:
    pdf: bytes
    pages: int


def render_sample_sheet(snapshot: Mapping[str, Any], progress: Progress | None = None) -> SampleSheet:
    """The sheet of a snapshot. Raises CannotRender."""
    tell = progress or (lambda percent, words: None)
    tell(5, "Drawing the codes")
    html = sample_sheet_html(snapshot)
    tell(30, "Laying out the pages")
    pdf, pages = write_pdf(html, made_at=snapshot["made_at"], snapshot=snapshot, progress=progress)
    return SampleSheet(pdf, pages)


def sample_sheet_html(snapshot: Mapping[str, Any]) -> str:
    """The sheet's HTML with everything that it needs inside. Raises CannotRender."""
    if snapshot.get("shape") != SHAPE:
        raise CannotRender(f"This version can't read a snapshot of shape {snapshot.get('shape')!r}.")
    context = {
        **snapshot,
        "samples": [
            {
                **sample,
                "number": number,
                "code": code_image(sample["address"], sample["title"]),
                # In two lines broken where nobody takes the break for a hyphen.
                "short_lines": _two_lines(sample["short"]),
            }
            for number, sample in enumerate(snapshot["samples"], 1)
        ],
        "fact_pairs": [snapshot["facts"][at : at + 2] for at in range(0, len(snapshot["facts"]), 2)],
        "box_width": BOX_MM[0],
        "box_height": BOX_MM[1],
    }
    return page_of(
        FOLDER / "sample_sheet.html",
        context,
        author=snapshot["studio"],
        about="Sheet to pin seam samples to",
        made_at=snapshot["made_at"],
    )


def code_of(address: str) -> Any:
    """The QR code of an address; error correction M: a sheet at the machine gets creased and oily."""
    import segno

    return segno.make(address, error="m", micro=False)


def code_image(address: str, title: str) -> dict[str, str]:
    """The code as an image with words beside it."""
    code = code_of(address)
    size = code.symbol_size(border=QUIET_MODULES)[0]
    path = "".join(
        f"M{x + QUIET_MODULES} {y + QUIET_MODULES}h1v1h-1z"
        for y, row in enumerate(code.matrix)
        for x, dark in enumerate(row)
        if dark
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" shape-rendering="crispEdges">'
        f'<rect width="{size}" height="{size}" fill="#ffffff"/><path d="{path}" fill="#000000"/></svg>'
    )
    return as_image(svg, f"Code that opens {title} on this sheet: {address}")


def _two_lines(short: str) -> list[str]:
    host, slash, path = short.partition("/")
    return [part for part in (host + slash, path) if part]
