"""Laboratory figures, photographs and bolts of a cloth, in the API."""

from uuid import UUID

from django.core.files.storage import default_storage
from django.http import FileResponse
from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from seamlab.api import filters
from seamlab.api import shelf_serializers as shapes
from seamlab.api.base import HIDDEN, KEEPS, READS, UploadView, with_hidden
from seamlab.queries import bolts, laboratory
from seamlab.queries import cloth as cloth_queries
from seamlab.services import bolts as bolt_services
from seamlab.services import laboratory as lab_services
from seamlab.services import pictures
from studio.platform.api.base import HouseView, etag
from studio.platform.api.renderers import JpegRenderer
from studio.platform.rights import Right
from studio.platform.services.pictures import MOST_BYTES


class LabFigures(HouseView):
    serializer_class = shapes.LabFigureOut
    rights = KEEPS

    @extend_schema(operation_id="lab_figures_list", responses=shapes.LabFigureOut(many=True))
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """Every laboratory figure of a cloth, the last recorded first."""
        return self.page_of(laboratory.lab_figures(self.actor, cloth_id), shapes.LabFigureOut)

    @extend_schema(
        operation_id="lab_figures_record",
        request=shapes.LabReportIn,
        responses={201: shapes.LabFigureOut(many=True)},
    )
    def post(self, request: Request, cloth_id: UUID) -> Response:
        """Record the figures of a laboratory report; all or none."""
        rows = lab_services.record_lab_figures(self.actor, cloth_id, **self.typed(shapes.LabReportIn))
        location = reverse("api-lab-figures", args=[cloth_id])
        return self.created(shapes.LabFigureOut(rows, many=True).data, location)


class LabReading(HouseView):
    serializer_class = shapes.LabReadingOut
    pagination_class = None
    rights = READS

    @extend_schema(operation_id="lab_reading", responses=shapes.LabReadingOut)
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """What the newest figures mean: rigidities, formability, and how the cloth gives along every angle."""
        cloth = cloth_queries.cloth_get(self.actor, cloth_id)
        return Response(shapes.LabReadingOut(laboratory.lab_reading(self.actor, cloth)).data)


class ClothPhotos(UploadView):
    serializer_class = shapes.PhotoOut
    pagination_class = None
    rights = KEEPS

    @extend_schema(operation_id="cloth_photos_list", responses=shapes.PhotoOut(many=True))
    def get(self, request: Request, cloth_id: UUID) -> Response:
        """The photographs of a cloth: right side, wrong side, details."""
        cloth_queries.cloth_get(self.actor, cloth_id)
        return Response(shapes.PhotoOut(cloth_queries.cloth_photos(self.actor, cloth_id), many=True).data)

    @extend_schema(
        operation_id="cloth_photo_add",
        request={"multipart/form-data": shapes.PhotoIn},
        responses={201: shapes.PhotoOut},
    )
    def post(self, request: Request, cloth_id: UUID) -> Response:
        """Add a photograph. It is drawn anew as JPEG, so that no place or camera comes along."""
        given = self.typed(shapes.PhotoIn)
        picture = given.pop("picture").read(MOST_BYTES + 1)
        photo = pictures.add_cloth_photo(self.actor, cloth_id, picture=picture, **given)
        return self.created(shapes.PhotoOut(photo).data, reverse("api-cloth-photo", args=[photo.pk]))


class ClothPhoto(HouseView):
    serializer_class = None
    renderer_classes = [JSONRenderer, JpegRenderer]
    rights = {"GET": Right.READ_SEAMS, "DELETE": Right.KEEP_SEAMS}

    @extend_schema(operation_id="cloth_photo_get", responses={(200, "image/jpeg"): OpenApiTypes.BINARY})
    def get(self, request: Request, photo_id: UUID) -> FileResponse:
        """The photograph."""
        file = cloth_queries.cloth_photo_file(self.actor, photo_id)
        return FileResponse(default_storage.open(file.key, "rb"), content_type=file.media_type)

    @extend_schema(operation_id="cloth_photo_hide", responses={204: None})
    def delete(self, request: Request, photo_id: UUID) -> Response:
        """Take a photograph from the cloth."""
        pictures.hide_cloth_photo(self.actor, photo_id)
        return Response(status=204)


class Bolts(HouseView):
    serializer_class = shapes.BoltOut
    filterset_class = filters.BoltFilter
    rights = KEEPS

    @extend_schema(operation_id="bolts_list", responses=shapes.BoltOut(many=True), parameters=[HIDDEN])
    def get(self, request: Request) -> Response:
        """Bolts with what remains of them, the last taken in first."""
        return self.page_of(bolts.bolt_list(self.actor, with_hidden=with_hidden(request)), shapes.BoltOut)

    @extend_schema(operation_id="bolt_record", request=shapes.BoltIn, responses={201: shapes.BoltOut})
    def post(self, request: Request) -> Response:
        """Take a bolt of a cloth in."""
        made = bolt_services.record_bolt(self.actor, **self.typed(shapes.BoltIn))
        bolt = bolts.bolt_get(self.actor, made.pk)
        return self.created(shapes.BoltOut(bolt).data, reverse("api-bolt", args=[bolt.pk]), bolt)


class Bolt(HouseView):
    serializer_class = shapes.BoltOut
    rights = {"GET": Right.READ_SEAMS, "PATCH": Right.KEEP_SEAMS}

    @extend_schema(operation_id="bolt_get", responses=shapes.BoltOut)
    def get(self, request: Request, bolt_id: UUID) -> Response:
        """One bolt, and the ETag that a change needs."""
        return self._answer_with(bolt_id)

    @extend_schema(operation_id="bolt_change", request=shapes.BoltChangeIn, responses=shapes.BoltOut)
    def patch(self, request: Request, bolt_id: UUID) -> Response:
        """Change what is given and nothing else; lengths are cut and counted."""
        expected = self.expected_version()
        changes = self.typed(shapes.BoltChangeIn)
        bolt_services.change_bolt(self.actor, bolt_id, changes=changes, expected_version=expected)
        return self._answer_with(bolt_id)

    def _answer_with(self, bolt_id: UUID) -> Response:
        bolt = bolts.bolt_get(self.actor, bolt_id)
        return Response(shapes.BoltOut(bolt).data, headers={"ETag": etag(bolt)})


class BoltRecords(HouseView):
    serializer_class = shapes.BoltRecordOut
    rights = KEEPS

    @extend_schema(operation_id="bolt_records_list", responses=shapes.BoltRecordOut(many=True))
    def get(self, request: Request, bolt_id: UUID) -> Response:
        """Every cut and count of a bolt, newest first."""
        return self.page_of(bolts.bolt_records(self.actor, bolt_id), shapes.BoltRecordOut)

    @extend_schema(
        operation_id="bolt_record_add", request=shapes.BoltRecordIn, responses={201: shapes.BoltRecordOut}
    )
    def post(self, request: Request, bolt_id: UUID) -> Response:
        """Cut a length off, or count the bolt again; what remains is reckoned."""
        record = bolt_services.write_on_bolt(self.actor, bolt_id, **self.typed(shapes.BoltRecordIn))
        return self.created(shapes.BoltRecordOut(record).data, reverse("api-bolt-records", args=[bolt_id]))
