"""Which of the studio's recipes are proven for a cloth: its own trials, ranked by their evidence.

Evidence belongs to a version: the newest version of a recipe is ranked by its own trials, and where only an
older one is proven, that is said.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Literal
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone

from seamlab.calc import evidence
from seamlab.calc.cloth import ClothFigures
from seamlab.models import Cloth, ClothTest, SeamRecipe, SeamRecipeVersion, SeamTrial
from seamlab.models.cloth import CROSSWISE, LENGTHWISE
from seamlab.queries.advice import (
    Note,
    Setting,
    layer_words,
    notes_for,
    seam_class_words,
    settings_of,
    stitch_words,
)
from seamlab.queries.cloth import cloth_figures, cloth_get
from seamlab.queries.mapping import VERDICT_TO_CALC, figures_of
from seamlab.queries.supplies import machine_get
from seamlab.queries.tables import seam_classes
from studio.platform.errors import Refused
from studio.platform.rights import Actor, Right

Standing = Literal["proven", "tried", "untested"]
STANDING_WORDS: dict[Standing, str] = {
    "proven": "Proven",
    "tried": "Tried, not proven",
    "untested": "Untested: sew a sample first",
}
PLAIN_SEAMS = frozenset({SeamRecipe.Purpose.JOIN, SeamRecipe.Purpose.TOPSTITCH, SeamRecipe.Purpose.HEM})
MOST_LAYERS = 20


@dataclass(frozen=True)
class ProvenSeam:
    """One answer to "which seam for this cloth?": a recipe's newest version, or a starting point to try.

    ``lower`` orders the answers: the pass rate that is exceeded with 95 % probability (see calc.evidence).
    For a starting point the ids, ``number`` and ``name`` of a recipe are empty.
    """

    place: int
    standing: Standing
    standing_words: str
    evidence: str
    name: str
    recipe_id: UUID | None
    version_id: UUID | None
    number: int | None
    seam_class: str
    seam_class_words: str
    layers: str
    stitch_type: str
    stitch_words: str
    stitch_length_mm: Decimal
    stitch_width_mm: Decimal
    settings: tuple[Setting, ...]
    notes: tuple[Note, ...]
    trials: int
    passes: int
    undecided: int
    lower: float
    last_sewn: date | None
    nearest_cloth: str
    distance: float | None
    older: str

    @property
    def warnings(self) -> tuple[Note, ...]:
        return tuple(note for note in self.notes if note.kind == "warning")

    @property
    def is_starting_point(self) -> bool:
        return self.recipe_id is None


@dataclass(frozen=True)
class _Trial:
    recipe_id: UUID
    version_id: UUID
    number: int
    past: evidence.PastTrial


def proven_for(
    actor: Actor,
    cloth_id: UUID,
    *,
    purpose: str,
    seam_class: str | None = None,
    layers: int = 2,
    machine_id: UUID | None = None,
) -> list[ProvenSeam]:
    """The studio's recipes for this purpose on this cloth, best proven first; a starting point if none is.

    Without a ``seam_class`` recipes of every class are ranked together. With a machine, trials on others
    count less. Six queries, seven with a machine, however many rows. Raises NotHere (cloth, machine) and
    Refused (purpose, seam_class, layers).
    """
    actor.need(Right.READ_SEAMS)
    _check(purpose, seam_class, layers)
    cloth = cloth_figures(cloth_get(actor, cloth_id))
    if machine_id is not None:
        machine_get(actor, machine_id)
    versions = list(_newest(purpose, seam_class, layers, cloth.structure))
    trials, names = _trials([version.recipe_id for version in versions])
    newest = {version.recipe_id: version for version in versions}
    machine = None if machine_id is None else str(machine_id)
    ranked = evidence.rank(
        [_figures(version, str(version.recipe_id), purpose, seam_class) for version in versions],
        [trial.past for trial in trials if newest[trial.recipe_id].pk == trial.version_id],
        cloth,
        machine,
        wanted=evidence.Wanted(purpose, int(seam_class or 1), layers),
    )
    older = _older_proofs(versions, trials, cloth, machine)
    answers = []
    for place, entry in enumerate(ranked, 1):
        if entry.recipe is None:
            answers.append(_starting_point(place, entry, purpose, layers))
        else:
            version = newest[UUID(entry.recipe.key)]
            answers.append(
                _answer(
                    place,
                    entry,
                    version=version,
                    cloth=cloth,
                    layers=layers,
                    names=names,
                    older=older.get(version.recipe_id),
                )
            )
    return answers


def _check(purpose: str, seam_class: str | None, layers: int) -> None:
    if purpose not in SeamRecipe.Purpose.values:
        known = ", ".join(SeamRecipe.Purpose.values)
        raise Refused({"purpose": f"{purpose!r} is not a purpose; choose one of {known}."})
    if seam_class is not None and seam_class not in seam_classes():
        raise Refused({"seam_class": f"{seam_class!r} is not a seam class; choose one of 1 to 8 (ISO 4916)."})
    if not 1 <= layers <= MOST_LAYERS:
        raise Refused({"layers": f"Layers must be from 1 to {MOST_LAYERS}, got {layers}."})


def _newest(
    purpose: str, seam_class: str | None, layers: int, structure: str
) -> "QuerySet[SeamRecipeVersion]":
    found = SeamRecipeVersion.objects.filter(
        recipe__purpose=purpose,
        recipe__structure=structure,
        recipe__layers_low__lte=layers,
        recipe__layers_high__gte=layers,
    )
    if seam_class is not None:
        found = found.filter(recipe__seam_class=seam_class)
    return (
        found.select_related("recipe", "needle_thread", "under_thread", "needle")
        .order_by("recipe_id", "-number")
        .distinct("recipe_id")
    )


def _trials(recipe_ids: Iterable[UUID]) -> tuple[list[_Trial], dict[str, str]]:
    """Trials of all versions of these recipes, with their cloths' figures; and the cloths' names. Three queries."""
    rows = list(
        SeamTrial.objects.filter(version__recipe_id__in=list(recipe_ids))
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


def _figures(
    version: SeamRecipeVersion, key: str, purpose: str, seam_class: str | None
) -> evidence.RecipeFigures:
    recipe = version.recipe
    return evidence.RecipeFigures(
        key=key,
        purpose=purpose,
        # Where no class is asked for, all are ranked together, as if they were of one.
        seam_class=int(recipe.seam_class) if seam_class else 1,
        layers_low=recipe.layers_low,
        layers_high=recipe.layers_high,
    )


def _is_proven(entry: evidence.Ranked) -> bool:
    return entry.passes > 0 and entry.lower > evidence.LOWER_QUANTILE


def _older_proofs(
    versions: list[SeamRecipeVersion], trials: list[_Trial], cloth: ClothFigures, machine: str | None
) -> Mapping[UUID, str]:
    """By recipe: the best proven of its older versions, in words."""
    newest = {version.pk for version in versions}
    old = [trial for trial in trials if trial.version_id not in newest]
    numbers = {str(trial.version_id): (trial.recipe_id, trial.number) for trial in old}
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
    words: dict[UUID, str] = {}
    for entry in ranked:
        if entry.recipe is not None and _is_proven(entry):
            recipe_id, count = numbers[entry.recipe.key]
            words.setdefault(recipe_id, f"Version {count} was proven: {entry.words}")
    return words


def _answer(
    place: int,
    entry: evidence.Ranked,
    *,
    version: SeamRecipeVersion,
    cloth: ClothFigures,
    layers: int,
    names: Mapping[str, str],
    older: str | None,
) -> ProvenSeam:
    recipe = version.recipe
    standing: Standing = "proven" if _is_proven(entry) else "tried" if entry.n else "untested"
    return ProvenSeam(
        place=place,
        standing=standing,
        standing_words=STANDING_WORDS[standing],
        evidence=entry.words,
        name=recipe.name,
        recipe_id=recipe.pk,
        version_id=version.pk,
        number=version.number,
        seam_class=recipe.seam_class,
        seam_class_words=seam_class_words(recipe.seam_class),
        layers=layer_words(recipe),
        stitch_type=version.stitch_type,
        stitch_words=stitch_words(version.stitch_type),
        stitch_length_mm=version.stitch_length_mm,
        stitch_width_mm=version.stitch_width_mm,
        settings=settings_of(version),
        notes=notes_for(version, cloth, layers),
        trials=entry.n,
        passes=entry.passes,
        undecided=entry.undecided,
        lower=entry.lower,
        last_sewn=entry.last_date,
        nearest_cloth=names.get(entry.nearest_cloth or "", ""),
        distance=entry.distance,
        older=""
        if standing == "proven" or older is None
        else f"{older} Version {version.number} is not yet.",
    )


def _starting_point(place: int, entry: evidence.Ranked, purpose: str, layers: int) -> ProvenSeam:
    point = entry.starting_point
    assert point is not None
    words = point.words
    if purpose not in PLAIN_SEAMS:
        words += " For this purpose set the machine by its own handbook first."
    settings = [
        Setting("Stitch", stitch_words(point.stitch_type)),
        Setting("Stitch length", f"{point.stitch_length_mm:g} mm"),
        *([Setting("Stitch width", f"{point.stitch_width_mm:g} mm")] if point.stitch_width_mm else []),
        Setting("Needle", f"{point.needle_low} to {point.needle_high}, {point.needle_point}"),
        Setting("Needle and under thread", f"about tex {point.thread_tex:g}"),
    ]
    return ProvenSeam(
        place=place,
        standing="untested",
        standing_words=STANDING_WORDS["untested"],
        evidence=words,
        name="Starting point",
        recipe_id=None,
        version_id=None,
        number=None,
        seam_class="",
        seam_class_words="",
        layers=f"{layers} layer{'s' if layers > 1 else ''}",
        stitch_type=point.stitch_type,
        stitch_words=stitch_words(point.stitch_type),
        stitch_length_mm=Decimal(str(point.stitch_length_mm)),
        stitch_width_mm=Decimal(str(point.stitch_width_mm)),
        settings=tuple(settings),
        notes=(Note("estimate", "Common practice, no source."),),
        trials=0,
        passes=0,
        undecided=0,
        lower=entry.lower,
        last_sewn=None,
        nearest_cloth="",
        distance=None,
        older="",
    )
