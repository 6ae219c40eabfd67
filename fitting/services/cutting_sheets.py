"""The cutting table's sheet: asked for with a frozen snapshot, drawn in the background, kept as a file."""

from typing import Any
from uuid import UUID

from django.utils import timezone

from fitting.models import CuttingSheet
from fitting.queries.cutting_sheets import SHEET_JOB, sheet_snapshot
from fitting.queries.plans import plan_get
from fitting.reports.cutting import Sheet, render_sheet
from studio.platform.errors import Conflict, JobFailed, NotHere
from studio.platform.models.base import new_id
from studio.platform.queries.people import studio_get
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import store_file
from studio.platform.services.jobs import ask_for
from studio.platform.services.saving import save_new
from studio.reports.pdf import CannotRender
from studio.services.clients import client_here


def ask_cutting_sheet(actor: Actor, plan_id: UUID) -> CuttingSheet:
    """Ask for the one-page sheet of an approved plan; the snapshot, the sheet and its job come together.

    Raises NotHere, Conflict (not approved, or the client was erased).
    """
    actor.need(Right.KEEP_PAPER, Right.READ_FIT_PLANS)
    plan = plan_get(actor, plan_id)
    client = client_here(plan.client_id)
    if plan.state != "approved":
        raise Conflict("Approve the plan first: only what is approved goes to the cutting table.")
    now = timezone.now().astimezone(actor.zone)
    sheet_id = new_id()
    job = ask_for(actor, SHEET_JOB, {"sheet": str(sheet_id)})
    sheet = save_new(
        CuttingSheet(
            id=sheet_id,
            plan_id=plan_id,
            client_id=plan.client_id,
            snapshot=sheet_snapshot(
                plan, studio=studio_get(actor), made_at=now, child=client.is_minor(now.date())
            ),
            job=job,
            asked_by_id=actor.member_id,
        )
    )
    record_act(actor, "ask_cutting_sheet", sheet, client_id=plan.client_id, plan=str(plan_id))
    return sheet


def prepare_cutting_sheet(arguments: dict[str, Any]) -> dict[str, Any]:
    """In scope: the frozen snapshot."""
    named = arguments.get("sheet")
    sheet = CuttingSheet.objects.filter(pk=UUID(named)).first() if named else None
    if sheet is None:
        raise JobFailed("This sheet is not there any more: its client was erased on request.")
    snapshot: dict[str, Any] = sheet.snapshot
    return snapshot


def work_cutting_sheet(snapshot: dict[str, Any], progress: Progress) -> Sheet:
    """Without a database: the PDF."""
    try:
        return render_sheet(snapshot, progress)
    except CannotRender as exc:
        raise JobFailed(str(exc)) from exc


def finish_cutting_sheet(
    arguments: dict[str, Any], snapshot: dict[str, Any], output: Sheet
) -> dict[str, Any]:
    """In scope: keep the PDF once. Raises NotHere where the sheet went with its client meanwhile."""
    sheet = (
        CuttingSheet.objects.select_for_update(no_key=True, of=("self",))
        .filter(pk=UUID(arguments["sheet"]))
        .first()
    )
    if sheet is None:
        raise NotHere("cutting sheet")
    if sheet.file_id is None:
        sheet.file = store_file(
            output.pdf, name="cutting-sheet.pdf", media_type="application/pdf", client_id=sheet.client_id
        )
        sheet.pages = output.pages
        sheet.save(update_fields=["file", "pages"])
    return {"sheet": str(sheet.pk), "plan": str(sheet.plan_id), "pages": output.pages}
