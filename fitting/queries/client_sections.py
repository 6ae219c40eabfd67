"""What this wing keeps about a client, as she reads it herself."""

from uuid import UUID

from fitting.calc.money import format_money
from fitting.calc.ticket_number import ticket_words
from fitting.models import (
    AcceptedEase,
    Appointment,
    FitNote,
    FitPhoto,
    FitPlan,
    FitReport,
    FittingSession,
    Garment,
    ReportLink,
    Ticket,
    TicketJob,
    TicketPayment,
)
from fitting.queries.paper_zones import zone_name
from fitting.queries.prices import job_name
from studio.calc.units import format_difference, format_length
from studio.models import Client
from studio.platform.registries import Section
from studio.platform.rights import Actor, Right
from studio.queries.client_sections import day


def sections_of(actor: Actor, client_id: UUID) -> list[Section]:
    """Garments, plans, fittings with what was seen, ease, tickets with what was paid, reports and links."""
    actor.need(Right.EXPORT_AND_ERASE)
    unit = Client.objects.values_list("unit", flat=True).get(pk=client_id)
    return [
        _garments(client_id),
        _plans(client_id),
        _agreed(client_id),
        _fittings(client_id, unit),
        _ease(client_id, unit),
        *_tickets(client_id, unit),
        _reports(client_id),
    ]


def _garments(client_id: UUID) -> Section:
    rows = Garment.objects.filter(client_id=client_id).select_related("pattern", "cloth").order_by("id")
    return Section(
        "Your garments",
        ("Since", "Garment", "From", "State"),
        [
            (
                day(row.created_at),
                row.words + (f" ({row.notes})" if row.notes else ""),
                ", ".join(part for part in (str(row.pattern or ""), str(row.cloth or "")) if part),
                row.get_state_display(),
            )
            for row in rows
        ],
        "No garment was made or altered for you.",
    )


def _plans(client_id: UUID) -> Section:
    rows = FitPlan.objects.filter(client_id=client_id).select_related("pattern", "planned_by").order_by("id")
    return Section(
        "Patterns measured against your body",
        ("Day", "Pattern", "Plan", "By"),
        [
            (
                day(row.created_at),
                row.pattern.name,
                f"No. {row.number}, {row.get_state_display().lower()}",
                row.planned_by.name,
            )
            for row in rows
        ],
        "No pattern was measured against your body.",
        "Each plan holds the body figures that it was made from; they stand in the data file in full.",
    )


def _agreed(client_id: UUID) -> Section:
    rows = Appointment.objects.filter(garment__client_id=client_id).select_related("garment").order_by("id")
    return Section(
        "Fittings agreed on",
        ("Day", "Garment", "State"),
        [
            (
                day(row.starts_at),
                row.garment.words + (f" ({row.note})" if row.note else ""),
                row.get_state_display(),
            )
            for row in rows
        ],
        "None.",
    )


def _fittings(client_id: UUID, unit: str) -> Section:
    sessions = (
        FittingSession.objects.filter(garment__client_id=client_id)
        .select_related("garment", "fitted_by")
        .order_by("held_at", "id")
    )
    pictured = set(FitPhoto.objects.filter(client_id=client_id).values_list("note_id", flat=True))
    notes: dict[UUID, list[FitNote]] = {}
    for note in FitNote.objects.filter(session__garment__client_id=client_id).order_by("id"):
        notes.setdefault(note.session_id, []).append(note)
    rows = []
    for session in sessions:
        about = f"{session.garment.words}, {session.get_kind_display().lower()}, {session.fitted_by.name}"
        rows.append((day(session.held_at), about, session.posture, session.worn))
        for note in notes.get(session.pk, []):
            amount = "" if note.amount_mm is None else f" {format_length(note.amount_mm, unit)}"
            rows.append(
                (
                    "",
                    f"{zone_name(note.place)}, {note.side}: {note.seen}",
                    f"{note.get_decision_display()}{amount}. {note.decided}".strip(),
                    "photographed" if note.pk in pictured else "",
                )
            )
    return Section(
        "What was seen at fittings",
        ("Day", "Fitting, and what was seen", "Decided, posture", "Worn, photographs"),
        rows,
        "No fitting was held.",
    )


def _ease(client_id: UUID, unit: str) -> Section:
    rows = AcceptedEase.objects.filter(client_id=client_id).select_related("garment").order_by("id")
    return Section(
        "Room that you were content with",
        ("Day", "Garment", "Where", "Ease"),
        [
            (day(row.at), row.garment.words, zone_name(row.zone), format_difference(row.ease_mm, unit))
            for row in rows
        ],
        "Nothing was learnt yet.",
    )


def _tickets(client_id: UUID, unit: str) -> list[Section]:
    tickets = list(
        Ticket.objects.filter(garment__client_id=client_id).select_related("garment").order_by("id")
    )
    mine = {"ticket__garment__client_id": client_id}
    by_id = {ticket.pk: ticket for ticket in tickets}
    jobs: dict[UUID, list[str]] = {}
    for job in TicketJob.objects.filter(**mine).order_by("ticket_id", "place"):
        amount = "" if job.amount_mm is None else f", {format_length(job.amount_mm, unit)}"
        price = format_money(job.price_minor, by_id[job.ticket_id].currency)
        jobs.setdefault(job.ticket_id, []).append(f"{job_name(job.job)} {job.where}{amount}: {price}")
    return [
        Section(
            "Tickets",
            ("Day", "Ticket", "What was wanted", "State"),
            [
                (
                    day(ticket.created_at),
                    f"{ticket_words(ticket.number)}, {ticket.garment.words}"
                    + (f" ({ticket.note})" if ticket.note else ""),
                    "; ".join(jobs.get(ticket.pk, [])),
                    ticket.get_state_display(),
                )
                for ticket in tickets
            ],
            "There is no ticket.",
        ),
        Section(
            "What was paid",
            ("Day", "Ticket", "Amount", "How"),
            [
                (
                    day(paid.at),
                    ticket_words(by_id[paid.ticket_id].number),
                    format_money(paid.minor, by_id[paid.ticket_id].currency),
                    paid.get_way_display() + (", deposit" if paid.deposit else ""),
                )
                for paid in TicketPayment.objects.filter(**mine).order_by("at", "id")
            ],
            "Nothing was paid.",
        ),
    ]


def _reports(client_id: UUID) -> Section:
    reports = FitReport.objects.filter(client_id=client_id).select_related("garment").order_by("id")
    links: dict[UUID, list[str]] = {}
    for link in ReportLink.objects.filter(report__client_id=client_id).order_by("id"):
        ends = "revoked" if link.revoked_at else f"until {day(link.expires_at)}"
        links.setdefault(link.report_id, []).append(f"{ends}, opened {link.openings} times")
    return Section(
        "Fit reports and their links",
        ("Day", "Garment", "Links"),
        [
            (
                day(row.asked_at),
                f"{row.garment.words}, report {row.number}",
                "; ".join(links.get(row.pk, [])) or "none",
            )
            for row in reports
        ],
        "No report was made.",
    )
