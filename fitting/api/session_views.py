"""Try-ons over the API: sessions, notes, decisions, the sign-off, and what a sign may mean."""

from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import session_serializers as shapes
from fitting.calc.signs import meanings
from fitting.queries import fittings as fitting_queries
from fitting.queries import garments as garment_queries
from fitting.queries.fit_photos import fit_photo
from fitting.queries.fittings import PLACES
from fitting.queries.signs import sign_table
from fitting.services import fit_photos as photo_services
from fitting.services import fittings as fitting_services
from fitting.services.agreement import client_agrees
from studio.calc.units import parse_length
from studio.platform.api.base import HouseView
from studio.platform.errors import Refused
from studio.platform.rights import Right
from studio.platform.services.files import read_file


class GarmentSessions(HouseView):
    rights = {"GET": Right.READ_FIT_NOTES, "POST": Right.FIT}

    @extend_schema(
        operation_id="garment_sessions_list",
        summary="The fitting sessions of a garment, newest first",
        responses=shapes.SessionOut(many=True),
    )
    def get(self, request: Request, garment_id: UUID) -> Response:
        garment_queries.garment_row(self.actor, garment_id)
        page = self.paginate_queryset(fitting_queries.session_list(self.actor, garment_id))
        assert page is not None
        views = fitting_queries.session_views(page)
        return self.get_paginated_response(shapes.SessionOut(views, many=True).data)

    @extend_schema(
        operation_id="garment_sessions_hold",
        summary="Begin a fitting session",
        request=shapes.SessionIn,
        responses={201: shapes.SessionOut},
    )
    def post(self, request: Request, garment_id: UUID) -> Response:
        made = fitting_services.hold_session(self.actor, garment_id, **self.typed(shapes.SessionIn))
        session = fitting_queries.session_get(self.actor, made.pk)
        return self.created(shapes.SessionOut(session).data, reverse("fitting-session-read", args=[made.pk]))


class SessionRead(HouseView):
    rights = {"GET": Right.READ_FIT_NOTES}

    @extend_schema(
        operation_id="fitting_sessions_read",
        summary="One fitting session with its notes",
        responses={200: shapes.SessionOut},
    )
    def get(self, request: Request, session_id: UUID) -> Response:
        return Response(shapes.SessionOut(fitting_queries.session_get(self.actor, session_id)).data)


class SessionNotes(HouseView):
    rights = {"POST": Right.FIT}

    @extend_schema(
        operation_id="fitting_sessions_note",
        summary="Write down what is seen, and what is decided if it is",
        request=shapes.NoteIn,
        responses={201: shapes.FitNoteOut},
    )
    def post(self, request: Request, session_id: UUID) -> Response:
        made = fitting_services.note_fit(self.actor, session_id, **self.typed(shapes.NoteIn))
        note = fitting_queries.note_get(self.actor, made.pk)
        return self.created(shapes.FitNoteOut(note).data, reverse("fitting-session-read", args=[session_id]))


class NoteDecision(HouseView):
    rights = {"POST": Right.FIT}

    @extend_schema(
        operation_id="fit_notes_decide",
        summary="Decide what is done about a note: a new note that supersedes it",
        request=shapes.DecisionIn,
        responses={201: shapes.FitNoteOut},
    )
    def post(self, request: Request, note_id: UUID) -> Response:
        made = fitting_services.decide(self.actor, note_id, **self.typed(shapes.DecisionIn))
        note = fitting_queries.note_get(self.actor, made.pk)
        return self.created(
            shapes.FitNoteOut(note).data, reverse("fitting-session-read", args=[note.session_id])
        )


