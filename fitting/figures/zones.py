"""Fit per zone at one look: the body, the ease wanted, the paper before and after alteration.

All zones share one scale of ease: the body is the line at 0, what lies right of it is room, what lies left is
stretch. So a waist and a hip are compared as a fitter does, by what is over, not by their girths.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from studio.figures import palette
from studio.figures.svg import document, el, line_path, text, text_width, wrap

# The figure's own words; a document in another language brings its own under the same keys.
WORDS: Mapping[str, str] = {
    "title": "Fit in each zone",
    "zone": "zone, body, ease wanted",
    "paper": "paper",
    "axis": "body = 0 {unit} ease",
    "body": "body {length}",
    "ease": "ease {range}",
    "as it is": "as it is {length}",
    "before": "before {length}",
    "after": "after {length}",
    "within": "in range",
    "too tight": "too tight",
    "too loose": "too loose",
    "cannot tell": "cannot tell",
    "key body": "body",
    "key ease": "ease wanted, with its target",
    "key before": "paper before",
    "key after": "paper after",
    "key error": "how far the tape can be trusted",
    "sentence": "{zone}: body {body}, ease wanted {range}, paper {before}, {verdict}",
    "sentence altered": "{zone}: body {body}, ease wanted {range}, paper {before}, after alteration {after}, {verdict}",
}
VERDICTS = ("within", "too tight", "too loose", "cannot tell")  # as the ease calculation says it

_SIZE = 18.0
_SMALL = 16.0
_LEFT = 196.0
_PLOT = 300.0
_RIGHT = 262.0
_GAP = 18.0
_COLOURS = {
    "within": (palette.GOOD, palette.GOOD_PALE),
    "too tight": (palette.STOP, palette.STOP_PALE),
    "too loose": (palette.CARE, palette.CARE_PALE),
    "cannot tell": (palette.INK_SOFT, palette.SHADE),
}


@dataclass(frozen=True)
class ZoneRow:
    """One zone. Numbers share one unit (the figure never prints them); texts are printed as they come.

    `low`, `target`, `high`: the ease wanted. `before`: ease of the paper as it is. `after`: ease once
    altered, None when nothing is altered. `error`: 95 % half-width of the ease. `verdict`: one of
    ``VERDICTS``, for the paper as it will be sewn. `body_text` ("96.5 cm"), `range_text` ("4 to 8 cm, aim 6
    cm"), `before_text` and `after_text` ("101.0 cm, ease 4.5 cm").
    """

    zone: str
    low: float
    target: float
    high: float
    before: float
    verdict: str
    body_text: str
    range_text: str
    before_text: str
    after: float | None = None
    after_text: str = ""
    error: float = 0.0


def zone_figure(
    rows: Sequence[ZoneRow],
    unit: str,
    *,
    tick_text: Callable[[float], str] | None = None,
    scale: float = 1.0,
    words: Mapping[str, str] = WORDS,
    title: str = "",
    description: str = "",
) -> str:
    """SVG of the fit in each zone, in the order given.

    `unit` names the axis; axis values are multiples of a round step of ``value / scale`` (10 for rows in mm
    and an axis in cm, 25.4 for inches) and `tick_text` formats them. `words` are the figure's own, as in ``WORDS``.
    Raises ValueError for no rows, a value
    that is not finite, a range that is not low <= target <= high, a negative error or an unknown verdict.
    """
    _check(rows, scale)
    low, high, ticks = _window(rows, scale)
    formatted = [(tick_text or _plain)(t / scale) for t in ticks]
    x0 = _LEFT + _GAP
    width = x0 + _PLOT + _GAP + _RIGHT

    def x_of(value: float) -> float:
        return x0 + _PLOT * (value - low) / (high - low)

    heights = [_row_height(row, words) for row in rows]
    top = 62.0
    bottom = top + sum(heights)
    parts = [text(0, 20, words["zone"], _SMALL, fill=palette.INK_SOFT)]
    axis = words["axis"].format(unit=unit)
    parts.append(text(x_of(0), 20, axis, _SMALL, anchor=_anchor(x_of(0), x0), bold=True))
    parts.append(text(width - _RIGHT, 20, words["paper"], _SMALL, fill=palette.INK_SOFT))
    for tick, label in zip(ticks, formatted, strict=True):
        x = x_of(tick)
        parts.append(el("path", d=line_path([(x, 48), (x, bottom)]), stroke=palette.RULE, stroke_width=1))
        parts.append(text(x, 42, label, _SMALL, anchor="middle", fill=palette.INK_SOFT))
    y = top
    for row, height in zip(rows, heights, strict=True):
        parts.append(el("path", d=line_path([(0, y), (width, y)]), stroke=palette.RULE, stroke_width=1))
        parts += _row(row, y, height, x_of, width, words)
        y += height
    parts.append(el("path", d=line_path([(0, y), (width, y)]), stroke=palette.RULE, stroke_width=1))
    parts.append(
        el("path", d=line_path([(x_of(0), 48), (x_of(0), bottom)]), stroke=palette.INK, stroke_width=3)
    )
    key, key_height = _key(rows, bottom + 30, width, words)
    parts += key
    title = title or words["title"]
    description = description or "; ".join(zone_sentence(row, words) for row in rows)
    return document((-4, 0, width + 8, bottom + key_height + 30), title, description, *parts)


def _anchor(x: float, x0: float) -> str:
    return "start" if x < x0 + 70 else "end" if x > x0 + _PLOT - 70 else "middle"


def _plain(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def zone_sentence(row: ZoneRow, words: Mapping[str, str] = WORDS) -> str:
    """What the figure shows of one zone, for whoever does not see it."""
    return words["sentence" if row.after is None else "sentence altered"].format(
        zone=row.zone,
        body=row.body_text,
        range=row.range_text,
        before=row.before_text,
        after=row.after_text,
        verdict=words[row.verdict],
    )


def _check(rows: Sequence[ZoneRow], scale: float) -> None:
    if not rows:
        raise ValueError("rows is empty; the figure needs at least one zone.")
    if not math.isfinite(scale) or scale <= 0:
        raise ValueError(f"scale is {scale}; it must be a number above 0.")
    for row in rows:
        for name in ("low", "target", "high", "before", "after", "error"):
            value = getattr(row, name)
            if value is not None and not math.isfinite(value):
                raise ValueError(f"zone {row.zone}: {name} is {value}; it must be a finite number.")
        if not row.low <= row.target <= row.high:
            wanted = f"{row.low:g} to {row.high:g} with target {row.target:g}"
            raise ValueError(
                f"zone {row.zone}: the ease wanted is {wanted}; it must run from low over target to high."
            )
        if row.error < 0:
            raise ValueError(f"zone {row.zone}: error is {row.error:g}; it must be 0 or more.")
        if row.verdict not in VERDICTS:
            raise ValueError(
                f"zone {row.zone}: verdict is {row.verdict!r}, not one of {', '.join(VERDICTS)}."
            )


def _window(rows: Sequence[ZoneRow], scale: float) -> tuple[float, float, list[float]]:
    """Ends of the ease axis, enclosing 0 and everything drawn, and round ticks within them."""
    values = [0.0]
    for row in rows:
        paper = row.before if row.after is None else row.after
        values += [row.low, row.high, row.before, paper - row.error, paper + row.error]
    low, high = min(values), max(values)
    span = max(high - low, scale)
    low, high = low - 0.06 * span, high + 0.06 * span
    raw = (high - low) / scale / 6
    size = 10.0 ** math.floor(math.log10(raw))
    step = next(size * m for m in (1, 2, 5, 10) if size * m >= raw * (1 - 1e-9)) * scale
    ticks = [round(k * step, 9) for k in range(math.ceil(low / step), math.floor(high / step) + 1)]
    return low, high, ticks


def _fit(value: str, width: float, *, bold: bool = False) -> list[str]:
    """Lines of small text; what does not fit on one line breaks after its commas first."""
    if text_width(value, _SMALL, bold=bold) <= width:
        return [value]
    parts = value.replace(", ", ",\n").split("\n")
    return [line for part in parts for line in wrap(part, _SMALL, width, bold=bold)]


def _left_lines(row: ZoneRow, words: Mapping[str, str]) -> list[tuple[str, bool]]:
    lines = [(line, True) for line in wrap(row.zone, _SIZE, _LEFT, bold=True)]
    for said in (words["body"].format(length=row.body_text), words["ease"].format(range=row.range_text)):
        lines += [(line, False) for line in _fit(said, _LEFT)]
    return lines


def _right_lines(row: ZoneRow, words: Mapping[str, str]) -> list[tuple[str, bool]]:
    before = words["as it is" if row.after is None else "before"].format(length=row.before_text)
    lines = [(line, False) for line in _fit(before, _RIGHT)]
    if row.after is not None:
        after = words["after"].format(length=row.after_text)
        lines += [(line, True) for line in _fit(after, _RIGHT, bold=True)]
    return lines


def _row_height(row: ZoneRow, words: Mapping[str, str]) -> float:
    left = 22 + 21 * (len(_left_lines(row, words)) - 1)
    right = 36 + 21 * len(_right_lines(row, words))
    return max(left, right, 58) + 22


def _row(
    row: ZoneRow,
    y: float,
    height: float,
    x_of: Callable[[float], float],
    width: float,
    words: Mapping[str, str],
) -> list[str]:
    parts = []
    for i, (line, bold) in enumerate(_left_lines(row, words)):
        size, colour = (_SIZE, palette.INK) if bold else (_SMALL, palette.INK_SOFT)
        parts.append(text(0, y + 26 + 21 * i, line, size, bold=bold, fill=colour))
    middle = y + height / 2
    # The ease wanted: a pale field with firm ends and a tick across it at the target.
    a, b, t = x_of(row.low), x_of(row.high), x_of(row.target)
    parts.append(
        el("rect", x=a, y=middle - 26, width=max(b - a, 1), height=52, fill=palette.GOOD_PALE)
    )  # fmt: skip
    for x in (a, b):
        parts.append(
            el("path", d=line_path([(x, middle - 26), (x, middle + 26)]), stroke=palette.GOOD, stroke_width=2)
        )
    tick = line_path([(t, middle - 31), (t, middle + 31)])
    parts.append(el("path", d=tick, stroke=palette.GOOD, stroke_width=2, stroke_dasharray="3 3"))
    zero = x_of(0)
    bars = (
        [(row.before, row.after is None)] if row.after is None else [(row.before, False), (row.after, True)]
    )
    for i, (value, solid) in enumerate(bars):
        centre = middle if len(bars) == 1 else middle + (-12 if i == 0 else 12)
        parts += _bar(zero, x_of(value), centre, solid=solid)
        if solid and row.error:
            parts += _whisker(x_of(value - row.error), x_of(value + row.error), centre)
    right = width - _RIGHT
    parts += _verdict(row.verdict, words[row.verdict], right, y + 12)
    for i, (line, bold) in enumerate(_right_lines(row, words)):
        parts.append(text(right, y + 59 + 21 * i, line, _SMALL, bold=bold))
    return parts


def _bar(zero: float, end: float, y: float, *, solid: bool) -> list[str]:
    """The paper's room over the body, or its lack: open for the paper before, full for what is sewn."""
    left, wide = min(zero, end), max(abs(end - zero), 0.5)
    if solid:
        return [el("rect", x=left, y=y - 8, width=wide, height=16, fill=palette.INK)]
    return [
        el(
            "rect",
            x=left,
            y=y - 7,
            width=wide,
            height=14,
            fill=palette.SHEET,
            stroke=palette.INK,
            stroke_width=1.6,
        ),
    ]


def _whisker(left: float, right: float, y: float) -> list[str]:
    lines = [[(left, y), (right, y)], *([(x, y - 6), (x, y + 6)] for x in (left, right))]
    shapes = [el("path", d=line_path(line), stroke=palette.SHEET, stroke_width=4.4) for line in lines]
    return shapes + [el("path", d=line_path(line), stroke=palette.THREAD, stroke_width=2.2) for line in lines]


def _verdict(word: str, said: str, x: float, y: float) -> list[str]:
    """The verdict as a shape and a word: disc, arrows inwards, arrows outwards, lozenge."""
    colour, pale = _COLOURS[word]
    wide = 34 + text_width(said, _SIZE, bold=True)
    cx, cy = x + 16, y + 14
    shapes = {
        "within": el("circle", cx=cx, cy=cy, r=6, fill=colour),
        "too tight": el(
            "path",
            d=line_path([(cx - 8, cy - 5), (cx - 1, cy), (cx - 8, cy + 5)], close=True)
            + line_path([(cx + 8, cy - 5), (cx + 1, cy), (cx + 8, cy + 5)], close=True),
            fill=colour,
        ),
        "too loose": el(
            "path",
            d=line_path([(cx - 1.5, cy - 5), (cx - 8.5, cy), (cx - 1.5, cy + 5)], close=True)
            + line_path([(cx + 1.5, cy - 5), (cx + 8.5, cy), (cx + 1.5, cy + 5)], close=True),
            fill=colour,
        ),
        "cannot tell": el(
            "path",
            d=line_path([(cx, cy - 7), (cx + 7, cy), (cx, cy + 7), (cx - 7, cy)], close=True),
            fill=colour,
        ),
    }
    return [
        el("rect", x=x, y=y, width=wide + 8, height=28, rx=14, fill=pale, stroke=colour, stroke_width=1),
        shapes[word],
        text(x + 30, y + 20.5, said, _SIZE, bold=True, fill=colour),
    ]


def _key(
    rows: Sequence[ZoneRow], y: float, width: float, words: Mapping[str, str]
) -> tuple[list[str], float]:
    """What the marks mean, in words; only those that occur."""
    altered = any(row.after is not None for row in rows)
    entries: list[tuple[str, list[str]]] = [
        (words["key body"], [el("path", d="M14 -8L14 8", stroke=palette.INK, stroke_width=3)]),
        (
            words["key ease"],
            [
                el("rect", x=0, y=-9, width=28, height=18, fill=palette.GOOD_PALE),
                el("path", d="M0 -9L0 9M28 -9L28 9", stroke=palette.GOOD, stroke_width=2),
                el("path", d="M14 -11L14 11", stroke=palette.GOOD, stroke_width=2, stroke_dasharray="3 3"),
            ],
        ),
    ]
    if altered:
        entries.append((words["key before"], _bar(0, 28, 0, solid=False)))
    entries.append((words["key after" if altered else "paper"], _bar(0, 28, 0, solid=True)))
    if any(row.error for row in rows):
        entries.append((words["key error"], _whisker(0, 28, 0)))
    parts = []
    x, row_y = 0.0, y
    for word, marks in entries:
        wide = 38 + text_width(word, _SMALL)
        if x and x + wide > width:
            x, row_y = 0.0, row_y + 28
        shift = f"translate({x:.1f} {row_y:.1f})"
        parts.append(el("g", *marks, text(38, 5, word, _SMALL, fill=palette.INK_SOFT), transform=shift))
        x += wide + 24
    return parts, row_y - y + 18
