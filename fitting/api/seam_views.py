"""Before sewing the real thing, over the API: thread by colour, time, what owes a sample; the sample sheet."""

from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import seam_serializers as shapes
from fitting.queries.seams import garment_sewing
from fitting.services import seams as services
from seamlab.api.sheet_serializers import SampleSheetOut
from seamlab.queries.needs import USUAL_PERCENT
from studio.platform.api.base import HouseView
from studio.platform.api.serializers import NothingIn
from studio.platform.rights import Right


class GarmentSewing(HouseView):
    serializer_class = shapes.GarmentSewingOut
    rights = {"GET": Right.KEEP_GARMENTS}

    @extend_schema(
        operation_id="garment_sewing",
        summary="What the seams of a garment take, and which still owe a sample",
        parameters=[shapes.SewingAsked],
        responses={200: shapes.GarmentSewingOut},
    )
    def get(self, request: Request, garment_id: UUID) -> Response:
        asked = shapes.SewingAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        view = garment_sewing(
            self.actor,
            garment_id,
            allowance_percent=asked.validated_data.get("allowance_percent", USUAL_PERCENT),
            machine_id=asked.validated_data.get("machine"),
        )
        return Response(shapes.GarmentSewingOut(view.needs).data)


class GarmentSeam(HouseView):
    serializer_class = shapes.SewingSeamOut
    rights = {"PATCH": Right.KEEP_GARMENTS}

    @extend_schema(
        operation_id="garment_seam_measure",
        summary="Say how long a seam is, on which cloth, in which colours",
        request=shapes.SeamLengthIn,
        responses={200: shapes.SewingSeamOut},
    )
    def patch(self, request: Request, garment_id: UUID, seam_id: UUID) -> Response:
        services.measure_seam(self.actor, garment_id, seam_id, facts=self.typed(shapes.SeamLengthIn))
        view = garment_sewing(self.actor, garment_id)
        row = next(row for row in view.needs.seams if row.asked.id == seam_id)
        return Response(shapes.SewingSeamOut(row).data)


class GarmentSampleSheet(HouseView):
    serializer_class = SampleSheetOut
    rights = {"POST": Right.KEEP_SEAMS}

    @extend_schema(
        operation_id="garment_sample_sheet_ask",
        summary="Ask for the sheet to pin the samples of the seams to",
        request=NothingIn,
        responses={201: SampleSheetOut},
    )
    def post(self, request: Request, garment_id: UUID) -> Response:
        job = services.ask_garment_sheet(self.actor, garment_id)
        return self.created(SampleSheetOut(job).data, reverse("api-sample-sheet", args=[job.pk]))
