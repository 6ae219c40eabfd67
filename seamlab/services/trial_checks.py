"""What is asked of a seam trial before it is judged."""

from decimal import Decimal

from seamlab.models import SeamTrial
from seamlab.queries.advice import layer_words, stitch_words
from seamlab.services.checks import Checks, plain

# Beyond these a unit was mixed up. Common practice, no source.
MOST_SAMPLE_MM = Decimal(20_000)
MOST_STRENGTH = Decimal(10_000)
MOST_STRETCH_PERCENT = 500
MOST_SKIPPED = 10_000

# How the judge's sentences begin, and the field and words that a person knows instead.
CALC_NAMES = {
    "stretched (": ("stretched_mm", "Stretched ("),
    "stretched_mm": ("stretched_mm", "The stretched length"),
    "skipped_stitches": ("skipped_stitches", "The number of skipped stitches"),
    "strength_n_per_cm": ("strength_n_per_cm", "The strength"),
}


def check_pairing(trial: SeamTrial, checks: Checks) -> None:
    """Can this recipe be sewn on this cloth, in so many layers, with this machine at all?"""
    version, cloth, machine, layers = trial.version, trial.cloth, trial.machine, trial.layers
    recipe = version.recipe
    checks.need(
        cloth.structure == recipe.structure,
        "cloth_id",
        f"{recipe.name} is a recipe for a {recipe.structure} cloth; {cloth.name} is {cloth.structure}.",
    )
    checks.need(
        recipe.layers_low <= layers <= recipe.layers_high,
        "layers",
        f"{recipe.name} is for {layer_words(recipe)}, not for {layers}.",
    )
    stitch = stitch_words(version.stitch_type)
    by_hand = version.needle_id is None
    if machine is None:
        checks.need(by_hand, "machine_id", f"Say which machine sewed the sample: {stitch} is no hand stitch.")
        return
    if not checks.need(not by_hand, "machine_id", f"Stitch {stitch} is sewn by hand: leave the machine out."):
        return
    if checks.need(
        version.stitch_type in machine.stitch_types, "machine_id", f"{machine.name} does not make {stitch}."
    ):
        checks.need(
            version.stitch_width_mm <= machine.largest_width_mm,
            "machine_id",
            f"{machine.name} sews at most {plain(machine.largest_width_mm)} mm wide; "
            f"this recipe is {plain(version.stitch_width_mm)} mm wide.",
        )


def check_figures(trial: SeamTrial, checks: Checks) -> None:
    """Are the figures possible, and was anything looked at?"""
    _check_lengths(trial, checks)
    for field, words in (
        ("strength_n_per_cm", "The strength"),
        ("strength_wanted_n_per_cm", "The strength wanted"),
    ):
        checks.positive(field, getattr(trial, field), words, unit="N/cm", most=MOST_STRENGTH)
    wanted = trial.stretch_wanted_percent
    checks.need(
        wanted is None or (wanted.is_finite() and 0 <= wanted <= MOST_STRETCH_PERCENT),
        "stretch_wanted_percent",
        f"The stretch wanted must be from 0 to {MOST_STRETCH_PERCENT} %.",
    )
    for field in ("smoothness", "smoothness_wanted"):
        grade = getattr(trial, field)
        checks.need(
            grade is None or (grade.is_finite() and 1 <= grade <= 5 and grade * 2 == int(grade * 2)),
            field,
            "A smoothness grade is from 1 (worst) to 5 (best), in halves.",
        )
    count = trial.skipped_stitches
    checks.need(
        count is None or 0 <= count <= MOST_SKIPPED,
        "skipped_stitches",
        f"Skipped stitches are counted, from 0 to {MOST_SKIPPED}.",
    )
    _check_words(trial, checks)
    seen = (trial.balance, trial.needle_damage)
    measured = (trial.length_after_mm, trial.smoothness, count, trial.strength_n_per_cm)
    checks.need(
        any(seen) or any(value is not None for value in measured),
        "",
        "Nothing was measured or seen on this sample yet.",
    )


def _check_lengths(trial: SeamTrial, checks: Checks) -> None:
    for field, words in (
        ("length_before_mm", "The length before sewing"),
        ("length_after_mm", "The length after sewing"),
        ("stretched_mm", "The stretched length"),
    ):
        checks.positive(field, getattr(trial, field), words, unit="mm", most=MOST_SAMPLE_MM)
    if checks.reasons:
        return
    before, after, stretched = trial.length_before_mm, trial.length_after_mm, trial.stretched_mm
    if before is not None and after is not None:
        checks.need(
            before / 2 <= after <= before * 2,
            "length_after_mm",
            f"{plain(before)} mm became {plain(after)} mm by sewing: tape both again.",
        )
    if stretched is None:
        checks.need(not trial.pull_end, "stretched_mm", "Give the length at which the pull ended.")
        return
    checks.need(
        bool(trial.pull_end),
        "pull_end",
        "Say what ended the pull: the seam held, would go no further, or broke.",
    )
    if checks.need(
        after is not None, "length_after_mm", "A pull starts from the relaxed length after sewing: give it."
    ):
        checks.need(
            after is None or stretched >= after,
            "stretched_mm",
            f"Stretched, {plain(stretched)} mm, is shorter than the sewn sample: tape both again.",
        )


def _check_words(trial: SeamTrial, checks: Checks) -> None:
    for field, choices in (
        ("direction", ["lengthwise", "crosswise", "bias"]),
        ("pull_end", ["", *SeamTrial.PullEnd.values]),
        ("balance", ["", *SeamTrial.Balance.values]),
        ("needle_damage", ["", *SeamTrial.Damage.values]),
    ):
        value = getattr(trial, field)
        known = ", ".join(choice for choice in choices if choice)
        checks.need(value in choices, field, f"Choose one of {known}; got {value!r}.")
