"""Acts on seams: writing a recipe, changing it (a new version), recording a trial."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import datetime
from decimal import Decimal
from typing import Any, TypedDict, Unpack
from uuid import UUID

from seamlab.calc.seam import judge
from seamlab.models import Cloth, Machine, SeamRecipe, SeamRecipeVersion, SeamTrial
from seamlab.queries.cloth import cloth_figures, cloth_get
from seamlab.queries.mapping import VERDICT_TO_ROW, demand_of, reason_rows, trial_figures
from seamlab.queries.seams import version_get
from seamlab.queries.tables import cloth_kinds, seam_classes
from seamlab.services.checks import Checks, moment, refused_by_calc, save_edit_once, save_new_once
from seamlab.services.settings import SETTING_NAMES, RecipeSettings, check_settings, settings_of_version
from seamlab.services.trial_checks import CALC_NAMES, check_checklist, check_figures, check_pairing
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_new

__all__ = [
    "BASIS_COVERS",
    "SETTING_NAMES",
    "RecipeSettings",
    "TrialFacts",
    "change_recipe",
    "describe_recipe",
    "draft_trial",
    "record_trial",
    "save_version",
    "settings_of_version",
    "write_recipe",
]

MOST_LAYERS = 20
# Which settings one word of a version's ``basis`` speaks of.
BASIS_COVERS: dict[str, tuple[str, ...]] = {
    "figures": (
        "stitch_type",
        "stitch_length_mm",
        "stitch_width_mm",
        "passes",
        "allowance_mm",
        "differential_feed",
    ),
    "thread": ("needle_thread_id", "needle_thread_ends", "under_thread_id"),
    "needle": ("needle_id",),
    "cautions": ("cautions",),
}


def write_recipe(
    actor: Actor,
    *,
    name: str,
    purpose: str,
    seam_class: str,
    structure: str,
    layers_low: int = 2,
    layers_high: int = 2,
    settings: RecipeSettings,
) -> SeamRecipeVersion:
    """Write a recipe with its first version. ``seam_class`` is "1" to "8" (ISO 4916).

    Raises Refused naming each field (also for a thread or needle that is not in this studio).
    """
    actor.need(Right.KEEP_SEAMS)
    checks = Checks()
    name = name.strip()
    checks.need(bool(name), "name", "Give the recipe a name, such as the seam and the kind of cloth.")
    checks.one_of("purpose", purpose, SeamRecipe.Purpose.values, "The purpose")
    checks.one_of("seam_class", seam_class, seam_classes(), "The seam class (ISO 4916)")
    checks.one_of("structure", structure, Cloth.Structure.values, "The structure")
    checks.need(
        1 <= layers_low <= MOST_LAYERS,
        "layers_low",
        f"Layers must be from 1 to {MOST_LAYERS}, got {layers_low}.",
    )
    checks.need(
        layers_low <= layers_high <= MOST_LAYERS,
        "layers_high",
        f"The most layers must be from {layers_low} to {MOST_LAYERS}, got {layers_high}.",
    )
    settings = check_settings(settings, checks)
    checks.done()
    recipe = save_new_once(
        SeamRecipe(
            name=name,
            purpose=purpose,
            seam_class=seam_class,
            structure=structure,
            layers_low=layers_low,
            layers_high=layers_high,
        ),
        "recipe_name_once",
        "name",
        f"There is already a recipe called {name!r}: change that one, or name this one otherwise.",
    )
    version = save_version(actor, recipe, 1, settings)
    record_act(actor, "write_recipe", recipe, version=str(version.pk))
    return version


def change_recipe(
    actor: Actor, recipe_id: UUID, *, settings: RecipeSettings, expected_version: int | None = None
) -> SeamRecipeVersion:
    """Give a recipe new settings: a new version; the old one keeps its trials.

    ``expected_version`` is the recipe's own (its ETag). Raises NotHere, Stale, and Refused also for settings
    that are the same as those of the newest version.
    """
    actor.need(Right.KEEP_SEAMS)
    recipe = lock_for_edit(SeamRecipe, recipe_id, expected_version)
    checks = Checks()
    settings = check_settings(settings, checks)
    checks.done()
    newest: SeamRecipeVersion = SeamRecipeVersion.objects.filter(recipe_id=recipe.pk).order_by("-number")[0]
    if settings_of_version(newest) == settings:
        raise Refused(f"These are the settings of version {newest.number}: nothing would change.")
    # What a figure rests on goes on with it as long as it is the same.
    basis = {name: words for name, words in newest.basis.items() if _same(newest, settings, name)}
    version = save_version(actor, recipe, newest.number + 1, settings, basis)
    recipe.version += 1
    recipe.save(update_fields=["version", "changed_at"])
    record_act(actor, "change_recipe", recipe, version=str(version.pk), number=version.number)
    return version


def describe_recipe(
    actor: Actor,
    recipe_id: UUID,
    *,
    name: str | None = None,
    written_for: Sequence[str] | None = None,
    is_hidden: bool | None = None,
    expected_version: int | None = None,
) -> SeamRecipe:
    """Rename a recipe, say for which kinds of cloth it is written, put it away or take it out again.

    What is None stays; settings and trials are untouched. A recipe that is put away is no longer offered; its trials
    stay. Raises NotHere, Stale, and Refused naming each field.
    """
    actor.need(Right.KEEP_SEAMS)
    recipe = lock_for_edit(SeamRecipe, recipe_id, expected_version)
    checks = Checks()
    changes: dict[str, Any] = {}
    if name is not None:
        changes["name"] = name.strip()
        checks.need(bool(changes["name"]), "name", "Give the recipe a name.")
    if written_for is not None:
        changes["written_for"] = list(dict.fromkeys(written_for))
        for key in changes["written_for"]:
            kind = cloth_kinds().get(key)
            if checks.need(kind is not None, "written_for", f"{key!r} is no kind of cloth in the table."):
                checks.need(
                    kind is None or kind.structure == recipe.structure,
                    "written_for",
                    f"{key!r} is no {recipe.structure} cloth, and this recipe is for one.",
                )
    if is_hidden is not None:
        changes["is_hidden"] = is_hidden
    checks.done()
    sentence = f"There is already a recipe called {changes.get('name', '')!r}."
    changed = save_edit_once(recipe, changes, "recipe_name_once", "name", sentence)
    if changed:
        record_act(actor, "describe_recipe", recipe, changed=changed)
    return recipe


class TrialFacts(TypedDict, total=False):
    """What ``draft_trial`` takes beside the version and the cloth."""

    machine_id: UUID | None
    layers: int
    direction: str
    length_before_mm: Decimal | None
    length_after_mm: Decimal | None
    stretched_mm: Decimal | None
    pull_end: str
    smoothness: Decimal | None
    balance: str
    skipped_stitches: int | None
    needle_damage: str
    strength_n_per_cm: Decimal | None
    stretch_wanted_percent: Decimal | None
    strength_wanted_n_per_cm: Decimal | None
    smoothness_wanted: Decimal | None
    sewing_seconds: Decimal | None
    unpicked_length_mm: Decimal | None
    needle_thread_mm: Decimal | None
    under_thread_mm: Decimal | None
    checklist: list[dict[str, str]]
    sewn_at: datetime | None
    note: str


def draft_trial(
    actor: Actor,
    *,
    version_id: UUID,
    cloth_id: UUID,
    machine_id: UUID | None = None,
    layers: int = 2,
    direction: str = "lengthwise",
    length_before_mm: Decimal | None = None,
    length_after_mm: Decimal | None = None,
    stretched_mm: Decimal | None = None,
    pull_end: str = "",
    smoothness: Decimal | None = None,
    balance: str = "",
    skipped_stitches: int | None = None,
    needle_damage: str = "",
    strength_n_per_cm: Decimal | None = None,
    stretch_wanted_percent: Decimal | None = None,
    strength_wanted_n_per_cm: Decimal | None = None,
    smoothness_wanted: Decimal | None = None,
    sewing_seconds: Decimal | None = None,
    unpicked_length_mm: Decimal | None = None,
    needle_thread_mm: Decimal | None = None,
    under_thread_mm: Decimal | None = None,
    checklist: Sequence[dict[str, str]] = (),
    sewn_at: datetime | None = None,
    note: str = "",
) -> SeamTrial:
    """Judge one sewn sample without keeping it: an unsaved trial with ``proposed``, ``reasons`` and ``verdict``.

    What was not looked at stays empty and asks for another look. Words are those of SeamTrial (``pull_end`` held,
    stopped, broke; ``balance`` even, top_tight, under_tight; ``needle_damage`` none, marks, cut); lengths in mm.
    The calculation proposes a verdict from these figures and the cloth's own newest stretch tests. No
    ``machine_id`` for a stitch by hand. ``sewing_seconds`` for the whole sample. Thread is unpicked from
    ``unpicked_length_mm`` of seam: ``needle_thread_mm`` of it above, ``under_thread_mm`` below. ``checklist``
    answers the changes for a knit: [{"key", "answer": "done" or "left", "note"}, ...].
    Raises NotHere (version, cloth, machine) and Refused by field.
    """
    actor.need(Right.KEEP_SEAMS)
    trial = SeamTrial(
        version=version_get(actor, version_id),
        cloth=cloth_get(actor, cloth_id),
        machine=_machine(machine_id),
        layers=layers,
        direction=direction,
        length_before_mm=length_before_mm,
        length_after_mm=length_after_mm,
        stretched_mm=stretched_mm,
        pull_end=pull_end,
        smoothness=smoothness,
        balance=balance,
        skipped_stitches=skipped_stitches,
        needle_damage=needle_damage,
        strength_n_per_cm=strength_n_per_cm,
        stretch_wanted_percent=stretch_wanted_percent,
        strength_wanted_n_per_cm=strength_wanted_n_per_cm,
        smoothness_wanted=smoothness_wanted,
        sewing_seconds=sewing_seconds,
        unpicked_length_mm=unpicked_length_mm,
        needle_thread_mm=needle_thread_mm,
        under_thread_mm=under_thread_mm,
        sewn_by_id=actor.member_id,
        sewn_at=moment(sewn_at, "sewn_at"),
        note=note.strip(),
    )
    checks = Checks()
    check_pairing(trial, checks)
    check_figures(trial, checks)
    trial.checklist = check_checklist(checklist, checks)
    checks.done()
    try:
        judgement = judge(trial_figures(trial), cloth_figures(trial.cloth), demand_of(trial))
    except ValueError as exc:
        raise refused_by_calc(exc, CALC_NAMES) from exc
    trial.proposed = trial.verdict = VERDICT_TO_ROW[judgement.verdict]
    trial.reasons = reason_rows(judgement)
    return trial


def record_trial(
    actor: Actor,
    *,
    version_id: UUID,
    cloth_id: UUID,
    verdict: str | None = None,
    verdict_reason: str = "",
    **facts: Unpack[TrialFacts],
) -> SeamTrial:
    """Record one sewn sample; the facts are those of ``draft_trial``.

    ``verdict`` None takes over what is proposed; another one needs ``verdict_reason``. Raises as ``draft_trial``.
    """
    trial = draft_trial(actor, version_id=version_id, cloth_id=cloth_id, **facts)
    trial.verdict = verdict or trial.proposed
    trial.verdict_reason = verdict_reason.strip()
    checks = Checks()
    checks.one_of("verdict", trial.verdict, SeamTrial.Verdict.values, "The verdict")
    checks.need(
        trial.verdict == trial.proposed or bool(trial.verdict_reason),
        "verdict_reason",
        f"The figures say: {trial.get_proposed_display().lower()}. Say why you decide otherwise.",
    )
    checks.done()
    save_new(trial)
    record_act(
        actor,
        "record_trial",
        trial,
        version=str(version_id),
        cloth=str(cloth_id),
        proposed=trial.proposed,
        verdict=trial.verdict,
    )
    return trial


def _machine(machine_id: UUID | None) -> Machine | None:
    if machine_id is None:
        return None
    found: Machine | None = Machine.objects.filter(pk=machine_id).first()
    if found is None:
        raise NotHere("machine")
    return found


def save_version(
    actor: Actor,
    recipe: SeamRecipe,
    count: int,
    settings: RecipeSettings,
    basis: dict[str, str] | None = None,
) -> SeamRecipeVersion:
    """Insert checked settings as version ``count``; ``basis`` says by setting what its figure rests on."""
    return save_new(
        SeamRecipeVersion(
            recipe=recipe, number=count, written_by_id=actor.member_id, basis=basis or {}, **asdict(settings)
        )
    )


def _same(version: SeamRecipeVersion, settings: RecipeSettings, name: str) -> bool:
    names = BASIS_COVERS.get(name, (name,))
    return all(getattr(version, each, None) == getattr(settings, each, None) for each in names)
