"""Cloth, supplies, seam recipes and trials in the API."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from seamlab.api import filters
from seamlab.api import seam_serializers as seam_shapes
from seamlab.api import serializers as shapes
from seamlab.queries import cloth as cloth_queries
from seamlab.queries import seams as seam_queries
from seamlab.queries import supplies as supply_queries
from seamlab.queries.tables import stitch_types
from seamlab.services import cloth as cloth_services
from seamlab.services import seams as seam_services
from seamlab.services import supplies as supply_services
from studio.platform.api.base import HouseView, etag
from studio.platform.rights import Right

READS = {"GET": Right.READ_SEAMS}
KEEPS = {"GET": Right.READ_SEAMS, "POST": Right.KEEP_SEAMS}
WORDS = OpenApiParameter("words", str, description="Words of the name, the construction or a fibre.")
IF_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, description="The recipe's ETag; 412 if it changed since."
)


class Cloths(HouseView):
    serializer_class = shapes.ClothOut
    filterset_class = filters.ClothFilter
    rights = KEEPS

    @extend_schema(operation_id="cloths_list", responses=shapes.ClothOut(many=True), parameters=[WORDS])
    def get(self, request: Request) -> Response:
        """Cloths, the last recorded first; with words those that mention them all."""
        rows = cloth_queries.cloth_list(self.actor, request.query_params.get("words", ""))
        return self.page_of(rows, shapes.ClothOut)

    @extend_schema(operation_id="cloth_record", request=shapes.ClothIn, responses={201: shapes.ClothOut})
    def post(self, request: Request) -> Response:
        """Record a cloth. Its direction is one-way until somebody has looked."""
        made = cloth_services.record_cloth(self.actor, **self.typed(shapes.ClothIn))
        cloth = cloth_queries.cloth_get(self.actor, made.pk)
        return self.created(shapes.ClothOut(cloth).data, reverse("api-cloth", args=[cloth.pk]), cloth)


class Cloth(HouseView):
    serializer_class = shapes.ClothOut
    rights = {"GET": Right.READ_SEAMS, "PATCH": Right.KEEP_SEAMS}

    @extend_schema(operation_id="cloth_get", responses=shapes.ClothOut)
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """One cloth with the figures of its newest tests, and the ETag that a change needs."""
        return self._answer_with(cloth_id)

    @extend_schema(operation_id="cloth_change", request=shapes.ClothFactsIn, responses=shapes.ClothOut)
    def patch(self, request: Request, cloth_id: UUID) -> Response:
        """Change what is given and nothing else."""
        expected = self.expected_version()
        changes = self.typed(shapes.ClothFactsIn)
        cloth_services.change_cloth(self.actor, cloth_id, changes=changes, expected_version=expected)
        return self._answer_with(cloth_id)

    def _answer_with(self, cloth_id: UUID) -> Response:
        cloth = cloth_queries.cloth_get(self.actor, cloth_id)
        return Response(shapes.ClothOut(cloth).data, headers={"ETag": etag(cloth)})


class StretchTests(HouseView):
    serializer_class = shapes.StretchTestOut
    rights = KEEPS

    @extend_schema(operation_id="stretch_tests_list", responses=shapes.StretchTestOut(many=True))
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """Every stretch test of a cloth, the last recorded first."""
        return self.page_of(
            cloth_queries.cloth_tests(self.actor, cloth_id, kind="stretch"), shapes.StretchTestOut
        )

    @extend_schema(
        operation_id="stretch_test_add", request=shapes.StretchTestIn, responses={201: shapes.StretchTestOut}
    )
    def post(self, request: Request, cloth_id: UUID) -> Response:
        """Add a stretch test; the percentages are computed from the readings."""
        test = cloth_services.test_stretch(self.actor, cloth_id, **self.typed(shapes.StretchTestIn))
        location = reverse("api-stretch-tests", args=[cloth_id])
        return self.created(shapes.StretchTestOut(test).data, location)


class WashTests(HouseView):
    serializer_class = shapes.WashTestOut
    rights = KEEPS

    @extend_schema(operation_id="wash_tests_list", responses=shapes.WashTestOut(many=True))
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """Every wash test of a cloth, the last recorded first."""
        return self.page_of(cloth_queries.cloth_tests(self.actor, cloth_id, kind="wash"), shapes.WashTestOut)

    @extend_schema(
        operation_id="wash_test_add", request=shapes.WashTestIn, responses={201: shapes.WashTestOut}
    )
    def post(self, request: Request, cloth_id: UUID) -> Response:
        """Add a wash test; the percentage is computed from the readings."""
        test = cloth_services.test_wash(self.actor, cloth_id, **self.typed(shapes.WashTestIn))
        return self.created(shapes.WashTestOut(test).data, reverse("api-wash-tests", args=[cloth_id]))


class ProvenSeams(HouseView):
    serializer_class = seam_shapes.ProvenSeamOut
    pagination_class = None
    rights = READS

    @extend_schema(
        operation_id="proven_seams",
        parameters=[seam_shapes.ProvenQuery],
        responses=seam_shapes.ProvenSeamOut(many=True),
    )
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """Which seam for this cloth: the studio's recipes by their evidence, best proven first."""
        asked = _asked(request, seam_shapes.ProvenQuery)
        answers = seam_queries.proven_for(
            self.actor, cloth_id, machine_id=asked.pop("machine", None), **asked
        )
        return Response(seam_shapes.ProvenSeamOut(answers, many=True).data)


