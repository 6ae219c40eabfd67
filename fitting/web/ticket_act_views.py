"""What is done to a ticket from its page: each button one act."""

from typing import Any
from uuid import UUID

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from fitting.queries import tickets as queries
from fitting.queries.prices import price_lines
from fitting.services import ticket_acts, ticket_slips, tickets
from fitting.web.base import FittingPage
from fitting.web.report_views import pdf_response
from fitting.web.ticket_forms import HandOverForm, JobForm, PayForm, TicketForm
from fitting.web.ticket_views import reach_words, show_ticket, spread
from studio.platform.errors import Conflict, Refused
from studio.platform.rights import Right


class _Act(FittingPage):
    right = Right.KEEP_GARMENTS

    def back(self, ticket_id: UUID) -> HttpResponse:
        return redirect("fitting:ticket", ticket_id)

    def tell(self, words: str, ticket_id: UUID) -> HttpResponse:
        return self.done(words, "fitting:ticket", ticket_id)


class ChangeTicket(_Act):
    def get(self, request: HttpRequest, ticket_id: UUID, form: TicketForm | None = None) -> HttpResponse:
        ticket = queries.ticket_row(self.actor, ticket_id)
        first = {"due": ticket.due, "note": ticket.note, "version": ticket.version}
        return self.page(
            "fitting/ticket/change.html",
            ticket=ticket,
            number=queries.ticket_words(ticket.number),
            form=form or TicketForm(initial=first),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, ticket_id: UUID) -> HttpResponse:
        form = TicketForm(request.POST)
        if form.is_valid():
            given = form.cleaned_data
            changed = self.attempt(
                form,
                tickets.change_ticket,
                ticket_id,
                expected_version=given["version"],
                due=given["due"],
                note=given["note"],
            )
            if changed:
                return self.tell("Changed.", ticket_id)
        return self.get(request, ticket_id, form)


class MoveTicket(_Act):
    def post(self, request: HttpRequest, ticket_id: UUID) -> HttpResponse:
        state = request.POST.get("state", "")
        try:
            with transaction.atomic():
                moved = ticket_acts.move_ticket(
                    self.actor, ticket_id, state=state, reason=request.POST.get("reason", "")
                )
        except Refused as exc:
            return show_ticket(self, ticket_id, reason_state=state, reason_error=str(exc))
        except Conflict as exc:
            return show_ticket(self, ticket_id, reason_state="", reason_error=str(exc))
        return self.tell(f"The ticket is now: {moved.get_state_display().lower()}.", ticket_id)


class AddJob(_Act):
    def get(self, request: HttpRequest, ticket_id: UUID, form: JobForm | None = None) -> HttpResponse:
        ticket = queries.ticket_row(self.actor, ticket_id)
        form = form or self._form(ticket, None)
        return self.page(
            "fitting/ticket/add_job.html",
            ticket=ticket,
            number=queries.ticket_words(ticket.number),
            form=form,
            currency=ticket.currency,
            jobs=[(form, reach_words(form, ticket.garment.client.unit))],
            rows=1,
            single=True,
            quiet="show" in request.POST,
            status=400 if form.is_bound and form.errors and "show" not in request.POST else 200,
        )

    def post(self, request: HttpRequest, ticket_id: UUID) -> HttpResponse:
        ticket = queries.ticket_row(self.actor, ticket_id)
        form = self._form(ticket, request.POST)
        if "show" in request.POST:
            return self.get(request, ticket_id, form)
        if form.is_valid():
            try:
                with transaction.atomic():
                    tickets.add_job(self.actor, ticket_id, form.wanted())
                return self.tell("The job is on the ticket; print a new slip for the client.", ticket_id)
            except Refused as exc:
                spread(
                    Refused({f"jobs.0.{field}": text for field, text in exc.reasons.items()}), form, [form]
                )
            except Conflict as exc:
                form.add_error(None, str(exc))
        return self.get(request, ticket_id, form)

    def _form(self, ticket: Any, data: Any) -> JobForm:
        return JobForm(
            data,
            prefix="job0",
            unit=ticket.garment.client.unit,
            currency=ticket.currency,
            prices=price_lines(self.actor, active=True),
            garment_kind=ticket.garment.kind,
        )


class SettleJob(_Act):
    def post(self, request: HttpRequest, ticket_id: UUID, job_id: UUID) -> HttpResponse:
        self.try_or_tell(
            tickets.settle_job,
            ticket_id,
            job_id,
            state=request.POST.get("state", ""),
            reason=request.POST.get("reason", ""),
        )
        return self.back(ticket_id)


class Pay(_Act):
    def post(self, request: HttpRequest, ticket_id: UUID) -> HttpResponse:
        ticket = queries.ticket_row(self.actor, ticket_id)
        form = PayForm(request.POST, currency=ticket.currency)
        if form.is_valid():
            given = form.cleaned_data
            paid = self.attempt(
                form,
                ticket_acts.pay,
                ticket_id,
                minor=given["amount"],
                way=given["way"],
                give_back=given["direction"] == "back",
                note=given["note"],
            )
            if paid:
                return self.tell("Written down.", ticket_id)
        return show_ticket(self, ticket_id, pay_form=form)


class CorrectPayment(_Act):
    def post(self, request: HttpRequest, ticket_id: UUID, payment_id: UUID) -> HttpResponse:
        note = request.POST.get("note", "")
        if self.try_or_tell(ticket_acts.correct_payment, ticket_id, payment_id, note=note):
            return self.tell("The payment is taken back; write down what was truly paid.", ticket_id)
        return self.back(ticket_id)


class HandOver(_Act):
    def post(self, request: HttpRequest, ticket_id: UUID) -> HttpResponse:
        ticket = queries.ticket_row(self.actor, ticket_id)
        form = HandOverForm(request.POST, currency=ticket.currency)
        if form.is_valid():
            given = form.cleaned_data
            handed = self.attempt(
                form,
                ticket_acts.hand_over_ticket,
                ticket_id,
                paid_minor=given["amount"] or 0,
                way=given["way"],
                unpaid_reason=given["reason"],
            )
            if handed:
                return self.tell("Handed over.", ticket_id)
        return show_ticket(self, ticket_id, hand_over_form=form)


class TellReady(_Act):
    def post(self, request: HttpRequest, ticket_id: UUID) -> HttpResponse:
        by = request.POST.get("by", "")
        try:
            with transaction.atomic():
                ticket_acts.tell_ready(self.actor, ticket_id, by=by, note=request.POST.get("note", ""))
        except (Refused, Conflict) as exc:
            return show_ticket(self, ticket_id, reason_error=str(exc))
        words = "The message is on its way." if by == "email" else "Written down: told by telephone."
        return self.tell(words, ticket_id)


class AskSlip(_Act):
    def post(self, request: HttpRequest, ticket_id: UUID) -> HttpResponse:
        if self.try_or_tell(ticket_slips.ask_slip, ticket_id):
            return self.tell("A new slip is being made.", ticket_id)
        return self.back(ticket_id)


class SlipPdf(_Act):
    def get(self, request: HttpRequest, ticket_id: UUID, slip_id: UUID) -> HttpResponse:
        return pdf_response(queries.slip_file(self.actor, ticket_id, slip_id))
