"""Reading tickets: the list by due date, one with everything that ties to it, finding one by number or code."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.db.models import F, IntegerField, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from fitting.calc.money import format_money
from fitting.calc.pinned import Reach, reach_of
from fitting.calc.ticket_number import ticket_words, typed_number
from fitting.models import Ticket, TicketEvent, TicketJob, TicketPayment, TicketSlip
from fitting.queries.cautions import Caution, cautions_for, cautions_of_garment
from fitting.queries.fittings import SessionView, sessions_of
from fitting.queries.garments import studio_today
from fitting.queries.prices import JobKind, job_kinds, job_name
from fitting.queries.reports import ReportFile
from studio.calc.units import format_length
from studio.platform import links
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right
from studio.platform.services.files import read_file
from studio.queries.plain import member_names, plain, plain_rows

OPEN_STATES = (Ticket.State.TAKEN_IN, Ticket.State.IN_WORK, Ticket.State.READY)
SLIP_PURPOSE = "slip"
SLIP_JOB, NOTICE_JOB = "ticket_slip", "ready_notice"
# Which state may follow which; what is handed over can be taken back where it was a mistake, with a reason.
MOVES: dict[str, tuple[str, ...]] = {
    Ticket.State.TAKEN_IN: (Ticket.State.IN_WORK, Ticket.State.READY, Ticket.State.GIVEN_UP),
    Ticket.State.IN_WORK: (Ticket.State.READY, Ticket.State.TAKEN_IN, Ticket.State.GIVEN_UP),
    Ticket.State.READY: (Ticket.State.IN_WORK, Ticket.State.GIVEN_UP),
    Ticket.State.HANDED_OVER: (Ticket.State.READY,),
    Ticket.State.GIVEN_UP: (Ticket.State.TAKEN_IN,),
}


@dataclass(frozen=True)
class JobLine:
    """One job in words; ``reach`` only where something must be let out of what lies inside."""

    row: TicketJob
    name: str
    kind: JobKind | None
    amount: str
    allowance: str
    keep: str
    reach: Reach | None
    price: str


@dataclass(frozen=True)
class PaymentLine:
    row: TicketPayment
    text: str
    corrected: bool


@dataclass(frozen=True)
class Sums:
    """Money of a ticket in the smallest unit of its currency; ``owed`` below zero is to be given back."""

    currency: str
    total: int
    paid: int

    @property
    def owed(self) -> int:
        return self.total - self.paid

    @property
    def total_text(self) -> str:
        return format_money(self.total, self.currency)

    @property
    def paid_text(self) -> str:
        return format_money(self.paid, self.currency)

    @property
    def owed_text(self) -> str:
        return format_money(abs(self.owed), self.currency)


@dataclass(frozen=True)
class TicketView:
    """A ticket with everything that its page shows."""

    ticket: Ticket
    jobs: tuple[JobLine, ...]
    sums: Sums
    payments: tuple[PaymentLine, ...]
    events: tuple[TicketEvent, ...]
    slips: tuple[TicketSlip, ...]
    sessions: tuple[SessionView, ...]
    others: tuple[Ticket, ...]  # of the same garment, newest first
    moves: tuple[str, ...]
    cautions: tuple[Caution, ...]
    wearer_cautions: tuple[Caution, ...]
    is_due: bool
    told_to: str  # who would be told that it is ready
    told_at: str  # her email; empty where there is none

    @property
    def number(self) -> str:
        return ticket_words(self.ticket.number)

    @property
    def is_open(self) -> bool:
        return self.ticket.state in OPEN_STATES

    @property
    def to_do(self) -> int:
        return sum(line.row.state == TicketJob.State.TO_DO for line in self.jobs)


@dataclass(frozen=True)
class TicketLine:
    """One line of the list."""

    ticket: Ticket
    number: str
    wanted: str
    owed: str
    is_due: bool


def ticket_list(
    actor: Actor, *, state: str = "", garment_id: UUID | None = None, client_id: UUID | None = None
) -> "QuerySet[Ticket]":
    """The studio's tickets with ``total`` and ``paid`` (smallest unit), newest first.

    ``state`` is one of the states, "open" (not handed over, not given up) or "" for all.
    """
    actor.need(Right.KEEP_GARMENTS)
    rows = Ticket.objects.select_related("garment__client", "taken_in_by").annotate(
        total=_sum_of(TicketJob.objects.filter(~Q(state=TicketJob.State.LEFT_OUT)), "price_minor"),
        paid=_sum_of(TicketPayment.objects.all(), "minor"),
    )
    if state == "open":
        rows = rows.filter(state__in=OPEN_STATES, garment__client__erased_at=None)
    elif state:
        rows = rows.filter(state=state)
    if garment_id:
        rows = rows.filter(garment_id=garment_id)
    if client_id:
        rows = rows.filter(garment__client_id=client_id)
    return rows.order_by("-id")


def ticket_lines(
    actor: Actor, *, state: str = "open", garment_id: UUID | None = None, most: int = 200
) -> list[TicketLine]:
    """The list as it is worked through: due first, those without a date last. Two queries."""
    today = studio_today(actor)
    rows = list(
        ticket_list(actor, state=state, garment_id=garment_id)
        .prefetch_related("jobs")
        .order_by(F("due").asc(nulls_last=True), "number")[:most]
    )
    return [
        TicketLine(
            row,
            ticket_words(row.number),
            ", ".join(
                job_name(job.job)
                for job in sorted(row.jobs.all(), key=lambda job: job.place)
                if job.state != TicketJob.State.LEFT_OUT
            ),
            sums_of(row).owed_text,
            _is_due(row, today),
        )
        for row in rows
    ]


def ticket_row(actor: Actor, ticket_id: UUID) -> Ticket:
    """One ticket with garment, client, ``total`` and ``paid``; raises NotHere."""
    found: Ticket | None = ticket_list(actor).filter(pk=ticket_id).first()
    if found is None:
        raise NotHere("ticket")
    return found


def ticket_get(actor: Actor, ticket_id: UUID) -> TicketView:
    """One ticket with everything that ties to it; a constant number of queries. Raises NotHere."""
    ticket = ticket_row(actor, ticket_id)
    garment, client = ticket.garment, ticket.garment.client
    jobs = job_lines(ticket, list(TicketJob.objects.filter(ticket_id=ticket.pk).order_by("place")))
    payments = list(
        TicketPayment.objects.filter(ticket_id=ticket.pk)
        .select_related("taken_by", "corrects")
        .order_by("id")
    )
    corrected = {row.corrects_id for row in payments if row.corrects_id}
    name, at = tell_whom(client, studio_today(actor))
    return TicketView(
        ticket=ticket,
        jobs=tuple(jobs),
        sums=sums_of(ticket),
        payments=tuple(
            PaymentLine(row, format_money(row.minor, ticket.currency), row.pk in corrected)
            for row in payments
        ),
        events=tuple(TicketEvent.objects.filter(ticket_id=ticket.pk).select_related("by").order_by("-id")),
        slips=tuple(TicketSlip.objects.filter(ticket_id=ticket.pk).order_by("-number")),
        sessions=tuple(sessions_of([garment.pk], with_notes=False)),
        others=tuple(Ticket.objects.filter(~Q(pk=ticket.pk), garment_id=garment.pk).order_by("-id")),
        moves=MOVES[ticket.state],
        cautions=bench_cautions(jobs),
        wearer_cautions=child_cautions(jobs, for_child=garment.for_child),
        is_due=_is_due(ticket, studio_today(actor)),
        told_to=name,
        told_at=at,
    )


def sums_of(ticket: Any) -> Sums:
    """The money of a ticket that came from ``ticket_list``, which asks for the sums along with the row."""
    return Sums(ticket.currency, ticket.total, ticket.paid)


def job_lines(ticket: Ticket, rows: list[TicketJob]) -> list[JobLine]:
    """Jobs in words, lengths in the client's unit."""

    def say(mm: Any) -> str:
        return exact_words(mm, ticket.garment.client.unit)

    lines = []
    for row in rows:
        reach = None
        if row.amount_mm is not None and row.allowance_mm is not None and row.edges:
            reach = reach_of(row.amount_mm, row.allowance_mm, row.keep_mm or 0, row.edges, say)
        lines.append(
            JobLine(
                row,
                job_name(row.job),
                job_kinds().get(row.job),
                say(row.amount_mm) if row.amount_mm is not None else "",
                say(row.allowance_mm) if row.allowance_mm is not None else "",
                say(row.keep_mm) if row.keep_mm is not None else "",
                reach,
                format_money(row.price_minor, ticket.currency),
            )
        )
    return lines


