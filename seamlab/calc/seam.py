"""What a seam holds, how far it stretches, how long it takes, and whether a sewn sample will do.

`strength` and `extension_percent` are estimates: the sewn sample decides, and `judge` reads the sample.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from seamlab.calc.bounds import finite, not_negative, positive, whole
from seamlab.calc.cloth import ClothFigures, dimensional_change, stretch_percent

STRENGTH_FACTORS: dict[str, float] = {"301": 1.5, "401": 1.7}
"""Seam strength over stitches x thread strength, for a superimposed seam in woven cloth. Source: a thread
maker's bulletin. 1.5 is the average loop strength of two strands: a thread in a loop is weaker than a
straight one."""

_SEWN_BY_MACHINE = {
    "straight": 1,
    "zigzag": 1,
    "three-step zigzag": 1,
    "triple straight": 3,
    "triple zigzag": 3,
}


def strength(
    stitches_per_cm: float,
    thread_strength_n: float,
    stitch_type: str | int,
    under_thread_strength_n: float | None = None,
) -> float:
    """Estimated strength of a seam across its line in N/cm, where the thread is what breaks.

    stitches/cm x strength of the weaker thread (N) x factor (`STRENGTH_FACTORS`). Other units go through in
    the same way: 10 stitches/in of 4 lb thread in 301 hold 60 lb/in. Cloth may tear or slip first: see
    `weakest`. Raises ValueError for stitch types without a published factor.
    """
    factor = STRENGTH_FACTORS.get(str(stitch_type))
    if factor is None:
        known = ", ".join(STRENGTH_FACTORS)
        raise ValueError(f"stitch_type {stitch_type} has no published strength factor (known: {known}).")
    thread = positive("thread_strength_n", thread_strength_n)
    if under_thread_strength_n is not None:
        thread = min(thread, positive("under_thread_strength_n", under_thread_strength_n))
    return positive("stitches_per_cm", stitches_per_cm) * thread * factor


def efficiency_percent(seam_strength: float, cloth_strength: float) -> float:
    """100 x seam strength / cloth strength, both by the grab test in one unit (ASTM D1683, ASTM D5034)."""
    return 100.0 * not_negative("seam_strength", seam_strength) / positive("cloth_strength", cloth_strength)


@dataclass(frozen=True, slots=True)
class Weakest:
    """What gives way first ("cloth", "seam" or "slippage") and at what strength, in the unit given."""

    part: Literal["cloth", "seam", "slippage"]
    strength: float


def weakest(cloth: float, seam: float, slippage: float | None = None) -> Weakest:
    """What fails first under load across the seam: the least of cloth, seam and yarn slippage, in one unit.

    None of the three says anything alone. At equal figures the cloth is named first: it can't be sewn again.
    """
    found = Weakest("cloth", not_negative("cloth", cloth))
    if not_negative("seam", seam) < found.strength:
        found = Weakest("seam", float(seam))
    if slippage is not None and not_negative("slippage", slippage) < found.strength:
        found = Weakest("slippage", float(slippage))
    return found


@dataclass(frozen=True, slots=True)
class Extension:
    """How far a seam should stretch before a thread must give, in percent: from `low` to `high`."""

    low: float
    high: float


def extension_percent(
    stitch_type: str | int,
    stitch_length: float,
    width: float,
    thickness: float,
    thread_extension_percent: float,
) -> Extension:
    """Bounds on the stretch of a 301 or 304 seam along its line, by geometry; an estimate.

    s = `stitch_length` (advance per needle penetration), w = `width` of the zigzag (0 for 301), t =
    `thickness` of the whole seam, in one unit; e = `thread_extension_percent` / 100; p = s, or hypot(s, w)
    for 304. low = ((p + t)(1 + e) - t) / s - 1: the thread that crosses the layers stays there. high = (p +
    t)(1 + e) / s - 1: it is given up to the length of the seam. For zigzag the width is taken as fully
    used. Raises ValueError for other stitch types, which have no model: the sample decides.
    """
    code = str(stitch_type)
    s = positive("stitch_length", stitch_length)
    w = not_negative("width", width)
    t = not_negative("thickness", thickness)
    e = not_negative("thread_extension_percent", thread_extension_percent) / 100.0
    if code not in ("301", "304"):
        raise ValueError(
            f"stitch_type {code} has no stretch model (known: 301, 304): the sewn sample decides."
        )
    if code == "301" and w > 0:
        raise ValueError(f"width must be 0 for stitch type 301, which sews a straight line; got {w:g}.")
    path = math.hypot(s, w)
    return Extension(
        low=100.0 * (((path + t) * (1.0 + e) - t) / s - 1.0), high=100.0 * ((path + t) * (1.0 + e) / s - 1.0)
    )


def machine_passes(stitch: str) -> int:
    """How often the machine sews the line: 3 for "triple straight" and "triple zigzag" (forward, back,
    forward).

    Also takes an ISO 4915 number of a machine stitch ("301"), which is sewn once. Raises ValueError for hand
    stitches (class 200) and unknown names.
    """
    name = str(stitch).strip().lower()
    if name in _SEWN_BY_MACHINE:
        return _SEWN_BY_MACHINE[name]
    if len(name) == 3 and name.isdecimal() and name[0] in "13456":
        return 1
    if len(name) == 3 and name.isdecimal() and name[0] == "2":
        raise ValueError(f"stitch {name} is sewn by hand: it has no machine passes.")
    known = ", ".join(_SEWN_BY_MACHINE)
    raise ValueError(f"stitch must be an ISO 4915 number or one of {known}; got {stitch!r}.")


def sewing_time(length: float, stitch_length: float, stitches_per_minute: float, passes: int = 1) -> float:
    """Minutes the needle runs: length / stitch_length x passes / stitches_per_minute.

    `length` and `stitch_length` in one unit. Handling, turning and pressing come on top.
    """
    stitches = (
        not_negative("length", length) / positive("stitch_length", stitch_length) * whole("passes", passes)
    )
    return stitches / positive("stitches_per_minute", stitches_per_minute)


def waviness_percent(before: float, after: float) -> float:
    """Percent change in length of a sample by sewing a seam on it: negative puckers, positive waves."""
    return dimensional_change(before, after)


# --- judging a sewn sample ---

Verdict = Literal["passes", "fails", "look again"]
Direction = Literal["lengthwise", "crosswise", "bias"]
PullEnd = Literal["held", "stopped", "broke"]
Balance = Literal["balanced", "under thread shows on top", "upper thread shows below"]
NeedleDamage = Literal["none", "marks", "cut yarns"]

# The limits of `judge`; all common practice, no source.
WAVINESS_PASSES_PERCENT = 2.0
"""Change of length by sewing, either way, that pressing takes out. Common practice, no source."""
WAVINESS_FAILS_PERCENT = 4.0
"""More than this is not pressed out; between the two the sample is pressed and seen again. Common practice,
no source."""
SMOOTHNESS_GRADE = 4.0
"""Least seam smoothness, of grades 1 (worst) to 5 by the photographs of AATCC 88B (scale from memory); the
limit is common practice, no source. Half a grade less is looked at again: two people differ by as much."""
HAND_PULL_POINTS = 2.0
"""Percentage points that a pull by hand along a ruler can't tell apart. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class TrialFigures:
    """What was measured and seen on one sewn sample; None means "not looked at".

    `direction`: how the seam runs in the cloth. `length_before_mm`, `length_after_mm`: the marked length
    before and after sewing, relaxed. `stretched_mm`: that length pulled along the seam as far as it went,
    and `pull_end` what ended the pull: the seam "held" (it could have gone on), "stopped" (it would go no
    further) or "broke" (a thread cracked). `smoothness_grade` 1 to 5. `skipped_stitches` a count.
    `strength_n_per_cm` across the seam, if tested. Raises ValueError for impossible figures or words
    outside those of the types above.
    """

    direction: Direction = "lengthwise"
    length_before_mm: float | None = None
    length_after_mm: float | None = None
    stretched_mm: float | None = None
    pull_end: PullEnd | None = None
    smoothness_grade: float | None = None
    balance: Balance | None = None
    skipped_stitches: int | None = None
    needle_damage: NeedleDamage | None = None
    strength_n_per_cm: float | None = None

    def __post_init__(self) -> None:
        _one_of("direction", self.direction, ("lengthwise", "crosswise", "bias"))
        _one_of("pull_end", self.pull_end, ("held", "stopped", "broke", None))
        _one_of(
            "balance",
            self.balance,
            ("balanced", "under thread shows on top", "upper thread shows below", None),
        )
        _one_of("needle_damage", self.needle_damage, ("none", "marks", "cut yarns", None))
        for name in ("length_before_mm", "length_after_mm", "stretched_mm"):
            if getattr(self, name) is not None:
                positive(name, getattr(self, name))
        if self.strength_n_per_cm is not None:
            not_negative("strength_n_per_cm", self.strength_n_per_cm)
        if self.skipped_stitches is not None:
            whole("skipped_stitches", self.skipped_stitches, least=0)
        _grade("smoothness_grade", self.smoothness_grade)
        if self.stretched_mm is not None:
            if self.length_after_mm is None:
                raise ValueError("stretched_mm needs length_after_mm, the relaxed length of the sewn sample.")
            if self.pull_end is None:
                raise ValueError("stretched_mm needs pull_end: the seam held, stopped or broke.")
            stretch_percent(self.length_after_mm, self.stretched_mm)


