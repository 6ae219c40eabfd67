"""One measure over time with its uncertainty, and small lines without axes.

Plain data in, SVG text out: values in the unit shown, their texts as the caller formats them. The same input
always gives the same bytes.
"""

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from studio.figures import palette
from studio.figures.svg import document, el, line_path, number, text, text_width

_SIZE = 15.0


@dataclass(frozen=True)
class HistoryPoint:
    """One value of a measure. `value` and `error` (95 % half-width, 0 for none) are in the chart's unit.

    `value_text` and `when_text` are printed as they come. `beyond` says whether the change since the point
    before is beyond the tape (True), within it (False), or not compared (None).
    """

    when: dt.date
    value: float
    value_text: str
    when_text: str
    error: float = 0.0
    beyond: bool | None = None


def history_chart(
    points: Sequence[HistoryPoint],
    unit: str,
    *,
    title: str = "",
    description: str = "",
    tick_text: Callable[[float], str] | None = None,
    width: float = 720.0,
    height: float = 320.0,
) -> str:
    """SVG of one measure over dates with error bars.

    Points may come in any order. `unit` is printed at the head of the axis; `tick_text` formats the axis
    values (default: plain decimals). Raises ValueError when there is no point, a value or error is not a
    finite number, an error is negative, or the picture is too small to read.
    """
    ordered = _checked(points)
    if width < 320 or height < 200:
        raise ValueError(f"the chart is {width:g} by {height:g}; it needs at least 320 by 200.")
    low = min(p.value - p.error for p in ordered)
    high = max(p.value + p.error for p in ordered)
    ticks = _ticks(low, high)
    formatted = [(tick_text or _plain)(t) for t in ticks]
    left = 24 + max(text_width(t, _SIZE) for t in (*formatted, unit))
    # The last value stands to the right of its point, where nothing else can be.
    right = width - max(40.0, text_width(ordered[-1].value_text, _SIZE, bold=True))
    top, bottom = 46.0, height - 74
    key, key_height = _key(ordered, left, width - 8, height - 14)
    first, last = ordered[0].when.toordinal(), ordered[-1].when.toordinal()

    def x_of(point: HistoryPoint) -> float:
        inner_left, inner_right = left + 34, right - 14
        if first == last:
            return (inner_left + inner_right) / 2
        return inner_left + (inner_right - inner_left) * (point.when.toordinal() - first) / (last - first)

    def y_of(value: float) -> float:
        return bottom - (bottom - top) * (value - ticks[0]) / (ticks[-1] - ticks[0])

    parts = [text(left - 10, top - 22, unit, _SIZE, anchor="end", fill=palette.INK_SOFT)]
    for tick, label in zip(ticks, formatted, strict=True):
        y = y_of(tick)
        parts.append(el("path", d=line_path([(left, y), (right, y)]), stroke=palette.RULE, stroke_width=1))
        parts.append(text(left - 10, y + 5, label, _SIZE, anchor="end", fill=palette.INK_SOFT))
    spots = [(x_of(p), y_of(p.value)) for p in ordered]
    if len(spots) > 1:
        parts.append(el("path", d=line_path(spots), stroke=palette.INK_SOFT, stroke_width=1.5))
    half = (bottom - top) / (ticks[-1] - ticks[0])
    for point, (x, y) in zip(ordered, spots, strict=True):
        parts += _whisker(x, y, point.error * half)
    parts += [_spot(x, y, point.beyond) for point, (x, y) in zip(ordered, spots, strict=True)]
    parts += _value_labels(ordered, spots, half, left, right)
    parts += _date_labels(ordered, spots, bottom)
    parts += key
    if not title:
        title = f"One measure over time, in {unit}"
    if not description:
        description = "; ".join(f"{p.when_text}: {p.value_text}{_word(p.beyond)}" for p in ordered)
    return document((0, 0, width, height - 26 + key_height), title, description, *parts)


def spark_line(
    values: Sequence[float],
    *,
    title: str,
    description: str = "",
    width: float = 120.0,
    height: float = 32.0,
) -> str:
    """A small line of values in their order, the last marked. ValueError for none or a non-finite one."""
    if not values:
        raise ValueError("values is empty; a line needs at least one value.")
    for i, value in enumerate(values, start=1):
        if not math.isfinite(value):
            raise ValueError(f"value {i} is {value}; it must be a finite number.")
    low, span = min(values), max(values) - min(values)
    step = (width - 12) / max(len(values) - 1, 1)
    spots = [
        (6 + i * step, height / 2 if span == 0 else height - 6 - (height - 12) * (v - low) / span)
        for i, v in enumerate(values)
    ]
    if len(spots) == 1:
        spots = [(width / 2, height / 2)]
    parts = []
    if len(spots) > 1:
        parts.append(
            el("path", d=line_path(spots), stroke=palette.INK_SOFT, stroke_width=1.5, stroke_linejoin="round")
        )
    parts.append(el("circle", cx=spots[-1][0], cy=spots[-1][1], r=3.5, fill=palette.THREAD))
    return document((0, 0, width, height), title, description or title, *parts)


def _checked(points: Sequence[HistoryPoint]) -> list[HistoryPoint]:
    if not points:
        raise ValueError("points is empty; a history needs at least one value.")
    for point in points:
        if not math.isfinite(point.value):
            raise ValueError(f"the value of {point.when_text} is {point.value}; it must be a finite number.")
        if not math.isfinite(point.error) or point.error < 0:
            raise ValueError(
                f"the error of {point.when_text} is {point.error}; it must be 0 or more, and finite."
            )
    return sorted(points, key=lambda p: p.when)


