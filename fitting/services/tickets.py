"""Tickets taken in at the counter: client, garment, what is wanted and what it costs, in one act."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, TypedDict, Unpack
from uuid import UUID

from fitting.calc.alteration import let_out_limit
from fitting.calc.pinned import reach_of
from fitting.calc.ticket_number import ticket_words
from fitting.models import Garment, Ticket, TicketEvent, TicketJob, TicketPayment
from fitting.queries.garments import studio_today
from fitting.queries.prices import JobKind, job_kinds, price_lines, usual_price
from fitting.queries.tickets import OPEN_STATES, exact_words
from fitting.services.garments import locked_garment, open_garment
from fitting.services.prices import locked_counter, price_reason
from studio.models import Client
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new
from studio.services.clients import client_here, record_client
from studio.services.search import index_words

MOST_JOBS = 30
MOST_MM = Decimal(2000)


@dataclass(frozen=True)
class WantedJob:
    """One thing that is wanted; lengths in mm, ``price_minor`` None takes the usual price of the list."""

    job: str
    where: str = ""
    amount_mm: Decimal | None = None
    allowance_mm: Decimal | None = None
    keep_mm: Decimal | None = None
    edges: int | None = None
    price_minor: int | None = None


@dataclass(frozen=True)
class NewClient:
    """Somebody who comes for the first time: a name, and a telephone number or an email address."""

    name: str
    reach: str = ""
    same_name: bool = False  # said to be somebody else of a name that is recorded already


class TicketChanges(TypedDict, total=False):
    """What may be changed of a ticket; what is left out stays as it is."""

    due: date | None
    note: str


def take_in(
    actor: Actor,
    *,
    jobs: Sequence[WantedJob],
    client_id: UUID | None = None,
    new_client: NewClient | None = None,
    garment_id: UUID | None = None,
    words: str = "",
    kind: str = "",
    for_child: bool = False,
    due: date | None = None,
    note: str = "",
    deposit_minor: int = 0,
    deposit_way: str = TicketPayment.Way.CASH,
) -> Ticket:
    """Take a finished garment in: a ticket with a number, its jobs, and the deposit if one is paid. All or nothing.

    The client is recorded (``client_id``) or new; the garment is hers already (``garment_id``) or described by
    ``words`` and ``kind``. Raises Refused naming each field (client, client_name, garment, words, kind, due,
    currency, deposit, ``jobs.0.amount`` and so on), Conflict where the client was erased.
    """
    actor.need(Right.KEEP_GARMENTS)
    reasons: dict[str, str] = {}
    try:
        if garment_id is not None:
            garment = _known_garment(garment_id, client_id)
        else:
            client = _client(actor, client_id, new_client)
            garment = _new_garment(actor, client, words=words, kind=kind, for_child=for_child)
    except Refused as exc:  # the customer waits: all that is wrong is told at once
        reasons |= exc.reasons
        garment = Garment(kind=kind, client=Client(unit=actor.unit))
    today = studio_today(actor)
    if due is not None and due < today:
        reasons["due"] = f"{due:%-d %B %Y} is past; a ticket falls due today or later."
    if not jobs:
        reasons["jobs"] = "Say what is wanted: at least one job."
    if len(jobs) > MOST_JOBS:
        reasons["jobs"] = f"A ticket holds at most {MOST_JOBS} jobs; open a second one."
    counter = locked_counter()  # after client and garment: numbers are given out one at a time
    if not counter.currency:
        reasons["currency"] = "Choose the studio's currency on the price list first."
    if deposit_minor:
        reasons |= price_reason("deposit", deposit_minor)
    rows = []
    if counter.currency:
        for place, wanted in enumerate(jobs[:MOST_JOBS]):
            row, refused = checked_job(actor, wanted, garment)
            reasons |= {f"jobs.{place}.{field}": text for field, text in refused.items()}
            rows.append(row)
        total = sum(row.price_minor or 0 for row in rows)
        if deposit_minor > total and not reasons:
            reasons["deposit"] = "The deposit is more than all jobs together: check the figures."
    if reasons:
        raise Refused(reasons)
    counter.last_number += 1
    counter.save(update_fields=["last_number"])  # no edit of the counter: its version stays
    ticket = save_new(
        Ticket(
            garment=garment,
            number=counter.last_number,
            due=due,
            currency=counter.currency,
            note=" ".join(note.split()),
            taken_in_by_id=actor.member_id,
        )
    )
    for place, row in enumerate(rows):
        row.ticket, row.place = ticket, place + 1
        save_new(row)
    happened(actor, ticket, TicketEvent.What.STATE)
    if deposit_minor:
        save_new(
            TicketPayment(
                ticket=ticket,
                minor=deposit_minor,
                way=deposit_way,
                deposit=True,
                taken_by_id=actor.member_id,
            )
        )
    if garment.ready_made and garment.state != Garment.State.OPEN:
        save_edit(garment, {"state": Garment.State.OPEN})
    written = ticket_words(ticket.number)
    index_words(
        client_id=garment.client_id,
        source="ticket",
        source_id=ticket.pk,
        words=f"Ticket {written}",
        telephone=written,
    )
    record_act(
        actor, "take_in", ticket, client_id=garment.client_id, garment=str(garment.pk),
        number=written, jobs=[row.job for row in rows],
    )  # fmt: skip
    return ticket


def change_ticket(
    actor: Actor, ticket_id: UUID, *, expected_version: int | None = None, **changes: Unpack[TicketChanges]
) -> Ticket:
    """Change the due date or the note. Raises NotHere, Stale, Conflict (it is closed), Refused (due)."""
    actor.need(Right.KEEP_GARMENTS)
    ticket = locked_open_ticket(ticket_id, expected_version)
    wanted: dict[str, Any] = {}
    if "due" in changes:
        due = changes["due"]
        if due is not None and due != ticket.due and due < studio_today(actor):
            raise Refused({"due": f"{due:%-d %B %Y} is past; a ticket falls due today or later."})
        wanted["due"] = due
    if "note" in changes:
        wanted["note"] = " ".join(changes["note"].split())
    changed = save_edit(ticket, wanted)
    if changed:
        told = f"Due {ticket.due:%-d %B %Y}" if ticket.due else "No date"
        happened(actor, ticket, TicketEvent.What.CHANGED, told if "due" in changed else "Note changed")
        record_act(actor, "change_ticket", ticket, fields=sorted(changed))
    return ticket


def add_job(
    actor: Actor, ticket_id: UUID, wanted: WantedJob, *, expected_version: int | None = None
) -> TicketJob:
    """One more thing is wanted on a ticket that is open. Raises NotHere, Stale, Conflict, Refused naming the field."""
    actor.need(Right.KEEP_GARMENTS)
    ticket = locked_open_ticket(ticket_id, expected_version)
    rows = list(TicketJob.objects.filter(ticket_id=ticket.pk))
    if len(rows) >= MOST_JOBS:
        raise Refused({"job": f"A ticket holds at most {MOST_JOBS} jobs; open a second one."})
    row, reasons = checked_job(actor, wanted, ticket.garment)
    if reasons:
        raise Refused(reasons)
    row.ticket, row.place = ticket, max((one.place for one in rows), default=0) + 1
    save_new(row)
    if ticket.state == Ticket.State.READY:
        ticket.state = Ticket.State.IN_WORK
    touch(ticket)
    happened(actor, ticket, TicketEvent.What.JOB, f"Added: {job_kinds()[row.job].name}")
    record_act(actor, "add_job", row, client_id=ticket.garment.client_id, job=row.job, price=row.price_minor)
    return row


def settle_job(
    actor: Actor,
    ticket_id: UUID,
    job_id: UUID,
    *,
    state: str,
    reason: str = "",
    expected_version: int | None = None,
) -> TicketJob:
    """Say that a job is done, left out (with a reason; then nothing is asked for it) or to be done after all.

    Raises NotHere, Stale, Conflict (the ticket is closed), Refused (state, reason).
    """
    actor.need(Right.KEEP_GARMENTS)
    ticket = locked_open_ticket(ticket_id, expected_version)
    row = TicketJob.objects.filter(pk=job_id, ticket_id=ticket.pk).first()
    if row is None:
        raise NotHere("job of this ticket")
    if state not in TicketJob.State.values:
        raise Refused({"state": f"{state[:12]!r} is not a state of a job; choose to_do, done or left_out."})
    reason = " ".join(reason.split())
    if state == TicketJob.State.LEFT_OUT and not reason:
        raise Refused({"reason": "Say why it is left out; the client will ask."})
    if row.state == state:
        return row
    row.state, row.reason = state, reason if state == TicketJob.State.LEFT_OUT else ""
    row.save(update_fields=["state", "reason"])
    if ticket.state == Ticket.State.TAKEN_IN and state == TicketJob.State.DONE:
        ticket.state = Ticket.State.IN_WORK
    if ticket.state == Ticket.State.READY and state == TicketJob.State.TO_DO:
        ticket.state = Ticket.State.IN_WORK
    touch(ticket)
    words = f"{row.get_state_display()}: {job_kinds()[row.job].name if row.job in job_kinds() else row.job}"
    happened(actor, ticket, TicketEvent.What.JOB, f"{words} ({row.reason})" if row.reason else words)
    record_act(actor, "settle_job", row, client_id=ticket.garment.client_id, state=state)
    return row


def checked_job(actor: Actor, wanted: WantedJob, garment: Garment) -> tuple[TicketJob, dict[str, str]]:
    """The row of a wanted job (not saved) and why it can't be taken on, by field."""
    kind = job_kinds().get(wanted.job)
    if kind is None:
        listed = ", ".join(job_kinds())
        return TicketJob(job="", price_minor=0), {"job": f"Choose what is to be done; one of {listed}."}
    reasons = _length_reasons(wanted)
    if kind.needs_amount and wanted.amount_mm is None:
        reasons["amount"] = f"{kind.name}: {kind.amount[0].lower()}{kind.amount[1:]}?"
    where = " ".join(wanted.where.split())
    if wanted.job == "other" and not where:
        reasons["where"] = "Say in words what is wanted."
    row = TicketJob(job=wanted.job, where=where, amount_mm=wanted.amount_mm)
    if kind.room is not None:
        reasons |= _room(row, wanted, kind, garment.client.unit, reasons)
    price = wanted.price_minor
    if price is None:
        line = usual_price(price_lines(actor, active=True), wanted.job, garment.kind)
        if line is None:
            reasons["price"] = f"{kind.name}: the price list has no one price for it; say what it costs."
        price = line.price.minor if line else 0
    reasons |= price_reason("price", price)
    row.price_minor = max(price, 0)
    return row, reasons