@dataclass(frozen=True, slots=True)
class Demand:
    """What the garment asks of the seam; None leaves it to the cloth and the usual limits.

    `stretch_percent`: stretch along the seam; None asks for as much as the cloth itself gives that way.
    `strength_n_per_cm`: None asks for none. `smoothness_grade`: None asks for `SMOOTHNESS_GRADE`.
    """

    stretch_percent: float | None = None
    strength_n_per_cm: float | None = None
    smoothness_grade: float | None = None

    def __post_init__(self) -> None:
        if self.stretch_percent is not None:
            not_negative("stretch_percent", self.stretch_percent)
        if self.strength_n_per_cm is not None:
            positive("strength_n_per_cm", self.strength_n_per_cm)
        _grade("smoothness_grade", self.smoothness_grade)


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that was judged: `check` names it, `verdict` is its outcome, `text` the sentence for the
    page."""

    check: str
    verdict: Verdict
    text: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict on a sample, and every reason: what failed first, then what needs a look, then what
    passed."""

    verdict: Verdict
    reasons: tuple[Reason, ...]


def judge(trial: TrialFigures, cloth: ClothFigures, demand: Demand | None = None) -> Judgement:
    """Whether the sewn sample will do for this cloth and this demand, with every reason in words.

    One failure fails the sample; otherwise anything not looked at or too close to call is "look again";
    otherwise it passes. The limits are the constants above (common practice, no source) and the figures of
    `demand`.
    """
    demand = demand or Demand()
    checks: tuple[Callable[[TrialFigures, ClothFigures, Demand], Reason | None], ...] = (
        _judge_stretch,
        _judge_waviness,
        _judge_smoothness,
        _judge_balance,
        _judge_skipped,
        _judge_damage,
        _judge_strength,
    )
    found = [reason for check in checks if (reason := check(trial, cloth, demand)) is not None]
    order: tuple[Verdict, ...] = ("fails", "look again", "passes")
    reasons = tuple(sorted(found, key=lambda reason: order.index(reason.verdict)))
    return Judgement(reasons[0].verdict, reasons)