def exact_words(mm: Any, unit: str) -> str:
    """A length as it is sewn: to half a millimetre or a sixteenth where the usual step would round it."""
    usual, finer = (1.0, 0.05) if unit == "cm" else (3.175, 1 / 16)
    steps = float(mm) / usual
    return format_length(mm, unit, finer if abs(steps - round(steps)) > 0.02 else None)


def bench_cautions(lines: list[JobLine]) -> tuple[Caution, ...]:
    """What whoever does these jobs should mind, each once; pins come first: a garment that was pinned holds them."""
    steps = {step for line in lines if line.kind for step in line.kind.steps} | {"basting"}
    return tuple(cautions_for(step=steps))


def child_cautions(lines: list[JobLine], *, for_child: bool) -> tuple[Caution, ...]:
    """What whoever wears it should know: all that could matter on a child's garment, and of the materials put in."""
    materials = {one for line in lines if line.kind for one in line.kind.materials}
    return tuple(cautions_of_garment(for_child=for_child, materials=materials))


def tell_whom(client: Any, today: date) -> tuple[str, str]:
    """(name, email) of whom a notice goes to: the client, or a minor's guardian; the email may be empty."""
    if client.is_minor(today):
        return client.guardian_name, client.guardian_email
    return client.name, client.email


def slip_code(ticket: Ticket) -> str:
    """The opaque signed code on a slip: studio and ticket, nothing about a person."""
    assert ticket.studio_id is not None
    return links.sign(SLIP_PURPOSE, ticket.studio_id, ticket.pk)


