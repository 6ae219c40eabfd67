"""Tables of cloth, supplies, recipes and trials in the API: dry run, take-over, export."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from seamlab.api import transfer_serializers as shapes
from seamlab.queries import transfer
from seamlab.services import transfer as services
from seamlab.services import transfer_export
from studio.platform.api.base import HouseView
from studio.platform.api.renderers import FILE_RENDERERS, TABLE_TYPES
from studio.platform.api.serializers import NothingIn
from studio.platform.rights import Right
from studio.platform.web.files import file_answer

KEEPS = {"GET": Right.KEEP_SEAMS, "POST": Right.KEEP_SEAMS, "DELETE": Right.KEEP_SEAMS}
MOST_LISTED = 100


class SeamTableImports(HouseView):
    serializer_class = shapes.ImportOut
    parser_classes = [MultiPartParser]
    pagination_class = None
    rights = KEEPS

    @extend_schema(operation_id="seam_table_imports_list", responses=shapes.ImportOut(many=True))
    def get(self, request: Request) -> Response:
        """The newest hundred imports, newest first."""
        return Response(shapes.ImportOut(transfer.import_list(self.actor, MOST_LISTED), many=True).data)

    @extend_schema(
        operation_id="seam_table_import_upload",
        request={"multipart/form-data": shapes.UploadIn},
        responses={201: shapes.ImportOut},
    )
    def post(self, request: Request) -> Response:
        """Upload a file for a dry run; a large one is looked at by a worker. Nothing is taken over yet."""
        given = self.typed(shapes.UploadIn)
        file = given["file"]
        found = services.upload_library(
            self.actor, content=file.file, name=file.name, table=given.get("table", "")
        )
        return self.created(shapes.ImportOut(found).data, reverse("api-seam-table-import", args=[found.id]))


class SeamTableImport(HouseView):
    serializer_class = shapes.ImportOut
    rights = KEEPS

    @extend_schema(operation_id="seam_table_import_get", responses=shapes.ImportOut)
    def get(self, request: Request, import_id: UUID) -> Response:
        """One import: what the dry run found, how far its work is."""
        return Response(shapes.ImportOut(transfer.import_get(self.actor, import_id)).data)

    @extend_schema(operation_id="seam_table_import_discard", responses={204: None})
    def delete(self, request: Request, import_id: UUID) -> Response:
        """Delete the bytes of an upload that was not taken over."""
        services.discard_import(self.actor, import_id)
        return Response(status=204)


class SeamTableTakeOver(HouseView):
    serializer_class = shapes.ImportOut
    rights = KEEPS

    @extend_schema(
        operation_id="seam_table_import_take_over", request=NothingIn, responses={202: shapes.ImportOut}
    )
    def post(self, request: Request, import_id: UUID) -> Response:
        """Take a checked file over, all or nothing; a large one is taken over by a worker."""
        found = services.take_over_library(self.actor, import_id)
        return Response(
            shapes.ImportOut(found).data,
            status=202,
            headers={"Location": reverse("api-seam-table-import", args=[found.id])},
        )


class SeamTableExports(HouseView):
    serializer_class = shapes.ExportOut
    rights = KEEPS

    @extend_schema(operation_id="seam_table_exports_list", responses=shapes.ExportOut(many=True))
    def get(self, request: Request) -> Response:
        """Exports, newest first."""
        return self.page_of(transfer.export_list(self.actor), shapes.ExportOut)

    @extend_schema(
        operation_id="seam_table_export_ask", request=shapes.ExportIn, responses={201: shapes.ExportOut}
    )
    def post(self, request: Request) -> Response:
        """Ask for a workbook with every table, or for one table."""
        given = self.typed(shapes.ExportIn)
        job = transfer_export.export_library(
            self.actor, file_form=given.get("form", "xlsx"), table=given.get("table", "")
        )
        return self.created(shapes.ExportOut(job).data, reverse("api-seam-table-export", args=[job.pk]))


class SeamTableExport(HouseView):
    serializer_class = shapes.ExportOut
    rights = KEEPS

    @extend_schema(operation_id="seam_table_export_get", responses=shapes.ExportOut)
    def get(self, request: Request, export_id: UUID) -> Response:
        """One export: how far it is."""
        return Response(shapes.ExportOut(transfer.export_get(self.actor, export_id)).data)


class SeamTableExportFile(HouseView):
    rights = KEEPS
    renderer_classes = FILE_RENDERERS

    @extend_schema(
        operation_id="seam_table_export_file",
        responses={(200, kind): OpenApiTypes.BINARY for kind in TABLE_TYPES},
    )
    def get(self, request: Request, export_id: UUID) -> Any:
        """The file."""
        return file_answer(transfer.export_file(self.actor, export_id))
