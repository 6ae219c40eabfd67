"""People and bodies in the API: clients, consent, measurings."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from studio.api import serializers as shapes
from studio.api.filters import MeasuringFilter
from studio.platform.actors import by_token, is_fresh
from studio.platform.api.base import HouseView, etag
from studio.platform.errors import NotAllowed, Refused
from studio.platform.rights import Right
from studio.queries import clients, measuring
from studio.services import clients as client_services
from studio.services import measuring as measuring_services
from studio.services.pad import record_kept

WORDS = OpenApiParameter(
    "words", str, description="Letters of a name, part of a telephone number, words of a garment."
)


class Clients(HouseView):
    serializer_class = shapes.ClientOut
    rights = {"GET": Right.FIND_CLIENTS, "POST": Right.KEEP_CLIENTS}

    @extend_schema(operation_id="clients_list", responses=shapes.ClientOut(many=True), parameters=[WORDS])
    def get(self, request: Request) -> Response:
        """Clients, newest first; with words those who are found by them."""
        rows = clients.client_list(self.actor, words=request.query_params.get("words", ""))
        return self.page_of(rows, shapes.ClientOut)

    @extend_schema(operation_id="client_record", request=shapes.ClientIn, responses={201: shapes.ClientOut})
    def post(self, request: Request) -> Response:
        """Record a client, with consent to be measured where ``consent_by`` says who gives it."""
        client = client_services.record_client(self.actor, **self.typed(shapes.ClientIn))
        return self.created(shapes.ClientOut(client).data, reverse("api-client", args=[client.pk]), client)


class Client(HouseView):
    serializer_class = shapes.ClientOut
    rights = {"GET": Right.FIND_CLIENTS, "PATCH": Right.KEEP_CLIENTS}

    @extend_schema(operation_id="client_get", responses=shapes.ClientOut)
    def get(self, request: Request, client_id: UUID) -> Response:
        """One client, with the ETag that a change needs."""
        client = clients.client_get(self.actor, client_id)
        return Response(shapes.ClientOut(client).data, headers={"ETag": etag(client)})

    @extend_schema(operation_id="client_change", request=shapes.ClientFactsIn, responses=shapes.ClientOut)
    def patch(self, request: Request, client_id: UUID) -> Response:
        """Change what is given and nothing else."""
        client = client_services.change_client(
            self.actor,
            client_id,
            expected_version=self.expected_version(),
            **self.typed(shapes.ClientFactsIn),
        )
        return Response(shapes.ClientOut(client).data, headers={"ETag": etag(client)})


class FindClients(HouseView):
    serializer_class = shapes.FoundOut
    pagination_class = None
    rights = {"GET": Right.FIND_CLIENTS}

    @extend_schema(operation_id="clients_find", responses=shapes.FoundOut(many=True), parameters=[WORDS])
    def get(self, request: Request) -> Response:
        """Find as you type: the best twenty, typing slips and accents forgiven."""
        found = clients.find_clients(self.actor, request.query_params.get("words", ""))
        return Response(shapes.FoundOut(found, many=True).data)


class Consents(HouseView):
    serializer_class = shapes.ConsentOut
    rights = {"GET": Right.FIND_CLIENTS, "POST": Right.KEEP_CLIENTS}

    @extend_schema(operation_id="consents_list", responses=shapes.ConsentOut(many=True))
    def get(self, request: Request, client_id: UUID) -> Response:
        """Every answer that a client gave, newest first; the newest of its kind holds."""
        return self.page_of(clients.consent_list(self.actor, client_id), shapes.ConsentOut)

    @extend_schema(
        operation_id="consent_record", request=shapes.ConsentIn, responses={201: shapes.ConsentOut}
    )
    def post(self, request: Request, client_id: UUID) -> Response:
        """Keep an answer: consent given or withdrawn."""
        consent = client_services.record_consent(self.actor, client_id, **self.typed(shapes.ConsentIn))
        return self.created(shapes.ConsentOut(consent).data, reverse("api-client-consents", args=[client_id]))


class Measurings(HouseView):
    serializer_class = shapes.MeasuringRowOut
    filterset_class = MeasuringFilter
    rights = {"GET": Right.READ_READINGS, "POST": Right.RECORD_MEASURING}

    @extend_schema(operation_id="measurings_list", responses=shapes.MeasuringRowOut(many=True))
    def get(self, request: Request) -> Response:
        """Measurings of the studio, the last recorded first."""
        return self.page_of(measuring.measuring_list(self.actor), shapes.MeasuringRowOut)

    @extend_schema(
        operation_id="measuring_record",
        request=shapes.MeasuringIn,
        responses={201: shapes.MeasuringWithReadingsOut},
    )
    def post(self, request: Request) -> Response:
        """Record one occasion with all its readings, or nothing."""
        given = self.typed(shapes.MeasuringIn)
        typed = [measuring_services.TypedReading(**reading) for reading in given.pop("readings")]
        row = record_kept(self.actor, client_id=given.pop("client"), readings=typed, **given)
        return self.created(
            _with_readings(measuring.measuring_get(self.actor, row.pk)),
            reverse("api-measuring", args=[row.pk]),
        )


class ClientMeasurings(HouseView):
    serializer_class = shapes.MeasuringRowOut
    rights = {"GET": Right.READ_READINGS}

    @extend_schema(operation_id="client_measurings_list", responses=shapes.MeasuringRowOut(many=True))
    def get(self, request: Request, client_id: UUID) -> Response:
        """Measurings of one client."""
        clients.client_get(self.actor, client_id)
        return self.page_of(measuring.measuring_list(self.actor, client_id=client_id), shapes.MeasuringRowOut)


class Measuring(HouseView):
    serializer_class = shapes.MeasuringWithReadingsOut
    rights = {"GET": Right.READ_READINGS}

    @extend_schema(operation_id="measuring_get", responses=shapes.MeasuringWithReadingsOut)
    def get(self, request: Request, measuring_id: UUID) -> Response:
        """One measuring with every reading, superseded ones too."""
        return Response(_with_readings(measuring.measuring_get(self.actor, measuring_id)))


class Takes(HouseView):
    serializer_class = shapes.ReadingOut
    rights = {"POST": Right.RECORD_MEASURING}

    @extend_schema(operation_id="take_add", request=shapes.TakeIn, responses={201: shapes.ReadingOut})
    def post(self, request: Request, measuring_id: UUID) -> Response:
        """Tape a measure once more: the third take settles two that differ."""
        given = self.typed(shapes.TakeIn)
        reading = measuring_services.add_take(
            self.actor, measuring_id, measure_code=given.pop("measure"), **given
        )
        return self.created(shapes.ReadingOut(reading).data, reverse("api-measuring", args=[measuring_id]))


class Correction(HouseView):
    serializer_class = shapes.ReadingOut
    rights = {"POST": Right.RECORD_MEASURING}

    @extend_schema(
        operation_id="reading_correct", request=shapes.CorrectionIn, responses={201: shapes.ReadingOut}
    )
    def post(self, request: Request, reading_id: UUID) -> Response:
        """Supersede a reading, with a reason; the old one stays."""
        reading = measuring_services.correct_reading(
            self.actor, reading_id, **self.typed(shapes.CorrectionIn)
        )
        return self.created(
            shapes.ReadingOut(reading).data, reverse("api-measuring", args=[reading.measuring_id])
        )


class Body(HouseView):
    serializer_class = shapes.BodyMeasureOut
    pagination_class = None
    rights = {"GET": Right.READ_READINGS}

    @extend_schema(operation_id="client_body", responses=shapes.BodyMeasureOut(many=True))
    def get(self, request: Request, client_id: UUID) -> Response:
        """The newest figure of every measure, in the order of the walk round the body."""
        body = measuring.body_of(self.actor, client_id)
        return Response(shapes.BodyMeasureOut(list(body.values()), many=True).data)


class Changes(HouseView):
    serializer_class = shapes.ChangeOut
    pagination_class = None
    rights = {"GET": Right.READ_READINGS}

    @extend_schema(
        operation_id="client_changes",
        responses=shapes.ChangeOut(many=True),
        parameters=[OpenApiParameter("measuring", OpenApiTypes.UUID, description="Left out: the newest.")],
    )
    def get(self, request: Request, client_id: UUID) -> Response:
        """What changed at a measuring against the last time before it, and whether beyond the tape."""
        raw = request.query_params.get("measuring")
        try:
            measuring_id = UUID(raw) if raw else None
        except ValueError:
            raise Refused({"measuring": "This is not the id of a measuring."}) from None
        found = measuring.changes_of(self.actor, client_id, measuring_id)
        return Response(shapes.ChangeOut(found, many=True).data)


class Export(HouseView):
    pagination_class = None
    rights = {"GET": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="client_export", responses=OpenApiTypes.OBJECT)
    def get(self, request: Request, client_id: UUID) -> Response:
        """All that the studio knows of a client, as one document. That it was asked for is written down."""
        return Response(client_services.export_client(self.actor, client_id))


class Erasure(HouseView):
    serializer_class = shapes.ErasureOut
    rights = {"POST": Right.EXPORT_AND_ERASE}

    @extend_schema(operation_id="client_erase", request=shapes.ErasureIn, responses={201: shapes.ErasureOut})
    def post(self, request: Request, client_id: UUID) -> Response:
        """Erase a person on request. It can't be undone. By a session, the password was given within ten minutes."""
        if not by_token(request) and not is_fresh(request):
            raise NotAllowed(
                "Show once more who you are (on the page that erases), then try again within ten minutes."
            )
        erasure = client_services.erase_client(self.actor, client_id, **self.typed(shapes.ErasureIn))
        return self.created(shapes.ErasureOut(erasure).data, reverse("api-client", args=[client_id]))


def _with_readings(taken: measuring.MeasuringTaken) -> dict[str, Any]:
    replaced = {older.pk for found in taken.measures for take in found.takes for older in take.replaced}
    readings = [
        reading
        for found in taken.measures
        for take in found.takes
        for reading in (take.reading, *take.replaced)
    ]
    return {
        **shapes.MeasuringOut(taken.measuring).data,
        "readings": shapes.ReadingOut(readings, many=True, context={"superseded": replaced}).data,
        "asks_again": [found.measure.code for found in taken.asks_again],
    }
