"""Reading seam recipes and trials, and looking up what is proven for a cloth."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count, Exists, Max, OuterRef, Prefetch, Q, QuerySet

from seamlab.models import Cloth, SeamRecipe, SeamRecipeVersion, SeamTrial, TrialPhoto, TrialWithdrawal
from seamlab.queries.answers import ProvenSeam
from seamlab.queries.comparisons import trials_with_parts
from seamlab.queries.proven import MOST_ANSWERS, SeamAnswers, answers_for, proven_for
from studio.calc.wording import searchable
from studio.platform.errors import NotHere
from studio.platform.models import StoredFile
from studio.platform.rights import Actor, Right

__all__ = [
    "MOST_ANSWERS",
    "ProvenSeam",
    "PurposeGroup",
    "RecipePage",
    "RecipeRow",
    "SeamAnswers",
    "answers_for",
    "newest_versions",
    "proven_for",
    "recipe_get",
    "recipe_list",
    "recipe_page",
    "recipes_by_purpose",
    "trial_get",
    "trial_list",
    "trial_photo_file",
    "trials_of",
    "trials_on",
    "version_get",
]

VERSION_PARTS = ("recipe", "needle_thread", "under_thread", "needle", "written_by")
PAGE_RECIPES = 80


@dataclass(frozen=True)
class RecipeRow:
    """A recipe in a list: its newest version and what its trials came to, withdrawn ones apart."""

    version: SeamRecipeVersion
    passed: int
    failed: int
    undecided: int

    @property
    def recipe(self) -> SeamRecipe:
        found: SeamRecipe = self.version.recipe
        return found

    @property
    def standing(self) -> str:
        """proven (a trial passed), tried, or untested: of the newest version, on any cloth of this studio."""
        if self.passed:
            return "proven"
        return "tried" if self.failed or self.undecided else "untested"

    @property
    def evidence(self) -> str:
        """Trials of the newest version, on any cloth."""
        decided = self.passed + self.failed
        if not decided and not self.undecided:
            return "untested here" if self.recipe.origin == SeamRecipe.Origin.LIBRARY else "no trial yet"
        again = f"{self.undecided} to look at again" if self.undecided else ""
        counted = f"{self.passed} of {decided} passed" if decided else ""
        return ", ".join(part for part in (counted, again) if part)


@dataclass(frozen=True)
class PurposeGroup:
    """The recipes of one purpose."""

    purpose: str
    words: str
    rows: tuple[RecipeRow, ...]


@dataclass(frozen=True)
class RecipePage:
    """One page of recipes by purpose; ``found`` counts all that were asked for."""

    groups: tuple[PurposeGroup, ...]
    found: int
    page: int
    pages: int


def recipe_list(actor: Actor, *, purpose: str = "", structure: str = "") -> "QuerySet[SeamRecipe]":
    """Recipes by name, each with its newest ``number``."""
    actor.need(Right.READ_SEAMS)
    found: QuerySet[SeamRecipe] = SeamRecipe.objects.annotate(number=Max("versions__number")).order_by(
        "name", "id"
    )
    if purpose:
        found = found.filter(purpose=purpose)
    if structure:
        found = found.filter(structure=structure)
    return found


def newest_versions(actor: Actor) -> "QuerySet[SeamRecipeVersion]":
    """The newest version of every recipe that is not put away, with its threads and needle."""
    actor.need(Right.READ_SEAMS)
    return (
        SeamRecipeVersion.objects.filter(recipe__is_hidden=False)
        .select_related(*VERSION_PARTS)
        .order_by("recipe_id", "-number")
        .distinct("recipe_id")
    )


def recipes_by_purpose(actor: Actor) -> list[PurposeGroup]:
    """Every recipe under its purpose, with the trials of its newest version; two queries."""
    return list(_grouped(list(newest_versions(actor))))


def recipe_page(
    actor: Actor,
    *,
    purpose: str = "",
    structure: str = "",
    kind: str = "",
    origin: str = "",
    words: str = "",
    page: int = 1,
) -> RecipePage:
    """One page of the recipes that are asked for, in the order of purposes and names; three queries.

    ``kind`` is a key of the kinds of cloth: recipes written for it. Every one of ``words`` must occur in the name.
    """
    actor.need(Right.READ_SEAMS)
    found = SeamRecipe.objects.filter(is_hidden=False)
    for field, value in (("purpose", purpose), ("structure", structure), ("origin", origin)):
        if value:
            found = found.filter(**{field: value})
    if kind:
        found = found.filter(written_for__contains=[kind])
    for word in searchable(words).split()[:8]:
        found = found.filter(name__icontains=word)
    order = {value: place for place, value in enumerate(SeamRecipe.Purpose.values)}
    keys = sorted(
        found.values_list("purpose", "name", "id"), key=lambda row: (order[row[0]], row[1].casefold())
    )
    pages = max(1, -(-len(keys) // PAGE_RECIPES))
    page = min(max(1, page), pages)
    shown = [key for _, _, key in keys[(page - 1) * PAGE_RECIPES : page * PAGE_RECIPES]]
    versions = list(newest_versions(actor).filter(recipe_id__in=shown)) if shown else []
    return RecipePage(tuple(_grouped(versions)), len(keys), page, pages)


def _grouped(versions: list[SeamRecipeVersion]) -> list[PurposeGroup]:
    verdicts = SeamTrial.Verdict
    counts: dict[UUID, dict[str, Any]] = {
        row["version"]: dict(row)
        for row in SeamTrial.objects.filter(
            version__in=[version.pk for version in versions], withdrawals=None
        )
        .values("version")
        .annotate(
            passed=Count("id", filter=Q(verdict=verdicts.PASSES)),
            failed=Count("id", filter=Q(verdict=verdicts.FAILS)),
            undecided=Count("id", filter=Q(verdict=verdicts.LOOK_AGAIN)),
        )
    }
    rows: dict[str, list[RecipeRow]] = {}
    for version in sorted(versions, key=lambda version: version.recipe.name.casefold()):
        count = counts.get(version.pk, {})
        row = RecipeRow(version, count.get("passed", 0), count.get("failed", 0), count.get("undecided", 0))
        rows.setdefault(version.recipe.purpose, []).append(row)
    return [
        PurposeGroup(purpose, str(words), tuple(rows[purpose]))
        for purpose, words in SeamRecipe.Purpose.choices
        if purpose in rows
    ]


def recipe_get(actor: Actor, recipe_id: UUID) -> SeamRecipe:
    """A recipe with its versions, newest first, and their supplies; two queries. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    versions = SeamRecipeVersion.objects.select_related(*VERSION_PARTS).order_by("-number")
    found: SeamRecipe | None = (
        SeamRecipe.objects.prefetch_related(Prefetch("versions", queryset=versions))
        .filter(pk=recipe_id)
        .first()
    )
    if found is None:
        raise NotHere("seam recipe")
    return found