def find_ticket(actor: Actor, words: str) -> Ticket | None:
    """The ticket whose number was typed or whose slip was scanned (the code, or the whole address); None for no such.

    Another studio's code finds nothing. One query at most.
    """
    actor.need(Right.KEEP_GARMENTS)
    plain_words = words.strip()
    number = typed_number(plain_words)
    if number is not None:
        found: Ticket | None = ticket_list(actor).filter(number=number).first()
        return found
    if ":" not in plain_words:
        return None
    code = plain_words.rstrip("/").rsplit("/", 1)[-1]  # a scanner types the whole address
    try:
        studio_id, ticket_id = links.verify(SLIP_PURPOSE, code)
    except NotHere:
        return None
    if studio_id != actor.studio_id:
        return None
    return ticket_list(actor).filter(pk=ticket_id).first()


def slip_file(actor: Actor, ticket_id: UUID, slip_id: UUID) -> ReportFile:
    """A printed slip as it was stored; raises NotHere for one that is not drawn yet or not of this ticket."""
    actor.need(Right.KEEP_GARMENTS)
    row = TicketSlip.objects.filter(pk=slip_id, ticket_id=ticket_id).select_related("file").first()
    if row is None or row.file is None or not default_storage.exists(row.file.key):
        raise NotHere("slip")
    return ReportFile(name=row.file.name, content=read_file(row.file), sha256=row.file.sha256)


def tickets_export(client_id: UUID) -> list[dict[str, Any]]:
    """Everything about a client's tickets as plain data; a constant number of queries."""
    members = member_names()
    mine: dict[str, Any] = {"ticket__garment__client_id": client_id}
    parts: dict[str, dict[UUID, list[dict[str, Any]]]] = {}
    models: tuple[tuple[str, Any], ...] = (
        ("jobs", TicketJob),
        ("payments", TicketPayment),
        ("events", TicketEvent),
        ("slips", TicketSlip),
    )
    for name, model in models:
        rows = model.objects.filter(**mine).order_by("id")
        of: dict[UUID, list[dict[str, Any]]] = {}
        for row, told in zip(rows, plain_rows(rows, members), strict=True):
            of.setdefault(row.ticket_id, []).append(told)
        parts[name] = of
    return [
        {
            **plain(ticket, members),
            "number": ticket_words(ticket.number),
            **{name: of.get(ticket.pk, []) for name, of in parts.items()},
        }
        for ticket in Ticket.objects.filter(garment__client_id=client_id).order_by("id")
    ]


def _sum_of(rows: Any, field: str) -> Any:
    grouped = rows.filter(ticket_id=OuterRef("pk")).order_by().values("ticket_id")
    return Coalesce(
        Subquery(grouped.annotate(found=Sum(field)).values("found"), output_field=IntegerField()), 0
    )


def _is_due(ticket: Ticket, today: date) -> bool:
    return bool(ticket.state in OPEN_STATES and ticket.due is not None and ticket.due <= today)
