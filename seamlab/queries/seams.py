"""Reading seam recipes and trials, and looking up what is proven for a cloth."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count, Max, Prefetch, Q, QuerySet

from seamlab.models import Cloth, SeamRecipe, SeamRecipeVersion, SeamTrial
from seamlab.queries.proven import ProvenSeam, proven_for
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right

__all__ = [
    "ProvenSeam",
    "PurposeGroup",
    "RecipeRow",
    "newest_versions",
    "proven_for",
    "recipe_get",
    "recipe_list",
    "recipes_by_purpose",
    "trial_get",
    "trial_list",
    "trials_of",
    "trials_on",
    "version_get",
]

VERSION_PARTS = ("recipe", "needle_thread", "under_thread", "needle", "written_by")


@dataclass(frozen=True)
class RecipeRow:
    """A recipe in a list: its newest version and what its trials came to."""

    version: SeamRecipeVersion
    passed: int
    failed: int
    undecided: int

    @property
    def recipe(self) -> SeamRecipe:
        found: SeamRecipe = self.version.recipe
        return found

    @property
    def evidence(self) -> str:
        """Trials of the newest version, on any cloth."""
        decided = self.passed + self.failed
        if not decided and not self.undecided:
            return "no trial yet"
        again = f"{self.undecided} to look at again" if self.undecided else ""
        counted = f"{self.passed} of {decided} passed" if decided else ""
        return ", ".join(part for part in (counted, again) if part)


@dataclass(frozen=True)
class PurposeGroup:
    """The recipes of one purpose."""

    purpose: str
    words: str
    rows: tuple[RecipeRow, ...]


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
    """The newest version of every recipe, with its threads and needle."""
    actor.need(Right.READ_SEAMS)
    return (
        SeamRecipeVersion.objects.select_related(*VERSION_PARTS)
        .order_by("recipe_id", "-number")
        .distinct("recipe_id")
    )


def recipes_by_purpose(actor: Actor) -> list[PurposeGroup]:
    """Every recipe under its purpose, with the trials of its newest version; two queries."""
    versions = list(newest_versions(actor))
    verdicts = SeamTrial.Verdict
    counts: dict[UUID, dict[str, Any]] = {
        row["version"]: dict(row)
        for row in SeamTrial.objects.filter(version__in=[version.pk for version in versions])
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
    """Trials, newest first, with what a table of them shows."""
    actor.need(Right.READ_SEAMS)
    found = SeamTrial.objects.select_related("version__recipe", "cloth", "machine", "sewn_by").order_by(
        "-sewn_at", "-id"
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
    """A trial with its version's supplies; one query. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    parts = [f"version__{part}" for part in VERSION_PARTS]
    found: SeamTrial | None = (
        SeamTrial.objects.select_related("cloth", "machine", "sewn_by", *parts).filter(pk=trial_id).first()
    )
    if found is None:
        raise NotHere("seam trial")
    return found
