"""What is asked of a seam trial before it is judged."""

from collections.abc import Sequence
from decimal import Decimal

from seamlab.models import SeamTrial
from seamlab.queries.advice import knit_questions, layer_words, stitch_words
from seamlab.queries.tables import stitch_types
from seamlab.services.checks import Checks, plain

# Beyond these a unit was mixed up. Common practice, no source.
MOST_SAMPLE_MM = Decimal(20_000)
MOST_STRENGTH = Decimal(10_000)
MOST_STRETCH_PERCENT = 500
MOST_SKIPPED = 10_000
MOST_SECONDS = Decimal(36_000)
MOST_THREAD_MM = Decimal(500_000)
CHECK_ANSWERS: dict[str, str] = {"done": "Done", "left": "Left as it is"}

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
    _check_thread_and_time(trial, checks)
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


def check_checklist(given: Sequence[dict[str, str]], checks: Checks) -> list[dict[str, str]]:
    """The answers to the changes for a knit, with the words as they were asked; others are refused."""
    asked = knit_questions()
    kept: list[dict[str, str]] = []
    for row in given:
        key, answer, note = row.get("key", ""), row.get("answer", ""), row.get("note", "").strip()
        known = ", ".join(asked)
        if not checks.need(key in asked, "checklist", f"{key!r} is not on the checklist: {known}."):
            continue
        checks.need(
            answer in CHECK_ANSWERS,
            "checklist",
            f"Answer {asked[key].lower()!r} with one of {', '.join(CHECK_ANSWERS)}.",
        )
        checks.need(len(note) <= 200, "checklist", "A note on the checklist has at most 200 letters.")
        checks.need(all(key != old["key"] for old in kept), "checklist", f"{key!r} is answered twice.")
        kept.append({"key": key, "words": asked[key], "answer": answer, "note": note})
    return kept


def _check_thread_and_time(trial: SeamTrial, checks: Checks) -> None:
    checks.positive("sewing_seconds", trial.sewing_seconds, "The sewing time", unit="s", most=MOST_SECONDS)
    length, above, below = trial.unpicked_length_mm, trial.needle_thread_mm, trial.under_thread_mm
    for field, value, words in (
        ("unpicked_length_mm", length, "The length that was unpicked"),
        ("needle_thread_mm", above, "The needle thread unpicked"),
        ("under_thread_mm", below, "The under thread unpicked"),
    ):
        checks.positive(field, value, words, unit="mm", most=MOST_THREAD_MM)
    if above is None and below is None:
        checks.need(length is None, "needle_thread_mm", "Give the length of thread that came out of it.")
        return
    if not checks.need(
        length is not None, "unpicked_length_mm", "Say from what length of seam the thread was unpicked."
    ):
        return
    whole = trial.length_after_mm or trial.length_before_mm
    if whole is not None and length is not None:
        checks.need(
            length <= whole,
            "unpicked_length_mm",
            f"{plain(length)} mm were unpicked of a sample of {plain(whole)} mm: tape both again.",
        )
    stitch = stitch_types().get(trial.version.stitch_type)
    checks.need(
        below is None or stitch is None or stitch.threads > 1,
        "under_thread_mm",
        f"Stitch {stitch_words(trial.version.stitch_type)} has no under thread.",
    )
    for field, value in (("needle_thread_mm", above), ("under_thread_mm", below)):
        # A thread lies along the whole seam at least once; half of that is a slip of the tape.
        checks.need(
            value is None or length is None or value >= length / 2,
            field,
            f"{plain(value or Decimal(0))} mm of thread can't have sewn {plain(length or Decimal(0))} mm of seam: "
            "tape both again.",
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
