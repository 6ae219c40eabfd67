"""Tickets, prices, payments and slips over the API."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.utils.http import content_disposition_header
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api import ticket_serializers as shapes
from fitting.api.garment_views import PdfRenderer
from fitting.queries import prices as price_queries
from fitting.queries import tickets as queries
from fitting.services import prices as price_services
from fitting.services import ticket_acts, ticket_slips, tickets
from studio.platform.api.base import HouseView
from studio.platform.api.serializers import NothingIn
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Right

KEEP = Right.KEEP_GARMENTS


def _query(name: str, words: str, kind: Any = OpenApiTypes.STR, *, needed: bool = False) -> OpenApiParameter:
    return OpenApiParameter(name, kind, OpenApiParameter.QUERY, description=words, required=needed)


def _wanted(given: dict[str, Any]) -> tickets.WantedJob:
    return tickets.WantedJob(**given)


class _TicketView(HouseView):
    """Answers with the whole ticket, its version as ETag."""

    serializer_class = shapes.TicketOut

    def whole(self, ticket_id: UUID, status: int = 200) -> Response:
        view = queries.ticket_get(self.actor, ticket_id)
        headers = {"ETag": f'"{view.ticket.version}"'}
        if status == 201:
            headers["Location"] = reverse("ticket-read", args=[ticket_id])
        return Response(shapes.TicketOut(view).data, status=status, headers=headers)


class AlterationJobs(HouseView):
    rights = {"GET": KEEP}

    @extend_schema(
        operation_id="alteration_jobs_list",
        summary="What is done at the counter, and what must be measured first",
        responses=shapes.AlterationJobOut(many=True),
        filters=False,
    )
    def get(self, request: Request) -> Response:
        return Response(shapes.AlterationJobOut(list(price_queries.job_kinds().values()), many=True).data)

    pagination_class = None


class CounterRead(HouseView):
    rights = {"GET": KEEP, "PUT": Right.KEEP_PRICES}

    @extend_schema(
        operation_id="counter_read", summary="The studio's currency", responses={200: shapes.CounterOut}
    )
    def get(self, request: Request) -> Response:
        return Response(shapes.CounterOut(price_queries.counter_of(self.actor)).data)

    @extend_schema(
        operation_id="counter_choose",
        summary="Choose the currency",
        request=shapes.CounterIn,
        responses={200: shapes.CounterOut},
    )
    def put(self, request: Request) -> Response:
        counter = price_services.choose_currency(self.actor, **self.typed(shapes.CounterIn))
        return Response(shapes.CounterOut(counter).data)


class Prices(HouseView):
    rights = {"GET": KEEP, "POST": Right.KEEP_PRICES}
    pagination_class = None

    @extend_schema(
        operation_id="prices_list",
        summary="The price list",
        responses=shapes.PriceOut(many=True),
        filters=False,
    )
    def get(self, request: Request) -> Response:
        rows = [line.price for line in price_queries.price_lines(self.actor)]
        return Response(shapes.PriceOut(rows, many=True).data)

    @extend_schema(
        operation_id="prices_set",
        summary="Put a price on the list, or give a line a new one",
        request=shapes.PriceIn,
        responses={201: shapes.PriceOut},
    )
    def post(self, request: Request) -> Response:
        row = price_services.set_price(self.actor, **self.typed(shapes.PriceIn))
        return self.created(shapes.PriceOut(row).data, reverse("price-read", args=[row.pk]), row)


class PriceRead(HouseView):
    rights = {"PATCH": Right.KEEP_PRICES}

    @extend_schema(
        operation_id="prices_change",
        summary="Change a price, or take it off the list",
        request=shapes.PriceChange,
        responses={200: shapes.PriceOut},
    )
    def patch(self, request: Request, price_id: UUID) -> Response:
        row = price_services.change_price(
            self.actor, price_id, expected_version=self.expected_version(), **self.typed(shapes.PriceChange)
        )
        return Response(shapes.PriceOut(row).data, headers={"ETag": f'"{row.version}"'})


class Tickets(_TicketView):
    rights = {"GET": KEEP, "POST": KEEP}

    @extend_schema(
        operation_id="tickets_list",
        summary="Tickets, newest first",
        filters=False,
        parameters=[
            _query("state", f"{shapes.STATES}, or open for what is in the house"),
            _query("client", "of this client", OpenApiTypes.UUID),
            _query("garment", "of this garment", OpenApiTypes.UUID),
        ],
        responses=shapes.TicketLineOut(many=True),
    )
    def get(self, request: Request) -> Response:
        rows = queries.ticket_list(
            self.actor,
            state=request.query_params.get("state", ""),
            client_id=_id(request, "client"),
            garment_id=_id(request, "garment"),
        )
        return self.page_of(rows, shapes.TicketLineOut)

    @extend_schema(
        operation_id="tickets_take_in",
        summary="Take a finished garment in",
        request=shapes.TicketIn,
        responses={201: shapes.TicketOut},
    )
    def post(self, request: Request) -> Response:
        given = self.typed(shapes.TicketIn)
        given["jobs"] = [_wanted(job) for job in given["jobs"]]
        if given.get("new_client"):
            given["new_client"] = tickets.NewClient(**given["new_client"])
        return self.whole(tickets.take_in(self.actor, **given).pk, status=201)


class TicketFound(HouseView):
    rights = {"GET": KEEP}
    serializer_class = shapes.TicketLineOut

    @extend_schema(
        operation_id="tickets_find",
        summary="The ticket of a number or a scanned slip",
        parameters=[_query("words", "the number with its check digit, the code or its address", needed=True)],
        responses={200: shapes.TicketLineOut},
    )
    def get(self, request: Request) -> Response:
        found = queries.find_ticket(self.actor, request.query_params.get("words", ""))
        if found is None:
            raise NotHere("ticket")
        return Response(shapes.TicketLineOut(found).data, headers={"ETag": f'"{found.version}"'})


class TicketRead(_TicketView):
    rights = {"GET": KEEP, "PATCH": KEEP}

    @extend_schema(operation_id="tickets_read", summary="One ticket", responses={200: shapes.TicketOut})
    def get(self, request: Request, ticket_id: UUID) -> Response:
        return self.whole(ticket_id)

    @extend_schema(
        operation_id="tickets_change",
        summary="Change the due date or the note",
        request=shapes.TicketChange,
        responses={200: shapes.TicketOut},
    )
    def patch(self, request: Request, ticket_id: UUID) -> Response:
        tickets.change_ticket(
            self.actor,
            ticket_id,
            expected_version=self.expected_version(),
            **self.typed(shapes.TicketChange),
        )
        return self.whole(ticket_id)


class TicketState(_TicketView):
    rights = {"POST": KEEP}

    @extend_schema(
        operation_id="tickets_move",
        summary="Lead a ticket on",
        request=shapes.TicketStateIn,
        responses={200: shapes.TicketOut},
    )
    def post(self, request: Request, ticket_id: UUID) -> Response:
        ticket_acts.move_ticket(
            self.actor,
            ticket_id,
            expected_version=self.expected_version(),
            **self.typed(shapes.TicketStateIn),
        )
        return self.whole(ticket_id)


class TicketJobs(_TicketView):
    rights = {"POST": KEEP}

    @extend_schema(
        operation_id="ticket_jobs_add",
        summary="One more job",
        request=shapes.TicketJobIn,
        responses={201: shapes.TicketOut},
    )
    def post(self, request: Request, ticket_id: UUID) -> Response:
        tickets.add_job(self.actor, ticket_id, _wanted(self.typed(shapes.TicketJobIn)))
        return self.whole(ticket_id, status=201)


class TicketJobRead(_TicketView):
    rights = {"PATCH": KEEP}

    @extend_schema(
        operation_id="ticket_jobs_settle",
        summary="Say that a job is done or left out",
        request=shapes.TicketJobStateIn,
        responses={200: shapes.TicketOut},
    )
    def patch(self, request: Request, ticket_id: UUID, job_id: UUID) -> Response:
        tickets.settle_job(
            self.actor,
            ticket_id,
            job_id,
            expected_version=self.expected_version(),
            **self.typed(shapes.TicketJobStateIn),
        )
        return self.whole(ticket_id)


class TicketPayments(_TicketView):
    rights = {"POST": KEEP}

    @extend_schema(
        operation_id="ticket_payments_add",
        summary="Write down money that changed hands",
        request=shapes.TicketPaymentIn,
        responses={201: shapes.TicketOut},
    )
    def post(self, request: Request, ticket_id: UUID) -> Response:
        ticket_acts.pay(self.actor, ticket_id, **self.typed(shapes.TicketPaymentIn))
        return self.whole(ticket_id, status=201)


class PaymentCorrection(_TicketView):
    rights = {"POST": KEEP}

    @extend_schema(
        operation_id="ticket_payments_correct",
        summary="Take back a payment that was written down by mistake",
        request=shapes.PaymentCorrectionIn,
        responses={201: shapes.TicketOut},
    )
    def post(self, request: Request, ticket_id: UUID, payment_id: UUID) -> Response:
        ticket_acts.correct_payment(
            self.actor, ticket_id, payment_id, **self.typed(shapes.PaymentCorrectionIn)
        )
        return self.whole(ticket_id, status=201)


class TicketHandOver(_TicketView):
    rights = {"POST": KEEP}

    @extend_schema(
        operation_id="tickets_hand_over",
        summary="Hand the garment over, taking what remains to be paid",
        request=shapes.HandOverIn,
        responses={200: shapes.TicketOut},
    )
    def post(self, request: Request, ticket_id: UUID) -> Response:
        ticket_acts.hand_over_ticket(
            self.actor, ticket_id, expected_version=self.expected_version(), **self.typed(shapes.HandOverIn)
        )
        return self.whole(ticket_id)


class TicketNotices(HouseView):
    rights = {"POST": KEEP}
    serializer_class = shapes.TicketNoticeOut

    @extend_schema(
        operation_id="ticket_notices_send",
        summary="Tell that it is ready, by email or (written down) by telephone",
        request=shapes.TicketNoticeIn,
        responses={201: shapes.TicketNoticeOut},
    )
    def post(self, request: Request, ticket_id: UUID) -> Response:
        given = self.typed(shapes.TicketNoticeIn)
        job = ticket_acts.tell_ready(self.actor, ticket_id, **given)
        return self.created(
            {"by": given["by"], "job": job.pk if job else None}, reverse("ticket-read", args=[ticket_id])
        )


class TicketSlips(HouseView):
    rights = {"POST": KEEP}
    serializer_class = shapes.TicketSlipOut

    @extend_schema(
        operation_id="ticket_slips_ask",
        summary="Ask for the claim slip and work ticket",
        request=NothingIn,
        responses={201: shapes.TicketSlipOut},
    )
    def post(self, request: Request, ticket_id: UUID) -> Response:
        slip = ticket_slips.ask_slip(self.actor, ticket_id)
        return self.created(
            shapes.TicketSlipOut(slip).data, reverse("ticket-slip-pdf", args=[ticket_id, slip.pk])
        )


class TicketSlipPdf(HouseView):
    rights = {"GET": KEEP}
    renderer_classes = [PdfRenderer, JSONRenderer]

    @extend_schema(
        operation_id="ticket_slips_pdf",
        summary="The slip as it was printed; its ETag is its SHA-256",
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
    )
    def get(self, request: Request, ticket_id: UUID, slip_id: UUID) -> HttpResponse:
        file = queries.slip_file(self.actor, ticket_id, slip_id)
        response = HttpResponse(file.content, content_type="application/pdf")
        response["Content-Disposition"] = content_disposition_header(True, file.name) or ""
        response["ETag"] = f'"{file.sha256}"'
        return response


def _id(request: Request, name: str) -> UUID | None:
    text = request.query_params.get(name, "")
    try:
        return UUID(text) if text else None
    except ValueError:
        raise Refused({name: f"{text[:40]!r} is not an id."}) from None