def _judge_stretch(trial: TrialFigures, cloth: ClothFigures, demand: Demand) -> Reason:
    own = {
        "lengthwise": cloth.stretch_lengthwise_percent,
        "crosswise": cloth.stretch_crosswise_percent,
        "bias": None,
    }[trial.direction]
    asked = demand.stretch_percent if demand.stretch_percent is not None else own
    if asked is None:
        missing = (
            "say how far this bias seam must stretch"
            if trial.direction == "bias"
            else f"the cloth's own {trial.direction} stretch is not tested"
        )
        return Reason("stretch", "look again", f"How far the seam must stretch is not known: {missing}.")
    if own is not None and own + HAND_PULL_POINTS < asked:
        # The seam can't be proved beyond its cloth: another cloth or direction is wanted, not another stitch.
        text = f"The cloth itself gives only {own:.0f} % {trial.direction}; {asked:.0f} % is asked for."
        return Reason("stretch", "fails", text)
    if trial.stretched_mm is None or trial.length_after_mm is None:
        if asked <= HAND_PULL_POINTS:
            return Reason("stretch", "passes", "The cloth does not stretch this way, so the seam need not.")
        return Reason("stretch", "look again", f"Pull the sample: the seam must stretch {asked:.0f} %.")
    reached = stretch_percent(trial.length_after_mm, trial.stretched_mm)
    ended = {"held": "held", "stopped": "would go no further", "broke": "broke"}[trial.pull_end or "held"]
    if reached >= asked:
        text = f"The seam {ended} at {reached:.0f} %; {asked:.0f} % is needed."
        return Reason("stretch", "passes", text)
    if trial.pull_end == "held":
        text = f"The seam held, but was pulled only to {reached:.0f} %: pull on to {asked:.0f} %."
        return Reason("stretch", "look again", text)
    if asked - reached <= HAND_PULL_POINTS:
        text = f"The seam {ended} at {reached:.1f} %, too near to the {asked:.1f} % needed to tell by hand."
        return Reason("stretch", "look again", text)
    text = f"The seam {ended} at {reached:.0f} %, before the {asked:.0f} % needed."
    return Reason("stretch", "fails", text)