def locked_ticket(ticket_id: UUID, expected_version: int | None = None) -> Ticket:
    """Lock a ticket to write about it: its client first, then the garment, then itself.

    Raises NotHere, Stale, and Conflict where the client was erased.
    """
    garment_id = Ticket.objects.filter(pk=ticket_id).values_list("garment_id", flat=True).first()
    if garment_id is None:
        raise NotHere("ticket")
    locked_garment(garment_id)
    return lock_for_edit(Ticket, ticket_id, expected_version)


def locked_open_ticket(ticket_id: UUID, expected_version: int | None = None) -> Ticket:
    """The same for a ticket that is neither handed over nor given up."""
    ticket = locked_ticket(ticket_id, expected_version)
    if ticket.state not in OPEN_STATES:
        raise Conflict(
            f"Ticket {ticket_words(ticket.number)} is {ticket.get_state_display().lower()}; "
            "open it again before anything is changed."
        )
    return ticket


def touch(ticket: Ticket) -> None:
    """Count the ticket's version up: something that belongs to it has changed."""
    ticket.version += 1
    ticket.save(update_fields=["version", "state", "changed_at"])


def happened(actor: Actor | None, ticket: Ticket, what: str, words: str = "") -> TicketEvent:
    """Write down what happened to a ticket."""
    return save_new(
        TicketEvent(
            ticket=ticket,
            what=what,
            state=ticket.state,
            words=words[:400],
            by_id=actor.member_id if actor else None,
        )
    )


