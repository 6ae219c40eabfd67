"""What a laboratory's figures mean for cloth: how it gives along every angle, how stiff it is, how it forms.

Forces on cloth are per width: N/m. The simple test set pulls strips with 5, 20 and 100 gf per cm of width.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from seamlab.calc.bounds import positive
from seamlab.calc.cloth import off_axis_modulus

NEWTON_PER_M_OF_GF_PER_CM = 0.980665
"""1 gf/cm is 0.00980665 N on 0.01 m (standard gravity)."""

LIGHT_PULL_GF_PER_CM = 5.0
"""The pull of the simple test set's bias test; every give is told for it, so that cloths can be compared."""

TRUE_BIAS = 45.0


@dataclass(frozen=True, slots=True)
class ThreadLines:
    """The four constants of a cloth in its plane: stiffness along warp and weft and in shear, N/m.

    `poisson` is the contraction of the weft when the warp is pulled; `poisson_assumed` says that nobody
    measured it. Raises ValueError where the four can't belong to one cloth.
    """

    e_warp: float
    e_weft: float
    shear: float
    poisson: float = 0.0
    poisson_assumed: bool = False

    def __post_init__(self) -> None:
        off_axis_modulus(TRUE_BIAS, self.e_warp, self.e_weft, self.shear, self.poisson)

    def modulus(self, angle_deg: float) -> float:
        """Stiffness (N/m) of a strip cut at `angle_deg` from the warp."""
        return off_axis_modulus(angle_deg, self.e_warp, self.e_weft, self.shear, self.poisson)

    def give_percent(self, angle_deg: float, pull_gf_per_cm: float = LIGHT_PULL_GF_PER_CM) -> float:
        """How far such a strip gives under a pull, percent; the cloth is taken as a spring."""
        pull = positive("pull_gf_per_cm", pull_gf_per_cm) * NEWTON_PER_M_OF_GF_PER_CM
        return 100.0 * pull / self.modulus(angle_deg)


@dataclass(frozen=True, slots=True)
class AngleFigure:
    """A strip cut at `angle_deg` from the warp: stiffness in N/m, give in percent under the light pull."""

    angle_deg: float
    modulus: float
    give_percent: float


def modulus_from_extension(extension_percent: float, pull_gf_per_cm: float = 100.0) -> float:
    """Stiffness in N/m of a strip that extends by `extension_percent` under `pull_gf_per_cm`.

    A secant modulus, pull over strain: 2 % under 100 gf/cm (98.07 N/m) is 4,903 N/m. From the definition.
    """
    pull = positive("pull_gf_per_cm", pull_gf_per_cm) * NEWTON_PER_M_OF_GF_PER_CM
    return 100.0 * pull / positive("extension_percent", extension_percent)


def mean_bending_length(face: float | None, back: float | None) -> float | None:
    """The mean of both faces, or the one that was measured; None for neither. Source: the simple test set."""
    known = [positive(name, value) for name, value in (("face", face), ("back", back)) if value is not None]
    return sum(known) / len(known) if known else None


def surface_thickness(light: float, heavy: float) -> float:
    """T2 - T100 (mm): the hairy layer that a firm press flattens. Source: the simple test set."""
    light, heavy = positive("light", light), positive("heavy", heavy)
    if heavy > light:
        raise ValueError(f"heavy ({heavy:g}) must not be more than light ({light:g}): cloth gets thinner.")
    return light - heavy


def around(lines: ThreadLines, step_deg: float = 15.0) -> tuple[AngleFigure, ...]:
    """The cloth from warp (0) to weft (90 degrees) in equal steps; the other quarters mirror this one."""
    step = positive("step_deg", step_deg)
    count = round(90.0 / step)
    if abs(count * step - 90.0) > 1e-9:
        raise ValueError(f"step_deg must divide 90, got {step_deg!r}.")
    angles = [step * n for n in range(count + 1)]
    return tuple(AngleFigure(a, lines.modulus(a), lines.give_percent(a)) for a in angles)


