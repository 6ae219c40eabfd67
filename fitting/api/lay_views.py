"""Lays, grain and remnants over the API."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import lay_serializers as shapes
from fitting.queries.garment_lays import lays_of_garment
from fitting.queries.garments import garment_row
from fitting.queries.lay_sheets import lay_sheet_file, lay_sheets_of
from fitting.queries.lays import lay_list, lay_view, remnant_list
from fitting.services.lay_cloth import cut_for_lay, lay_on_remnant
from fitting.services.lay_sheets import ask_lay_sheet
from fitting.services.lay_table import check_grain, drop_remnant, keep_remnant
from fitting.services.lays import ask_lay, change_grain, choose_drawing, lay_by_hand, search_again
from studio.platform.api.base import HouseView
from studio.platform.api.renderers import FILE_RENDERERS
from studio.platform.rights import Right
from studio.platform.web.files import file_answer


def _whole(view: HouseView, lay_id: UUID, status: int = 200) -> Response:
    found = lay_view(view.actor, lay_id)
    headers = {"ETag": f'"{found.lay.version}"'}
    if status in (201, 202):
        headers["Location"] = reverse("lay-read", args=[lay_id])
    return Response(shapes.LayOut(shapes.lay_out(found)).data, status=status, headers=headers)


class Lays(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="lays_list", summary="Lays, newest first", responses=shapes.LayBriefOut(many=True)
    )
    def get(self, request: Request) -> Response:
        return self.page_of(lay_list(self.actor), shapes.LayBriefOut)

    @extend_schema(
        operation_id="lays_ask",
        summary="Ask for the best lay of these patterns and sizes on a cloth; it is searched in the background",
        request=shapes.LayIn,
        responses={202: shapes.LayOut},
    )
    def post(self, request: Request) -> Response:
        return _whole(self, ask_lay(self.actor, **self.typed(shapes.LayIn)).pk, 202)


class GarmentLays(HouseView):
    rights = {"GET": Right.READ_PAPER}

    @extend_schema(
        operation_id="garments_lays",
        summary="The lays that hold a garment's pieces, with its grain checks",
        responses=shapes.GarmentLaysOut,
    )
    def get(self, request: Request, garment_id: UUID) -> Response:
        garment = garment_row(self.actor, garment_id)
        found = lays_of_garment(self.actor, garment.pk)
        return Response(shapes.GarmentLaysOut({"results": found}).data)


class LayRead(HouseView):
    rights = {"GET": Right.READ_PAPER}

    @extend_schema(
        operation_id="lays_read", summary="One lay with its drawings and what to buy", responses=shapes.LayOut
    )
    def get(self, request: Request, lay_id: UUID) -> Response:
        return _whole(self, lay_id)


class LaySearch(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="lays_search",
        summary="Search once more; what was found before stays",
        request=shapes.SearchIn,
        responses={202: shapes.LayOut},
    )
    def post(self, request: Request, lay_id: UUID) -> Response:
        search_again(self.actor, lay_id, **self.typed(shapes.SearchIn))
        return _whole(self, lay_id, 202)


class LayDrawings(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="lays_by_hand",
        summary="Keep a lay as somebody laid it, if it keeps every rule (If-Match: its ETag)",
        request=shapes.DrawingByHandIn,
        responses={201: shapes.LayOut},
    )
    def post(self, request: Request, lay_id: UUID) -> Response:
        given = self.typed(shapes.DrawingByHandIn)
        lay_by_hand(self.actor, lay_id, expected_version=self.expected_version(), **given)
        return _whole(self, lay_id, 201)


class LayChosen(HouseView):
    rights = {"PUT": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="lays_choose",
        summary="Say which drawing is cut",
        request=shapes.ChosenIn,
        responses={200: shapes.LayOut},
    )
    def put(self, request: Request, lay_id: UUID) -> Response:
        choose_drawing(self.actor, lay_id, **self.typed(shapes.ChosenIn))
        return _whole(self, lay_id)


class LayCut(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="lays_cut",
        summary="Take the length that the chosen drawing needs off a bolt, once (If-Match: its ETag)",
        request=shapes.CutIn,
        responses={200: shapes.LayOut},
    )
    def post(self, request: Request, lay_id: UUID) -> Response:
        given = self.typed(shapes.CutIn)
        cut_for_lay(self.actor, lay_id, expected_version=self.expected_version(), **given)
        return _whole(self, lay_id)


class LayOnRemnant(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="lays_on_remnant",
        summary="Lay some pieces on a remnant and the others on the cloth: two new lays (If-Match: its ETag)",
        request=shapes.OnRemnantIn,
        responses={202: shapes.OnRemnantOut},
    )
    def post(self, request: Request, lay_id: UUID) -> Response:
        given = self.typed(shapes.OnRemnantIn)
        first, rest = lay_on_remnant(self.actor, lay_id, expected_version=self.expected_version(), **given)
        return Response(
            shapes.OnRemnantOut({"on_remnant": first.pk, "rest": rest.pk}).data,
            status=202,
            headers={"Location": reverse("lay-read", args=[first.pk])},
        )


class LayGrainChecks(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="lays_check_grain",
        summary="Record two tape readings from a pinned grainline to the selvedge",
        request=shapes.GrainCheckIn,
        responses={201: shapes.GrainCheckOut},
    )
    def post(self, request: Request, lay_id: UUID) -> Response:
        row = check_grain(self.actor, lay_id, **self.typed(shapes.GrainCheckIn))
        return Response(shapes.GrainCheckOut(row).data, status=201)


class LayGrainChanges(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="lays_change_grain",
        summary="Turn a piece off its grain, with your name and a reason; the lay is searched again",
        request=shapes.GrainChangeIn,
        responses={202: shapes.LayOut},
    )
    def post(self, request: Request, lay_id: UUID) -> Response:
        change_grain(self.actor, lay_id, **self.typed(shapes.GrainChangeIn))
        return _whole(self, lay_id, 202)


class LaySheets(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.READ_PAPER}
    pagination_class = None
    serializer_class = shapes.LaySheetOut

    @extend_schema(
        operation_id="lays_sheets",
        summary="The table's sheets of a lay, the newest first",
        responses=shapes.LaySheetOut(many=True),
    )
    def get(self, request: Request, lay_id: UUID) -> Response:
        lay_view(self.actor, lay_id)
        return Response(shapes.LaySheetOut(lay_sheets_of(self.actor, lay_id), many=True).data)

    @extend_schema(
        operation_id="lays_ask_sheet",
        summary="Ask for the table's sheet of the chosen drawing, to scale; it is drawn in the background",
        request=None,
        responses={202: shapes.LaySheetOut},
    )
    def post(self, request: Request, lay_id: UUID) -> Response:
        sheet = ask_lay_sheet(self.actor, lay_id)
        line = next(one for one in lay_sheets_of(self.actor, lay_id) if one.id == sheet.pk)
        return Response(shapes.LaySheetOut(line).data, status=202)


class LaySheet(HouseView):
    rights = {"GET": Right.READ_PAPER}
    renderer_classes = FILE_RENDERERS

    @extend_schema(
        operation_id="lays_sheet_pdf",
        summary="A drawn sheet as PDF",
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, lay_id: UUID, sheet_id: UUID) -> Any:
        return file_answer(lay_sheet_file(self.actor, lay_id, sheet_id), as_attachment=False)


class Remnants(HouseView):
    rights = {"GET": Right.READ_SEAMS, "POST": Right.KEEP_PAPER}
    pagination_class = None

    @extend_schema(
        operation_id="remnants_list", summary="Remnants that are still there", responses=shapes.RemnantsOut
    )
    def get(self, request: Request) -> Response:
        return Response(shapes.RemnantsOut({"results": remnant_list(self.actor)}).data)

    @extend_schema(
        operation_id="remnants_keep",
        summary="Keep what is left over of a cloth",
        request=shapes.RemnantIn,
        responses={201: shapes.RemnantOut},
    )
    def post(self, request: Request) -> Response:
        row = keep_remnant(self.actor, **self.typed(shapes.RemnantIn))
        return Response(shapes.RemnantOut(row).data, status=201)


class RemnantGone(HouseView):
    rights = {"POST": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="remnants_drop",
        summary="Say that a remnant is not there any more",
        request=None,
        responses={200: shapes.RemnantOut},
    )
    def post(self, request: Request, remnant_id: UUID) -> Response:
        return Response(shapes.RemnantOut(drop_remnant(self.actor, remnant_id)).data)
