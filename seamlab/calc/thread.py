"""Thread and needle: numbering systems, which needle a thread wants, and how much thread a seam eats."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from seamlab.calc.bounds import finite, not_negative, positive, whole

# Fixed-length systems (thicker is more) and fixed-weight systems (thicker is less); factors from the
# definitions (several textile teaching pages agree). Cotton count: 840 yd per lb makes 590.54 when tex is
# g/km. A ticket number is three times the count: metric ticket 3 Nm, cotton ticket 3 Nec.
_PER_TEX = {"tex": 1.0, "dtex": 10.0, "denier": 9.0}
_OVER_TEX = {"Nm": 1000.0, "Nec": 590.54, "metric ticket": 3000.0, "cotton ticket": 3 * 590.54}
SYSTEMS: tuple[str, ...] = (*_PER_TEX, *_OVER_TEX)


def tex_from(value: float, system: str) -> float:
    """Tex (grams per 1000 m) of a thread numbered `value` in `system`; see `SYSTEMS` for the names.

    A resultant number is meant: for a plied thread in Nm or Nec give count / plies (80/2 is 40). A ticket
    number on a reel is a rounded label (tex 27 is 111, sold as 120), so tex from a ticket is near, not
    exact.
    """
    value = positive("value", value)
    if system in _PER_TEX:
        return value / _PER_TEX[system]
    return _over_tex(system) / value


def to_system(tex: float, system: str) -> float:
    """The number in `system` of a thread of `tex`; the exact value, never rounded to a label that is sold."""
    tex = positive("tex", tex)
    if system in _PER_TEX:
        return tex * _PER_TEX[system]
    return _over_tex(system) / tex


def _over_tex(system: str) -> float:
    try:
        return _OVER_TEX[system]
    except KeyError:
        raise ValueError(f"system must be one of {', '.join(SYSTEMS)}; got {system!r}.") from None


def thread_diameter(tex: float, density: float = 1.38, packing: float = 0.6) -> float:
    """Estimated diameter in mm of a round thread of `tex`: a model, not a measurement.

    `density` of the fibre in g/cm3 (1.38 polyester), `packing` the share of the cross-section that is fibre.
    """
    packing = positive("packing", packing)
    if packing > 1:
        raise ValueError(f"packing must be at most 1, got {packing!r}.")
    area_mm2 = positive("tex", tex) / (1000.0 * positive("density", density) * packing)
    return math.sqrt(4.0 * area_mm2 / math.pi)


# --- needles ---

# NM = 100 x blade diameter in mm, measured above the scarf. The other number follows 60 + 5 (n - 8) up to
# 18; 19 breaks the pattern: it is 120, not 115 (two trade pages agree).
_NUMBER_TO_METRIC = {n: 60 + 5 * (n - 8) for n in range(8, 19)} | {19: 120}
_METRIC_TO_NUMBER = {metric: number for number, metric in _NUMBER_TO_METRIC.items()}
NEEDLE_SIZES: tuple[int, ...] = tuple(_METRIC_TO_NUMBER)


def needle_metric(number: int) -> int:
    """Metric size NM of a needle in the other numbering, 8 (60) to 19 (120)."""
    if number not in _NUMBER_TO_METRIC:
        raise ValueError(f"number must be a whole number from 8 to 19, got {number!r}.")
    return _NUMBER_TO_METRIC[number]


def needle_number(metric: int) -> int:
    """The other number of a needle of metric size NM; raises ValueError for a size without one (115)."""
    if metric not in _METRIC_TO_NUMBER:
        sizes = ", ".join(str(size) for size in NEEDLE_SIZES)
        raise ValueError(f"metric must be one of {sizes}; got {metric!r}.")
    return _METRIC_TO_NUMBER[metric]


NEEDLE_TABLE: tuple[tuple[float, float, int, int], ...] = (
    (18, 24, 65, 75),
    (27, 30, 75, 90),
    (40, 40, 90, 100),
    (60, 60, 100, 110),
    (80, math.inf, 110, 120),
)
"""Rows (tex from, tex to, NM low, NM high). Common practice, no source: no neutral table was found."""


@dataclass(frozen=True, slots=True)
class NeedleRange:
    """Needle sizes to try first, NM `low` to `high`, and in words where they come from."""

    low: int
    high: int
    note: str


def needle_for(total_tex: float) -> NeedleRange:
    """Needle sizes to try for `total_tex`, the tex of all ends that go through one eye added up.

    Common practice, no source (`NEEDLE_TABLE`). The trade's table has gaps (24-27, 30-40, 40-60, 60-80):
    there both limits are drawn in a straight line from one row to the next and rounded up to a size that is
    made, since a thread must slide in the eye. Finer than tex 18 keeps the first row. `note` says which of
    these was done.
    """
    tex = positive("total_tex", total_tex)
    first = NEEDLE_TABLE[0]
    if tex < first[0]:
        return NeedleRange(
            first[2], first[3], f"finer than the table's first row (tex {first[0]:g}): that row is kept"
        )
    for row, following in zip(NEEDLE_TABLE, (*NEEDLE_TABLE[1:], None), strict=True):
        if tex <= row[1]:
            note = "from the trade's table (common practice)"
            if math.isinf(row[1]) and tex > row[0]:
                note += "; its last row is open upwards: try whether the thread slides through the eye"
            return NeedleRange(row[2], row[3], note)
        if following is not None and tex < following[0]:
            share = (tex - row[1]) / (following[0] - row[1])
            low = _size_up(row[2] + share * (following[2] - row[2]))
            high = _size_up(row[3] + share * (following[3] - row[3]))
            gap = f"tex {row[1]:g} and {following[0]:g}"
            note = f"the trade's table has nothing between {gap}: drawn between the rows"
            return NeedleRange(low, high, note)
    raise AssertionError("the last row is open upwards")


def _size_up(nm: float) -> int:
    return next(size for size in NEEDLE_SIZES if size >= nm - 1e-9)


# --- how much thread ---

# (constant, coefficient of S x T, coefficient of S x W) of the thread length per seam length, from the
# geometry published by two textile teaching pages. T is the whole thickness of the seam, S stitches per
# length, W the bight.
_GEOMETRY: dict[str, tuple[float, float, float]] = {
    "101": (3, 2, 0),
    "301": (2, 2, 0),
    "401": (4, 2, 0),
    "406": (7, 2, 2),
    "407": (9, 6, 2),
    "504": (5, 4, 4),
    "514": (5, 6, 4),
    "516": (9, 6, 4),
    "602": (8, 4, 5),
    "605": (10, 6, 4),
    "607": (12, 8, 4),
}
OVEREDGE_FORM = "5 + 4 S (W + T)"
"""504 is published with 3 and with 5 as its constant. 5 is taken: only with it do 401 and 504 add up to the
published 516, which is the two side by side."""

CONSUMPTION_TYPES: tuple[str, ...] = (*sorted((*_GEOMETRY, "304")),)


def consumption(
    stitch_type: str | int, thickness: float, stitches_per_length: float, width: float = 0, passes: int = 1
) -> float:
    """Thread per length of seam (a ratio), all threads of the stitch together; an estimate before waste.

    `thickness` of the whole seam, `stitches_per_length` (stitches per one length unit) and `width` (bight)
    in one unit throughout, e.g. mm and stitches per mm. `passes`: how often the machine sews the line
    (triple straight stitch 3). The form taken for 504 is `OVEREDGE_FORM`. 304 is this project's own
    geometry: both threads follow the zigzag, 2 hypot(1, W S) + 2 T S; with no width it is 301. Raises
    ValueError for a stitch type without a published geometry (unpick a sample instead), or where a width is
    missing or has no meaning.
    """
    code = str(stitch_type)
    thickness = not_negative("thickness", thickness)
    density = positive("stitches_per_length", stitches_per_length)
    width = not_negative("width", width)
    passes = whole("passes", passes)
    if code == "304":
        return passes * (2.0 * math.hypot(1.0, width * density) + 2.0 * thickness * density)
    if code not in _GEOMETRY:
        known = ", ".join(CONSUMPTION_TYPES)
        raise ValueError(
            f"stitch_type {code} has no geometry here (known: {known}): "
            "unpick a sewn sample and measure its threads."
        )
    constant, by_thickness, by_width = _GEOMETRY[code]
    if by_width and width == 0:
        raise ValueError(f"width must be greater than 0 for stitch type {code}.")
    if not by_width and width > 0:
        raise ValueError(
            f"width must be 0 for stitch type {code}, which sews a straight line; got {width:g}."
        )
    return passes * (constant + density * (by_thickness * thickness + by_width * width))


def sample_factors(unpicked_lengths: Sequence[float], sample_length: float) -> tuple[float, ...]:
    """Thread per seam length of each thread of the stitch, from the lengths unpicked out of a sample seam."""
    sample = positive("sample_length", sample_length)
    if len(unpicked_lengths) == 0:
        raise ValueError("unpicked_lengths must hold the length of at least one thread.")
    return tuple(
        positive(f"unpicked_lengths[{i}]", length) / sample for i, length in enumerate(unpicked_lengths)
    )


def consumption_from_sample(
    unpicked_lengths: Sequence[float], sample_length: float, seam_length: float, allowance: float = 0
) -> float:
    """Total thread for `seam_length`, by the threads unpicked from a sample; all lengths in one unit, and
    so the result.

    `allowance` is the waste as a share (0.15 is 15 %; 0.10 to 0.20 are published); more than 1 is refused
    as a percent given by mistake. Not rounded on the way: the published example rounds its factor and gets
    621 for 624.83.
    """
    allowance = finite("allowance", allowance)
    if not 0 <= allowance <= 1:
        raise ValueError(f"allowance must be a share from 0 to 1 (0.15 for 15 %), got {allowance:g}.")
    return (
        sum(sample_factors(unpicked_lengths, sample_length))
        * positive("seam_length", seam_length)
        * (1.0 + allowance)
    )
