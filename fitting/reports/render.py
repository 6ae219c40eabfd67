"""From a frozen snapshot to HTML to PDF: pure, without a database and without the network.

The same snapshot rendered by the same renderer and fonts gives the same bytes (see studio.reports.pdf).
"""

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from fitting.reports.pictures import Picture, pictures
from fitting.reports.snapshot import newest
from fitting.reports.voice import Voice
from studio.reports.pdf import CannotRender, Progress, as_image, made_with, page_of, write_pdf

__all__ = ["CannotRender", "Rendered", "render_html", "render_pdf"]

FOLDER = Path(__file__).resolve().parent / "templates"
TAGS = ("fitting.templatetags.report_words",)


@dataclass(frozen=True)
class Rendered:
    """The finished PDF, how many pages it has, and what made it."""

    pdf: bytes
    pages: int
    rendered_with: dict[str, str]


def render_pdf(
    snapshot: Mapping[str, Any],
    progress: Progress | None = None,
    *,
    photos: Mapping[str, bytes] = MappingProxyType({}),
) -> Rendered:
    """The PDF of a snapshot, tagged for screen readers (PDF/UA); ``photos`` are the bytes of its photographs (JPEG) by
    file. Raises CannotRender.
    """
    tell = progress or (lambda percent, words: None)
    tell(5, "Drawing the figures")
    html = render_html(snapshot, photos=photos)
    tell(20, "Laying out the pages")
    pdf, pages = write_pdf(
        html, made_at=snapshot["report"]["issued_at"], snapshot=snapshot, progress=progress
    )
    return Rendered(pdf, pages, made_with())


def render_html(snapshot: Mapping[str, Any], *, photos: Mapping[str, bytes] = MappingProxyType({})) -> str:
    """The report's HTML with everything that it needs inside (figures) or by our own scheme (fonts)."""
    try:
        snapshot = newest(snapshot)
        voice = Voice(snapshot["language"], snapshot["client"]["unit"])
        drawn = pictures(snapshot, voice)
    except ValueError as exc:
        raise CannotRender(str(exc)) from exc
    words = snapshot["garment"]["words"]
    context = {
        **snapshot,
        "voice": voice,
        "title": voice("Fit summary: {garment}", garment=words),
        "measure_columns": _columns(snapshot["measures"], drawn.numbers, 2 if len(drawn.body) > 1 else 1),
        "body_pictures": [_as_image(picture) for picture in drawn.body],
        "zone_picture": _as_image(drawn.zones) if drawn.zones else None,
        "paper_picture": _as_image(drawn.paper) if drawn.paper else None,
        "undrawn": drawn.undrawn,
        "photos": photo_images(snapshot, photos),
    }
    return page_of(
        FOLDER / "report.html",
        context,
        author=snapshot["studio"]["name"],
        about=voice(
            "Fit summary {number} for {name}",
            number=snapshot["report"]["number"],
            name=snapshot["client"]["name"],
        ),
        made_at=snapshot["report"]["issued_at"],
        tags=TAGS,
    )


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


def photo_images(snapshot: Mapping[str, Any], photos: Mapping[str, bytes]) -> list[dict[str, str]]:
    """The photographs of a snapshot whose bytes are at hand: a data: address and what each shows.

    Bytes that are not those of the snapshot are not shown.
    """
    found = []
    for row in snapshot["photos"]:
        content = photos.get(row["file"])
        if content is not None and hashlib.sha256(content).hexdigest() == row["sha256"]:
            src = "data:image/jpeg;base64," + base64.b64encode(content).decode("ascii")
            found.append({"src": src, "says": row["caption"]})
    return found


def _as_image(picture: Picture) -> dict[str, str]:
    return as_image(picture.svg, picture.says)