def _ticks(low: float, high: float) -> list[float]:
    """Three to seven round values that enclose the data."""
    span = max(high - low, 1e-9 + abs(high) * 0.01, 1e-6)
    raw = span / 4
    size = 10.0 ** math.floor(math.log10(raw))
    step = next(size * m for m in (1, 2, 5, 10) if size * m >= raw * (1 - 1e-9))
    start = math.floor(low / step + 1e-9)
    stop = max(math.ceil(high / step - 1e-9), start + 2)
    return [round(k * step, 10) for k in range(start, stop + 1)]


def _plain(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _whisker(x: float, y: float, reach: float) -> list[str]:
    if reach <= 0:
        return []
    ends = [[(x, y - reach), (x, y + reach)], *([(x - 6, e), (x + 6, e)] for e in (y - reach, y + reach))]
    return [el("path", d=line_path(e), stroke=palette.INK, stroke_width=1.6) for e in ends]


def _spot(x: float, y: float, beyond: bool | None) -> str:
    """Full: beyond the tape. Ring: within it. Small square: not compared."""
    if beyond is None:
        return el(
            "rect",
            x=x - 5,
            y=y - 5,
            width=10,
            height=10,
            fill=palette.INK,
            stroke=palette.SHEET,
            stroke_width=1.5,
        )
    if beyond:
        return el("circle", cx=x, cy=y, r=7, fill=palette.THREAD, stroke=palette.SHEET, stroke_width=1.5)
    return el("circle", cx=x, cy=y, r=6, fill=palette.SHEET, stroke=palette.INK, stroke_width=2.2)


def _word(beyond: bool | None) -> str:
    return {True: ", beyond the tape", False: ", within the tape", None: ""}[beyond]


def _value_labels(
    points: Sequence[HistoryPoint],
    spots: Sequence[tuple[float, float]],
    half: float,
    left: float,
    right: float,
) -> list[str]:
    """Values beside their points: the last on the right; then the first, the changes and the others.

    One that finds no room is left out here; it stays in the description.
    """
    x, y = spots[-1]
    parts = [text(x + 13, y + 5, points[-1].value_text, _SIZE, bold=True)]
    order = sorted(range(len(points) - 1), key=lambda i: (i != 0, not points[i].beyond, i))
    taken: list[tuple[float, float, float, float]] = [(x - 8, y - 8, x + 8, y + 8) for x, y in spots]
    for point, (x, y) in zip(points, spots, strict=True):
        taken.append((x - 3, y - point.error * half, x + 3, y + point.error * half))
    wide = text_width(points[-1].value_text, _SIZE, bold=True)
    taken.append((x + 8, y - 10, x + 16 + wide, y + 10))
    for i in order:
        x, y = spots[i]
        wide = text_width(points[i].value_text, _SIZE, bold=True)
        reach = max(points[i].error * half, 8.0)
        middle = min(max(x, left + wide / 2), right + 30 - wide / 2)
        for base in (y - reach - 6, y + reach + 17):
            box = (middle - wide / 2 - 2, base - 13, middle + wide / 2 + 2, base + 4)
            if not any(box[0] < t[2] and t[0] < box[2] and box[1] < t[3] and t[1] < box[3] for t in taken):
                taken.append(box)
                parts.append(text(middle, base, points[i].value_text, _SIZE, anchor="middle", bold=True))
                break
    return parts


def _date_labels(
    points: Sequence[HistoryPoint], spots: Sequence[tuple[float, float]], bottom: float
) -> list[str]:
    """Dates under the axis, the last and the first for certain, the others where there is room."""
    taken: list[tuple[float, float]] = []
    parts = []
    for i in sorted(range(len(points)), key=lambda i: (i != len(points) - 1, i != 0, i)):
        x, wide = spots[i][0], text_width(points[i].when_text, _SIZE)
        if all(x + wide / 2 + 10 < a or x - wide / 2 - 10 > b for a, b in taken):
            taken.append((x - wide / 2, x + wide / 2))
            parts.append(
                el("path", d=line_path([(x, bottom), (x, bottom + 6)]), stroke=palette.EDGE, stroke_width=1)
            )
            parts.append(
                text(x, bottom + 23, points[i].when_text, _SIZE, anchor="middle", fill=palette.INK_SOFT)
            )
    return parts


def _key(points: Sequence[HistoryPoint], left: float, right: float, y: float) -> tuple[list[str], float]:
    """What the marks mean, in words, for those that occur; also the height that it takes."""
    words = {True: "change beyond the tape", False: "within the tape", None: "not compared"}
    entries = [(words[k], [_spot(7, -5, k)]) for k in words if any(p.beyond is k for p in points)]
    if any(p.error for p in points):
        entries.append(("how far the tape can be trusted", _whisker(7, -5, 8)))
    parts = []
    x, row_y = left, y
    for word, marks in entries:
        wide = 20 + text_width(word, _SIZE)
        if x > left and x + wide > right:
            x, row_y = left, row_y + 26
        shift = f"translate({number(x)} {number(row_y)})"
        parts.append(el("g", *marks, text(20, 0, word, _SIZE, fill=palette.INK_SOFT), transform=shift))
        x += wide + 26
    return parts, row_y - y + 26
