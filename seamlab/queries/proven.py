"""Which of the studio's recipes are proven for a cloth: what can be sewn at all, ranked by its trials.

Evidence belongs to a version: the newest version of a recipe is ranked by its own trials, and where only an older
one is proven, that is said. What is ruled out beforehand (by the machine, the stretch, the needle) is named with
its reason; a sample that passed on this very cloth outweighs every rule but the machine's. Withdrawn trials don't
count.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils import timezone

from seamlab.calc import evidence, suits
from seamlab.calc.cloth import ClothFigures
from seamlab.models import Cloth, ClothTest, Machine, SeamRecipe, SeamRecipeVersion, SeamTrial
from seamlab.models.cloth import CROSSWISE, LENGTHWISE
from seamlab.queries.answers import Asking, ProvenSeam, is_proven, recipe_answer, starting_answer
from seamlab.queries.candidates import (
    Candidate,
    LeftOut,
    candidates_for,
    group_left_out,
    objection_to,
    written_for_another,
)
from seamlab.queries.cloth import cloth_figures, cloth_get
from seamlab.queries.mapping import VERDICT_TO_CALC, figures_of, machine_figures
from seamlab.queries.tables import seam_classes
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right

MOST_LAYERS = 20
MOST_ANSWERS = 8
RUNS: tuple[str, ...] = ("", "lengthwise", "crosswise")


@dataclass(frozen=True)
class SeamAnswers:
    """The best answers, how many more there are, what was left out and why, and the stretch that was asked for.

    ``stretch_percent``: None where the cloth's own is not tested, or where this purpose need not stretch.
    """

    answers: tuple[ProvenSeam, ...]
    more: int
    left_out: tuple[LeftOut, ...]
    stretch_percent: float | None
    kind_is_known: bool

    @property
    def left_out_count(self) -> int:
        return sum(group.count for group in self.left_out)


@dataclass(frozen=True)
class _Trial:
    recipe_id: UUID
    version_id: UUID
    number: int
    past: evidence.PastTrial


def proven_for(actor: Actor, cloth_id: UUID, **question: Any) -> list[ProvenSeam]:
    """The answers of ``answers_for`` alone."""
    return list(answers_for(actor, cloth_id, **question).answers)


def answers_for(
    actor: Actor,
    cloth_id: UUID,
    *,
    purpose: str,
    seam_class: str | None = None,
    layers: int = 2,
    machine_id: UUID | None = None,
    runs: str = "",
    most: int = MOST_ANSWERS,
) -> SeamAnswers:
    """The studio's recipes for this purpose on this cloth, best proven first; a starting point if none is.

    Without a ``seam_class`` recipes of every class are ranked together. With a machine, what it can't sew is left out
    and trials on others count less. ``runs`` says which way the seam lies in the cloth (lengthwise, crosswise, or ""
    for either: the farther stretch is asked for). At most ``most`` answers are told in full. Seven queries, eight
    with a machine, however many rows. Raises NotHere (cloth, machine) and Refused (purpose, seam_class, layers, runs).
    """
    actor.need(Right.READ_SEAMS)
    _check(purpose, seam_class, layers, runs)
    row = cloth_get(actor, cloth_id)
    cloth = cloth_figures(row)
    machine = None if machine_id is None else _machine(machine_id)
    asking = Asking(cloth, row.kind, purpose, layers, machine, runs)
    found = candidates_for(purpose, seam_class, layers, cloth.structure, row.kind)
    trials, names = _trials([candidate.recipe_id for candidate in found])
    feasible, out = _sift(found, trials, asking)
    newest = {candidate.key: candidate for candidate in feasible}
    mine = [
        trial.past
        for trial in trials
        if (candidate := newest.get(trial.past.recipe)) and candidate.version_id == trial.version_id
    ]
    on = None if machine_id is None else str(machine_id)
    wanted = evidence.Wanted(purpose, int(seam_class or 1), layers)
    ranked = evidence.rank(
        [_figures(c, purpose, seam_class) for c in feasible], mine, cloth, on, wanted=wanted
    )
    kept, other = _for_this_cloth(ranked, newest, row.kind)
    older = _older_proofs(newest.values(), trials, cloth, on)
    full = _versions(newest[entry.recipe.key].version_id for entry in kept[:most] if entry.recipe)
    answers = tuple(
        starting_answer(place, entry, asking)
        if entry.recipe is None
        else recipe_answer(
            place,
            entry,
            version=full[newest[entry.recipe.key].version_id],
            asking=asking,
            names=names,
            older=older.get(entry.recipe.key),
        )
        for place, entry in enumerate(kept[:most], 1)
    )
    stretch = None if asking.holds else suits.stretch_asked(cloth, asking.runs)
    return SeamAnswers(
        answers, len(kept) - len(answers), group_left_out([*out, *other], machine), stretch, bool(row.kind)
    )


def _machine(machine_id: UUID) -> suits.MachineFigures:
    found: Machine | None = Machine.objects.filter(pk=machine_id).first()
    if found is None:
        raise NotHere("machine")
    return machine_figures(found)


def _check(purpose: str, seam_class: str | None, layers: int, runs: str) -> None:
    if purpose not in SeamRecipe.Purpose.values:
        known = ", ".join(SeamRecipe.Purpose.values)
        raise Refused({"purpose": f"{purpose!r} is not a purpose; choose one of {known}."})
    if seam_class is not None and seam_class not in seam_classes():
        raise Refused({"seam_class": f"{seam_class!r} is not a seam class; choose one of 1 to 8 (ISO 4916)."})
    if not 1 <= layers <= MOST_LAYERS:
        raise Refused({"layers": f"Layers must be from 1 to {MOST_LAYERS}, got {layers}."})
    if runs not in RUNS:
        raise Refused({"runs": f"A seam runs lengthwise or crosswise, or leave it out; got {runs!r}."})


def _sift(
    found: Sequence[Candidate], trials: Iterable[_Trial], asking: Asking
) -> tuple[list[Candidate], list[tuple[Candidate, suits.Objection]]]:
    """What can be sewn, and what is ruled out with the first reason."""
    passed_here = {
        trial.version_id
        for trial in trials
        if trial.past.verdict == "passes" and trial.past.cloth.key == asking.cloth.key
    }
    feasible: list[Candidate] = []
    out: list[tuple[Candidate, suits.Objection]] = []
    for candidate in found:
        objection = objection_to(
            candidate,
            asking.cloth,
            layers=asking.layers,
            machine=asking.machine,
            runs=asking.runs,
            must_stretch=not asking.holds,
            passed_here=candidate.version_id in passed_here,
        )
        if objection is None:
            feasible.append(candidate)
        else:
            out.append((candidate, objection))
    return feasible, out


def _for_this_cloth(
    ranked: list[evidence.Ranked], newest: Mapping[str, Candidate], kind: str
) -> tuple[list[evidence.Ranked], list[tuple[Candidate, str]]]:
    """Leaves out what the library wrote for other kinds of cloth and nobody tried on one like this."""
    kept: list[evidence.Ranked] = []
    other: list[tuple[Candidate, str]] = []
    for entry in ranked:
        candidate = newest[entry.recipe.key] if entry.recipe else None
        if candidate is not None and entry.n == 0 and (words := written_for_another(candidate, kind)):
            other.append((candidate, words))
        else:
            kept.append(entry)
    return kept, other


def _versions(version_ids: Iterable[UUID]) -> dict[UUID, SeamRecipeVersion]:
    rows = SeamRecipeVersion.objects.select_related("recipe", "needle_thread", "under_thread", "needle")
    return {version.pk: version for version in rows.filter(pk__in=list(version_ids))}


def _trials(recipe_ids: Iterable[UUID]) -> tuple[list[_Trial], dict[str, str]]:
    """Trials of all versions of these recipes, with their cloths' figures; and the cloths' names. Three queries."""
    rows = list(
        SeamTrial.objects.filter(version__recipe_id__in=list(recipe_ids), withdrawals=None)
        .order_by("sewn_at", "id")
        .values_list(
            "version__recipe_id",
            "version_id",
            "version__number",
            "machine_id",
            "verdict",
            "sewn_at",
            "cloth_id",
        )
    )
    cloths, names = _cloths({row[-1] for row in rows})
    trials = [
        _Trial(recipe, version, count, _past(str(recipe), cloths[cloth], verdict, sewn_at, machine))
        for recipe, version, count, machine, verdict, sewn_at, cloth in rows
    ]
    return trials, names


def _cloths(cloth_ids: Iterable[UUID]) -> tuple[dict[UUID, ClothFigures], dict[str, str]]:
    """Figures of these cloths with their newest stretch tests, and their names by key."""
    ids = list(cloth_ids)
    tests = (
        ClothTest.objects.filter(cloth_id__in=ids, kind=ClothTest.Kind.STRETCH)
        .order_by("cloth_id", "way", "-tested_at", "-id")
        .distinct("cloth_id", "way")
    )
    stretch = {(test.cloth_id, test.way): test.percent for test in tests}
    cloths = list(Cloth.objects.filter(pk__in=ids))
    figures = {
        cloth.pk: figures_of(cloth, stretch.get((cloth.pk, LENGTHWISE)), stretch.get((cloth.pk, CROSSWISE)))
        for cloth in cloths
    }
    return figures, {str(cloth.pk): cloth.name for cloth in cloths}


def _past(
    key: str, cloth: ClothFigures, verdict: str, sewn_at: datetime, machine: UUID | None
) -> evidence.PastTrial:
    return evidence.PastTrial(
        recipe=key,
        cloth=cloth,
        verdict=VERDICT_TO_CALC[verdict],
        on=timezone.localdate(sewn_at),
        machine=None if machine is None else str(machine),
    )


def _figures(candidate: Candidate, purpose: str, seam_class: str | None) -> evidence.RecipeFigures:
    return evidence.RecipeFigures(
        key=candidate.key,
        purpose=purpose,
        # Where no class is asked for, all are ranked together, as if they were of one.
        seam_class=int(candidate.seam_class) if seam_class else 1,
        layers_low=candidate.layers_low,
        layers_high=candidate.layers_high,
    )


def _older_proofs(
    candidates: Iterable[Candidate], trials: list[_Trial], cloth: ClothFigures, machine: str | None
) -> Mapping[str, str]:
    """By recipe key: the best proven of its older versions, in words."""
    newest = {candidate.key: candidate.version_id for candidate in candidates}
    old = [
        trial
        for trial in trials
        if trial.past.recipe in newest and newest[trial.past.recipe] != trial.version_id
    ]
    numbers = {str(trial.version_id): (trial.past.recipe, trial.number) for trial in old}
    ranked = evidence.rank(
        [evidence.RecipeFigures(key, "any", 1, 1, 1) for key in numbers],
        [
            evidence.PastTrial(
                str(trial.version_id), trial.past.cloth, trial.past.verdict, trial.past.on, trial.past.machine
            )
            for trial in old
        ],
        cloth,
        machine,
    )
    words: dict[str, str] = {}
    for entry in ranked:
        if entry.recipe is not None and is_proven(entry):
            recipe, count = numbers[entry.recipe.key]
            words.setdefault(recipe, f"Version {count} was proven: {entry.words}")
    return words
