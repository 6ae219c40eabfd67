"""The blank class sheet: what to tape, numbered on the body, and lines to write it on. Pure: a plain dict in, PDF out.

The first page tells how each measure is taken; then comes a page for each student, or one table for the class.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from typing import Any

from studio.figures.body import body_figure
from studio.figures.tape import tape_line
from studio.reports.pdf import CannotRender, Progress, as_image, page_of, write_pdf

FOLDER = Path(__file__).resolve().parent / "templates"
LAYOUTS = {"pages": "a page for each student", "table": "one table for the class"}
VIEWS = {"front": "From the front", "back": "From behind", "side": "From the side"}
SHAPE = 1  # counts the shapes that a snapshot has had
MOST_IN_TABLE = 12  # columns to write in, beyond which a cell is too narrow for a pencil


@dataclass(frozen=True)
class Sheet:
    pdf: bytes
    pages: int


def render_sheet(snapshot: Mapping[str, Any], progress: Progress | None = None) -> Sheet:
    """The sheet of a snapshot (see services.sheets), tagged for screen readers. Raises CannotRender."""
    tell = progress or (lambda percent, words: None)
    tell(5, "Drawing the figures")
    html = sheet_html(snapshot)
    tell(30, "Laying out the pages")
    pdf, pages = write_pdf(html, made_at=snapshot["made_at"], snapshot=snapshot, progress=progress)
    return Sheet(pdf, pages)


def sheet_html(snapshot: Mapping[str, Any]) -> str:
    """The sheet's HTML with everything that it needs inside. Raises CannotRender."""
    if snapshot.get("shape") != SHAPE:
        raise CannotRender(f"This version can't read a snapshot of shape {snapshot.get('shape')!r}.")
    if snapshot["layout"] not in LAYOUTS:
        raise CannotRender(
            f"There is no layout {snapshot['layout']!r}; allowed are {', '.join(sorted(LAYOUTS))}."
        )
    measures = [{**row, "number": number} for number, row in enumerate(snapshot["measures"], start=1)]
    figures = {build: _figures(measures, build) for build in ("adult", "child")}
    context = {
        **snapshot,
        "title": f"Class sheet: {snapshot['course']}",
        "measures": measures,
        "pairs": _pairs(measures),
        "parts": [
            measures[start : start + MOST_IN_TABLE] for start in range(0, len(measures), MOST_IN_TABLE)
        ],
        "figures": figures["adult" if any(not row["minor"] for row in snapshot["students"]) else "child"],
        "students": [
            {**row, "figures": figures["child" if row["minor"] else "adult"]} for row in snapshot["students"]
        ],
        "minors": [row for row in snapshot["students"] if row["minor"]],
        "without_consent": [row for row in snapshot["students"] if not row["consent"]],
    }
    return page_of(
        FOLDER / "sheet.html",
        context,
        author=snapshot["studio"],
        about=f"Blank sheet to write body measurements on, {snapshot['course']}",
        made_at=snapshot["made_at"],
    )


def _figures(measures: Sequence[Mapping[str, Any]], build: str) -> list[dict[str, str]]:
    """The body from every side on which something is taped, with the measures' numbers."""
    found: list[dict[str, str]] = []
    for view, words in VIEWS.items():
        mine = [row for row in measures if row["figure"] and row["figure"]["view"] == view]
        if not mine:
            continue
        lines = [
            tape_line(row["number"], row["figure"], body_side=row["side"], label=row["name"]) for row in mine
        ]
        said = "; ".join(f"{row['number']} {row['name']}" for row in mine)
        svg = body_figure(view, lines, build=build, labels=False, marker=1.35)
        found.append(
            {**as_image(svg, f"Body {words.lower()}, with numbered tape lines: {said}."), "words": words}
        )
    return found


def _pairs(measures: Sequence[Mapping[str, Any]]) -> list[tuple[Mapping[str, Any], Mapping[str, Any] | None]]:
    """The measures in two columns that are read downwards: the first beside the first of the second half."""
    half = (len(measures) + 1) // 2
    return list(zip_longest(measures[:half], measures[half:]))
