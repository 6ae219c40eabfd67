"""Can this seam be sewn on this cloth at all? What the machine makes, how far the seam stretches, what the needle does.

Three weights of objection: "rules out", "doubts" (more likely no than yes: a sample on a like cloth settles it) and
"mind". They come before any trial; a sample that passed on the very cloth
outweighs all of them but the machine's. Estimates say so: the sewn sample decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from seamlab.calc.bounds import not_negative, positive, whole
from seamlab.calc.cloth import ClothFigures
from seamlab.calc.seam import HAND_PULL_POINTS, Extension, extension_percent
from seamlab.calc.thread import needle_for

Check = Literal["machine", "stretch", "point", "ends", "needle size"]
Weight = Literal["rules out", "doubts", "mind"]
Point = Literal["round", "sharp", "light_ball", "medium_ball", "heavy_ball", "cutting"]
SeamRuns = Literal["lengthwise", "crosswise", ""]

POINTED: frozenset[str] = frozenset({"round", "sharp", "cutting"})
BALLS: frozenset[str] = frozenset({"medium_ball", "heavy_ball"})
POINT_WORDS: dict[str, str] = {
    "round": "round point",
    "sharp": "fine sharp point",
    "light_ball": "light ball point",
    "medium_ball": "medium ball point",
    "heavy_ball": "heavy ball point",
    "cutting": "cutting point",
}


@dataclass(frozen=True, slots=True)
class SeamSettings:
    """The settings that decide whether a seam can be. Lengths in mm, threads in tex, stretch at break in percent.

    `under_extension_percent` is that of the thread below ("same": the needle thread again). None is "not known"; no
    `needle_metric` is a stitch by hand. Raises ValueError for figures out of range.
    """

    stitch_type: str
    stitch_length_mm: float
    stitch_width_mm: float = 0.0
    passes: int = 1
    needle_tex: float = 27.0
    ends: int = 1
    needle_extension_percent: float | None = None
    under_extension_percent: float | Literal["same"] | None = "same"
    needle_metric: int | None = None
    needle_point: str = ""

    def __post_init__(self) -> None:
        positive("stitch_length_mm", self.stitch_length_mm)
        not_negative("stitch_width_mm", self.stitch_width_mm)
        positive("needle_tex", self.needle_tex)
        whole("passes", self.passes)
        whole("ends", self.ends)

    @property
    def tex_in_the_eye(self) -> float:
        """All ends that go through one needle add up."""
        return self.needle_tex * self.ends


@dataclass(frozen=True, slots=True)
class MachineFigures:
    """What a machine can do: its ISO 4915 stitch types, its widest stitch in mm."""

    name: str
    stitch_types: frozenset[str]
    largest_width_mm: float


@dataclass(frozen=True, slots=True)
class Objection:
    """One thing that speaks against these settings here; `text` is the sentence for the page."""

    check: Check
    weight: Weight
    text: str


def seam_extension(settings: SeamSettings, thickness_mm: float) -> Extension | None:
    """How far the seam should stretch by its geometry; None where there is no model or a figure is missing.

    The thread that gives less decides. `thickness_mm` is that of the whole seam.
    """
    under = settings.under_extension_percent
    known = [settings.needle_extension_percent]
    if under != "same":
        known.append(under)
    figures = [value for value in known if value is not None]
    if len(figures) < len(known) or settings.passes != 1 or settings.stitch_type not in ("301", "304"):
        return None
    return extension_percent(
        settings.stitch_type,
        settings.stitch_length_mm,
        settings.stitch_width_mm,
        thickness_mm,
        min(figures),
    )


def stretch_asked(cloth: ClothFigures, runs: SeamRuns = "") -> float | None:
    """How far a seam on this cloth must stretch, percent: as far as the cloth does that way (either way: the farther).

    None where nothing is tested. A stretch that a pull by hand can't tell from none counts as none.
    """
    ways = {
        "lengthwise": (cloth.stretch_lengthwise_percent,),
        "crosswise": (cloth.stretch_crosswise_percent,),
        "": (cloth.stretch_lengthwise_percent, cloth.stretch_crosswise_percent),
    }[runs]
    tested = [percent for percent in ways if percent is not None]
    if not tested:
        return None
    return most if (most := max(tested)) > HAND_PULL_POINTS else 0.0


def objections(
    settings: SeamSettings,
    cloth: ClothFigures,
    *,
    layers: int = 2,
    machine: MachineFigures | None = None,
    runs: SeamRuns = "",
    must_stretch: bool = True,
) -> tuple[Objection, ...]:
    """Everything that speaks against sewing these settings on this cloth, what rules it out first.

    `must_stretch` is False for seams that hold a length on purpose (staystitching, basting, gathering, buttonholes).
    """
    found: list[Objection] = []
    if machine is not None:
        found += machine_objections(settings, machine)
    if must_stretch:
        found += _stretch(settings, cloth, layers, runs)
    found += _needle(settings, cloth)
    order: tuple[Weight, ...] = ("rules out", "doubts", "mind")
    return tuple(sorted(found, key=lambda objection: order.index(objection.weight)))


def machine_objections(settings: SeamSettings, machine: MachineFigures) -> list[Objection]:
    """What this machine can't do; nothing for a stitch by hand."""
    if settings.needle_metric is None:
        return []
    if settings.stitch_type not in machine.stitch_types:
        text = f"{machine.name} does not make stitch {settings.stitch_type}."
        return [Objection("machine", "rules out", text)]
    if settings.stitch_width_mm > machine.largest_width_mm:
        text = (
            f"{machine.name} sews at most {machine.largest_width_mm:g} mm wide; "
            f"this seam is {settings.stitch_width_mm:g} mm wide."
        )
        return [Objection("machine", "rules out", text)]
    return []


