"""Which of the studio's recipes are proven for a cloth: what can be sewn at all, ranked by its trials.

Evidence belongs to a version: the newest version of a recipe is ranked by its own trials, and where only an older
one is proven, that is said. What is ruled out beforehand (by the machine, the stretch, the needle) is named with
its reason; a sample that passed on this very cloth outweighs every rule but the machine's. Withdrawn trials don't
count.
"""

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Any
from uuid import UUID

import numpy as np
import numpy.typing as npt
from django.db import connection
from django.utils import timezone

from seamlab.calc import evidence, suits
from seamlab.calc.cloth import ClothFigures
from seamlab.models import Cloth, ClothTest, Machine, SeamRecipe, SeamRecipeVersion
from seamlab.models.cloth import CROSSWISE, LENGTHWISE
from seamlab.queries.answers import Asking, ProvenSeam, is_proven, recipe_answer, starting_answer
from seamlab.queries.candidates import (
    Candidate,
    LeftOut,
    Why,
    candidates_for,
    group_left_out,
    likely_kind,
    sift,
    written_for_another,
)
from seamlab.queries.cloth import cloth_figures, cloth_get
from seamlab.queries.mapping import figures_of, machine_figures
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
class _Trials:
    """All trials of the candidates' versions: `found[i]` is the candidate of trial i, by `number` of its version."""

    columns: evidence.TrialColumns
    number: npt.NDArray[np.int64]
    cloths: tuple[ClothFigures, ...]
    names: Mapping[str, str]  # of cloths, by key

    def only(self, chosen: npt.NDArray[np.bool_], places: npt.NDArray[np.intp]) -> evidence.TrialColumns:
        """The chosen trials, their recipes at other places."""
        return evidence.TrialColumns(
            places[chosen],
            self.columns.cloth[chosen],
            self.columns.verdict[chosen],
            self.columns.day[chosen],
            self.columns.elsewhere[chosen],
        )


