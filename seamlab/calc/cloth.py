"""What a cloth does: it shrinks, stretches, recovers, drapes, repeats and lies on or off its grain.

Lengths may be in any one unit within a call unless a name says which; results in percent are signed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from seamlab.calc.bounds import finite, not_negative, positive

Structure = Literal["woven", "knit"]
STRUCTURES: tuple[str, ...] = ("woven", "knit")

# Tape readings are good to a millimetre at best, so a last bit of floating point must not cost a whole
# repeat.
_ROUNDING = 1e-9

GRAVITY_FACTOR = 9.81e-6
"""Turns g/m2 x mm3 into uN.m: g = 9.81 m/s2 (1 g/m2 = 1e-3 kg/m2, 1 mm3 = 1e-9 m3, 1 N = 1e6 uN)."""

SHEAR_FACTOR = 123.0
"""N/m x percent: a bias strip under 5 gf/cm (4.903 N/m) extends by load / (4 G), so G = 100 x 4.903 / (4 x
EB5) = 122.6 / EB5. The wool laboratory's manual (De Boos & Tester 1994, from memory) rounds it to 123."""


@dataclass(frozen=True, slots=True)
class ClothFigures:
    """The tested properties by which cloths are compared and seams are judged.

    `weight_gsm` in g/m2, `thickness_mm` of one layer, stretch of the cloth itself in percent along the
    selvedge (lengthwise) and across it. None means "not tested". `key` names the cloth: two figures with
    the same key (not empty) are the same cloth. Raises ValueError on an unknown structure or an impossible
    figure.
    """

    structure: Structure
    weight_gsm: float
    thickness_mm: float | None = None
    stretch_lengthwise_percent: float | None = None
    stretch_crosswise_percent: float | None = None
    key: str = ""

    def __post_init__(self) -> None:
        if self.structure not in STRUCTURES:
            raise ValueError(f"structure must be 'woven' or 'knit', got {self.structure!r}.")
        positive("weight_gsm", self.weight_gsm)
        if self.thickness_mm is not None:
            positive("thickness_mm", self.thickness_mm)
        if self.stretch_lengthwise_percent is not None:
            not_negative("stretch_lengthwise_percent", self.stretch_lengthwise_percent)
        if self.stretch_crosswise_percent is not None:
            not_negative("stretch_crosswise_percent", self.stretch_crosswise_percent)


def dimensional_change(before: float, after: float) -> float:
    """Percent change of a marked length by washing or pressing; smaller after than before is negative.

    Source: AATCC TM135-2018 section 9 (100 (B - A) / A); ISO 5077 has the same signed form.
    """
    before = positive("before", before)
    return 100.0 * (positive("after", after) - before) / before


def cut_for_finished(finished: float, change_percent: float) -> float:
    """Length to cut so that it measures `finished` after a `dimensional_change` of `change_percent` (signed).

    One divides: 97 cm from a cloth that shrinks 3 % is 97 / 0.97 = 100 cm, not 97 x 1.03 = 99.91 cm.
    Raises ValueError if the change is -100 % or less.
    """
    finished = not_negative("finished", finished)
    left = 1.0 + finite("change_percent", change_percent) / 100.0
    if left <= 0:
        raise ValueError(
            f"change_percent must be greater than -100, got {change_percent!r}: no cloth would be left."
        )
    return finished / left


def stretch_percent(relaxed: float, stretched: float) -> float:
    """100 (stretched - relaxed) / relaxed: how far a marked length of cloth or seam can be pulled.

    Fold the cloth and measure on the fold, not at the cut edge. Raises ValueError if it got shorter.
    """
    relaxed = positive("relaxed", relaxed)
    stretched = positive("stretched", stretched)
    if stretched < relaxed:
        raise ValueError(f"stretched ({stretched:g}) must not be shorter than relaxed ({relaxed:g}).")
    return 100.0 * (stretched - relaxed) / relaxed


def recovery_percent(relaxed: float, stretched: float, released: float) -> float:
    """100 (stretched - released) / (stretched - relaxed): how much of the stretch the cloth gives back.

    100 is full recovery, 0 none. Somewhat above 100 is possible: the cloth went back further than it
    started from. Raises ValueError unless relaxed < stretched and released <= stretched.
    """
    relaxed = positive("relaxed", relaxed)
    stretched = positive("stretched", stretched)
    released = positive("released", released)
    if stretched <= relaxed:
        raise ValueError(f"stretched ({stretched:g}) must be longer than relaxed ({relaxed:g}).")
    if released > stretched:
        raise ValueError(f"released ({released:g}) must not be longer than stretched ({stretched:g}).")
    return 100.0 * (stretched - released) / (stretched - relaxed)


