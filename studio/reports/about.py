"""All that a studio keeps about a client, for her to read: a plain dict in, PDF out. Pure."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.template import Context, Engine
from django.utils.safestring import mark_safe

from studio.reports.pdf import CannotRender, look, write_pdf

FOLDER = Path(__file__).resolve().parent / "templates"
SHAPE = 1


def render_about(snapshot: Mapping[str, Any]) -> tuple[bytes, int]:
    """The PDF and how many pages it has, tagged for screen readers. Raises CannotRender.

    ``snapshot``: shape, studio, name, made_at (ISO 8601), made_on (words), sections (each with title, lead, columns,
    rows, nothing, sentences).
    """
    if snapshot.get("shape") != SHAPE:
        raise CannotRender(f"This version can't read a snapshot of shape {snapshot.get('shape')!r}.")
    engine = Engine(dirs=[str(FOLDER)], autoescape=True)
    style = (FOLDER / "about.css").read_text(encoding="utf-8")
    context = Context({**snapshot, **look(), "style": mark_safe(style)})  # noqa: S308 - our own file
    html = engine.get_template("about.html").render(context)
    return write_pdf(html, made_at=snapshot["made_at"], snapshot=snapshot)