def _judge_waviness(trial: TrialFigures, cloth: ClothFigures, demand: Demand) -> Reason:
    if trial.length_before_mm is None or trial.length_after_mm is None:
        return Reason(
            "waviness", "look again", "Measure the sample before and after sewing: pucker or wave is open."
        )
    change = waviness_percent(trial.length_before_mm, trial.length_after_mm)
    how = "shorter: it puckers" if change < 0 else "longer: it waves"
    text = f"The sample became {abs(change):.1f} % {how}" if change else "The sample kept its length"
    if abs(change) <= WAVINESS_PASSES_PERCENT:
        return Reason("waviness", "passes", f"{text}; up to {WAVINESS_PASSES_PERCENT:g} % is pressed out.")
    if abs(change) <= WAVINESS_FAILS_PERCENT:
        return Reason("waviness", "look again", f"{text}: press the sample and look again.")
    return Reason("waviness", "fails", f"{text}; more than {WAVINESS_FAILS_PERCENT:g} % is not pressed out.")


def _judge_smoothness(trial: TrialFigures, cloth: ClothFigures, demand: Demand) -> Reason:
    least = SMOOTHNESS_GRADE if demand.smoothness_grade is None else demand.smoothness_grade
    grade = trial.smoothness_grade
    if grade is None:
        return Reason(
            "smoothness", "look again", f"Grade the smoothness; grade {least:g} or better is needed."
        )
    if grade >= least:
        return Reason("smoothness", "passes", f"Smoothness grade {grade:g}; {least:g} or better is needed.")
    close = least - grade <= 0.5
    return Reason(
        "smoothness",
        "look again" if close else "fails",
        f"Smoothness grade {grade:g}, below the {least:g} needed"
        + (": let a second person grade it." if close else "."),
    )


def _judge_balance(trial: TrialFigures, cloth: ClothFigures, demand: Demand) -> Reason:
    match trial.balance:
        case None:
            return Reason("balance", "look again", "Look at both faces: the balance of the threads is open.")
        case "balanced":
            return Reason("balance", "passes", "The threads are balanced.")
        case "under thread shows on top":
            remedy = "ease the upper tension or tighten the under thread, and sew again"
        case "upper thread shows below":
            remedy = "tighten the upper tension or ease the under thread, and sew again"
    return Reason("balance", "fails", f"The {trial.balance}: {remedy}.")


def _judge_skipped(trial: TrialFigures, cloth: ClothFigures, demand: Demand) -> Reason:
    count = trial.skipped_stitches
    if count is None:
        return Reason("skipped stitches", "look again", "Count the skipped stitches.")
    if count == 0:
        return Reason("skipped stitches", "passes", "No stitch is skipped.")
    noun = "stitch" if count == 1 else "stitches"
    text = f"{count} skipped {noun}: try a new needle, or another size or point."
    return Reason("skipped stitches", "fails", text)


def _judge_damage(trial: TrialFigures, cloth: ClothFigures, demand: Demand) -> Reason:
    match trial.needle_damage:
        case None:
            return Reason("needle damage", "look again", "Look along the needle holes: damage is open.")
        case "none":
            return Reason("needle damage", "passes", "The needle left no damage.")
        case "marks":
            text = "The needle left marks: see after pressing and washing whether they close."
            return Reason("needle damage", "look again", text)
        case "cut yarns":
            text = "The needle cut yarns: try a finer needle, or a rounded point."
            return Reason("needle damage", "fails", text)


def _judge_strength(trial: TrialFigures, cloth: ClothFigures, demand: Demand) -> Reason | None:
    if demand.strength_n_per_cm is None:
        return None
    asked, found = demand.strength_n_per_cm, trial.strength_n_per_cm
    if found is None:
        text = f"{asked:g} N/cm is asked for and not tested: an estimate does not decide it."
        return Reason("strength", "look again", text)
    if found >= asked:
        return Reason("strength", "passes", f"The seam held {found:g} N/cm; {asked:g} N/cm is asked for.")
    return Reason(
        "strength", "fails", f"The seam held {found:g} N/cm, less than the {asked:g} N/cm asked for."
    )


def _one_of(name: str, value: object, allowed: tuple[str | None, ...]) -> None:
    if value not in allowed:
        words = ", ".join("not looked at (None)" if word is None else repr(word) for word in allowed)
        raise ValueError(f"{name} must be one of {words}; got {value!r}.")


def _grade(name: str, value: float | None) -> None:
    if value is not None and not 1 <= finite(name, value) <= 5:
        raise ValueError(f"{name} must be from 1 (worst) to 5 (best), got {value!r}.")
