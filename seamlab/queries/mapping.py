"""Rows to the values that the calculations speak, and back: the one place where the two vocabularies meet."""

from decimal import Decimal
from typing import Any, cast

from seamlab.calc import seam, suits
from seamlab.calc.cloth import ClothFigures, Structure
from seamlab.models import Cloth, Machine, SeamRecipe, SeamRecipeVersion, SeamTrial

VERDICT_TO_CALC: dict[str, seam.Verdict] = {
    SeamTrial.Verdict.PASSES: "passes",
    SeamTrial.Verdict.FAILS: "fails",
    SeamTrial.Verdict.LOOK_AGAIN: "look again",
}
VERDICT_TO_ROW: dict[seam.Verdict, str] = {calc: str(row) for row, calc in VERDICT_TO_CALC.items()}
BALANCE_TO_CALC: dict[str, seam.Balance] = {
    SeamTrial.Balance.EVEN: "balanced",
    SeamTrial.Balance.TOP_TIGHT: "under thread shows on top",
    SeamTrial.Balance.UNDER_TIGHT: "upper thread shows below",
}
DAMAGE_TO_CALC: dict[str, seam.NeedleDamage] = {
    SeamTrial.Damage.NONE: "none",
    SeamTrial.Damage.MARKS: "marks",
    SeamTrial.Damage.CUT: "cut yarns",
}
PULL_END_TO_CALC: dict[str, seam.PullEnd] = {
    SeamTrial.PullEnd.HELD: "held",
    SeamTrial.PullEnd.STOPPED: "stopped",
    SeamTrial.PullEnd.BROKE: "broke",
}


def number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def figures_of(
    cloth: Cloth, stretch_lengthwise: Decimal | None, stretch_crosswise: Decimal | None
) -> ClothFigures:
    """A cloth with the stretch of its newest tests (percent, None: not tested)."""
    return ClothFigures(
        structure=cast(Structure, cloth.structure),
        weight_gsm=float(cloth.weight_gsm),
        thickness_mm=number(cloth.thickness_mm),
        stretch_lengthwise_percent=number(stretch_lengthwise),
        stretch_crosswise_percent=number(stretch_crosswise),
        key=str(cloth.pk),
    )


# Seams that hold a length on purpose, or carry no pull: they need not stretch as far as the cloth.
HOLDING_PURPOSES = frozenset(
    {
        SeamRecipe.Purpose.BASTE,
        SeamRecipe.Purpose.BUTTONHOLE,
        SeamRecipe.Purpose.GATHER,
        SeamRecipe.Purpose.STAYSTITCH,
    }
)


def settings_figures(version: SeamRecipeVersion) -> suits.SeamSettings:
    """What decides whether a version can be sewn on a cloth; needs its threads and needle loaded."""
    under, needle = version.under_thread, version.needle
    return suits.SeamSettings(
        stitch_type=version.stitch_type,
        stitch_length_mm=float(version.stitch_length_mm),
        stitch_width_mm=float(version.stitch_width_mm),
        passes=version.passes,
        needle_tex=float(version.needle_thread.tex),
        ends=version.needle_thread_ends,
        needle_extension_percent=number(version.needle_thread.extension_percent),
        under_extension_percent="same" if under is None else number(under.extension_percent),
        needle_metric=None if needle is None else needle.metric,
        needle_point="" if needle is None else needle.point,
    )


def machine_figures(machine: Machine) -> suits.MachineFigures:
    return suits.MachineFigures(
        machine.name, frozenset(machine.stitch_types), float(machine.largest_width_mm)
    )


def trial_figures(trial: SeamTrial) -> seam.TrialFigures:
    """What the judge reads of a trial; raises ValueError for impossible figures."""
    return seam.TrialFigures(
        direction=cast(seam.Direction, trial.direction),
        length_before_mm=number(trial.length_before_mm),
        length_after_mm=number(trial.length_after_mm),
        stretched_mm=number(trial.stretched_mm),
        pull_end=PULL_END_TO_CALC.get(trial.pull_end),
        smoothness_grade=number(trial.smoothness),
        balance=BALANCE_TO_CALC.get(trial.balance),
        skipped_stitches=trial.skipped_stitches,
        needle_damage=DAMAGE_TO_CALC.get(trial.needle_damage),
        strength_n_per_cm=number(trial.strength_n_per_cm),
    )


def demand_of(trial: SeamTrial) -> seam.Demand:
    return seam.Demand(
        stretch_percent=number(trial.stretch_wanted_percent),
        strength_n_per_cm=number(trial.strength_wanted_n_per_cm),
        smoothness_grade=number(trial.smoothness_wanted),
    )


def reason_rows(judgement: seam.Judgement) -> list[dict[str, Any]]:
    """The judge's reasons as they are kept with the trial."""
    return [
        {"check": reason.check, "verdict": VERDICT_TO_ROW[reason.verdict], "text": reason.text}
        for reason in judgement.reasons
    ]
