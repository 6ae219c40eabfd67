"""Bodies on pages: which figures stand in which view."""

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from studio.figures.body import body_figure
from studio.figures.tape import tape_line
from studio.queries.catalogue import catalogue
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
    for code, found in body.items():
        known = catalogue().measures[code]
        if known.figure:
            number += 1
        rows.append(BodyRow(number if known.figure else None, found, known.in_words(found.value, unit)))
    return rows


def body_views(rows: list[BodyRow], *, child: bool) -> list[BodyView]:
    """The body from every side on which something was taped."""
    lines: dict[str, list[tuple[int, str, str]]] = {view: [] for view in VIEWS}
    for row in rows:
        figure = catalogue().measures[row.measure.code].figure
        if figure and row.number:
            lines[figure["view"]].append((row.number, row.measure.code, row.words))
    return [
        BodyView(words, mark_safe(_svg(view, lines[view], child=child)))  # noqa: S308 - our own drawing, escaped there
        for view, words in VIEWS.items()
        if lines[view]
    ]


def _svg(view: str, lines: list[tuple[int, str, str]], *, child: bool) -> str:
    known = catalogue().measures
    return body_figure(
        view,
        [
            tape_line(
                number,
                known[code].figure or {},
                body_side=known[code].side,
                label=known[code].name,
                value=words,
            )
            for number, code, words in lines
        ],
        build="child" if child else "adult",
    )