def whole_repeats(cut_length: float, repeat: float) -> float:
    """`cut_length` rounded up to whole repeats of the design: 96 with a repeat of 27 is 4 x 27 = 108."""
    cut_length = not_negative("cut_length", cut_length)
    repeat = positive("repeat", repeat)
    ratio = cut_length / repeat
    return math.ceil(ratio - _ROUNDING * max(1.0, ratio)) * repeat


def grain_angle(distance_a: float, distance_b: float, length: float) -> float:
    """Signed degrees by which a grainline lies off the grain: asin((a - b) / length).

    `distance_a` and `distance_b` are tape readings from the two ends of the grainline, square to the
    selvedge; `length` is the grainline between them. 0 is on grain; positive: the a end lies further from
    the selvedge. Raises ValueError if the readings differ by more than the line is long.
    """
    difference = not_negative("distance_a", distance_a) - not_negative("distance_b", distance_b)
    length = positive("length", length)
    if abs(difference) > length:
        raise ValueError(
            f"distance_a and distance_b differ by {abs(difference):g}, but the grainline between them is "
            f"only {length:g} long: tape both again, square to the selvedge."
        )
    return math.degrees(math.asin(difference / length))


def off_axis_modulus(angle_deg: float, e_warp: float, e_weft: float, shear: float, poisson: float) -> float:
    """Stiffness of a strip cut at `angle_deg` from the warp, in the unit of the moduli (N/m for cloth).

    Plane orthotropic elasticity (standard mechanics): 1/E = cos^4/E1 + sin^4/E2 + cos^2 sin^2 (1/G - 2
    nu12/E1), with E1 = `e_warp`, E2 = `e_weft`, G = `shear` and nu12 = `poisson` (contraction of the weft
    when the warp is pulled). Raises ValueError if nu12^2 >= E1/E2: such a cloth would give out energy when
    pulled.
    """
    angle = math.radians(finite("angle_deg", angle_deg))
    e_warp, e_weft, shear = positive("e_warp", e_warp), positive("e_weft", e_weft), positive("shear", shear)
    limit = math.sqrt(e_warp / e_weft)
    if abs(finite("poisson", poisson)) >= limit:
        raise ValueError(
            f"poisson must lie between -{limit:g} and {limit:g} for these moduli, got {poisson!r}."
        )
    c2, s2 = math.cos(angle) ** 2, math.sin(angle) ** 2
    return 1.0 / (c2 * c2 / e_warp + s2 * s2 / e_weft + c2 * s2 * (1.0 / shear - 2.0 * poisson / e_warp))


def shear_rigidity(bias_extension_percent: float) -> float:
    """Shear rigidity in N/m from the extension (percent) of a bias strip under 5 gf per cm of width.

    Source: the wool laboratory's simple test set (FAST, CSIRO); for the factor see `SHEAR_FACTOR`.
    """
    return SHEAR_FACTOR / positive("bias_extension_percent", bias_extension_percent)


def bending_rigidity(weight_gsm: float, bending_length_mm: float) -> float:
    """Bending rigidity in uN.m: weight (g/m2) x bending length (mm) cubed x 9.81e-6.

    `bending_length_mm` is the mean of face and back. Source: the wool laboratory's simple test set (FAST,
    CSIRO).
    """
    return (
        positive("weight_gsm", weight_gsm)
        * positive("bending_length_mm", bending_length_mm) ** 3
        * GRAVITY_FACTOR
    )


def formability(
    extension_5_percent: float, extension_20_percent: float, bending_rigidity_unm: float
) -> float:
    """Formability in mm2, (E20 - E5) x B / 14.7: how far cloth can be pressed together in a seam before it
    buckles.

    E5 and E20 are percent extension under 5 and 20 gf/cm; 14.7 N/m is the 15 gf/cm between them; B in uN.m.
    Source: the wool laboratory's simple test set (FAST, CSIRO), from memory. Raises ValueError if E20 < E5.
    """
    low = not_negative("extension_5_percent", extension_5_percent)
    high = not_negative("extension_20_percent", extension_20_percent)
    if high < low:
        raise ValueError(
            f"extension_20_percent ({high:g}) must not be less than extension_5_percent ({low:g})."
        )
    return (high - low) * positive("bending_rigidity_unm", bending_rigidity_unm) / 14.7
