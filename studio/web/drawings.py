"""Bodies on pages: which figures stand in which view."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from studio.figures.body import body_figure
from studio.figures.tape import tape_line
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.measuring import BodyMeasure

VIEWS = {"front": "From the front", "back": "From behind", "side": "From the side"}


@dataclass(frozen=True)
class BodyRow:
    """A line of the table beside the figure; ``number`` is the marker's, None where nothing is drawn."""

    number: int | None
    measure: BodyMeasure
    words: str


@dataclass(frozen=True)
class BodyView:
    words: str
    svg: SafeString


def body_rows(body: Mapping[str, BodyMeasure], unit: str) -> list[BodyRow]:
    """The figures in the walk round the body, numbered as they are drawn."""
    rows: list[BodyRow] = []
    number = 0
    for found in body.values():
        known = found.measure
        if known.figure:
            number += 1
        rows.append(BodyRow(number if known.figure else None, found, known.in_words(found.value, unit)))
    return rows


def body_views(rows: list[BodyRow], *, child: bool) -> list[BodyView]:
    """The body from every side on which something was taped."""
    lines: dict[str, list[tuple[int, CatalogueMeasure, str]]] = {view: [] for view in VIEWS}
    for row in rows:
        known = row.measure.measure
        if known.figure and row.number:
            lines[known.figure["view"]].append((row.number, known, row.words))
    return [
        BodyView(words, mark_safe(_svg(view, lines[view], child=child)))  # noqa: S308 - our own drawing, escaped there
        for view, words in VIEWS.items()
        if lines[view]
    ]


def _svg(view: str, lines: list[tuple[int, CatalogueMeasure, str]], *, child: bool) -> str:
    return body_figure(
        view,
        [
            tape_line(
                number,
                known.figure or {},
                body_side=known.side,
                label=known.name,
                value=words,
            )
            for number, known, words in lines
        ],
        build="child" if child else "adult",
    )