def _stretch(settings: SeamSettings, cloth: ClothFigures, layers: int, runs: SeamRuns) -> list[Objection]:
    asked = stretch_asked(cloth, runs)
    if not asked:
        return []
    reach = seam_extension(settings, layers * (cloth.thickness_mm or 0.0))
    if reach is None or reach.low >= asked - HAND_PULL_POINTS:
        return []
    span = f"{reach.low:.0f} to {reach.high:.0f} %" if reach.high - reach.low >= 1 else f"{reach.low:.0f} %"
    text = f"The cloth stretches {asked:.0f} %, this seam about {span} (estimate): "
    # Without the thickness of the cloth the upper bound is none: thread that crosses the layers gives more.
    if reach.high < asked - HAND_PULL_POINTS and cloth.thickness_mm is not None:
        return [Objection("stretch", "rules out", text + "its thread would break first.")]
    # Nothing is known between the bounds: taken as equally likely, the middle decides. Common practice, no source.
    doubtful = (reach.low + reach.high) / 2 < asked
    return [Objection("stretch", "doubts" if doubtful else "mind", text + "it may be too short.")]


def _needle(settings: SeamSettings, cloth: ClothFigures) -> list[Objection]:
    if settings.needle_metric is None:
        return []
    found: list[Objection] = []
    point = POINT_WORDS.get(settings.needle_point, settings.needle_point)
    if cloth.structure == "knit" and settings.needle_point in POINTED:
        text = f"A {point} can cut the loops of a knit: a ball point slips between them (common practice)."
        found.append(Objection("point", "rules out", text))
    if cloth.structure == "woven" and settings.needle_point in BALLS:
        text = (
            f"A {point} can push the yarns of a woven cloth aside: "
            "a round or fine sharp point is usual (common practice)."
        )
        found.append(Objection("point", "mind", text))
    return found + eye_objections(settings)


def eye_objections(settings: SeamSettings) -> list[Objection]:
    """Does the thread go through the eye? Several ends through one needle add up."""
    if settings.needle_metric is None:
        return []
    total = settings.tex_in_the_eye
    usual = needle_for(total)
    if usual.low <= settings.needle_metric <= usual.high:
        return []
    size = "finer" if settings.needle_metric < usual.low else "thicker"
    if settings.ends > 1:
        text = (
            f"{settings.ends} ends of tex {settings.needle_tex:g} make tex {total:g} in one eye; needle "
            f"{settings.needle_metric} is {size} than usual for it, {usual.low} to {usual.high} (common practice)."
        )
        return [Objection("ends", "rules out" if size == "finer" else "mind", text)]
    text = (
        f"Needle {settings.needle_metric} is {size} than usual for tex {total:g} in one eye: "
        f"{usual.low} to {usual.high} (common practice)."
    )
    return [Objection("needle size", "mind", text)]


# --- the few changes for a knit ---


@dataclass(frozen=True, slots=True)
class KnitChange:
    """One change that a knit asks for: `key` names it, `words` is the question, `why` its reason.

    `suggested`: what the settings already say about it ("done", "to do", or "" where they can't tell).
    """

    key: str
    words: str
    why: str
    suggested: Literal["done", "to do", ""]


_SOFTER_WORDS: Sequence[str] = ("loose", "looser", "eased", "slack")
_EXTENSIBLE_PERCENT = 25.0  # textured thread: 25 to 40 % and more (from memory); common practice, no source


def knit_changes(
    settings: SeamSettings, *, tension: str = "", stabiliser: str = ""
) -> tuple[KnitChange, ...]:
    """The few changes by which a plain machine sews a knit; common practice, no source.

    Each is a question for the person at the machine: what is already in the settings is suggested, the sample decides.
    """
    under = settings.under_extension_percent
    below = settings.needle_extension_percent if under == "same" else under
    above = settings.needle_extension_percent
    known = above is not None and below is not None
    stretchy = known and min(above or 0.0, below or 0.0) >= _EXTENSIBLE_PERCENT
    ball = settings.needle_point.endswith("ball")
    softer = any(word in tension.lower() for word in _SOFTER_WORDS)
    return (
        KnitChange(
            "ball_point",
            "A ball-point needle is in, and it is new",
            "It slips between the loops; a sharp or worn point cuts them and they run.",
            "done" if ball else "to do",
        ),
        KnitChange(
            "extensible_thread",
            "Thread that stretches, above and below",
            "A seam goes no further than its thread: the same extensible thread on both sides.",
            ("done" if stretchy else "to do") if known else "",
        ),
        KnitChange(
            "looser_tension",
            "Tension looser above and below, balanced",
            "More thread lies in each stitch, so that the seam can open.",
            "done" if softer else "to do",
        ),
        KnitChange(
            "stabiliser_under",
            "Tear-away stabiliser under the cloth, if it is drawn in or waves (as needed)",
            "It carries the cloth over the teeth; torn away, it leaves the seam free.",
            "done" if stabiliser.strip() else "",
        ),
    )
