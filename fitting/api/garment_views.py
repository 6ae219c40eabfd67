"""Garments, their checkpoints and seams, fitting sessions, fit reports and past fits over the API."""

import json
from typing import Any
from uuid import UUID

import django_filters
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import garment_serializers as shapes
from fitting.queries import garments as garment_queries
from fitting.queries import reports as report_queries
from fitting.queries.checkpoints import stop_before
from fitting.queries.past_fits import past_fits
from fitting.services import garments as garment_services
from fitting.services import reports as report_services
from studio.platform.api.base import HouseView
from studio.platform.errors import Refused
from studio.platform.rights import Right


def _query(
    name: str, words: str, kind: Any = OpenApiTypes.STR, *, required: bool = False
) -> OpenApiParameter:
    return OpenApiParameter(name, kind, OpenApiParameter.QUERY, description=words, required=required)


class GarmentFilter(django_filters.FilterSet):
    client = django_filters.UUIDFilter(field_name="client_id")
    kind = django_filters.CharFilter()
    state = django_filters.CharFilter()
    due_until = django_filters.DateFilter(field_name="due", lookup_expr="lte")


class Garments(HouseView):
    rights = {"GET": Right.KEEP_GARMENTS, "POST": Right.KEEP_GARMENTS}
    filterset_class = GarmentFilter

    @extend_schema(
        operation_id="garments_list",
        summary="Garments, newest first",
        filters=False,
        parameters=[
            _query("client", "of this client", OpenApiTypes.UUID),
            _query("kind", shapes.KIND_HELP),
            _query("state", "open, handed_over or given_up"),
            _query("due_until", "due on this day or earlier", OpenApiTypes.DATE),
        ],
        responses=shapes.GarmentOut(many=True),
    )
    def get(self, request: Request) -> Response:
        return self.page_of(garment_queries.garment_list(self.actor), shapes.GarmentOut)

    @extend_schema(
        operation_id="garments_open",
        summary="Open a garment for a client",
        request=shapes.GarmentIn,
        responses={201: shapes.GarmentOut},
    )
    def post(self, request: Request) -> Response:
        given = self.typed(shapes.GarmentIn)
        made = garment_services.open_garment(self.actor, **_ids(given, "client", "pattern", "cloth"))
        garment = garment_queries.garment_row(self.actor, made.pk)
        return self.created(shapes.GarmentOut(garment).data, reverse("garment-read", args=[made.pk]), garment)


class GarmentRead(HouseView):
    rights = {"GET": Right.KEEP_GARMENTS, "PATCH": Right.KEEP_GARMENTS}

    @extend_schema(operation_id="garments_read", summary="One garment", responses={200: shapes.GarmentOut})
    def get(self, request: Request, garment_id: UUID) -> Response:
        return self._answer_with(garment_id)

    @extend_schema(
        operation_id="garments_change",
        summary="Change a garment",
        request=shapes.GarmentChange,
        responses={200: shapes.GarmentOut},
    )
    def patch(self, request: Request, garment_id: UUID) -> Response:
        garment_services.change_garment(
            self.actor,
            garment_id,
            expected_version=self.expected_version(),
            **_ids(self.typed(shapes.GarmentChange), "pattern", "cloth", "plan"),
        )
        return self._answer_with(garment_id)

    def _answer_with(self, garment_id: UUID) -> Response:
        garment = garment_queries.garment_row(self.actor, garment_id)
        return Response(shapes.GarmentOut(garment).data, headers={"ETag": f'"{garment.version}"'})


