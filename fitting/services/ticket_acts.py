"""A ticket's way: its states, what is paid, who is told, and the hand-over."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from fitting.calc.money import format_money
from fitting.calc.ticket_number import ticket_words
from fitting.models import Garment, Ticket, TicketEvent, TicketJob, TicketPayment
from fitting.queries.garments import studio_today
from fitting.queries.prices import job_name
from fitting.queries.tickets import MOVES, NOTICE_JOB, OPEN_STATES, Sums, sums_of, tell_whom, ticket_row
from fitting.services.prices import price_reason
from fitting.services.tickets import happened, locked_ticket, touch
from studio.platform.errors import Conflict, JobFailed, NotHere, Refused
from studio.platform.models import Job
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.jobs import ask_for
from studio.platform.services.saving import save_edit, save_new


@dataclass(frozen=True)
class Notice:
    """A message as it is sent: plain words, no figure of a body, no price."""

    to: str
    subject: str
    text: str


def move_ticket(
    actor: Actor, ticket_id: UUID, *, state: str, reason: str = "", expected_version: int | None = None
) -> Ticket:
    """Lead a ticket on: to in_work, ready, given_up, back to taken_in, or a hand-over taken back to ready.

    Handing over is ``hand_over_ticket``. Giving up and taking a hand-over back need a reason; "ready" needs every
    job done or left out. Raises NotHere, Stale, Conflict, Refused (state, reason).
    """
    actor.need(Right.KEEP_GARMENTS)
    if state not in Ticket.State.values or state == Ticket.State.HANDED_OVER:
        raise Refused(
            {"state": "Choose taken_in, in_work, ready or given_up; handing over is an act of its own."}
        )
    ticket = locked_ticket(ticket_id, expected_version)
    if state not in MOVES[ticket.state]:
        raise Conflict(
            f"Ticket {ticket_words(ticket.number)} is {ticket.get_state_display().lower()}; "
            f"it can't become “{Ticket.State(state).label.lower()}” from there."
        )
    reason = " ".join(reason.split())
    if not reason and (state == Ticket.State.GIVEN_UP or ticket.state == Ticket.State.HANDED_OVER):
        raise Refused({"reason": "This needs a reason in writing; it stays with the ticket."})
    if state == Ticket.State.READY:
        need_jobs_settled(ticket)
    ticket.state = state
    touch(ticket)
    happened(actor, ticket, TicketEvent.What.STATE, reason)
    _lead_garment(ticket)
    record_act(actor, "move_ticket", ticket, client_id=ticket.garment.client_id, state=state)
    return ticket


def pay(
    actor: Actor,
    ticket_id: UUID,
    *,
    minor: int,
    way: str,
    deposit: bool = False,
    give_back: bool = False,
    note: str = "",
) -> TicketPayment:
    """Write down money that was taken, or (``give_back``) given back; amounts in the currency's smallest unit.

    No more is taken than is owed, and no more given back than was paid. Raises NotHere, Conflict, Refused (amount,
    way).
    """
    actor.need(Right.KEEP_GARMENTS)
    ticket = locked_ticket(ticket_id)
    reasons = price_reason("amount", minor)
    if not minor:
        reasons["amount"] = "Give the amount that changed hands."
    if way not in TicketPayment.Way.values:
        reasons["way"] = f"Money comes by {', '.join(TicketPayment.Way.values)}."
    sums = _sums(actor, ticket)
    if not reasons and give_back and minor > sums.paid:
        reasons["amount"] = f"Only {sums.paid_text} was paid; no more can be given back."
    if not reasons and not give_back and minor > sums.owed:
        left = sums.owed_text if sums.owed > 0 else "nothing"
        reasons["amount"] = (
            f"{format_money(minor, ticket.currency)} is more than is owed: {left} remains to be paid."
        )
    if reasons:
        raise Refused(reasons)
    row = save_new(
        TicketPayment(
            ticket=ticket,
            minor=-minor if give_back else minor,
            way=way,
            deposit=deposit and not give_back,
            note=" ".join(note.split()),
            taken_by_id=actor.member_id,
        )
    )
    touch(ticket)
    record_act(actor, "pay", row, client_id=ticket.garment.client_id, minor=row.minor, way=way)
    return row


def correct_payment(actor: Actor, ticket_id: UUID, payment_id: UUID, *, note: str) -> TicketPayment:
    """Undo a payment that was written down by mistake: a counter row, the first one stays.

    Raises NotHere, Conflict (corrected already, or itself a correction), Refused (note).
    """
    actor.need(Right.KEEP_GARMENTS)
    ticket = locked_ticket(ticket_id)
    first = TicketPayment.objects.filter(pk=payment_id, ticket_id=ticket.pk).first()
    if first is None:
        raise NotHere("payment of this ticket")
    if first.corrects_id or TicketPayment.objects.filter(corrects_id=first.pk).exists():
        raise Conflict("This payment is corrected already; write down what was truly paid as a new one.")
    note = " ".join(note.split())
    if not note:
        raise Refused({"note": "Say what was wrong; it stays with the payment."})
    row = save_new(
        TicketPayment(
            ticket=ticket,
            minor=-first.minor,
            way=first.way,
            corrects=first,
            note=note,
            taken_by_id=actor.member_id,
        )
    )
    touch(ticket)
    record_act(actor, "correct_payment", row, client_id=ticket.garment.client_id, payment=str(first.pk))
    return row


def hand_over_ticket(
    actor: Actor,
    ticket_id: UUID,
    *,
    paid_minor: int = 0,
    way: str = TicketPayment.Way.CASH,
    unpaid_reason: str = "",
    expected_version: int | None = None,
) -> Ticket:
    """Give the garment to its client, taking what remains to be paid in the same act.

    What stays unpaid needs a reason in writing. Raises NotHere, Stale, Conflict (not ready), Refused (amount, way,
    reason).
    """
    actor.need(Right.KEEP_GARMENTS)
    ticket = locked_ticket(ticket_id, expected_version)
    if ticket.state != Ticket.State.READY:
        raise Conflict(
            f"Ticket {ticket_words(ticket.number)} is {ticket.get_state_display().lower()}; "
            "only what is ready is handed over."
        )
    need_jobs_settled(ticket)
    if paid_minor:
        pay(actor, ticket_id, minor=paid_minor, way=way)
        ticket.refresh_from_db(fields=["version"])
    owed = _sums(actor, ticket).owed
    reason = " ".join(unpaid_reason.split())
    if owed > 0 and not reason:
        raise Refused(
            {
                "reason": f"{format_money(owed, ticket.currency)} remains to be paid: take it, or write down why not."
            }
        )
    ticket.state = Ticket.State.HANDED_OVER
    touch(ticket)
    words = f"{format_money(owed, ticket.currency)} not paid: {reason}" if owed > 0 else ""
    happened(actor, ticket, TicketEvent.What.STATE, words)
    _lead_garment(ticket)
    record_act(actor, "hand_over_ticket", ticket, client_id=ticket.garment.client_id, owed=owed)
    return ticket


def tell_ready(actor: Actor, ticket_id: UUID, *, by: str, note: str = "") -> Job | None:
    """Tell the client that it is ready: "email" (sent in the background, a minor's to the guardian; the job comes
    back) or "telephone" (somebody rang; written down). Raises NotHere, Conflict (not ready), Refused (by).
    """
    actor.need(Right.KEEP_GARMENTS)
    if by not in {"email", "telephone"}:
        raise Refused({"by": "Somebody is told by email or by telephone."})
    ticket = locked_ticket(ticket_id)
    if ticket.state != Ticket.State.READY:
        raise Conflict("Only what is ready is told.")
    job = None
    if by == "email":
        name, address = tell_whom(ticket.garment.client, studio_today(actor))
        if not address:
            raise Refused({"by": f"No email address of {name or 'the guardian'} is recorded; ring instead."})
        job = ask_for(actor, NOTICE_JOB, {"ticket": str(ticket.pk), "by": str(actor.member_id)})
    else:
        happened(actor, ticket, TicketEvent.What.TOLD_BY_TELEPHONE, " ".join(note.split()))
    record_act(actor, "tell_ready", ticket, client_id=ticket.garment.client_id, by=by)
    return job


def prepare_notice(arguments: dict[str, Any]) -> Notice:
    """In scope: the message as the ticket stands now."""
    named = arguments.get("ticket")
    ticket = (
        Ticket.objects.filter(pk=UUID(named)).select_related("garment__client").first() if named else None
    )
    if ticket is None or ticket.garment.client.erased_at is not None:
        raise JobFailed("This notice is not sent: its client was erased on request.")
    if ticket.state != Ticket.State.READY:
        raise JobFailed("This notice is not sent: the garment is not ready any more.")
    from django.utils import timezone

    name, address = tell_whom(ticket.garment.client, timezone.localdate())
    if not address:
        raise JobFailed("This notice is not sent: no email address is recorded any more.")
    studio = ticket.studio
    number = ticket_words(ticket.number)
    whose = "" if name == ticket.garment.client.name else f" of {ticket.garment.client.name}"
    text = (
        f"Dear {name},\n\n"
        f"the {ticket.garment.words}{whose} is ready to be fetched. Please bring the slip with the number {number}, "
        "or tell us the number; your name will do as well.\n\n"
        "If anything does not sit as you hoped when you try it on, tell us, and we will look at it together.\n\n"
        f"{studio.name}\n{studio.address}".rstrip()
        + "\n"
    )
    return Notice(address, f"{studio.name}: ticket {number} is ready", text)


def work_notice(notice: Notice, progress: Progress) -> bool:
    """Without a database: hand the message to the mail server. What it refuses is tried again by the queue."""
    from django.core.mail import EmailMessage

    progress(50, "Sending")
    return bool(EmailMessage(notice.subject, notice.text, to=[notice.to]).send())


def finish_notice(arguments: dict[str, Any], notice: Notice, output: bool) -> dict[str, Any]:
    """In scope: write down that she was told."""
    ticket = Ticket.objects.filter(pk=UUID(arguments["ticket"])).first()
    if ticket is None:
        raise NotHere("ticket")
    save_new(
        TicketEvent(
            ticket=ticket,
            what=TicketEvent.What.TOLD_BY_EMAIL,
            state=ticket.state,
            by_id=UUID(arguments["by"]),
        )
    )
    return {"ticket": str(ticket.pk)}


def need_jobs_settled(ticket: Ticket) -> None:
    """Raise Conflict while a job is still to be done."""
    rows = TicketJob.objects.filter(ticket_id=ticket.pk, state=TicketJob.State.TO_DO).order_by("place")
    waiting = [job_name(row.job).lower() for row in rows]
    if waiting:
        raise Conflict(
            f"Still to do: {', '.join(waiting)}. Say that it is done, or leave it out with a reason."
        )


def _sums(actor: Actor, ticket: Ticket) -> Sums:
    return sums_of(ticket_row(actor, ticket.pk))


def _lead_garment(ticket: Ticket) -> None:
    """A bought garment is in work as long as one of its tickets is; what is made here goes its own way."""
    garment = ticket.garment
    if not garment.ready_made:
        return
    states = set(Ticket.objects.filter(garment_id=garment.pk).values_list("state", flat=True))
    if states & set(OPEN_STATES):
        state = Garment.State.OPEN
    elif Ticket.State.HANDED_OVER in states:
        state = Garment.State.HANDED_OVER
    else:
        state = Garment.State.GIVEN_UP
    save_edit(garment, {"state": state})