def _known_garment(garment_id: UUID, client_id: UUID | None) -> Garment:
    try:
        garment = locked_garment(garment_id)
    except NotHere:
        raise Refused({"garment": "There is no such garment in this studio."}) from None
    if client_id is not None and garment.client_id != client_id:
        raise Refused({"garment": "This garment is another client's."})
    return garment


def _new_garment(actor: Actor, client: Client, *, words: str, kind: str, for_child: bool) -> Garment:
    garment = open_garment(actor, client_id=client.pk, kind=kind, words=words, for_child=for_child)
    garment.ready_made = True
    garment.save(update_fields=["ready_made"])
    return garment


def _client(actor: Actor, client_id: UUID | None, new: NewClient | None) -> Client:
    if client_id is not None:
        try:
            return client_here(client_id)
        except (NotHere, Conflict):
            raise Refused({"client": "There is no such client in this studio."}) from None
    if new is None or not new.name.strip():
        raise Refused({"client_name": "Whose is it? Find the client, or give a name."})
    name, reach = " ".join(new.name.split()), new.reach.strip()
    if not new.same_name and Client.objects.filter(name__iexact=name, erased_at=None).exists():
        raise Refused(
            {
                "client_name": f"{name} is recorded already. Find her above, or say that this is somebody else "
                "of the same name."
            }
        )
    try:
        return record_client(
            actor,
            name=name,
            unit=actor.unit,
            email=reach if "@" in reach else "",
            telephone="" if "@" in reach else reach,
        )
    except Refused as exc:
        names = {"name": "client_name", "email": "client_reach", "telephone": "client_reach"}
        raise Refused({names.get(field, field): text for field, text in exc.reasons.items()}) from None


