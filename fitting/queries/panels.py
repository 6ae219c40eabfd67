"""What this wing brings to the first page, to a client's page and to her export."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef

from fitting.models import (
    AcceptedEase,
    Appointment,
    CheckpointAnswer,
    ClientAgreement,
    CuttingSheet,
    FitNote,
    FitPhoto,
    FitPlan,
    FitReport,
    FittingSession,
    Garment,
    GarmentSeam,
    IssuedReport,
    LayLine,
    PlanOverrule,
    PlanTick,
    ReportLink,
    SignOff,
)
from fitting.queries.garments import bench
from fitting.queries.learnt import client_learnt
from fitting.queries.past_fits import past_garments
from fitting.queries.tickets import tickets_export
from studio.models import Client
from studio.platform import links
from studio.platform.rights import Actor, Right
from studio.queries.plain import member_names, plain, plain_rows

SHOWN_AT_HOME = 6


def of_home(actor: Actor, studio_id: UUID) -> dict[str, Any]:
    """The bench at one look: how many wait for what, and the first to fall due."""
    found = bench(actor)
    rows = sorted(
        (row for group in found.groups for row in group.rows if row.garment.due is not None),
        key=lambda row: (row.garment.due, row.garment.pk),
    )
    return {"bench": found, "rows": rows[:SHOWN_AT_HOME], "fittings": _to_sign_off(actor)}


def _to_sign_off(actor: Actor) -> list[FittingSession]:
    """Fittings in work that nobody has signed off yet, the oldest first; for those who fit."""
    if not actor.may(Right.FIT):
        return []
    signed = SignOff.objects.filter(session=OuterRef("pk"))
    return list(
        FittingSession.objects.filter(
            ~Exists(signed), garment__state=Garment.State.OPEN, garment__client__erased_at=None
        )
        .select_related("garment__client")
        .order_by("held_at", "id")[:SHOWN_AT_HOME]
    )


def of_client(actor: Actor, client_id: UUID) -> dict[str, Any]:
    """A client's garments with accepted ease and changes made, and what she always needs."""
    garments = past_garments(actor, [client_id])[client_id]
    unit = Client.objects.values_list("unit", flat=True).get(pk=client_id)
    return {"client_id": client_id, "garments": garments, "learnt": client_learnt(actor, client_id, unit)}


def export_of(actor: Actor, client_id: UUID) -> dict[str, Any]:
    """Everything that this wing knows of a client, every column of it, as plain data that JSON can hold.

    A report's PDF is not in it, but the address at which a member of the studio opens it.
    """
    actor.need(Right.EXPORT_AND_ERASE)
    members = member_names()
    garments = list(
        Garment.objects.filter(client_id=client_id).select_related("pattern", "cloth").order_by("id")
    )
    of_garments = {"garment__client_id": client_id}
    answers = _by(CheckpointAnswer.objects.filter(**of_garments).order_by("id"), "garment_id", members)
    agreed = _by(Appointment.objects.filter(**of_garments).order_by("id"), "garment_id", members)
    lays = _by(LayLine.objects.filter(**of_garments).order_by("id"), "garment_id", members)
    seams = _by(GarmentSeam.objects.filter(**of_garments).order_by("id"), "garment_id", members)
    notes = _by(
        FitNote.objects.filter(session__garment__client_id=client_id).order_by("id"), "session_id", members
    )
    photos = _by(FitPhoto.objects.filter(client_id=client_id).order_by("id"), "note_id", members)
    for rows in notes.values():
        for note in rows:
            note["photos"] = photos[UUID(str(note["id"]))]
    signed = _by(
        SignOff.objects.filter(session__garment__client_id=client_id).order_by("id"), "session_id", members
    )
    own_words = _by(
        ClientAgreement.objects.filter(session__garment__client_id=client_id).order_by("id"),
        "session_id",
        members,
    )
    sessions: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for session in FittingSession.objects.filter(**of_garments).order_by("held_at", "id"):
        sessions[session.garment_id].append(
            {
                **plain(session, members),
                "notes": notes[session.pk],
                "sign_off": next(iter(signed[session.pk]), None),
                "client_agreement": next(iter(own_words[session.pk]), None),
            }
        )
    issued = _by(IssuedReport.objects.filter(report__client_id=client_id), "report_id", members)
    return {
        "garments": [
            {
                **plain(garment, members),
                "pattern": garment.pattern.name if garment.pattern else None,
                "cloth": garment.cloth.name if garment.cloth else None,
                "seams": seams[garment.pk],
                "checkpoints": answers[garment.pk],
                "agreed_fittings": agreed[garment.pk],
                "lay_lines": lays[garment.pk],
                "sessions": sessions[garment.pk],
            }
            for garment in garments
        ],
        "plans": plain_rows(FitPlan.objects.filter(client_id=client_id).order_by("id"), members),
        "plan_overrules": plain_rows(
            PlanOverrule.objects.filter(plan__client_id=client_id).order_by("id"), members
        ),
        "plan_ticks": plain_rows(PlanTick.objects.filter(plan__client_id=client_id).order_by("id"), members),
        "cutting_sheets": plain_rows(
            CuttingSheet.objects.filter(client_id=client_id).order_by("id"), members
        ),
        "accepted_ease": plain_rows(AcceptedEase.objects.filter(client_id=client_id).order_by("id"), members),
        "reports": [
            {
                **plain(report, members),
                "issued": next(iter(issued[report.pk]), None),
                "pdf_address": links.address("fitting:report-pdf", str(report.pk))
                if issued[report.pk]
                else None,
            }
            for report in FitReport.objects.filter(client_id=client_id).order_by("id")
        ],
        "tickets": tickets_export(client_id),
        "links": plain_rows(ReportLink.objects.filter(report__client_id=client_id).order_by("id"), members),
    }


def _by(rows: Iterable[Any], field: str, members: Mapping[UUID, str]) -> dict[UUID, list[dict[str, Any]]]:
    """Plain rows by what they belong to."""
    found: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        found[getattr(row, field)].append(plain(row, members))
    return found
