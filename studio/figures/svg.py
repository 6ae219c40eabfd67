"""Small tools that every drawing shares: elements, escaped text, text widths, smooth curves, spacing of
labels.

Units are the drawing's own user units. Nothing here makes an id or a ``style`` attribute, so that several
drawings fit on one page under a strict content policy.
"""

import math
import re
from collections.abc import Sequence
from itertools import pairwise
from typing import TypeAlias

from studio.figures import palette

Point: TypeAlias = tuple[float, float]
Cubic: TypeAlias = tuple[Point, Point, Point, Point]

# Advance widths in hundredths of an em, characters 32 to 126, of the widest font in palette.FONT (DejaVu
# Sans): whichever font the reader has, a label is never wider than we reckoned.
_WIDTHS = (
    "32 40 46 84 64 95 78 27 39 39 50 84 32 36 32 34 64 64 64 64 64 64 64 64 64 64 34 34 84 84 84 53 100 "
    "68 69 70 77 63 58 77 75 29 29 66 56 86 75 79 60 79 69 63 61 73 68 99 69 61 69 39 34 39 84 50 50 61 "
    "63 55 63 62 35 63 63 28 28 58 28 97 63 61 63 63 41 52 39 63 59 82 59 59 52 64 34 64 84 "
)
_WIDTH = {chr(32 + i): int(w) / 100 for i, w in enumerate(_WIDTHS.split())}
_BOLD = 1.12
# A number and its unit stay on one line, as do a whole number and its fraction.
_MEASURE = re.compile(r"(\d) (?=(?:cm|mm|in|%|\d+/\d+)(?!\w))")
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def escape(value: str) -> str:
    """Text made safe for XML content and attributes; characters that XML forbids become spaces."""
    value = _NOT_XML.sub(" ", value)
    for plain, safe in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;"), ("'", "&#39;")):
        value = value.replace(plain, safe)
    return value


def number(value: float) -> str:
    """A coordinate with at most one decimal, always the same text for the same figure."""
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def el(tag: str, *children: str, **attributes: str | float | None) -> str:
    """One element. ``stroke_width`` becomes ``stroke-width``; None is left out; children are already safe."""
    parts = [tag]
    for key, value in attributes.items():
        if value is not None:
            text = escape(value) if isinstance(value, str) else number(value)
            parts.append(f'{key.rstrip("_").replace("_", "-")}="{text}"')
    head = " ".join(parts)
    return f"<{head}>{''.join(children)}</{tag}>" if children else f"<{head}/>"


def document(box: tuple[float, float, float, float], title: str, description: str, *children: str) -> str:
    """A whole drawing. `box` is left, top, width, height. Title and description serve screen readers."""
    return el(
        "svg",
        el("title", escape(title)),
        el("desc", escape(description)),
        *children,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=" ".join(number(v) for v in box),
        width=box[2],
        height=box[3],
        role="img",
        font_family=palette.FONT,
        fill="none",
    )


def text(
    x: float,
    y: float,
    value: str,
    size: float,
    *,
    anchor: str = "start",
    bold: bool = False,
    fill: str = palette.INK,
) -> str:
    """One line of text with its baseline at `y`."""
    return el(
        "text",
        escape(value),
        x=x,
        y=y,
        font_size=size,
        fill=fill,
        text_anchor=None if anchor == "start" else anchor,
        font_weight="700" if bold else None,
    )


def text_width(value: str, size: float, *, bold: bool = False) -> float:
    """An upper estimate of the width of one line, in user units."""
    # Characters beyond ASCII: a full em for wide scripts, the widest common letter otherwise.
    ems = sum(_WIDTH.get(c, 1.05 if ord(c) > 0x1100 else 0.8) for c in value)
    return ems * size * (_BOLD if bold else 1)


def wrap(value: str, size: float, width: float, *, bold: bool = False) -> list[str]:
    """Split text into lines no wider than `width`; a word longer than a line is broken, none dropped."""
    lines: list[str] = []
    line = ""
    value = _MEASURE.sub("\\1\u00a0", _NOT_XML.sub(" ", value))
    for word in re.split("[ \t\r\n]+", value.strip()):
        joined = f"{line} {word}" if line else word
        if text_width(joined, size, bold=bold) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        while text_width(word, size, bold=bold) > width:
            cut = len(word)
            while cut > 1 and text_width(word[:cut], size, bold=bold) > width:
                cut -= 1
            lines.append(word[:cut])
            word = word[cut:]  # noqa: PLW2901 - what is left of the word goes on
        line = word
    if line:
        lines.append(line)
    return lines