def softest_angle(lines: ThreadLines) -> float:
    """The angle from the warp (whole degrees) at which the cloth gives most."""
    return float(min(range(91), key=lambda angle: (lines.modulus(angle), abs(angle - 45))))


def bias_sentences(lines: ThreadLines) -> tuple[str, ...]:
    """What the constants mean at the table, in words; figures from the model, advice marked as such."""
    warp, weft, bias = (lines.give_percent(angle) for angle in (0.0, 90.0, TRUE_BIAS))
    sentences = [
        f"Under a light pull ({LIGHT_PULL_GF_PER_CM:g} gf per cm of width) 10 cm give {_mm(warp)} along the warp, "
        f"{_mm(weft)} along the weft and {_mm(bias)} on the true bias."
    ]
    times_warp, times_weft = bias / warp, bias / weft
    if min(times_warp, times_weft) > 1:
        sentences.append(
            f"On the bias it gives {_times(times_warp)} as much as along the warp and {_times(times_weft)} as much "
            "as along the weft."
        )
    softest = softest_angle(lines)
    if softest not in (0, 90) and abs(softest - TRUE_BIAS) >= 3:
        sentences.append(f"It gives most at {softest:.0f}° from the warp, not at 45°.")
    for name, off, on in (("warp", 5.0, 0.0), ("weft", 85.0, 90.0)):
        more = lines.give_percent(off) / lines.give_percent(on)
        if more >= 1.1:
            sentences.append(
                f"A piece laid 5° off the {name} already gives {_times(more)} as much as one on grain."
            )
    if min(times_warp, times_weft) >= 2:
        sentences.append(
            "Let bias pieces hang before the hem is levelled, and staystitch curves that cross the bias "
            "(common practice, no source)."
        )
    if lines.poisson_assumed:
        high = ThreadLines(lines.e_warp, lines.e_weft, lines.shear, _fair_poisson(lines))
        change = 100.0 * abs(high.modulus(TRUE_BIAS) / lines.modulus(TRUE_BIAS) - 1.0)
        sentences.append(
            "How the cloth narrows when it is pulled (Poisson's ratio) was not measured and is taken as 0; at "
            f"{high.poisson:.2g} the figure on the bias would differ by {change:.0f} %."
        )
    return tuple(sentences)


def _fair_poisson(lines: ThreadLines) -> float:
    """0.3, or less where the two thread lines differ so much that 0.3 is impossible."""
    return min(0.3, 0.9 * math.sqrt(lines.e_warp / lines.e_weft))


def _mm(give_percent: float) -> str:
    """Give of 10 cm in mm, with as many places as a tape could show."""
    return f"{give_percent:.1f} mm" if give_percent >= 0.1 else "less than 0.1 mm"


def _times(ratio: float) -> str:
    return f"{ratio:.1f} times" if ratio < 9.95 else f"{ratio:.0f} times"


FULL_COVER = 28.0
"""Threads that touch each other, in Peirce's unit (from memory: Peirce 1937; Booth)."""

_INCH_CM = 2.54
_COTTON_TEX = 590.54


def yarn_cover(threads_per_cm: float, tex: float) -> float:
    """How closely one set of threads lies: threads per inch over the root of the cotton count (Peirce 1937,
    from memory). In tex: 2.54 n / sqrt(590.54 / tex)."""
    count = _COTTON_TEX / positive("tex", tex)
    return _INCH_CM * positive("threads_per_cm", threads_per_cm) / math.sqrt(count)


def cloth_cover(warp: float, weft: float) -> float:
    """Cover factor of the cloth, K1 + K2 - K1 K2 / 28, from `yarn_cover` both ways (Peirce 1937, from memory)."""
    warp, weft = positive("warp", warp), positive("weft", weft)
    return warp + weft - warp * weft / FULL_COVER
