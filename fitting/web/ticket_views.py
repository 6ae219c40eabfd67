"""Pages at the counter: taking in, the list, one ticket, and finding one by number or slip."""

from typing import Any
from uuid import UUID

from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from fitting.calc.pinned import reach_of
from fitting.calc.ticket_number import ticket_words
from fitting.queries import garments as garment_queries
from fitting.queries import tickets as queries
from fitting.queries.past_fits import past_garments
from fitting.queries.prices import counter_of, price_lines
from fitting.services import ticket_slips, tickets
from fitting.web.base import FittingPage
from fitting.web.ticket_forms import HandOverForm, IntakeForm, JobForm, PayForm, job_forms
from studio.calc.wording import searchable
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Right
from studio.queries.clients import client_get, find_clients

STATES = [
    ("open", "In the house"),
    ("taken_in", "Taken in"),
    ("in_work", "In work"),
    ("ready", "Ready"),
    ("handed_over", "Handed over"),
    ("given_up", "Given up"),
]
MOST_HITS = 8


class Find(FittingPage):
    """The search box of every page: a ticket's number or a scanned slip opens the ticket, all else the past fits."""

    right = Right.READ_FIT_HISTORY

    def get(self, request: HttpRequest) -> HttpResponse:
        words = request.GET.get("words", "")
        found = queries.find_ticket(self.actor, words) if self.actor.may(Right.KEEP_GARMENTS) else None
        if found is not None:
            return redirect("fitting:ticket", found.pk)
        return redirect(f"{reverse('fitting:past-fits')}?{urlencode({'words': words})}")


class SlipCode(FittingPage):
    """The address in a slip's code: it opens the ticket for a signed-in member of its studio alone."""

    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest, code: str) -> HttpResponse:
        found = queries.find_ticket(self.actor, code)
        if found is None:
            raise NotHere("ticket")
        return redirect("fitting:ticket", found.pk)


class Tickets(FittingPage):
    """What is in the house, due first."""

    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest) -> HttpResponse:
        state = request.GET.get("state", "open")
        if state not in dict(STATES):
            state = "open"
        return self.page(
            "fitting/ticket/tickets.html",
            lines=queries.ticket_lines(self.actor, state=state),
            states=STATES,
            state=state,
        )


class Intake(FittingPage):
    """Client, garment, jobs, price and date on one page, with the customer waiting."""

    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest) -> HttpResponse:
        words = request.GET.get("words", "").strip()
        if request.headers.get("HX-Request") and "words" in request.GET:
            return self.page("fitting/ticket/_who.html", words=words, **self._hits(words))
        return self._show(None, 1)

    def post(self, request: HttpRequest) -> HttpResponse:
        data = request.POST
        rows = max(1, min(int(data["rows"]) if data.get("rows", "").isdigit() else 1, 12))
        if "more" in data:
            rows += 1
        if "more" in data or "show" in data:
            return self._show(data, rows, quiet=True, part=bool(request.headers.get("HX-Request")))
        form, jobs, options = self._forms(data, rows)
        chosen = [row for row in jobs if row.has_changed()] or jobs[:1]
        valid = [row.is_valid() for row in chosen]  # every row tells what is wrong with it
        if form.is_valid() and all(valid):
            made = self._take_in(form, chosen, options)
            if made is not None:
                return made
        return self._show(data, rows, form=form, jobs=jobs)

    def _take_in(
        self, form: IntakeForm, chosen: list[JobForm], options: dict[str, Any]
    ) -> HttpResponse | None:
        given = form.cleaned_data
        client, garment = options["client"], options["garment"]
        new = None
        if client is None:
            new = tickets.NewClient(given["client_name"], given["client_reach"], given["same_name"])
        try:
            with transaction.atomic():
                ticket = tickets.take_in(
                    self.actor,
                    jobs=[row.wanted() for row in chosen],
                    client_id=client.pk if client else None,
                    new_client=new,
                    garment_id=garment.pk if garment else None,
                    words=given.get("words", ""),
                    kind=given.get("kind", ""),
                    for_child=given.get("for_child", False),
                    due=given["due"],
                    note=given["note"],
                    deposit_minor=given["deposit"] or 0,
                    deposit_way=given["deposit_way"] or "cash",
                )
                ticket_slips.ask_slip(self.actor, ticket.pk)
        except Refused as exc:
            spread(exc, form, chosen)
            return None
        except Conflict as exc:
            form.add_error(None, str(exc))
            return None
        return self.done(
            f"Ticket {ticket_words(ticket.number)} is taken in; its slip is being made.",
            "fitting:ticket",
            ticket.pk,
        )

    def _forms(self, data: QueryDict | None, rows: int) -> tuple[IntakeForm, list[JobForm], dict[str, Any]]:
        garment = client = None
        if self.request.GET.get("garment"):
            garment = garment_queries.garment_row(self.actor, _id(self.request.GET["garment"], "garment"))
            client = garment.client
        elif self.request.GET.get("client"):
            client = client_get(self.actor, _id(self.request.GET["client"], "client"))
        currency = counter_of(self.actor).currency
        kind = garment.kind if garment else data.get("kind", "") if data else ""
        unit = client.unit if client else self.actor.unit
        form = IntakeForm(
            data, kinds=garment_queries.kinds(), currency=currency, client=client, garment=garment
        )
        prices = price_lines(self.actor, active=True)
        jobs = job_forms(data, rows, unit=unit, currency=currency, prices=prices, garment_kind=kind)
        return form, jobs, {"client": client, "garment": garment, "unit": unit, "currency": currency}

    def _show(
        self,
        data: QueryDict | None,
        rows: int,
        *,
        quiet: bool = False,
        part: bool = False,
        form: IntakeForm | None = None,
        jobs: list[JobForm] | None = None,
    ) -> HttpResponse:
        fresh, fresh_jobs, options = self._forms(data, rows)
        form, jobs = form or fresh, jobs or fresh_jobs
        client = options["client"]
        context = {
            **options,
            "form": form,
            "jobs": [(row, reach_words(row, options["unit"])) for row in jobs],
            "rows": len(jobs),
            "quiet": quiet or data is None,
        }
        if part:
            return self.page("fitting/ticket/_jobs.html", **context)
        words = self.request.GET.get("words", "").strip()
        garments = past_garments(self.actor, [client.pk])[client.pk][:6] if client else []
        failed = data is not None and not quiet
        return self.page(
            "fitting/ticket/intake.html",
            garments=garments,
            words=words,
            **(self._hits(words) if client is None else {}),
            **context,
            status=400 if failed else 200,
        )

    def _hits(self, words: str) -> dict[str, Any]:
        """Whom the words find: clients with what is known to be hers, and the ticket if it is a number or a code."""
        if not searchable(words):
            return {"hits": [], "ticket": None}
        ticket = queries.find_ticket(self.actor, words)
        found = find_clients(self.actor, words, MOST_HITS)
        ids = list(dict.fromkeys(hit.client_id for hit in found))
        garments = past_garments(self.actor, ids)
        names = {hit.client_id: hit.name for hit in found}
        best = {hit.source_id for hit in found if hit.source == "garment"}
        return {
            "hits": [
                (pk, names[pk], sorted(garments[pk], key=lambda one: one.id not in best)[:4]) for pk in ids
            ],
            "ticket": ticket,
            "ticket_number": ticket_words(ticket.number) if ticket else "",
        }


