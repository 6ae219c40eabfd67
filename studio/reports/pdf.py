"""What every printed document shares: one frame, fonts, a colour, and a renderer that reaches nothing outside.

The same HTML of the same day, rendered by the same renderer and fonts, gives the same bytes: every date comes from the
document's own (``SOURCE_DATE_EPOCH`` holds for the fonts' date stamps), and its identifier is its content's hash. The
fonts come with the program (see studio.reports.fonts), so that a machine without any makes the same document.
"""

import base64
import hashlib
import json
import os
import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from functools import lru_cache
from importlib.metadata import version as installed_version
from pathlib import Path
from typing import Any

from django.template import Context, Engine
from django.utils.safestring import mark_safe

from studio.figures import palette
from studio.reports import fonts

FRAME = Path(__file__).resolve().parent / "templates"
Progress = Callable[[int, str], None]


class CannotRender(Exception):
    """The snapshot can't become a document; the message says why."""


def write_pdf(
    html: str, *, made_at: str, snapshot: Mapping[str, Any], progress: Progress | None = None
) -> tuple[bytes, int]:
    """The PDF of a page of HTML, tagged for screen readers (PDF/UA), and how many pages it has.

    ``made_at`` (ISO 8601) is the only date that the file knows; ``snapshot`` is what the page was made from, and its
    ``studio_colour`` (#rrggbb), if it has one, is the studio's own for everything that marks. Raises CannotRender
    where the page asks for anything but our fonts and what stands inside it.
    """
    from weasyprint import CSS, HTML
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import FatalURLFetchingError

    accent = str(snapshot.get("studio_colour") or palette.THREAD)
    dressed = fonts.dress(_in_colour(html, accent))
    with _source_date(made_at):
        try:
            fetcher, found = only_our_own(), FontConfiguration()
            ours = f"{dressed.faces}\n:root {{ --accent: {accent}; }}"
            look = CSS(string=ours, font_config=found, url_fetcher=fetcher)
            document = HTML(string=dressed.html, url_fetcher=fetcher, base_url="about:blank").render(
                font_config=found, stylesheets=[look], pdf_variant="pdf/ua-1"
            )
            if progress:
                progress(80, "Writing the PDF")
            pdf = document.write_pdf(pdf_variant="pdf/ua-1", pdf_identifier=_identifier(snapshot))
        except FatalURLFetchingError as exc:  # a BaseException: left alone, it would take the worker down
            raise CannotRender(f"The report asked for something outside itself: {exc}") from exc
    assert pdf is not None
    return pdf, len(document.pages)


def page_of(
    template: Path,
    context: Mapping[str, Any],
    *,
    author: str,
    about: str,
    made_at: str,
    tags: tuple[str, ...] = (),
) -> str:
    """The HTML of a document: a template that extends ``paper.html``, with the style sheet of the same name beside it.

    ``author`` (the studio), ``about`` (one sentence) and ``made_at`` (ISO 8601) become the file's own description.
    ``tags`` are modules of template tags that the template uses without loading them.
    """
    style = template.with_suffix(".css").read_text(encoding="utf-8")
    values = {
        **context,
        "author": author,
        "about": about,
        "made_at": made_at,
        "style": mark_safe(style),  # noqa: S308 - our own file, no value of the snapshot is in it
    }
    return _engine(template.parent, tags).get_template(template.name).render(Context(values))


def made_with() -> dict[str, str]:
    """The renderer and the fonts by version: the same versions make the same bytes of the same snapshot."""
    return {"renderer": f"WeasyPrint {installed_version('weasyprint')}", "fonts": fonts.fonts_words()}


def as_image(svg: str, says: str) -> dict[str, str]:
    """A drawing as an image with a text beside it; its words are set in the report's own font."""
    svg = svg.replace(f'font-family="{palette.FONT}"', 'font-family="Report Sans"')
    return {
        "src": _address_of(svg),
        "says": says,
    }


def only_our_own() -> Any:
    """Fetches our own fonts and data: addresses; anything else ends the rendering."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    known = fonts.font_files()

    class OnlyOurOwn(URLFetcher):
        def fetch(self, url: str, headers: Any = None) -> Any:
            scheme, _, rest = url.partition(":")
            if scheme == fonts.SCHEME and rest in known:
                return URLFetcherResponse(url, known[rest].read_bytes(), {"Content-Type": "font/ttf"})
            if scheme == "data":
                return super().fetch(url, headers)
            raise ValueError(f"{url[:80]} is neither a font of the report nor inside it.")

    return OnlyOurOwn(allowed_protocols=("data",), allow_redirects=False, fail_on_errors=True)


@lru_cache(maxsize=8)
def _engine(folder: Path, tags: tuple[str, ...]) -> Engine:
    return Engine(dirs=[str(folder), str(FRAME)], autoescape=True, builtins=list(tags))


def _in_colour(html: str, accent: str) -> str:
    """The drawings' basting thread in the studio's colour, so that a mark and its words agree."""
    if accent == palette.THREAD:
        return html

    def recoloured(found: "re.Match[str]") -> str:
        svg = base64.b64decode(found[1]).decode("utf-8", "replace").replace(palette.THREAD, accent)
        return _address_of(svg)

    return fonts.DRAWING.sub(recoloured, html)


def _address_of(svg: str) -> str:
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode("ascii")


def _identifier(snapshot: Mapping[str, Any]) -> bytes:
    text = json.dumps(snapshot, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:32].encode()


@contextmanager
def _source_date(made_at: str) -> Iterator[None]:
    """Date stamps inside the embedded fonts come from the document's own date."""
    before = os.environ.get("SOURCE_DATE_EPOCH")
    os.environ["SOURCE_DATE_EPOCH"] = str(int(datetime.fromisoformat(made_at).timestamp()))
    try:
        yield
    finally:
        if before is None:
            del os.environ["SOURCE_DATE_EPOCH"]
        else:
            os.environ["SOURCE_DATE_EPOCH"] = before