class Threads(HouseView):
    serializer_class = shapes.ThreadOut
    rights = KEEPS

    @extend_schema(operation_id="threads_list", responses=shapes.ThreadOut(many=True))
    def get(self, request: Request) -> Response:
        """Threads, the last recorded first."""
        return self.page_of(supply_queries.thread_list(self.actor), shapes.ThreadOut)

    @extend_schema(operation_id="thread_record", request=shapes.ThreadIn, responses={201: shapes.ThreadOut})
    def post(self, request: Request) -> Response:
        """Record a thread by its number in any system; its tex is kept."""
        made = supply_services.record_thread(self.actor, **self.typed(shapes.ThreadIn))
        return self.created(shapes.ThreadOut(made).data, reverse("api-threads"))


class Needles(HouseView):
    serializer_class = shapes.NeedleOut
    rights = KEEPS

    @extend_schema(operation_id="needles_list", responses=shapes.NeedleOut(many=True))
    def get(self, request: Request) -> Response:
        """Needles, the last recorded first."""
        return self.page_of(supply_queries.needle_list(self.actor), shapes.NeedleOut)

    @extend_schema(operation_id="needle_record", request=shapes.NeedleIn, responses={201: shapes.NeedleOut})
    def post(self, request: Request) -> Response:
        """Record a needle by either of its numbers."""
        made = supply_services.record_needle(self.actor, **self.typed(shapes.NeedleIn))
        return self.created(shapes.NeedleOut(made).data, reverse("api-needles"))


class Machines(HouseView):
    serializer_class = shapes.MachineOut
    rights = KEEPS

    @extend_schema(operation_id="machines_list", responses=shapes.MachineOut(many=True))
    def get(self, request: Request) -> Response:
        """Machines, the last recorded first."""
        return self.page_of(supply_queries.machine_list(self.actor), shapes.MachineOut)

    @extend_schema(
        operation_id="machine_record", request=shapes.MachineIn, responses={201: shapes.MachineOut}
    )
    def post(self, request: Request) -> Response:
        """Record a machine and the stitch types that it makes."""
        made = supply_services.record_machine(self.actor, **self.typed(shapes.MachineIn))
        return self.created(shapes.MachineOut(made).data, reverse("api-machines"))


class StitchTypes(HouseView):
    serializer_class = shapes.StitchTypeOut
    pagination_class = None
    rights = READS

    @extend_schema(operation_id="stitch_types_list", responses=shapes.StitchTypeOut(many=True))
    def get(self, request: Request) -> Response:
        """The stitch types of ISO 4915 that the house knows."""
        return Response(shapes.StitchTypeOut(stitch_types().values(), many=True).data)


class ThreadSizes(HouseView):
    serializer_class = shapes.ThreadSizeOut
    pagination_class = None
    rights = READS

    @extend_schema(
        operation_id="thread_sizes",
        parameters=[shapes.ThreadSizeQuery],
        responses=shapes.ThreadSizeOut(many=True),
    )
    def get(self, request: Request) -> Response:
        """One thread in every numbering system."""
        sizes = supply_queries.thread_sizes(**_asked(request, shapes.ThreadSizeQuery))
        return Response(shapes.ThreadSizeOut(sizes, many=True).data)


