"""The body with its tape lines: where each measure is taken, numbered, with name and value beside it.

Plain data in, SVG text out. Sides are those of the picture, as the viewer sees it: in the front view the
picture's left is the wearer's right. The side view faces left, so its left is the front of the body and its
right the back.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from studio.figures import palette
from studio.figures.outline import HEIGHT, Outline, outline
from studio.figures.svg import Point, curve_path, document, el, line_path, spread, text, wrap
from studio.figures.tape import LANE, REACH, Drawn, TapeLine, draw, tape_line

__all__ = ["Label", "TapeLine", "body_figure", "label_layout", "tape_line"]

_SIZE = 17.0
_LINE = 20.0
_DISC = 12.0
_COLUMN = 196.0


@dataclass(frozen=True)
class Label:
    """Where one label lies: its box (left, top, right, bottom) and its leader from the tape to the marker."""

    number: int
    box: tuple[float, float, float, float]
    leader: tuple[Point, ...]
    lines: tuple[str, ...]
    side: int


def body_figure(
    view: str,
    lines: Sequence[TapeLine],
    *,
    build: str = "adult",
    labels: bool = True,
    marker: float = 1.0,
    title: str = "",
    description: str = "",
) -> str:
    """SVG of a body with its tape lines.

    `view` is "front", "back" or "side"; `build` is "adult" or "child". With `labels` off only the numbered
    markers are drawn, and `marker` says how much larger than usual (up to 1.4 they stay apart): for print that
    is read at arm's length. Title and description are made from the lines when none are given. An empty `lines`
    draws the body alone. Raises ValueError for an unknown view, build, kind, level or side, a number below 1
    or used twice, a girth at a level that has none, or a height between equal levels.
    """
    if (labels and marker != 1.0) or not 1.0 <= marker <= 1.4:
        raise ValueError(f"marker is {marker}; without labels it may be 1 to 1.4, with labels it is 1.")
    drawn = draw(view, lines, build)
    placed, top, bottom = _place(drawn, labels)
    body = outline(view, build)
    width = REACH + _lanes(drawn) * LANE + 30 + _DISC * (1 + marker) + (_COLUMN + 12 if labels else 6)
    marks = [m for d in drawn for m in d.marks]
    parts = [
        silhouette(body),
        *marks,
        *(_leader(p) for p in placed),
        *(_dot(p.leader[0]) for p in placed),
        *(_label(p, drawn, marker) for p in placed),
    ]
    if not title:
        title = f"Body, {view} view" + (
            f", with {len(drawn)} measure{'s' * (len(drawn) > 1)}" if drawn else ""
        )
    if not description:
        said = (f"{d.tape.number}: {d.tape.label or d.tape.start} {d.tape.value}".strip() for d in drawn)
        description = "; ".join(said) or f"Neutral outline of a body, {view} view."
    return document((-width, top, 2 * width, bottom - top), title, description, *parts)


def label_layout(
    view: str, lines: Sequence[TapeLine], *, build: str = "adult", labels: bool = True
) -> list[Label]:
    """Where the labels of `body_figure` lie, for a picture map or a check. Same arguments, same errors."""
    return _place(draw(view, lines, build), labels)[0]


def _lanes(drawn: Sequence[Drawn]) -> int:
    return max((sum(d.tape.kind == "height" and d.column == c for d in drawn) for c in (-1, 1)), default=0)


def _label_lines(tape: TapeLine, labels: bool) -> list[str]:
    return wrap(tape.label, _SIZE, _COLUMN) if labels else []


def _place(drawn: Sequence[Drawn], labels: bool) -> tuple[list[Label], float, float]:
    """Choose a column, a leader and a place for every label; also the picture's top and bottom."""
    columns: dict[int, list[Drawn]] = {-1: [], 1: []}
    load = {-1: 0.0, 1: 0.0}

    def size(d: Drawn) -> float:
        count = len(_label_lines(d.tape, labels)) + (
            len(wrap(d.tape.value, _SIZE, _COLUMN, bold=True)) if labels else 0
        )
        return max(2 * _DISC, count * _LINE + 2)

    for d in drawn:
        if d.column:
            columns[d.column].append(d)
            load[d.column] += size(d) + 10
    for d in sorted((d for d in drawn if not d.column), key=lambda d: d.anchors[0][1]):
        column = -1 if load[-1] < load[1] else 1
        columns[column].append(d)
        load[column] += size(d) + 10
    tallest = max(load.values())
    extra = max(0.0, (tallest - HEIGHT) / 2)
    top, bottom = -18 - extra, HEIGHT + 18 + extra
    lanes = _lanes(drawn)
    placed: list[Label] = []
    for column, members in columns.items():
        anchored = _anchor(members, column)
        sizes = [size(d) for d, _ in anchored]
        # Leaders first run level to a gutter beside the body and then slant to the label: since both ends
        # keep the same order, no leader crosses another.
        gutter_x = column * (REACH + lanes * LANE)
        disc_x = gutter_x + column * (30 + _DISC)
        gutter = spread([p[1] for _, p in anchored], [0.0] * len(anchored), 5.0, top + 6, bottom - 6)
        centres = spread([p[1] for _, p in anchored], sizes, 10.0, top + 4, bottom - 4)
        for (d, start), g, y, h in zip(anchored, gutter, centres, sizes, strict=True):
            bend = [] if abs(start[0] - gutter_x) < 1 else [(gutter_x, g)]
            leader = (start, *bend, (disc_x - column * _DISC, y))
            x1, x2 = disc_x - column * _DISC, disc_x + column * (_DISC + 6 + (_COLUMN if labels else 0))
            box = (min(x1, x2), y - h / 2, max(x1, x2), y + h / 2)
            lines = tuple(_label_lines(d.tape, labels))
            placed.append(Label(d.tape.number, box, leader, lines, column))
    return placed, top, bottom