def _length_reasons(wanted: WantedJob) -> dict[str, str]:
    reasons = {}
    for field, value in (
        ("amount", wanted.amount_mm),
        ("allowance", wanted.allowance_mm),
        ("keep", wanted.keep_mm),
    ):
        if value is None:
            continue
        if not value.is_finite() or value < 0 or (field == "amount" and value == 0):
            reasons[field] = "A length is more than nothing, or left empty."
        elif value > MOST_MM:
            reasons[field] = f"{value.normalize():f} mm is more than {MOST_MM} mm: check the unit."
    return reasons


def _room(
    row: TicketJob, wanted: WantedJob, kind: JobKind, unit: str, known: dict[str, str]
) -> dict[str, str]:
    """Set what is wanted against what lies inside; nothing is promised that the cloth can't give."""
    room = kind.room
    assert room is not None
    edges = wanted.edges or room.edges[0][0]
    if edges not in {number for number, _ in room.edges}:
        listed = ", ".join(f"{number} ({words})" for number, words in room.edges)
        return {"edges": f"{kind.name} is shared by {listed}, not by {edges}."}
    if wanted.allowance_mm is None:
        return {
            "allowance": f"{room.words}: measure it and write it down, so that nothing is promised that isn't there."
        }
    keep = wanted.keep_mm if wanted.keep_mm is not None else Decimal(str(room.keep_mm))
    row.allowance_mm, row.keep_mm, row.edges = wanted.allowance_mm, keep, edges
    if wanted.amount_mm is None or known.keys() & {"amount", "allowance", "keep"}:
        return {}
    reach = reach_of(wanted.amount_mm, wanted.allowance_mm, keep, edges, lambda mm: exact_words(mm, unit))
    if reach.enough:
        return {}
    most = exact_words(let_out_limit(float(wanted.allowance_mm), float(keep), edges), unit)
    return {"amount": f"{reach.words} Promise {most} at most, or set in a piece (as another job)."}