class SeamRecipes(HouseView):
    serializer_class = seam_shapes.RecipeListOut
    filterset_class = filters.RecipeFilter
    rights = KEEPS

    @extend_schema(operation_id="seam_recipes_list", responses=seam_shapes.RecipeListOut(many=True))
    def get(self, request: Request) -> Response:
        """Recipes, the last written first."""
        return self.page_of(seam_queries.recipe_list(self.actor), seam_shapes.RecipeListOut)

    @extend_schema(
        operation_id="seam_recipe_write",
        request=seam_shapes.RecipeIn,
        responses={201: seam_shapes.RecipeOut},
    )
    def post(self, request: Request) -> Response:
        """Write a recipe with its first version."""
        given = self.typed(seam_shapes.RecipeIn)
        settings = _settings(given)
        version = seam_services.write_recipe(self.actor, settings=settings, **given)
        recipe = seam_queries.recipe_get(self.actor, version.recipe_id)
        location = reverse("api-seam-recipe", args=[recipe.pk])
        return self.created(seam_shapes.RecipeOut(recipe).data, location, recipe)


class SeamRecipe(HouseView):
    serializer_class = seam_shapes.RecipeOut
    rights = READS

    @extend_schema(operation_id="seam_recipe_get", responses=seam_shapes.RecipeOut)
    def get(self, request: Request, recipe_id: UUID) -> Response:
        """A recipe with all its versions."""
        recipe = seam_queries.recipe_get(self.actor, recipe_id)
        return Response(seam_shapes.RecipeOut(recipe).data, headers={"ETag": etag(recipe)})


class SeamRecipeVersions(HouseView):
    serializer_class = seam_shapes.VersionOut
    pagination_class = None
    rights = KEEPS

    @extend_schema(operation_id="seam_recipe_versions_list", responses=seam_shapes.VersionOut(many=True))
    def get(self, request: Request, recipe_id: UUID) -> Response:
        """The versions of a recipe, newest first."""
        recipe = seam_queries.recipe_get(self.actor, recipe_id)
        return Response(seam_shapes.VersionOut(recipe.versions.all(), many=True).data)

    @extend_schema(
        operation_id="seam_recipe_change",
        request=seam_shapes.VersionIn,
        responses={201: seam_shapes.VersionOut},
        parameters=[IF_MATCH],
    )
    def post(self, request: Request, recipe_id: UUID) -> Response:
        """Give a recipe new settings: a new version; the old one keeps its trials."""
        expected = self.expected_version() if "If-Match" in request.headers else None
        settings = _settings(self.typed(seam_shapes.VersionIn))
        made = seam_services.change_recipe(
            self.actor, recipe_id, settings=settings, expected_version=expected
        )
        version = seam_queries.version_get(self.actor, made.pk)
        location = reverse("api-seam-recipe-versions", args=[recipe_id])
        return self.created(seam_shapes.VersionOut(version).data, location, version.recipe)


class SeamTrials(HouseView):
    serializer_class = seam_shapes.TrialOut
    filterset_class = filters.TrialFilter
    rights = KEEPS

    @extend_schema(operation_id="seam_trials_list", responses=seam_shapes.TrialOut(many=True))
    def get(self, request: Request) -> Response:
        """Trials, the last recorded first."""
        return self.page_of(seam_queries.trial_list(self.actor), seam_shapes.TrialOut)

    @extend_schema(
        operation_id="seam_trial_record",
        request=seam_shapes.TrialIn,
        responses={201: seam_shapes.TrialOut},
    )
    def post(self, request: Request) -> Response:
        """Record one sewn sample; a verdict is proposed from its figures, with every reason."""
        made = seam_services.record_trial(self.actor, **self.typed(seam_shapes.TrialIn))
        trial = seam_queries.trial_get(self.actor, made.pk)
        return self.created(seam_shapes.TrialOut(trial).data, reverse("api-seam-trial", args=[trial.pk]))


class SeamTrial(HouseView):
    serializer_class = seam_shapes.TrialOut
    rights = READS

    @extend_schema(operation_id="seam_trial_get", responses=seam_shapes.TrialOut)
    def get(self, request: Request, trial_id: UUID) -> Response:
        """One trial with what was proposed and decided."""
        return Response(seam_shapes.TrialOut(seam_queries.trial_get(self.actor, trial_id)).data)


def _settings(given: dict[str, Any]) -> seam_services.RecipeSettings:
    """Take the settings out of what was given."""
    return seam_services.RecipeSettings(
        **{name: given.pop(name) for name in seam_services.SETTING_NAMES if name in given}
    )


def _asked(request: Request, serializer_class: Any) -> dict[str, Any]:
    """The query parameters as typed values."""
    serializer = serializer_class(data=request.query_params)
    serializer.is_valid(raise_exception=True)
    values: dict[str, Any] = serializer.validated_data
    return values