def _anchor(members: Sequence[Drawn], column: int) -> list[tuple[Drawn, Point]]:
    """Give every line of a column the start of its leader, apart in height; sorted downwards."""
    taken: list[float] = []
    chosen: list[tuple[Drawn, Point]] = []
    for d in sorted(
        members, key=lambda d: (d.tape.kind != "girth", d.tape.kind != "height", d.anchors[0][1])
    ):
        if d.tape.kind == "girth" or len(d.anchors) < 3:
            point = max(d.anchors, key=lambda p: p[0] * column)
        else:
            point = max(
                enumerate(d.anchors),
                key=lambda ip: min(12.0, *(abs(ip[1][1] - y) for y in taken), 12.0) - 0.1 * ip[0],
            )[1]
        taken.append(point[1])
        chosen.append((d, point))
    # Of two starts at one height the outer one goes first, so that its leader lies above the inner one's.
    return sorted(chosen, key=lambda dp: (round(dp[1][1], 1), -dp[1][0] * column, dp[0].tape.number))


def silhouette(body: Outline) -> str:
    parts = [
        el(
            "path",
            d=curve_path(body.edge, close=True),
            fill=palette.SHADE,
            stroke=palette.INK,
            stroke_width=1.6,
            stroke_linejoin="round",
        ),
        *(
            el("path", d=curve_path(line), stroke=palette.EDGE, stroke_width=1.1, stroke_linecap="round")
            for line in body.details
        ),
    ]
    if body.arm:
        parts.append(el("path", d=curve_path(body.arm, close=True), stroke=palette.EDGE, stroke_width=1.2))
    return el("g", *parts)


def _leader(label: Label) -> str:
    return el(
        "path", d=line_path(label.leader), stroke=palette.INK_SOFT, stroke_width=1, stroke_linejoin="round"
    )


def _dot(at: Point) -> str:
    return el(
        "circle", cx=at[0], cy=at[1], r=4.5, fill=palette.THREAD, stroke=palette.SHEET, stroke_width=1.5
    )


def _label(label: Label, drawn: Sequence[Drawn], marker: float) -> str:
    tape = next(d.tape for d in drawn if d.tape.number == label.number)
    left, top, right, bottom = label.box
    y = (top + bottom) / 2
    cx = right - _DISC if label.side < 0 else left + _DISC
    digits = str(tape.number)
    parts = [
        el(
            "circle",
            cx=cx,
            cy=y,
            r=_DISC * marker,
            fill=palette.SHEET,
            stroke=palette.THREAD,
            stroke_width=1.8,
        ),
        text(
            cx, y + 5 * marker, digits, (15 if len(digits) < 3 else 10) * marker, anchor="middle", bold=True
        ),
    ]
    if right - left > 2 * _DISC + 10:
        x = cx + label.side * (_DISC + 7)
        anchor = "end" if label.side < 0 else "start"
        values = wrap(tape.value, _SIZE, _COLUMN, bold=True)
        base = y - (len(label.lines) + len(values)) * _LINE / 2 + 15
        for i, line in enumerate([*label.lines, *values]):
            parts.append(text(x, base + i * _LINE, line, _SIZE, anchor=anchor, bold=i >= len(label.lines)))
    return el("g", *parts)