def smooth(points: Sequence[Point], *, closed: bool = False) -> list[Cubic]:
    """Cubic segments through the points: a centripetal Catmull-Rom curve, which neither loops nor overshoots.

    A point given twice in a row is a corner.
    """
    if closed:
        return _smooth_run([points[-1], *points, points[0], points[1]])
    runs: list[list[Point]] = [[]]
    for point in points:
        if runs[-1] and runs[-1][-1] == point:
            runs.append([])
        runs[-1].append(point)
    segments: list[Cubic] = []
    for run in runs:
        if len(run) > 1:
            segments += _smooth_run([_mirror(run[0], run[1]), *run, _mirror(run[-1], run[-2])])
    return segments


def _mirror(end: Point, inner: Point) -> Point:
    return (2 * end[0] - inner[0], 2 * end[1] - inner[1])


def _smooth_run(p: Sequence[Point]) -> list[Cubic]:
    segments = []
    for a, b, c, d in zip(p, p[1:], p[2:], p[3:], strict=False):
        da, db, dc = (math.sqrt(math.dist(u, v)) or 1e-6 for u, v in ((a, b), (b, c), (c, d)))
        left = tuple(
            (da * da * c[i] - db * db * a[i] + (2 * da * da + 3 * da * db + db * db) * b[i])
            / (3 * da * (da + db))
            for i in (0, 1)
        )
        right = tuple(
            (dc * dc * b[i] - db * db * d[i] + (2 * dc * dc + 3 * dc * db + db * db) * c[i])
            / (3 * dc * (dc + db))
            for i in (0, 1)
        )
        segments.append((b, (left[0], left[1]), (right[0], right[1]), c))
    return segments


def curve_path(segments: Sequence[Cubic], *, close: bool = False) -> str:
    """Path data of joined cubic segments."""
    d = [f"M{number(segments[0][0][0])} {number(segments[0][0][1])}"]
    for _, left, right, end in segments:
        d.append("C" + " ".join(f"{number(x)} {number(y)}" for x, y in (left, right, end)))
    return "".join(d) + ("Z" if close else "")


def line_path(points: Sequence[Point], *, close: bool = False) -> str:
    """Path data of straight lines."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if close else "")


def flatten(segments: Sequence[Cubic], steps: int = 12) -> list[Point]:
    """The curve as short straight lines, for measuring on it."""
    points = [segments[0][0]]
    for a, b, c, d in segments:
        for k in range(1, steps + 1):
            t = k / steps
            u = 1 - t
            points.append(
                (
                    u**3 * a[0] + 3 * u * u * t * b[0] + 3 * u * t * t * c[0] + t**3 * d[0],
                    u**3 * a[1] + 3 * u * u * t * b[1] + 3 * u * t * t * c[1] + t**3 * d[1],
                )
            )
    return points


def along(points: Sequence[Point], share: float) -> Point:
    """The point at a share (0 to 1) of the length of a line of straight pieces."""
    lengths = [math.dist(a, b) for a, b in pairwise(points)]
    left = share * sum(lengths)
    for (a, b), length in zip(pairwise(points), lengths, strict=True):
        if left <= length and length > 0:
            t = left / length
            return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))
        left -= length
    return points[-1]


def spread(
    wanted: Sequence[float], sizes: Sequence[float], gap: float, low: float, high: float
) -> list[float]:
    """Centres as near as possible to those wanted (given in order), with no two intervals nearer than `gap`.

    Least squares by pooling neighbours that collide; the whole is then moved inside [low, high] if it fits
    there.
    """
    pools: list[list[float]] = []  # start of the first interval (mean), count, length so far
    for centre, size in zip(wanted, sizes, strict=True):
        start = centre - size / 2
        pools.append([start, 1, size + gap])
        while len(pools) > 1 and pools[-2][0] + pools[-2][2] > pools[-1][0]:
            start_b, n_b, length_b = pools.pop()
            start_a, n_a, length_a = pools[-1]
            pools[-1] = [
                (start_a * n_a + (start_b - length_a) * n_b) / (n_a + n_b),
                n_a + n_b,
                length_a + length_b,
            ]
    starts: list[float] = []
    i = 0
    for first, count, _ in pools:
        place = first
        for _k in range(int(count)):
            starts.append(place)
            place += sizes[i] + gap
            i += 1
    for i in range(len(starts)):
        floor = low if i == 0 else starts[i - 1] + sizes[i - 1] + gap
        starts[i] = max(starts[i], floor)
    for i in reversed(range(len(starts))):
        ceiling = high - sizes[i] if i == len(starts) - 1 else starts[i + 1] - sizes[i] - gap
        starts[i] = min(starts[i], ceiling)
    return [start + size / 2 for start, size in zip(starts, sizes, strict=True)]
