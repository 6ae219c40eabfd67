"""All that a studio keeps about a client, for her to read: a plain dict in, PDF out. Pure."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from studio.reports.pdf import CannotRender, page_of, write_pdf

FOLDER = Path(__file__).resolve().parent / "templates"
SHAPE = 1


def render_about(snapshot: Mapping[str, Any]) -> tuple[bytes, int]:
    """The PDF and how many pages it has, tagged for screen readers. Raises CannotRender.

    ``snapshot``: shape, studio, name, made_at (ISO 8601), made_on (words), sections (each with title, lead, columns,
    rows, nothing, sentences).
    """
    if snapshot.get("shape") != SHAPE:
        raise CannotRender(f"This version can't read a snapshot of shape {snapshot.get('shape')!r}.")
    html = page_of(
        FOLDER / "about.html",
        {**snapshot, "title": f"What {snapshot['studio']} keeps about {snapshot['name']}"},
        author=snapshot["studio"],
        about="Everything that is kept about one client, for her to read",
        made_at=snapshot["made_at"],
    )
    return write_pdf(html, made_at=snapshot["made_at"], snapshot=snapshot)
