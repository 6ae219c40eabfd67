"""Small drawings of a cloth: how far it stretches both ways, and which way its pieces may lie.

Plain data in, SVG out; the same for page and PDF. Selvedges are upright, as the cloth lies on the table.
"""

import math
from dataclasses import dataclass

from studio.figures import palette
from studio.figures.svg import Point, document, el, line_path, text, text_width

_SIZE = 17.0
_SQUARE = 130.0  # 10 cm of relaxed cloth
_ROOM = 300.0  # what the drawing of a far-stretching knit may take

ONE_WAY = ("nap", "one_way_print", "sheen", "not_known")
DIRECTIONS = (*ONE_WAY, "two_way")


@dataclass(frozen=True)
class Stretch:
    """`percent` of stretch and, where it was taped, `left_percent`: how much longer it stayed when let go."""

    percent: float
    left_percent: float | None = None


def stretch_figure(lengthwise: Stretch | None, crosswise: Stretch | None) -> str:
    """SVG of 10 x 10 cm of cloth, and how far it goes each way to scale; None: not tested that way.

    Raises ValueError for a stretch that is negative or not finite.
    """
    for words, stretch in (("lengthwise", lengthwise), ("crosswise", crosswise)):
        if stretch is not None and not (math.isfinite(stretch.percent) and stretch.percent >= 0):
            raise ValueError(f"the stretch {words} must be 0 or more, got {stretch.percent!r}.")
    up = lengthwise.percent / 100 if lengthwise else 0.0
    side = crosswise.percent / 100 if crosswise else 0.0
    square = min(_SQUARE, _ROOM / (1 + max(up, side)))
    high, wide = square * (1 + up), square * (1 + side)
    label_up, label_side = _words(lengthwise), _words(crosswise)
    left, top = 22.0, 16.0
    base = top + max(high, square + 40)
    right = left + wide
    parts = [
        el("rect", x=left, y=base - high, width=wide, height=high, fill=palette.THREAD_PALE),
        el(
            "path",
            d=line_path([(left, base - high), (right, base - high), (right, base), (left, base)], close=True),
            stroke=palette.THREAD,
            stroke_width=2.5,
            stroke_dasharray="7 5",
        ),
        el(
            "rect",
            x=left,
            y=base - square,
            width=square,
            height=square,
            fill=palette.SHEET,
            stroke=palette.INK,
            stroke_width=2,
        ),
        text(left + square / 2, base - square / 2 + 6, "10 cm", _SIZE, anchor="middle"),
    ]
    for stretch, line in (
        (lengthwise, lambda share: [(left, base - square * share), (left + square, base - square * share)]),
        (crosswise, lambda share: [(left + square * share, base - square), (left + square * share, base)]),
    ):
        if stretch is not None and stretch.left_percent is not None and stretch.left_percent >= 0.5:
            parts.append(
                el(
                    "path",
                    d=line_path(line(1 + stretch.left_percent / 100)),
                    stroke=palette.INK_SOFT,
                    stroke_width=1.5,
                    stroke_dasharray="2 3",
                )
            )
    text_left = right + 18
    parts.append(_arrow((right + 6, base), (right + 6, base - high), shown=lengthwise is not None))
    parts.append(_arrow((left, base + 10), (right, base + 10), shown=crosswise is not None))
    middle = base - high / 2
    parts.append(text(text_left + 6, middle - 4, "lengthwise", _SIZE, fill=palette.INK_SOFT))
    parts.append(text(text_left + 6, middle + 18, label_up, _SIZE, bold=True))
    parts.append(text(left, base + 36, "crosswise", _SIZE, fill=palette.INK_SOFT))
    parts.append(text(left + text_width("crosswise ", _SIZE), base + 36, label_side, _SIZE, bold=True))
    width = max(
        text_left + 6 + max(text_width(label_up, _SIZE, bold=True), text_width("lengthwise", _SIZE)) + 8,
        left + text_width("crosswise ", _SIZE) + text_width(label_side, _SIZE, bold=True) + 8,
    )
    return document(
        (0, 0, width, base + 48),
        "Stretch both ways",
        f"10 by 10 cm of cloth, to scale. Lengthwise: {label_up}. Crosswise: {label_side}.",
        *parts,
    )


