"""Imports and exports of readings in the API: upload, mapping, dry run, take-over; export and its file."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from studio.api import transfer_serializers as shapes
from studio.platform.api.base import HouseView, etag
from studio.platform.api.renderers import FILE_RENDERERS, TABLE_TYPES
from studio.platform.api.serializers import NothingIn
from studio.platform.errors import Refused
from studio.platform.rights import Actor, Right
from studio.platform.web.files import file_answer
from studio.queries import transfer
from studio.services import transfer as services
from studio.services import transfer_export

MOST_PROBLEMS = 1000


class ReadingImports(HouseView):
    serializer_class = shapes.ImportOut
    parser_classes = [MultiPartParser]
    rights = {"GET": Right.EXPORT_AND_ERASE, "POST": Right.EXPORT_AND_ERASE}

    def _answer(self, request: HttpRequest, actor: Actor, *args: Any, **kwargs: Any) -> Any:
        length = request.META.get("CONTENT_LENGTH") or "0"
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        if request.headers.get("Idempotency-Key") and length.isdigit() and int(length) > most:
            return self._problem(
                request, 413, "too-large",
                f"With an Idempotency-Key an upload may have {most // 1024 // 1024} MB; send a larger one without.",
            )  # fmt: skip
        return super()._answer(request, actor, *args, **kwargs)

    @extend_schema(operation_id="reading_imports_list", responses=shapes.ImportOut(many=True))
    def get(self, request: Request) -> Response:
        """Imports, newest first."""
        return self.page_of(transfer.import_list(self.actor), shapes.ImportOut)

    @extend_schema(
        operation_id="reading_import_upload",
        request={"multipart/form-data": shapes.UploadIn},
        responses={201: shapes.ImportOut},
    )
    def post(self, request: Request) -> Response:
        """Upload a file; what its columns hold is guessed. Nothing is taken over yet."""
        given = self.typed(shapes.UploadIn)
        file = given["file"]
        row = services.upload_readings(self.actor, content=file.file, name=file.name, unit=given.get("unit"))
        return self.created(shapes.ImportOut(row).data, reverse("api-reading-import", args=[row.pk]), row)


class ReadingImport(HouseView):
    serializer_class = shapes.ImportOut
    rights = {"GET": Right.EXPORT_AND_ERASE, "DELETE": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="reading_import_get", responses=shapes.ImportOut)
    def get(self, request: Request, import_id: UUID) -> Response:
        """One import: its mapping, what the dry run found, how far its work is."""
        row = transfer.import_get(self.actor, import_id)
        return Response(shapes.ImportOut(row).data, headers={"ETag": etag(row)})

    @extend_schema(operation_id="reading_import_discard", responses={204: None})
    def delete(self, request: Request, import_id: UUID) -> Response:
        """Delete an upload that was not taken over."""
        services.discard_import(self.actor, import_id)
        return Response(status=204)


class ReadingImportMapping(HouseView):
    serializer_class = shapes.ImportOut
    rights = {"PATCH": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="reading_import_map", request=shapes.MappingIn, responses=shapes.ImportOut)
    def patch(self, request: Request, import_id: UUID) -> Response:
        """Say which column holds what, and how the file is meant. It must be checked again afterwards."""
        row = services.map_columns(
            self.actor, import_id, expected_version=self.expected_version(), **self.typed(shapes.MappingIn)
        )
        return Response(shapes.ImportOut(row).data, headers={"ETag": etag(row)})


class ReadingImportCheck(HouseView):
    serializer_class = shapes.ImportOut
    rights = {"POST": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="reading_import_check", request=NothingIn, responses={202: shapes.ImportOut})
    def post(self, request: Request, import_id: UUID) -> Response:
        """Ask for a dry run: a job that lists every problem and changes nothing."""
        row = services.check_readings(self.actor, import_id)
        return _asked(row)


class ReadingImportTakeOver(HouseView):
    serializer_class = shapes.ImportOut
    rights = {"POST": Right.EXPORT_AND_ERASE}

    @extend_schema(
        operation_id="reading_import_take_over", request=NothingIn, responses={202: shapes.ImportOut}
    )
    def post(self, request: Request, import_id: UUID) -> Response:
        """Ask for a checked file to be taken over: a job, all or nothing."""
        return _asked(services.take_over_readings(self.actor, import_id))


class ReadingImportProblems(HouseView):
    serializer_class = shapes.ProblemsOut
    pagination_class = None
    rights = {"GET": Right.EXPORT_AND_ERASE}

    @extend_schema(
        operation_id="reading_import_problems",
        responses=shapes.ProblemsOut,
        parameters=[
            OpenApiParameter("start", int, description="From 0."),
            OpenApiParameter("count", int, description=f"At most {MOST_PROBLEMS}."),
        ],
    )
    def get(self, request: Request, import_id: UUID) -> Response:
        """What the dry run found, in the order of rows."""
        start, count = (_whole(request, name, first) for name, first in (("start", 0), ("count", 100)))
        found = transfer.problems_of(self.actor, import_id, start, min(count, MOST_PROBLEMS))
        return Response(shapes.ProblemsOut(found).data)


class ReadingExports(HouseView):
    serializer_class = shapes.ExportOut
    rights = {"GET": Right.EXPORT_AND_ERASE, "POST": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="reading_exports_list", responses=shapes.ExportOut(many=True))
    def get(self, request: Request) -> Response:
        """Exports, newest first."""
        return self.page_of(transfer.export_list(self.actor), shapes.ExportOut)

    @extend_schema(
        operation_id="reading_export_ask", request=shapes.ExportIn, responses={201: shapes.ExportOut}
    )
    def post(self, request: Request) -> Response:
        """Ask for a table of readings of a client, a course or (neither given) the studio."""
        given = self.typed(shapes.ExportIn)
        job = transfer_export.export_readings(
            self.actor,
            file_form=given.get("form", "csv"),
            client_id=given.get("client"),
            course_id=given.get("course"),
        )
        return self.created(shapes.ExportOut(job).data, reverse("api-reading-export", args=[job.pk]))


class ReadingExport(HouseView):
    serializer_class = shapes.ExportOut
    rights = {"GET": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="reading_export_get", responses=shapes.ExportOut)
    def get(self, request: Request, export_id: UUID) -> Response:
        """One export: how far it is."""
        return Response(shapes.ExportOut(transfer.export_get(self.actor, export_id)).data)


class ReadingExportFile(HouseView):
    rights = {"GET": Right.EXPORT_AND_ERASE}
    renderer_classes = FILE_RENDERERS

    @extend_schema(
        operation_id="reading_export_file",
        responses={(200, kind): OpenApiTypes.BINARY for kind in TABLE_TYPES},
    )
    def get(self, request: Request, export_id: UUID) -> Any:
        """The table. That it was fetched is written down."""
        file = transfer.export_file(self.actor, export_id)
        transfer_export.tell_download(self.actor, transfer.export_get(self.actor, export_id), file)
        return file_answer(file)


def _asked(row: Any) -> Response:
    return Response(
        shapes.ImportOut(row).data,
        status=202,
        headers={"Location": reverse("api-reading-import", args=[row.pk]), "ETag": etag(row)},
    )


def _whole(request: Request, name: str, first: int) -> int:
    text = request.query_params.get(name, "")
    if not text:
        return first
    if not (text.isascii() and text.isdigit() and len(text) < 8):
        raise Refused({name: "This is a whole number from 0."})
    return int(text)
