"""From a frozen snapshot to HTML to PDF: pure, without a database and without the network.

The same snapshot rendered by the same renderer and fonts gives the same bytes: every date comes from the snapshot
(``SOURCE_DATE_EPOCH`` holds for the fonts' own date stamps), and the document's identifier is its content's hash. The
fonts are those that come with matplotlib, so that a machine without any fonts makes the same document.
"""

import base64
import hashlib
import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.template import Context, Engine
from django.utils.safestring import mark_safe

from fitting.reports.pictures import Picture, pictures
from fitting.reports.snapshot import SHAPE, made_with
from studio.figures import palette

FOLDER = Path(__file__).resolve().parent / "templates"
FONT_SCHEME = "report-font"
FONTS = {
    ("Report Sans", "normal", "normal"): "DejaVuSans.ttf",
    ("Report Sans", "bold", "normal"): "DejaVuSans-Bold.ttf",
    ("Report Sans", "normal", "italic"): "DejaVuSans-Oblique.ttf",
    ("Report Serif", "normal", "normal"): "DejaVuSerif.ttf",
}
Progress = Callable[[int, str], None]


class CannotRender(Exception):
    """The snapshot can't become a document; the message says why."""


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
    from weasyprint import HTML
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import FatalURLFetchingError

    fetcher = _fetcher()
    with _source_date(snapshot):
        try:
            document = HTML(string=html, url_fetcher=fetcher, base_url="about:blank").render(
                font_config=FontConfiguration(), pdf_variant="pdf/ua-1"
            )
            tell(80, "Writing the PDF")
            pdf = document.write_pdf(pdf_variant="pdf/ua-1", pdf_identifier=_identifier(snapshot))
        except FatalURLFetchingError as exc:  # a BaseException: left alone, it would take the worker down
            raise CannotRender(f"The report asked for something outside itself: {exc}") from exc
    assert pdf is not None
    return Rendered(pdf, len(document.pages), made_with())


def render_html(snapshot: Mapping[str, Any]) -> str:
    """The report's HTML with everything that it needs inside (figures) or by our own scheme (fonts)."""
    if snapshot.get("shape") != SHAPE:
        raise CannotRender(f"This version can't read a snapshot of shape {snapshot.get('shape')!r}.")
    drawn = pictures(snapshot)
    context = Context(
        {
            **snapshot,
            "title": f"Fit summary: {snapshot['garment']['words']}",
            "fonts": [
                {"family": family, "weight": weight, "style": style, "file": file}
                for (family, weight, style), file in FONTS.items()
            ],
            "font_scheme": FONT_SCHEME,
            "palette": {name: value for name, value in vars(palette).items() if name.isupper()},
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
    """A drawing as an image with a text beside it; its words are set in the report's own font."""
    svg = picture.svg.replace(f'font-family="{palette.FONT}"', 'font-family="Report Sans"')
    return {
        "src": "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode("ascii"),
        "says": picture.says,
    }


def _fetcher() -> Any:
    """Fetches our own fonts and data: addresses; anything else ends the rendering."""
    import matplotlib
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    known = frozenset(FONTS.values())

    class OnlyOurOwn(URLFetcher):
        def fetch(self, url: str, headers: Any = None) -> Any:
            scheme, _, rest = url.partition(":")
            if scheme == FONT_SCHEME and rest in known:
                return URLFetcherResponse(url, (fonts / rest).read_bytes(), {"Content-Type": "font/ttf"})
            if scheme == "data":
                return super().fetch(url, headers)
            raise ValueError(f"{url[:80]} is neither a font of the report nor inside it.")

    return OnlyOurOwn(allowed_protocols=("data",), allow_redirects=False, fail_on_errors=True)


def _identifier(snapshot: Mapping[str, Any]) -> bytes:
    text = json.dumps(snapshot, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:32].encode()


@contextmanager
def _source_date(snapshot: Mapping[str, Any]) -> Iterator[None]:
    """Date stamps inside the embedded fonts come from the report's own date."""
    before = os.environ.get("SOURCE_DATE_EPOCH")
    os.environ["SOURCE_DATE_EPOCH"] = str(
        int(datetime.fromisoformat(snapshot["report"]["issued_at"]).timestamp())
    )
    try:
        yield
    finally:
        if before is None:
            del os.environ["SOURCE_DATE_EPOCH"]
        else:
            os.environ["SOURCE_DATE_EPOCH"] = before
