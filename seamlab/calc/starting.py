"""Where nothing is proven: a first setting to try, by rules of the trade, always marked untested."""

from __future__ import annotations

import math
from dataclasses import dataclass

from seamlab.calc.bounds import whole
from seamlab.calc.cloth import ClothFigures
from seamlab.calc.seam import extension_percent
from seamlab.calc.thread import needle_for


@dataclass(frozen=True, slots=True)
class StartingPoint:
    """A first setting to try where nothing is proven: untested, common practice, no source.

    Lengths in mm, thread in tex (each of needle and under thread), needle NM from `needle_low` to
    `needle_high`.
    """

    stitch_type: str
    stitch_length_mm: float
    stitch_width_mm: float
    thread_tex: float
    needle_low: int
    needle_high: int
    needle_point: str
    words: str


# (weight in g/m2 below which the row holds, stitch length in mm, tex of the thread). Common practice, no
# source.
_BY_WEIGHT = ((120.0, 2.0, 18.0), (250.0, 2.5, 27.0), (400.0, 3.0, 40.0), (math.inf, 3.5, 60.0))
_STRETCHES_FROM_PERCENT = 10.0  # less is taken up by the stitch itself; common practice, no source
_THREAD_EXTENSION_PERCENT = 10.0  # spun polyester breaks at 15-18 % (from memory): this keeps away from it
_WIDEST_MM = 5.0


def starting_point(cloth: ClothFigures, layers: int = 2) -> StartingPoint:
    """A first setting to try on `cloth`: untested, common practice, no source.

    Length and thread follow the weight of the cloth, the needle follows the thread (`needle_for`). A cloth
    that stretches gets a zigzag, in steps of half a millimetre just wide enough that by `extension_percent`
    (its low bound) the seam follows the cloth; 5 mm at most, and `words` says so when that is not enough.
    """
    layers = whole("layers", layers)
    length, tex = next((length, tex) for below, length, tex in _BY_WEIGHT if cloth.weight_gsm < below)
    stretch = max(cloth.stretch_lengthwise_percent or 0.0, cloth.stretch_crosswise_percent or 0.0)
    words = "Untested starting point, as for a plain seam: sew a sample and judge it."
    code, width = "301", 0.0
    if cloth.structure == "knit" or stretch >= _STRETCHES_FROM_PERCENT:
        thickness = layers * (cloth.thickness_mm or 0.0)
        code, width = "304", 0.5
        while width < _WIDEST_MM and _follows(length, width, thickness) < stretch:
            width += 0.5
        if _follows(length, width, thickness) < stretch:
            words += " Even the widest zigzag may not stretch as far as this cloth."
    needle = needle_for(tex)
    point = "light ball point" if cloth.structure == "knit" else "round point"
    return StartingPoint(code, length, width, tex, needle.low, needle.high, point, words)


def _follows(length: float, width: float, thickness: float) -> float:
    return extension_percent("304", length, width, thickness, _THREAD_EXTENSION_PERCENT).low
