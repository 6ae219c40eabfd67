"""Outlines and the drawings that they are read from, over the API."""

from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import lay_serializers as shapes
from fitting.calc.exchange import MOST_BYTES
from fitting.queries.outlines import outline_file_get, outline_rows
from fitting.services.outlines import answer_drawing, draft_outlines, take_drawing, use_drawing
from studio.platform.api.base import HouseView
from studio.platform.errors import Refused
from studio.platform.rights import Right


class PatternOutlines(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}
    pagination_class = None

    @extend_schema(
        operation_id="outlines_list",
        summary="The outlines of a pattern in every size",
        responses=shapes.OutlinesOut,
    )
    def get(self, request: Request, pattern_id: UUID) -> Response:
        return Response(shapes.OutlinesOut({"results": outline_rows(self.actor, pattern_id)}).data)

    @extend_schema(
        operation_id="outlines_draft",
        summary="Draft the pieces in every size from the size table",
        request=shapes.DraftIn,
        responses={200: shapes.DraftOut},
    )
    def post(self, request: Request, pattern_id: UUID) -> Response:
        made = draft_outlines(self.actor, pattern_id, **self.typed(shapes.DraftIn))
        return Response(shapes.DraftOut({"outlines": made}).data)


class PatternDrawings(HouseView):
    rights = {"POST": Right.KEEP_PAPER}
    parser_classes = [MultiPartParser]

    @extend_schema(
        operation_id="drawings_take",
        summary="Give a drawing to read pieces from; it comes back with its questions",
        request=shapes.DrawingFileIn,
        responses={201: shapes.DrawingOut},
    )
    def post(self, request: Request, pattern_id: UUID) -> Response:
        file = self.typed(shapes.DrawingFileIn)["file"]
        if file.size > MOST_BYTES:
            raise Refused(
                {"file": f"The file is larger than {MOST_BYTES // 1_000_000} MB; save the pieces alone."}
            )
        row = take_drawing(self.actor, pattern_id, name=file.name, data=file.read())
        opened = outline_file_get(self.actor, row.pk)
        return self.created(
            shapes.DrawingOut(opened).data, reverse("drawing-read", args=[row.pk]), opened.row
        )


class DrawingRead(HouseView):
    rights = {"GET": Right.READ_PAPER, "PATCH": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="drawings_read", summary="A drawing and its questions", responses=shapes.DrawingOut
    )
    def get(self, request: Request, file_id: UUID) -> Response:
        return self._answer_with(file_id)

    @extend_schema(
        operation_id="drawings_answer",
        summary="Answer questions about a drawing",
        request=shapes.AnswersIn,
        responses={200: shapes.DrawingOut},
    )
    def patch(self, request: Request, file_id: UUID) -> Response:
        answer_drawing(
            self.actor, file_id, expected_version=self.expected_version(), **self.typed(shapes.AnswersIn)
        )
        return self._answer_with(file_id)

    def _answer_with(self, file_id: UUID) -> Response:
        opened = outline_file_get(self.actor, file_id)
        return Response(shapes.DrawingOut(opened).data, headers={"ETag": f'"{opened.row.version}"'})


class DrawingUse(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="drawings_use",
        summary="Make the pieces of a drawing outlines of its pattern",
        request=shapes.UseIn,
        responses={200: shapes.OutlinesOut},
    )
    def post(self, request: Request, file_id: UUID) -> Response:
        kept = use_drawing(self.actor, file_id, **self.typed(shapes.UseIn))
        return Response(shapes.OutlinesOut({"results": kept}).data)
