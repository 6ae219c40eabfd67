"""From a frozen snapshot to HTML to PDF: pure, without a database and without the network.

The same snapshot rendered by the same renderer and fonts gives the same bytes (see studio.reports.pdf).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.template import Context, Engine
from django.utils.safestring import mark_safe

from fitting.reports.pictures import Picture, pictures
from fitting.reports.snapshot import SHAPE
from studio.reports.pdf import CannotRender, Progress, as_image, look, made_with, write_pdf

__all__ = ["CannotRender", "Rendered", "render_html", "render_pdf"]

FOLDER = Path(__file__).resolve().parent / "templates"


@dataclass(frozen=True)
class Rendered:
    """The finished PDF, how many pages it has, and what made it."""

    pdf: bytes
    pages: int
    rendered_with: dict[str, str]


def render_pdf(snapshot: Mapping[str, Any], progress: Progress | None = None) -> Rendered:
    """The PDF of a snapshot, tagged for screen readers (PDF/UA). Raises CannotRender."""
    tell = progress or (lambda percent, words: None)
    tell(5, "Drawing the figures")
    html = render_html(snapshot)
    tell(20, "Laying out the pages")
    pdf, pages = write_pdf(
        html, made_at=snapshot["report"]["issued_at"], snapshot=snapshot, progress=progress
    )
    return Rendered(pdf, pages, made_with())


def render_html(snapshot: Mapping[str, Any]) -> str:
    """The report's HTML with everything that it needs inside (figures) or by our own scheme (fonts)."""
    if snapshot.get("shape") != SHAPE:
        raise CannotRender(f"This version can't read a snapshot of shape {snapshot.get('shape')!r}.")
    drawn = pictures(snapshot)
    context = Context(
        {
            **snapshot,
            "title": f"Fit summary: {snapshot['garment']['words']}",
            **look(),
            "measure_columns": _columns(snapshot["measures"], drawn.numbers, 2 if len(drawn.body) > 1 else 1),
            "body_pictures": [_as_image(picture) for picture in drawn.body],
            "zone_picture": _as_image(drawn.zones) if drawn.zones else None,
            "paper_picture": _as_image(drawn.paper) if drawn.paper else None,
            "undrawn": drawn.undrawn,
            "style": mark_safe(  # noqa: S308 - our own file, no value of the snapshot is in it
                (FOLDER / "report.css").read_text(encoding="utf-8")
            ),
        }
    )
    return _engine().get_template("report.html").render(context)


def _columns(
    rows: Sequence[Mapping[str, Any]], numbers: Mapping[str, int], count: int
) -> list[list[dict[str, Any]]]:
    """The measures in the order of their tape lines, those without one last, in equal columns."""
    ordered = sorted(
        ({**row, "number": numbers.get(row["code"], "")} for row in rows),
        key=lambda row: row["number"] or len(rows) + 1,
    )
    height = -(-len(ordered) // count) or 1
    return [ordered[start : start + height] for start in range(0, len(ordered), height)]


@lru_cache(maxsize=1)
def _engine() -> Engine:
    return Engine(dirs=[str(FOLDER)], autoescape=True)


def _as_image(picture: Picture) -> dict[str, str]:
    return as_image(picture.svg, picture.says)
