"""How far a cloth gives in every direction between warp and weft: a quarter of a rose.

Plain data in, SVG out; the same for page and PDF. The distance from the corner is the give of a strip cut
that way, so the picture lies on the table as the cloth does: selvedge upright, weft across.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from studio.figures import palette
from studio.figures.svg import Point, document, el, line_path, number, text, text_width

TRUE_BIAS = 45.0
_SIZE = 17.0
_LEFT, _TOP, _RIGHT, _BOTTOM = 74.0, 58.0, 150.0, 62.0


@dataclass(frozen=True)
class Give:
    """A strip cut at `angle_deg` from the warp (0 to 90) gives `mm` in 10 cm."""

    angle_deg: float
    mm: float


def bias_figure(gives: Sequence[Give], *, radius: float = 380.0) -> str:
    """SVG of the give along each angle; `gives` from 0 to 90 degrees in order, at least 0, 45 and 90 among them.

    Raises ValueError for angles outside 0 to 90, out of order or missing, or a give that is not positive.
    """
    _check(gives)
    step, rings = _rings(max(give.mm for give in gives))
    scale = radius / (step * rings)
    corner = (_LEFT, _TOP + radius)

    def at(angle: float, mm: float) -> Point:
        turn = math.radians(angle)
        return (corner[0] + mm * scale * math.sin(turn), corner[1] - mm * scale * math.cos(turn))

    parts = []
    for ring in range(1, rings + 1):
        r = ring * step * scale
        parts.append(
            el(
                "path",
                d=f"M{number(corner[0])} {number(corner[1] - r)}A{number(r)} {number(r)} 0 0 1 "
                f"{number(corner[0] + r)} {number(corner[1])}",
                stroke=palette.RULE,
                stroke_width=1,
            )
        )
        label = f"{ring * step:g}"
        parts.append(
            text(corner[0] - 8, corner[1] - r + 6, label, _SIZE, anchor="end", fill=palette.INK_SOFT)
        )
        parts.append(
            text(corner[0] + r, corner[1] + 22, label, _SIZE, anchor="middle", fill=palette.INK_SOFT)
        )
    for angle in range(15, 90, 15):
        parts.append(
            el(
                "path",
                d=line_path([corner, at(angle, step * rings)]),
                stroke=palette.RULE,
                stroke_width=1,
                stroke_dasharray="2 5",
            )
        )
    curve = [at(give.angle_deg, give.mm) for give in gives]
    parts.append(el("path", d=line_path([corner, *curve], close=True), fill=palette.THREAD_PALE))
    parts.append(
        el("path", d=line_path(curve), stroke=palette.THREAD, stroke_width=3, stroke_linejoin="round")
    )
    for end in ((corner[0], corner[1] - radius - 14), (corner[0] + radius + 14, corner[1])):
        parts.append(el("path", d=line_path([corner, end]), stroke=palette.INK, stroke_width=2.5))
    shown = {give.angle_deg: give for give in gives}
    for marked in (0.0, TRUE_BIAS, 90.0):
        x, y = at(marked, shown[marked].mm)
        parts.append(el("circle", cx=x, cy=y, r=6, fill=palette.SHEET, stroke=palette.THREAD, stroke_width=3))
    x, y = at(TRUE_BIAS, shown[TRUE_BIAS].mm)
    parts += _label(f"true bias {shown[TRUE_BIAS].mm:.1f} mm", x + 14, y - 12)
    parts.append(text(corner[0], 16, f"along the warp {shown[0.0].mm:.1f} mm", _SIZE, bold=True))
    parts.append(text(corner[0], 36, "mm that 10 cm give", _SIZE, fill=palette.INK_SOFT))
    parts.append(text(corner[0] + radius + 20, corner[1] - 14, "along the weft", _SIZE, bold=True))
    parts.append(text(corner[0] + radius + 20, corner[1] + 8, f"{shown[90.0].mm:.1f} mm", _SIZE, bold=True))
    told = ", ".join(f"{give.mm:.1f} mm at {give.angle_deg:g} degrees" for give in gives)
    return document(
        (0, 0, _LEFT + radius + _RIGHT, _TOP + radius + _BOTTOM - 20),
        "Give of the cloth between warp and weft",
        f"A strip of 10 cm gives, counted from the warp: {told}.",
        *parts,
    )


def _label(words: str, left: float, base: float) -> list[str]:
    width = text_width(words, _SIZE, bold=True)
    return [
        el("rect", x=left - 4, y=base - 17, width=width + 8, height=24, fill=palette.SHEET, fill_opacity=0.9),
        text(left, base, words, _SIZE, bold=True),
    ]


def _rings(most: float) -> tuple[float, int]:
    """A round step and how many of them enclose `most`: three to six rings."""
    size = 10.0 ** math.floor(math.log10(most / 5))
    step = next(size * m for m in (1, 2, 5, 10) if most / (size * m) <= 6)
    return step, max(1, math.ceil(most / step - 1e-9))


def _check(gives: Sequence[Give]) -> None:
    angles = [give.angle_deg for give in gives]
    for give in gives:
        if not (math.isfinite(give.mm) and give.mm > 0):
            raise ValueError(f"mm at {give.angle_deg:g} degrees must be greater than 0, got {give.mm!r}.")
    if any(not 0 <= angle <= 90 for angle in angles) or angles != sorted(set(angles)):
        raise ValueError(f"angles must rise from 0 to 90 degrees, got {angles}.")
    missing = {0.0, TRUE_BIAS, 90.0} - set(angles)
    if missing:
        raise ValueError(
            f"gives at {', '.join(f'{angle:g}' for angle in sorted(missing))} degrees are missing."
        )