class GarmentSeams(HouseView):
    rights = {"GET": Right.KEEP_GARMENTS, "POST": Right.KEEP_GARMENTS}

    @extend_schema(
        operation_id="garment_seams_list",
        summary="The chosen seams, with the proof on the garment's cloth",
        responses={200: shapes.GarmentSeamsOut},
    )
    def get(self, request: Request, garment_id: UUID) -> Response:
        seams = garment_queries.seams_of(garment_queries.garment_row(self.actor, garment_id))
        return Response(shapes.GarmentSeamsOut({"results": seams}).data)

    @extend_schema(
        operation_id="garment_seams_choose",
        summary="Say by which recipe a seam is sewn",
        request=shapes.SeamIn,
        responses={201: shapes.GarmentSeamOut},
    )
    def post(self, request: Request, garment_id: UUID) -> Response:
        given = self.typed(shapes.SeamIn)
        made = garment_services.choose_seam(
            self.actor, garment_id, place=given["place"], version_id=given["version"]
        )
        seams = garment_queries.seams_of(garment_queries.garment_row(self.actor, garment_id))
        seam = next(seam for seam in seams if seam.id == made.pk)
        return self.created(shapes.GarmentSeamOut(seam).data, reverse("garment-seams", args=[garment_id]))


class GarmentCheckpoints(HouseView):
    rights = {"GET": Right.KEEP_GARMENTS, "POST": Right.KEEP_GARMENTS}

    @extend_schema(
        operation_id="garment_checkpoints_list",
        summary="The checkpoints with what is missing, and the stops before cutting and before sewing",
        responses={200: shapes.CheckpointsOut},
    )
    def get(self, request: Request, garment_id: UUID) -> Response:
        return Response(self._told(garment_id))

    @extend_schema(
        operation_id="garment_checkpoints_answer",
        summary="Answer a checkpoint",
        request=shapes.CheckpointIn,
        responses={201: shapes.CheckpointsOut},
    )
    def post(self, request: Request, garment_id: UUID) -> Response:
        garment_services.answer_checkpoint(self.actor, garment_id, **self.typed(shapes.CheckpointIn))
        return self.created(self._told(garment_id), reverse("garment-checkpoints", args=[garment_id]))

    def _told(self, garment_id: UUID) -> Any:
        states = garment_queries.checkpoint_states(self.actor, garment_id)
        stops = [stop_before(states, what) for what in ("cutting", "sewing")]
        return shapes.CheckpointsOut({"results": states, "stops": stops}).data


class GarmentReports(HouseView):
    rights = {"GET": Right.READ_REPORTS, "POST": Right.ISSUE_REPORTS}

    @extend_schema(
        operation_id="garment_reports_list",
        summary="The fit reports of a garment, newest first",
        responses=shapes.ReportOut(many=True),
    )
    def get(self, request: Request, garment_id: UUID) -> Response:
        garment_queries.garment_row(self.actor, garment_id)
        return self.page_of(report_queries.report_list(self.actor, garment_id), shapes.ReportOut)

    @extend_schema(
        operation_id="garment_reports_ask",
        summary="Freeze what is known and ask for its PDF; `job` tells how far it is",
        request=shapes.ReportIn,
        responses={202: shapes.ReportOut},
    )
    def post(self, request: Request, garment_id: UUID) -> Response:
        garment_queries.garment_row(self.actor, garment_id)
        made = report_services.ask_report(self.actor, garment_id, **self.typed(shapes.ReportIn))
        report = report_queries.report_get(self.actor, made.pk)
        return Response(
            shapes.ReportOut(report, context=self.get_serializer_context()).data,
            status=202,
            headers={"Location": reverse("fit-report-read", args=[made.pk])},
        )

    def get_serializer_context(self) -> dict[str, Any]:
        return {**super().get_serializer_context(), "now": timezone.now()}


class ReportPreview(HouseView):
    rights = {"GET": Right.ISSUE_REPORTS}

    @extend_schema(
        operation_id="garment_reports_preview",
        summary="What a report of this garment would say now; nothing is kept",
        parameters=[shapes.PreviewAsked],
        responses=shapes.PreviewOut,
    )
    def get(self, request: Request, garment_id: UUID) -> Response:
        asked = shapes.PreviewAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        snapshot = report_services.preview_report(self.actor, garment_id, **asked.validated_data)
        return Response(shapes.PreviewOut({"snapshot": snapshot}).data)


