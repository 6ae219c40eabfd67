"""Seam recipes, trials and what is proven, in the API."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from seamlab.api import filters
from seamlab.api import seam_serializers as shapes
from seamlab.api.base import KEEPS, READS, asked
from seamlab.queries import seams as queries
from seamlab.services import seams as services
from studio.platform.api.base import HouseView, etag
from studio.platform.rights import Right

IF_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, description="The recipe's ETag; 412 if it changed since."
)


class ProvenSeams(HouseView):
    serializer_class = shapes.ProvenSeamOut
    pagination_class = None
    rights = READS

    @extend_schema(
        operation_id="proven_seams",
        parameters=[shapes.ProvenQuery],
        responses=shapes.ProvenSeamOut(many=True),
    )
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """Which seam for this cloth: the studio's recipes by their evidence, best proven first."""
        question = asked(request, shapes.ProvenQuery)
        answers = queries.proven_for(
            self.actor, cloth_id, machine_id=question.pop("machine", None), **question
        )
        return Response(shapes.ProvenSeamOut(answers, many=True).data)


class SeamRecipes(HouseView):
    serializer_class = shapes.RecipeListOut
    filterset_class = filters.RecipeFilter
    rights = KEEPS

    @extend_schema(operation_id="seam_recipes_list", responses=shapes.RecipeListOut(many=True))
    def get(self, request: Request) -> Response:
        """Recipes, the last written first."""
        return self.page_of(queries.recipe_list(self.actor), shapes.RecipeListOut)

    @extend_schema(
        operation_id="seam_recipe_write",
        request=shapes.RecipeIn,
        responses={201: shapes.RecipeOut},
    )
    def post(self, request: Request) -> Response:
        """Write a recipe with its first version."""
        given = self.typed(shapes.RecipeIn)
        settings = _settings(given)
        version = services.write_recipe(self.actor, settings=settings, **given)
        recipe = queries.recipe_get(self.actor, version.recipe_id)
        location = reverse("api-seam-recipe", args=[recipe.pk])
        return self.created(shapes.RecipeOut(recipe).data, location, recipe)


class SeamRecipe(HouseView):
    serializer_class = shapes.RecipeOut
    rights = {"GET": Right.READ_SEAMS, "PATCH": Right.KEEP_SEAMS}

    @extend_schema(operation_id="seam_recipe_get", responses=shapes.RecipeOut)
    def get(self, request: Request, recipe_id: UUID) -> Response:
        """A recipe with all its versions."""
        recipe = queries.recipe_get(self.actor, recipe_id)
        return Response(shapes.RecipeOut(recipe).data, headers={"ETag": etag(recipe)})

    @extend_schema(
        operation_id="seam_recipe_describe",
        request=shapes.RecipeWordsIn,
        responses=shapes.RecipeOut,
        parameters=[IF_MATCH],
    )
    def patch(self, request: Request, recipe_id: UUID) -> Response:
        """Rename a recipe, say for which kinds of cloth it is, put it away; settings change by a new version."""
        expected = self.expected_version()
        given = self.typed(shapes.RecipeWordsIn)
        services.describe_recipe(self.actor, recipe_id, expected_version=expected, **given)
        return self.get(request, recipe_id)


class SeamRecipeVersions(HouseView):
    serializer_class = shapes.VersionOut
    pagination_class = None
    rights = KEEPS

    @extend_schema(operation_id="seam_recipe_versions_list", responses=shapes.VersionOut(many=True))
    def get(self, request: Request, recipe_id: UUID) -> Response:
        """The versions of a recipe, newest first."""
        recipe = queries.recipe_get(self.actor, recipe_id)
        return Response(shapes.VersionOut(recipe.versions.all(), many=True).data)

    @extend_schema(
        operation_id="seam_recipe_change",
        request=shapes.VersionIn,
        responses={201: shapes.VersionOut},
        parameters=[IF_MATCH],
    )
    def post(self, request: Request, recipe_id: UUID) -> Response:
        """Give a recipe new settings: a new version; the old one keeps its trials."""
        expected = self.expected_version() if "If-Match" in request.headers else None
        settings = _settings(self.typed(shapes.VersionIn))
        made = services.change_recipe(self.actor, recipe_id, settings=settings, expected_version=expected)
        version = queries.version_get(self.actor, made.pk)
        location = reverse("api-seam-recipe-versions", args=[recipe_id])
        return self.created(shapes.VersionOut(version).data, location, version.recipe)


class SeamTrials(HouseView):
    serializer_class = shapes.TrialOut
    filterset_class = filters.TrialFilter
    rights = KEEPS

    @extend_schema(operation_id="seam_trials_list", responses=shapes.TrialOut(many=True))
    def get(self, request: Request) -> Response:
        """Trials, the last recorded first."""
        return self.page_of(queries.trial_list(self.actor), shapes.TrialOut)

    @extend_schema(
        operation_id="seam_trial_record",
        request=shapes.TrialIn,
        responses={201: shapes.TrialOut},
    )
    def post(self, request: Request) -> Response:
        """Record one sewn sample; a verdict is proposed from its figures, with every reason."""
        made = services.record_trial(self.actor, **self.typed(shapes.TrialIn))
        trial = queries.trial_get(self.actor, made.pk)
        return self.created(shapes.TrialOut(trial).data, reverse("api-seam-trial", args=[trial.pk]))


class SeamTrial(HouseView):
    serializer_class = shapes.TrialOut
    rights = READS

    @extend_schema(operation_id="seam_trial_get", responses=shapes.TrialOut)
    def get(self, request: Request, trial_id: UUID) -> Response:
        """One trial with what was proposed and decided."""
        return Response(shapes.TrialOut(queries.trial_get(self.actor, trial_id)).data)


def _settings(given: dict[str, Any]) -> services.RecipeSettings:
    """Take the settings out of what was given."""
    return services.RecipeSettings(
        **{name: given.pop(name) for name in services.SETTING_NAMES if name in given}
    )