# Whole numbers alone: of tens of thousands of trials, ids and moments would take longest to fetch.
_COLUMNS = """
    select c.place, v.number, on_cloth.place, s.machine_id is distinct from %(machine)s,
           case s.verdict when 'passes' then 0 when 'fails' then 1 else 2 end,
           (s.sewn_at at time zone %(zone)s)::date - date '0001-01-01' + 1
    from unnest(%(recipes)s::uuid[]) with ordinality as c(id, place)
    join seamlab_seamrecipeversion v on v.recipe_id = c.id
    join seamlab_seamtrial s on s.version_id = v.id
    join unnest(%(cloths)s::uuid[]) with ordinality as on_cloth(id, place) on on_cloth.id = s.cloth_id
    where not exists (select from seamlab_trialwithdrawal w where w.trial_id = s.id)
"""


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
    kind = row.kind or likely_kind(row.name, row.construction, row.structure)
    found = candidates_for(purpose, seam_class, layers, cloth.structure, kind)
    trials = _trials([candidate.recipe_id for candidate in found], cloth.structure, machine_id)
    feasible, out, doubts = _sift(found, trials, asking)
    newest = {candidate.key: candidate for candidate in feasible}
    places = _places(found, feasible)[trials.columns.recipe]
    of_newest = trials.number == np.array([c.number for c in found], dtype=np.int64)[trials.columns.recipe]
    mine = trials.only((places >= 0) & of_newest, places)
    wanted = evidence.Wanted(purpose, int(seam_class or 1), layers)
    ranked = evidence.rank_columns(
        [_figures(c, purpose, seam_class) for c in feasible], mine, trials.cloths, cloth, wanted=wanted
    )
    kept, other = _for_this_cloth(ranked, newest, doubts, row.kind)
    shown = {entry.recipe.key for entry in kept[:most] if entry.recipe}
    older = _older_proofs(found, shown, trials, of_newest, cloth)
    full = _versions(newest[entry.recipe.key].version_id for entry in kept[:most] if entry.recipe)
    answers = tuple(
        starting_answer(place, entry, asking)
        if entry.recipe is None
        else recipe_answer(
            place,
            entry,
            version=full[newest[entry.recipe.key].version_id],
            asking=asking,
            names=trials.names,
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
    found: Sequence[Candidate], trials: _Trials, asking: Asking
) -> tuple[list[Candidate], list[tuple[Candidate, Why]], dict[str, suits.Objection]]:
    """What can be sewn, what is ruled out with its first reason, and by key the doubts that only a trial settles."""
    here = np.array([figures.key == asking.cloth.key for figures in trials.cloths], dtype=bool)
    columns = trials.columns
    passed = (columns.verdict == evidence.VERDICTS.index("passes")) & here[columns.cloth]
    passed_here = set(zip(columns.recipe[passed].tolist(), trials.number[passed].tolist(), strict=True))
    feasible: list[Candidate] = []
    out: list[tuple[Candidate, Why]] = []
    doubts: dict[str, suits.Objection] = {}
    for place, candidate in enumerate(found):
        sifted = sift(
            candidate,
            asking.cloth,
            layers=asking.layers,
            machine=asking.machine,
            runs=asking.runs,
            must_stretch=not asking.holds,
            passed_here=(place, candidate.number) in passed_here,
        )
        if sifted.out is not None:
            out.append((candidate, sifted.out))
            continue
        feasible.append(candidate)
        if sifted.doubt is not None:
            doubts[candidate.key] = sifted.doubt
    return feasible, out, doubts


def _for_this_cloth(
    ranked: list[evidence.Ranked],
    newest: Mapping[str, Candidate],
    doubts: Mapping[str, suits.Objection],
    kind: str,
) -> tuple[list[evidence.Ranked], list[tuple[Candidate, Why]]]:
    """Sets apart what nobody tried on a cloth like this: what more likely stretches too little, and what the library
    wrote for other kinds of cloth.

    The latter is left out where this cloth's kind is recorded or something is proven; else it is offered last, behind
    the starting point.
    """
    proven = any(is_proven(entry) for entry in ranked if entry.recipe)
    kept: list[evidence.Ranked] = []
    last: list[evidence.Ranked] = []
    other: list[tuple[Candidate, Why]] = []
    for entry in ranked:
        candidate = newest[entry.recipe.key] if entry.recipe else None
        if candidate is None or entry.n:
            kept.append(entry)
        elif candidate.key in doubts:
            other.append((candidate, doubts[candidate.key]))
        elif not (words := written_for_another(candidate)):
            kept.append(entry)
        elif kind or proven:
            other.append((candidate, words))
        else:
            last.append(entry)
    return kept + last, other


def _versions(version_ids: Iterable[UUID]) -> dict[UUID, SeamRecipeVersion]:
    rows = SeamRecipeVersion.objects.select_related("recipe", "needle_thread", "under_thread", "needle")
    return {version.pk: version for version in rows.filter(pk__in=list(version_ids))}


def _trials(recipe_ids: Sequence[UUID], structure: str, machine_id: UUID | None) -> _Trials:
    """Trials of all versions of these recipes, with their cloths' figures and names. Three queries."""
    cloths, names = _cloths(structure)
    facts = {
        "recipes": list(recipe_ids),
        "cloths": list(cloths),
        "machine": machine_id,
        "zone": timezone.get_current_timezone_name(),
    }
    with connection.cursor() as cursor:
        cursor.execute(_COLUMNS, facts)
        table = np.array(cursor.fetchall(), dtype=np.int64).reshape(-1, 6)
    elsewhere = table[:, 3].astype(bool) if machine_id is not None else np.zeros(len(table), dtype=bool)
    columns = evidence.TrialColumns(table[:, 0] - 1, table[:, 2] - 1, table[:, 4], table[:, 5], elsewhere)
    return _Trials(columns, table[:, 1], tuple(cloths.values()), names)


def _places(found: Sequence[Candidate], chosen: Sequence[Candidate]) -> npt.NDArray[np.intp]:
    """For every candidate its place among the chosen ones, -1 for none."""
    at = {candidate.key: place for place, candidate in enumerate(chosen)}
    return np.array([at.get(candidate.key, -1) for candidate in found], dtype=np.intp)


def _cloths(structure: str) -> tuple[dict[UUID, ClothFigures], dict[str, str]]:
    """Figures of the cloths of this structure with their newest stretch tests, and their names by key."""
    tests = (
        ClothTest.objects.filter(cloth__structure=structure, kind=ClothTest.Kind.STRETCH)
        .order_by("cloth_id", "way", "-tested_at", "-id")
        .distinct("cloth_id", "way")
    )
    stretch = {(test.cloth_id, test.way): test.percent for test in tests}
    cloths = list(Cloth.objects.filter(structure=structure).order_by("id"))
    figures = {
        cloth.pk: figures_of(cloth, stretch.get((cloth.pk, LENGTHWISE)), stretch.get((cloth.pk, CROSSWISE)))
        for cloth in cloths
    }
    return figures, {str(cloth.pk): cloth.name for cloth in cloths}


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
    found: Sequence[Candidate],
    shown: Set[str],
    trials: _Trials,
    of_newest: npt.NDArray[np.bool_],
    cloth: ClothFigures,
) -> Mapping[str, str]:
    """By recipe key, of those that are shown: the best proven of their older versions, in words."""
    of_shown = np.array([candidate.key in shown for candidate in found], dtype=bool)[trials.columns.recipe]
    old = of_shown & ~of_newest
    pairs, places = np.unique(
        np.stack([trials.columns.recipe[old], trials.number[old]], axis=1), axis=0, return_inverse=True
    )
    at = np.full(len(old), -1, dtype=np.intp)
    at[old] = places.reshape(-1)
    keys = [(found[recipe].key, number) for recipe, number in pairs.tolist()]
    ranked = evidence.rank_columns(
        [evidence.RecipeFigures(f"{key} {number}", "any", 1, 1, 1) for key, number in keys],
        trials.only(old, at),
        trials.cloths,
        cloth,
    )
    by_key = {f"{key} {number}": (key, number) for key, number in keys}
    words: dict[str, str] = {}
    for entry in ranked:
        if entry.recipe is not None and is_proven(entry):
            recipe, number = by_key[entry.recipe.key]
            words.setdefault(recipe, f"Version {number} was proven: {entry.words}")
    return words