class ReportRead(HouseView):
    rights = {"GET": Right.READ_REPORTS}

    @extend_schema(
        operation_id="fit_reports_read",
        summary="One fit report: how far it is, what was issued, its links",
        responses={200: shapes.ReportOut},
    )
    def get(self, request: Request, report_id: UUID) -> Response:
        report = report_queries.report_get(self.actor, report_id)
        return Response(shapes.ReportOut(report, context={"now": timezone.now()}).data)


class PdfRenderer(BaseRenderer):
    """Lets a program ask for application/pdf; the PDF itself is sent as it is stored, a problem as JSON."""

    media_type = "application/pdf"
    format = "pdf"
    charset = None

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> bytes:
        return json.dumps(data, default=str).encode()


class ReportPdf(HouseView):
    rights = {"GET": Right.READ_REPORTS}
    renderer_classes = [PdfRenderer, JSONRenderer]

    @extend_schema(
        operation_id="fit_reports_pdf",
        summary="The PDF as it was issued; its ETag is its SHA-256",
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, report_id: UUID) -> HttpResponse:
        file = report_queries.report_file(self.actor, report_id)
        if request.headers.get("If-None-Match", "").strip().removeprefix("W/").strip('"') == file.sha256:
            return HttpResponse(status=304, headers={"ETag": f'"{file.sha256}"'})
        response = HttpResponse(file.content, content_type="application/pdf")
        response["Content-Disposition"] = (
            content_disposition_header(as_attachment=True, filename=file.name) or ""
        )
        response["ETag"] = f'"{file.sha256}"'
        response["Cache-Control"] = "no-store"
        return response


class ReportLinks(HouseView):
    rights = {"POST": Right.SEND_LINKS}

    @extend_schema(
        operation_id="fit_reports_link",
        summary="Make a client's link to a report",
        request=shapes.LinkIn,
        responses={201: shapes.MadeLinkOut},
    )
    def post(self, request: Request, report_id: UUID) -> Response:
        made = report_services.make_link(self.actor, report_id, **self.typed(shapes.LinkIn))
        context = {"now": timezone.now()}
        data = {
            **shapes.LinkOut(made.link, context=context).data,
            "send_to": made.send_to,
            "send_by": made.send_by,
        }
        return self.created(data, reverse("report-link", args=[made.link.pk]))


class ReportLink(HouseView):
    rights = {"DELETE": Right.SEND_LINKS}

    @extend_schema(
        operation_id="report_links_revoke", summary="End a client's link at once", responses={204: None}
    )
    def delete(self, request: Request, link_id: UUID) -> Response:
        report_services.revoke_link(self.actor, link_id)
        return Response(status=204)


class PastFits(HouseView):
    rights = {"GET": Right.READ_FIT_HISTORY}

    @extend_schema(
        operation_id="past_fits_find",
        summary="Clients by name, telephone or words of a garment, with what fitted; no figure of a body",
        filters=False,
        parameters=[
            _query(
                "words", "a few letters of a name, a telephone number, or words of the garment", required=True
            ),
            _query("kind", shapes.KIND_HELP),
            _query("year", "in which the garment was opened", OpenApiTypes.INT),
        ],
        responses={200: shapes.PastFitsOut},
    )
    def get(self, request: Request) -> Response:
        words = request.query_params.get("words", "")
        if not words.strip():
            raise Refused({"words": "Give letters of a name, a telephone number, or words of the garment."})
        found = past_fits(self.actor, words, request.query_params.get("kind", ""), self._year(request))
        return Response(shapes.PastFitsOut({"results": found}).data)

    @staticmethod
    def _year(request: Request) -> int | None:
        text = request.query_params.get("year", "")
        if not text:
            return None
        if not (text.isascii() and text.isdigit() and 1900 <= int(text) <= 9999):
            raise Refused({"year": f"{text[:16]!r} is not a year; write it like 2026."})
        return int(text)


def _ids(given: dict[str, Any], *names: str) -> dict[str, Any]:
    """The services name references by their ids."""
    return {f"{field}_id" if field in names else field: value for field, value in given.items()}
