"""Claim slip and work ticket: asked for with a frozen snapshot, drawn in the background, kept as a file."""

from typing import Any
from uuid import UUID

from django.db.models import Max
from django.utils import timezone

from fitting.models import TicketSlip
from fitting.queries.ticket_slips import slip_snapshot
from fitting.queries.tickets import SLIP_JOB, ticket_get
from fitting.reports.slip import Slip, render_slip
from fitting.services.tickets import locked_ticket
from studio.platform.errors import JobFailed, NotHere
from studio.platform.models.base import new_id
from studio.platform.queries.people import studio_get
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import store_file
from studio.platform.services.jobs import ask_for
from studio.platform.services.saving import save_new
from studio.reports.pdf import CannotRender


def ask_slip(actor: Actor, ticket_id: UUID) -> TicketSlip:
    """Ask for the slip of a ticket as it stands now; the snapshot, the slip and its job come together.

    Raises NotHere, Conflict (the client was erased).
    """
    actor.need(Right.KEEP_GARMENTS)
    ticket = locked_ticket(ticket_id)
    last = TicketSlip.objects.filter(ticket_id=ticket.pk).aggregate(last=Max("number"))["last"] or 0
    slip_id = new_id()
    now = timezone.now().astimezone(actor.zone)
    snapshot = slip_snapshot(ticket_get(actor, ticket_id), studio_get(actor), number=last + 1, made_at=now)
    slip = save_new(
        TicketSlip(
            id=slip_id,
            ticket=ticket,
            client_id=ticket.garment.client_id,
            number=last + 1,
            snapshot=snapshot,
            job=ask_for(actor, SLIP_JOB, {"slip": str(slip_id)}),
            asked_by_id=actor.member_id,
        )
    )
    record_act(actor, "ask_slip", slip, client_id=slip.client_id, ticket=str(ticket.pk), number=slip.number)
    return slip


def prepare_slip(arguments: dict[str, Any]) -> dict[str, Any]:
    """In scope: the frozen snapshot."""
    named = arguments.get("slip")
    slip = TicketSlip.objects.filter(pk=UUID(named)).first() if named else None
    if slip is None:
        raise JobFailed("This slip is not there any more: its client was erased on request.")
    snapshot: dict[str, Any] = slip.snapshot
    return snapshot


def work_slip(snapshot: dict[str, Any], progress: Progress) -> Slip:
    """Without a database: the PDF."""
    try:
        return render_slip(snapshot, progress)
    except CannotRender as exc:
        raise JobFailed(str(exc)) from exc


def finish_slip(arguments: dict[str, Any], snapshot: dict[str, Any], output: Slip) -> dict[str, Any]:
    """In scope: keep the PDF once. Raises NotHere where the slip went with its client meanwhile."""
    slip = (
        TicketSlip.objects.select_for_update(no_key=True, of=("self",))
        .filter(pk=UUID(arguments["slip"]))
        .first()
    )
    if slip is None:
        raise NotHere("slip")
    if slip.file_id is None:
        slip.file = store_file(
            output.pdf,
            name=f"Ticket {snapshot['number']} - slip {slip.number}.pdf",
            media_type="application/pdf",
            client_id=slip.client_id,
        )
        slip.sha256, slip.pages, slip.rendered_with = slip.file.sha256, output.pages, output.rendered_with
        slip.save(update_fields=["file", "sha256", "pages", "rendered_with"])
    return {"slip": str(slip.pk), "ticket": str(slip.ticket_id), "pages": slip.pages, "sha256": slip.sha256}