def version_get(actor: Actor, version_id: UUID) -> SeamRecipeVersion:
    """A version with its recipe and supplies; one query. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    found: SeamRecipeVersion | None = (
        SeamRecipeVersion.objects.select_related(*VERSION_PARTS).filter(pk=version_id).first()
    )
    if found is None:
        raise NotHere("version of a seam recipe")
    return found


def trial_list(
    actor: Actor, *, cloth_id: UUID | None = None, recipe_id: UUID | None = None, verdict: str = ""
) -> "QuerySet[SeamTrial]":
    """Trials, newest first, with what a table of them shows; ``is_withdrawn`` marks those that count no longer."""
    actor.need(Right.READ_SEAMS)
    withdrawals = TrialWithdrawal.objects.filter(trial=OuterRef("pk"))
    found = (
        SeamTrial.objects.select_related("version__recipe", "cloth", "machine", "sewn_by")
        .annotate(is_withdrawn=Exists(withdrawals))
        .order_by("-sewn_at", "-id")
    )
    if cloth_id is not None:
        found = found.filter(cloth_id=cloth_id)
    if recipe_id is not None:
        found = found.filter(version__recipe_id=recipe_id)
    if verdict:
        found = found.filter(verdict=verdict)
    return found


def trials_on(actor: Actor, cloth_id: UUID) -> "QuerySet[SeamTrial]":
    """The trials on a cloth of this studio. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    if not Cloth.objects.filter(pk=cloth_id).exists():
        raise NotHere("cloth")
    return trial_list(actor, cloth_id=cloth_id)


def trials_of(actor: Actor, recipe_id: UUID) -> "QuerySet[SeamTrial]":
    """The trials of all versions of a recipe."""
    return trial_list(actor, recipe_id=recipe_id)


def trial_get(actor: Actor, trial_id: UUID) -> SeamTrial:
    """A trial with its version's supplies, its photographs (``shown_photos``) and its withdrawal; three queries.

    Raises NotHere.
    """
    actor.need(Right.READ_SEAMS)
    withdrawals = TrialWithdrawal.objects.select_related("withdrawn_by", "replaced_by")
    found: SeamTrial | None = (
        trials_with_parts()
        .prefetch_related(Prefetch("withdrawals", queryset=withdrawals, to_attr="withdrawn"))
        .filter(pk=trial_id)
        .first()
    )
    if found is None:
        raise NotHere("seam trial")
    return found


def trial_photo_file(actor: Actor, photo_id: UUID) -> StoredFile:
    """The file of a photograph that is shown. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    row = TrialPhoto.objects.filter(pk=photo_id, is_hidden=False).select_related("file").first()
    if row is None:
        raise NotHere("photograph")
    found: StoredFile = row.file
    return found
