"""Whom an address is about, as far as this wing's parts of addresses name somebody."""

from collections.abc import Callable
from uuid import UUID

from django.db.models import Model

from fitting.models import (
    Appointment,
    FitNote,
    FitPhoto,
    FitPlan,
    FitReport,
    FittingSession,
    Garment,
    ReportLink,
    Ticket,
)
from fitting.queries.class_reports import clients_of_batch
from studio.platform.registries import Subject


def _through(model: type[Model], path: str) -> Callable[[UUID], list[UUID]]:
    """The client at the end of a path of references; nobody where she was erased, or where nothing is there."""
    alive = {f"{path.removesuffix('_id')}__erased_at": None}

    def clients_of(named: UUID) -> list[UUID]:
        rows = model.objects.filter(pk=named, **alive)  # type: ignore[attr-defined]
        return list(rows.values_list(path, flat=True))

    return clients_of


SUBJECTS_HERE = {
    "garment_id": Subject("a garment", _through(Garment, "client_id")),
    "plan_id": Subject("a fit plan", _through(FitPlan, "client_id")),
    "session_id": Subject("a fitting", _through(FittingSession, "garment__client_id")),
    "note_id": Subject("a fitting", _through(FitNote, "session__garment__client_id")),
    "photo_id": Subject("a photograph", _through(FitPhoto, "client_id")),
    "report_id": Subject("a fit report", _through(FitReport, "client_id")),
    "batch_id": Subject("fit reports of a class", clients_of_batch),
    "link_id": Subject("a link to a report", _through(ReportLink, "report__client_id")),
    "appointment_id": Subject("an agreed fitting", _through(Appointment, "garment__client_id")),
    "ticket_id": Subject("a ticket", _through(Ticket, "garment__client_id")),
}
