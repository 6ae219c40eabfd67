"""Cloth in the API."""

from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from seamlab.api import cloth_serializers as shapes
from seamlab.api import filters
from seamlab.api.base import HIDDEN, KEEPS, READS, with_hidden
from seamlab.queries import cloth as queries
from seamlab.queries.tables import cloth_kinds
from seamlab.services import cloth as services
from studio.platform.api.base import HouseView, etag
from studio.platform.rights import Right

WORDS = OpenApiParameter("words", str, description="Words of the name, the construction or a fibre.")


class Cloths(HouseView):
    serializer_class = shapes.ClothOut
    filterset_class = filters.ClothFilter
    rights = KEEPS

    @extend_schema(
        operation_id="cloths_list", responses=shapes.ClothOut(many=True), parameters=[WORDS, HIDDEN]
    )
    def get(self, request: Request) -> Response:
        """Cloths, the last recorded first; with words those that mention them all."""
        words = request.query_params.get("words", "")
        rows = queries.cloth_list(self.actor, words, with_hidden=with_hidden(request))
        return self.page_of(rows, shapes.ClothOut)

    @extend_schema(operation_id="cloth_record", request=shapes.ClothIn, responses={201: shapes.ClothOut})
    def post(self, request: Request) -> Response:
        """Record a cloth. Its direction is one-way until somebody has looked."""
        made = services.record_cloth(self.actor, **self.typed(shapes.ClothIn))
        cloth = queries.cloth_get(self.actor, made.pk)
        return self.created(shapes.ClothOut(cloth).data, reverse("api-cloth", args=[cloth.pk]), cloth)


class Cloth(HouseView):
    serializer_class = shapes.ClothOut
    rights = {"GET": Right.READ_SEAMS, "PATCH": Right.KEEP_SEAMS}

    @extend_schema(operation_id="cloth_get", responses=shapes.ClothOut)
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """One cloth with the figures of its newest tests, and the ETag that a change needs."""
        return self._answer_with(cloth_id)

    @extend_schema(operation_id="cloth_change", request=shapes.ClothChangeIn, responses=shapes.ClothOut)
    def patch(self, request: Request, cloth_id: UUID) -> Response:
        """Change what is given and nothing else."""
        expected = self.expected_version()
        changes = self.typed(shapes.ClothChangeIn)
        services.change_cloth(self.actor, cloth_id, changes=changes, expected_version=expected)
        return self._answer_with(cloth_id)

    def _answer_with(self, cloth_id: UUID) -> Response:
        cloth = queries.cloth_get(self.actor, cloth_id)
        return Response(shapes.ClothOut(cloth).data, headers={"ETag": etag(cloth)})


class StretchTests(HouseView):
    serializer_class = shapes.StretchTestOut
    rights = KEEPS

    @extend_schema(operation_id="stretch_tests_list", responses=shapes.StretchTestOut(many=True))
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """Every stretch test of a cloth, the last recorded first."""
        return self.page_of(queries.cloth_tests(self.actor, cloth_id, kind="stretch"), shapes.StretchTestOut)

    @extend_schema(
        operation_id="stretch_test_add", request=shapes.StretchTestIn, responses={201: shapes.StretchTestOut}
    )
    def post(self, request: Request, cloth_id: UUID) -> Response:
        """Add a stretch test; the percentages are computed from the readings."""
        test = services.test_stretch(self.actor, cloth_id, **self.typed(shapes.StretchTestIn))
        location = reverse("api-stretch-tests", args=[cloth_id])
        return self.created(shapes.StretchTestOut(test).data, location)


class WashTests(HouseView):
    serializer_class = shapes.WashTestOut
    rights = KEEPS

    @extend_schema(operation_id="wash_tests_list", responses=shapes.WashTestOut(many=True))
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """Every wash test of a cloth, the last recorded first."""
        return self.page_of(queries.cloth_tests(self.actor, cloth_id, kind="wash"), shapes.WashTestOut)

    @extend_schema(
        operation_id="wash_test_add", request=shapes.WashTestIn, responses={201: shapes.WashTestOut}
    )
    def post(self, request: Request, cloth_id: UUID) -> Response:
        """Add a wash test; the percentage is computed from the readings."""
        test = services.test_wash(self.actor, cloth_id, **self.typed(shapes.WashTestIn))
        return self.created(shapes.WashTestOut(test).data, reverse("api-wash-tests", args=[cloth_id]))


class ClothKinds(HouseView):
    serializer_class = shapes.ClothKindOut
    pagination_class = None
    rights = READS

    @extend_schema(operation_id="cloth_kinds_list", responses=shapes.ClothKindOut(many=True))
    def get(self, request: Request) -> Response:
        """The kinds of cloth by which recipes say what they were written for."""
        return Response(shapes.ClothKindOut(cloth_kinds().values(), many=True).data)