def _words(stretch: Stretch | None) -> str:
    if stretch is None:
        return "not tested"
    return f"{stretch.percent:.0f} %"


def _arrow(start: Point, end: Point, *, shown: bool) -> str:
    if not shown or math.dist(start, end) < 1:
        return ""
    turn = math.atan2(end[1] - start[1], end[0] - start[0])
    wings = [
        (end[0] - 9 * math.cos(turn + side), end[1] - 9 * math.sin(turn + side)) for side in (0.45, -0.45)
    ]
    return el(
        "path",
        d=line_path([start, end]) + line_path([wings[0], end, wings[1]]),
        stroke=palette.INK,
        stroke_width=2,
        stroke_linejoin="round",
        stroke_linecap="round",
    )


def direction_figure(direction: str) -> str:
    """SVG of two pieces on the cloth: their arrows agree, or may be opposite where the cloth is two-way.

    `direction` is one of `DIRECTIONS`. Raises ValueError for another word.
    """
    if direction not in DIRECTIONS:
        raise ValueError(f"direction must be one of {', '.join(DIRECTIONS)}; got {direction!r}.")
    width, height = 300.0, 170.0
    parts = [el("rect", x=10, y=6, width=280, height=158, fill=palette.SHADE)]
    parts += [
        el("path", d=line_path([(x, 6), (x, 164)]), stroke=palette.EDGE, stroke_width=5) for x in (10, 290)
    ]
    parts += _surface(direction)
    turned = direction == "two_way"
    for x, down in ((92, False), (208, turned)):
        parts.append(_piece(x, 85, down=down))
        ends = ((x, 52), (x, 118)) if down else ((x, 118), (x, 52))
        parts.append(_arrow(*ends, shown=True))
    if direction == "not_known":
        parts.append(text(150, 96, "?", 34, anchor="middle", bold=True))
    told = "opposite ways" if turned else "the same way"
    return document(
        (0, 0, width, height),
        "Which way the pieces lie",
        f"Two pieces between the selvedges; their arrows point {told}.",
        *parts,
    )


def _piece(x: float, y: float, *, down: bool) -> str:
    """A skirt panel: narrow at the waist; turned where its arrow points down."""
    waist, hem = (-1, 1) if not down else (1, -1)
    points = [
        (x - 22, y + waist * 58),
        (x + 22, y + waist * 58),
        (x + 40, y + hem * 58),
        (x - 40, y + hem * 58),
    ]
    return el(
        "path",
        d=line_path(points, close=True),
        fill=palette.SHEET,
        stroke=palette.INK,
        stroke_width=2,
        stroke_linejoin="round",
    )


def _surface(direction: str) -> list[str]:
    """What makes a cloth one-way, drawn on the ground between the pieces."""
    spots = [(x, y) for y in range(22, 150, 25) for x in (30, 150, 270)]
    if direction == "nap":
        return [
            el(
                "path",
                d=line_path([(x - 8, y), (x - 5, y + 12)])
                + line_path([(x, y), (x + 3, y + 12)])
                + line_path([(x + 8, y), (x + 11, y + 12)]),
                stroke=palette.INK_SOFT,
                stroke_width=2,
                stroke_linecap="round",
            )
            for x, y in spots
        ]
    if direction == "one_way_print":
        return [
            el(
                "path",
                d=line_path([(x, y + 14), (x, y)])
                + line_path([(x, y), (x + 10, y + 4), (x, y + 8)], close=True),
                stroke=palette.INK_SOFT,
                fill=palette.INK_SOFT,
                stroke_width=1.5,
            )
            for x, y in spots
        ]
    if direction == "sheen":
        return [
            el(
                "rect",
                x=13,
                y=6 + 158 * n / 4,
                width=274,
                height=158 / 4,
                fill=palette.INK,
                fill_opacity=0.1 * n,
            )
            for n in range(4)
        ]
    return []
