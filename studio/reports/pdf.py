"""What every printed document of the house shares: fonts, pictures, and a renderer that reaches nothing outside.

The same HTML of the same day, rendered by the same renderer and fonts, gives the same bytes: every date comes from the
document's own (``SOURCE_DATE_EPOCH`` holds for the fonts' date stamps), and its identifier is its content's hash. The
fonts are those that come with matplotlib, so that a machine without any fonts makes the same document.
"""

import base64
import hashlib
import json
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from studio.figures import palette

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


def write_pdf(
    html: str, *, made_at: str, snapshot: Mapping[str, Any], progress: Progress | None = None
) -> tuple[bytes, int]:
    """The PDF of a page of HTML, tagged for screen readers (PDF/UA), and how many pages it has.

    ``made_at`` (ISO 8601) is the only date that the file knows; ``snapshot`` is what the page was made from. Raises
    CannotRender where the page asks for anything but our fonts and what stands inside it.
    """
    from weasyprint import HTML
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import FatalURLFetchingError

    with _source_date(made_at):
        try:
            document = HTML(string=html, url_fetcher=only_our_own(), base_url="about:blank").render(
                font_config=FontConfiguration(), pdf_variant="pdf/ua-1"
            )
            if progress:
                progress(80, "Writing the PDF")
            pdf = document.write_pdf(pdf_variant="pdf/ua-1", pdf_identifier=_identifier(snapshot))
        except FatalURLFetchingError as exc:  # a BaseException: left alone, it would take the worker down
            raise CannotRender(f"The report asked for something outside itself: {exc}") from exc
    assert pdf is not None
    return pdf, len(document.pages)


def look() -> dict[str, Any]:
    """Fonts and colours for a document's template."""
    return {
        "fonts": [
            {"family": family, "weight": weight, "style": style, "file": file}
            for (family, weight, style), file in FONTS.items()
        ],
        "font_scheme": FONT_SCHEME,
        "palette": {name: value for name, value in vars(palette).items() if name.isupper()},
    }


def as_image(svg: str, says: str) -> dict[str, str]:
    """A drawing as an image with a text beside it; its words are set in the report's own font."""
    svg = svg.replace(f'font-family="{palette.FONT}"', 'font-family="Report Sans"')
    return {
        "src": "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode("ascii"),
        "says": says,
    }


def only_our_own() -> Any:
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