class NotePhotos(HouseView):
    rights = {"POST": Right.FIT}
    parser_classes = [MultiPartParser]

    @extend_schema(
        operation_id="fit_notes_photograph",
        summary="Keep a photograph of what a note tells, with the client's consent to photographs",
        request={"multipart/form-data": shapes.FitPhotoIn},
        responses={201: shapes.FitPhotoOut},
    )
    def post(self, request: Request, note_id: UUID) -> Response:
        picture = self.typed(shapes.FitPhotoIn)["picture"]
        made = photo_services.add_fit_photo(self.actor, note_id, picture=picture.read())
        return self.created(shapes.FitPhotoOut(made).data, reverse("fit-photo", args=[made.pk]))


class FitPhoto(HouseView):
    rights = {"GET": Right.READ_FIT_NOTES, "DELETE": Right.FIT}

    @extend_schema(
        operation_id="fit_photos_read",
        summary="A photograph as JPEG, while the consent to photographs holds",
        responses={(200, "image/jpeg"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, photo_id: UUID) -> HttpResponse:
        photo = fit_photo(self.actor, photo_id, timezone.localdate(timezone=self.actor.zone))
        return HttpResponse(read_file(photo.file), content_type="image/jpeg")

    @extend_schema(
        operation_id="fit_photos_take_away", summary="Take a photograph away for good", responses={204: None}
    )
    def delete(self, request: Request, photo_id: UUID) -> Response:
        photo_services.take_away_photo(self.actor, photo_id)
        return Response(status=204)


class SessionSignOff(HouseView):
    rights = {"POST": Right.FIT}

    @extend_schema(
        operation_id="fitting_sessions_sign_off",
        summary="Sign a session off; refused while a note is open",
        request=shapes.SignOffIn,
        responses={201: shapes.SessionOut},
    )
    def post(self, request: Request, session_id: UUID) -> Response:
        fitting_services.sign_off(self.actor, session_id, **self.typed(shapes.SignOffIn))
        session = fitting_queries.session_get(self.actor, session_id)
        return self.created(
            shapes.SessionOut(session).data, reverse("fitting-session-read", args=[session_id])
        )


class SessionAgreement(HouseView):
    rights = {"POST": Right.FIT}

    @extend_schema(
        operation_id="fitting_sessions_agree",
        summary="Keep the client's own word on a signed-off session: a name, and what was read, frozen",
        request=shapes.ClientAgreementIn,
        responses={201: shapes.SessionOut},
    )
    def post(self, request: Request, session_id: UUID) -> Response:
        client_agrees(self.actor, session_id, **self.typed(shapes.ClientAgreementIn))
        session = fitting_queries.session_get(self.actor, session_id)
        return self.created(
            shapes.SessionOut(session).data, reverse("fitting-session-read", args=[session_id])
        )


class FitSigns(HouseView):
    """The table of signs; the choice is always the fitter's."""

    rights = {"GET": Right.READ_FIT_NOTES}

    @extend_schema(
        operation_id="fit_signs_read",
        summary="The signs of a try-on, and what one may mean at a place",
        parameters=[
            OpenApiParameter("place", str, description=", ".join(PLACES)),
            OpenApiParameter("sign", str, description="A sign of this table."),
            OpenApiParameter("direction", str),
            OpenApiParameter("garment", str, description="The kind of garment."),
            OpenApiParameter("pinched", str, description="As typed, in all: `2 cm`."),
        ],
        responses=shapes.SignsOut,
    )
    def get(self, request: Request) -> Response:
        table, asked = sign_table(), request.query_params
        found = []
        if asked.get("place") or asked.get("sign"):
            try:
                pinched = parse_length(asked["pinched"], "cm") if asked.get("pinched") else None
            except ValueError as exc:
                raise Refused({"pinched": str(exc)}) from exc
            try:
                found = meanings(
                    table,
                    asked.get("place", ""),
                    asked.get("sign", ""),
                    direction=asked.get("direction", ""),
                    garment=asked.get("garment", ""),
                    amount=float(pinched) if pinched is not None else None,
                )
            except ValueError as exc:
                raise Refused({"sign": str(exc)}) from exc
        return Response(shapes.SignsOut({"signs": table.signs.values(), "meanings": found}).data)
