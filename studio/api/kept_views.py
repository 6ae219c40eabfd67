"""What is kept about a client, in the API: who looked, and copies for her."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from studio.platform.api.base import HouseView
from studio.platform.api.renderers import FILE_RENDERERS
from studio.platform.api.serializers import JobOut
from studio.platform.rights import Right
from studio.platform.web.files import file_answer
from studio.queries import client_copy, clients, looking
from studio.services import client_copy as copies


class LookOut(serializers.Serializer):
    day = serializers.DateField()
    member = serializers.CharField()
    opened = serializers.ListField(child=serializers.CharField(), help_text="What, in words with how often.")


class CopyOut(serializers.Serializer):
    id = serializers.UUIDField()
    size = serializers.IntegerField(help_text="bytes")
    sha256 = serializers.CharField()
    stored_at = serializers.DateTimeField()


class Looks(HouseView):
    pagination_class = None
    serializer_class = LookOut
    rights = {"GET": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="client_looks", responses=LookOut(many=True))
    def get(self, request: Request, client_id: UUID) -> Response:
        """Who opened what about a client, by the day, for two years."""
        clients.client_get(self.actor, client_id)
        return Response(LookOut(looking.looks_of(self.actor, client_id, days=None), many=True).data)


class Copies(HouseView):
    pagination_class = None
    serializer_class = CopyOut
    rights = {"GET": Right.EXPORT_AND_ERASE, "POST": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="client_copies_list", responses=CopyOut(many=True))
    def get(self, request: Request, client_id: UUID) -> Response:
        """Copies of everything about a client that can still be fetched, the newest first."""
        clients.client_get(self.actor, client_id)
        return Response(CopyOut(client_copy.copies_of(self.actor, client_id), many=True).data)

    @extend_schema(operation_id="client_copy_ask", request=None, responses={201: JobOut})
    def post(self, request: Request, client_id: UUID) -> Response:
        """Ask for a copy: a document, data and files in one archive. The job's result names the file."""
        job = copies.ask_copy(self.actor, client_id)
        return self.created(JobOut(job).data, reverse("api-job", args=[job.pk]))


class Copy(HouseView):
    rights = {"GET": Right.EXPORT_AND_ERASE}
    renderer_classes = FILE_RENDERERS

    @extend_schema(operation_id="client_copy_file", responses={(200, "application/zip"): OpenApiTypes.BINARY})
    def get(self, request: Request, client_id: UUID, file_id: UUID) -> Any:
        """The archive. That it was fetched is written down."""
        file = client_copy.copy_get(self.actor, client_id, file_id)
        copies.tell_copy_fetched(self.actor, file)
        return file_answer(file)
