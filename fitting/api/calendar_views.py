"""Agreed fittings over the API."""

from uuid import UUID

import django_filters
from django.urls import reverse
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api.session_serializers import SESSION_HELP
from fitting.queries import appointments as queries
from fitting.services import appointments as services
from studio.platform.api.base import HouseView, etag
from studio.platform.api.filters import MomentFilter
from studio.platform.rights import Right


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A basted fitting",
            request_only=True,
            value={"kind": "baste", "starts_at": "2027-01-21T15:30:00Z", "minutes": 45, "fitter": None},
        )
    ]
)
class AppointmentIn(serializers.Serializer):
    kind = serializers.CharField(help_text=SESSION_HELP)
    starts_at = serializers.DateTimeField()
    minutes = serializers.IntegerField(required=False, default=45)
    fitter = serializers.UUIDField(
        required=False, allow_null=True, default=None, help_text="A member who fits."
    )
    note = serializers.CharField(required=False, allow_blank=True, default="", max_length=200)


class AppointmentMoveIn(serializers.Serializer):
    starts_at = serializers.DateTimeField()
    minutes = serializers.IntegerField()
    fitter = serializers.UUIDField(allow_null=True)


class AppointmentOut(serializers.Serializer):
    id = serializers.UUIDField()
    garment = serializers.UUIDField(source="garment_id")
    garment_words = serializers.CharField(source="garment.words")
    client = serializers.UUIDField(source="garment.client_id")
    kind = serializers.CharField(help_text=SESSION_HELP)
    starts_at = serializers.DateTimeField()
    minutes = serializers.IntegerField()
    fitter = serializers.UUIDField(source="fitter_id", allow_null=True)
    state = serializers.CharField(help_text="agreed or called_off")
    note = serializers.CharField()
    version = serializers.IntegerField()


class AppointmentFilter(django_filters.FilterSet):
    garment = django_filters.UUIDFilter(field_name="garment_id")
    since = MomentFilter(field_name="starts_at", lookup_expr="gte")
    until = MomentFilter(field_name="starts_at", lookup_expr="lt")


class Appointments(HouseView):
    rights = {"GET": Right.KEEP_GARMENTS}
    filterset_class = AppointmentFilter

    @extend_schema(
        operation_id="appointments_list",
        summary="Agreed and called-off fittings, the last made first",
        responses=AppointmentOut(many=True),
    )
    def get(self, request: Request) -> Response:
        return self.page_of(queries.appointment_list(self.actor), AppointmentOut)


class GarmentAppointments(HouseView):
    rights = {"POST": Right.KEEP_GARMENTS}

    @extend_schema(
        operation_id="appointments_agree",
        summary="Agree on a fitting of a garment",
        request=AppointmentIn,
        responses={201: AppointmentOut},
    )
    def post(self, request: Request, garment_id: UUID) -> Response:
        given = self.typed(AppointmentIn)
        made = services.agree_fitting(self.actor, garment_id, fitter_id=given.pop("fitter"), **given)
        return self.created(AppointmentOut(made).data, reverse("appointment", args=[made.pk]), made)


class AppointmentRead(HouseView):
    rights = {"GET": Right.KEEP_GARMENTS, "PATCH": Right.KEEP_GARMENTS, "DELETE": Right.KEEP_GARMENTS}

    @extend_schema(operation_id="appointments_read", summary="One agreed fitting", responses=AppointmentOut)
    def get(self, request: Request, appointment_id: UUID) -> Response:
        return self._answer_with(appointment_id)

    @extend_schema(
        operation_id="appointments_move",
        summary="Give it another time or fitter",
        request=AppointmentMoveIn,
        responses=AppointmentOut,
    )
    def patch(self, request: Request, appointment_id: UUID) -> Response:
        expected = self.expected_version()
        given = self.typed(AppointmentMoveIn)
        services.move_fitting(
            self.actor, appointment_id, fitter_id=given.pop("fitter"), expected_version=expected, **given
        )
        return self._answer_with(appointment_id)

    @extend_schema(
        operation_id="appointments_call_off",
        summary="Call it off; it stays, marked so",
        responses={200: AppointmentOut},
    )
    def delete(self, request: Request, appointment_id: UUID) -> Response:
        services.call_off_fitting(self.actor, appointment_id)
        return self._answer_with(appointment_id)

    def _answer_with(self, appointment_id: UUID) -> Response:
        row = queries.appointment_get(self.actor, appointment_id)
        return Response(AppointmentOut(row).data, headers={"ETag": etag(row)})
