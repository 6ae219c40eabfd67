"""What this wing brings to the first page, to a client's page and to her export."""

from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef

from fitting.models import (
    AcceptedEase,
    CheckpointAnswer,
    FitPlan,
    FitReport,
    FittingSession,
    Garment,
    ReportLink,
    SignOff,
)
from fitting.queries.fittings import sessions_of
from fitting.queries.garments import bench
from fitting.queries.past_fits import past_garments
from studio.platform.rights import Actor, Right

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
    """A client's garments with accepted ease and changes made."""
    return {"client_id": client_id, "garments": past_garments(actor, [client_id])[client_id]}


def export_of(actor: Actor, client_id: UUID) -> dict[str, Any]:
    """Everything that this wing knows of a client, as plain data that JSON can hold."""
    actor.need(Right.EXPORT_AND_ERASE)
    garments = list(
        Garment.objects.filter(client_id=client_id).select_related("pattern", "cloth").order_by("id")
    )
    ids = [garment.pk for garment in garments]
    answers = list(CheckpointAnswer.objects.filter(garment_id__in=ids).order_by("id"))
    sessions = sessions_of(ids)
    return {
        "garments": [
            {
                "id": str(garment.pk),
                "kind": garment.kind,
                "words": garment.words,
                "pattern": garment.pattern.name if garment.pattern else None,
                "cloth": garment.cloth.name if garment.cloth else None,
                "due": garment.due.isoformat() if garment.due else None,
                "state": garment.state,
                "notes": garment.notes,
                "opened_at": garment.created_at.isoformat(),
                "checkpoints": [
                    {
                        "checkpoint": row.checkpoint,
                        "answer": row.answer,
                        "reason": row.reason,
                        "at": row.at.isoformat(),
                    }
                    for row in answers
                    if row.garment_id == garment.pk
                ],
                "sessions": [_session(session) for session in sessions if session.garment_id == garment.pk],
            }
            for garment in garments
        ],
        "plans": [
            {
                "id": str(plan.pk),
                "number": plan.number,
                "state": plan.state,
                "inputs": plan.inputs,
                "result": plan.result,
            }
            for plan in FitPlan.objects.filter(client_id=client_id).order_by("id")
        ],
        "accepted_ease": [
            {
                "garment": str(row.garment_id),
                "zone": row.zone,
                "ease_mm": str(row.ease_mm),
                "at": row.at.isoformat(),
            }
            for row in AcceptedEase.objects.filter(client_id=client_id).order_by("id")
        ],
        "reports": [
            {
                "id": str(report.pk),
                "garment": str(report.garment_id),
                "number": report.number,
                "asked_at": report.asked_at.isoformat(),
                "snapshot": report.snapshot,
            }
            for report in FitReport.objects.filter(client_id=client_id).order_by("id")
        ],
        "links": [
            {
                "report": str(link.report_id),
                "made_at": link.made_at.isoformat(),
                "expires_at": link.expires_at.isoformat(),
                "revoked_at": link.revoked_at.isoformat() if link.revoked_at else None,
                "openings": link.openings,
            }
            for link in ReportLink.objects.filter(report__client_id=client_id).order_by("id")
        ],
    }


def _session(session: Any) -> dict[str, Any]:
    return {
        "id": str(session.id),
        "kind": session.kind,
        "held_at": session.held_at.isoformat(),
        "worn": session.worn,
        "posture": session.posture,
        "signed_off": session.sign_off.signed_at.isoformat() if session.sign_off else None,
        "notes": [
            {
                "where": note.where,
                "seen": note.seen,
                "decision": note.decision,
                "amount_mm": str(note.amount_mm) if note.amount_mm is not None else None,
                "decided": note.decided,
                "superseded": note.is_superseded,
            }
            for note in (*session.notes, *session.earlier)
        ],
    }