class TicketPage(FittingPage):
    """One ticket: what is to be done, what is owed, what happened, what comes next."""

    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest, ticket_id: UUID) -> HttpResponse:
        return show_ticket(self, ticket_id)


def show_ticket(page: FittingPage, ticket_id: UUID, **forms: Any) -> HttpResponse:
    """The page of a ticket; ``forms`` are those that came back with something wrong (pay_form, hand_over_form)."""
    view = queries.ticket_get(page.actor, ticket_id)
    ticket = view.ticket
    return page.page(
        "fitting/ticket/ticket.html",
        view=view,
        ticket=ticket,
        garment=ticket.garment,
        client=ticket.garment.client,
        may_read_notes=page.actor.may(Right.READ_FIT_NOTES),
        may_fit=page.actor.may(Right.FIT),
        others=[(one, ticket_words(one.number)) for one in view.others],
        pay_form=forms.get("pay_form") or PayForm(currency=ticket.currency),
        pay_open="pay_form" in forms,
        hand_over_form=forms.get("hand_over_form")
        or HandOverForm(currency=ticket.currency, owed=view.sums.owed),
        reason_state=forms.get("reason_state", ""),
        reason_error=forms.get("reason_error", ""),
        status=400 if forms else 200,
    )


def spread(exc: Refused, form: Any, chosen: list[JobForm]) -> None:
    """Write each reason beside the field that it names: ``jobs.1.amount`` beside the second job's amount."""
    for field, reason in exc.reasons.items():
        parts = field.split(".")
        if parts[0] == "jobs" and len(parts) == 3 and int(parts[1]) < len(chosen):
            row = chosen[int(parts[1])]
            row.add_error(parts[2] if parts[2] in row.fields else "job", reason)
        elif field in form.fields:
            form.add_error(field, reason)
        else:
            form.add_error(None, reason)


def reach_words(row: JobForm, unit: str) -> dict[str, Any] | None:
    """Whether what lies inside is enough, as soon as both figures are typed."""
    if not row.is_bound or row.kind is None or row.kind.room is None:
        return None
    row.is_valid()
    given = row.cleaned_data
    if not given.get("amount") or given.get("allowance") is None:
        return None
    keep = given.get("keep")
    reach = reach_of(
        given["amount"],
        given["allowance"],
        keep if keep is not None else row.kind.room.keep_mm,
        given.get("edges") or row.kind.room.edges[0][0],
        lambda mm: queries.exact_words(mm, unit),
    )
    return {"enough": reach.enough, "words": reach.words}


def _id(text: str, noun: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise NotHere(noun) from None
