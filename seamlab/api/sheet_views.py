"""Sample sheets in the API: asked for, drawn by a worker, fetched as they were stored."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from seamlab.api import sheet_serializers as shapes
from seamlab.queries import sample_sheets
from seamlab.services import sample_sheets as services
from studio.platform.api.base import HouseView
from studio.platform.api.renderers import FILE_RENDERERS
from studio.platform.errors import Refused
from studio.platform.rights import Right
from studio.platform.web.files import file_answer


class SampleSheets(HouseView):
    serializer_class = shapes.SampleSheetOut
    rights = {"GET": Right.READ_SEAMS, "POST": Right.KEEP_SEAMS}

    @extend_schema(operation_id="sample_sheets_list", responses=shapes.SampleSheetOut(many=True))
    def get(self, request: Request) -> Response:
        """Sample sheets, newest first."""
        return self.page_of(sample_sheets.sheet_list(self.actor), shapes.SampleSheetOut)

    @extend_schema(
        operation_id="sample_sheet_ask", request=shapes.SampleSheetIn, responses={201: shapes.SampleSheetOut}
    )
    def post(self, request: Request) -> Response:
        """Ask for the sheet of a cloth or of a comparison."""
        given = self.typed(shapes.SampleSheetIn)
        if ("cloth" in given) == ("comparison" in given):
            raise Refused({"cloth": "Name a cloth or a comparison, one of them."})
        if "comparison" in given:
            job = services.ask_comparison_sheet(self.actor, given["comparison"])
        else:
            job = services.ask_cloth_sheet(
                self.actor, given["cloth"], purpose=given.get("purpose", ""), layers=given.get("layers", 2)
            )
        return self.created(shapes.SampleSheetOut(job).data, reverse("api-sample-sheet", args=[job.pk]))


class SampleSheet(HouseView):
    serializer_class = shapes.SampleSheetOut
    rights = {"GET": Right.READ_SEAMS}

    @extend_schema(operation_id="sample_sheet_get", responses=shapes.SampleSheetOut)
    def get(self, request: Request, sheet_id: UUID) -> Response:
        """One sheet: how far it is."""
        return Response(shapes.SampleSheetOut(sample_sheets.sheet_get(self.actor, sheet_id)).data)


class SampleSheetFile(HouseView):
    rights = {"GET": Right.READ_SEAMS}
    renderer_classes = FILE_RENDERERS

    @extend_schema(
        operation_id="sample_sheet_file", responses={(200, "application/pdf"): OpenApiTypes.BINARY}
    )
    def get(self, request: Request, sheet_id: UUID) -> Any:
        """The PDF as it was stored."""
        return file_answer(sample_sheets.sheet_file(self.actor, sheet_id))
