"""The table's sheet of a lay: asked for with a frozen snapshot, drawn in the background, kept as a file."""

from typing import Any
from uuid import UUID

from django.utils import timezone

from fitting.models import LaySheet
from fitting.queries.lay_sheets import LAY_SHEET_JOB, lay_snapshot
from fitting.reports.lay import DrawnSheet, render_lay_sheet
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


def ask_lay_sheet(actor: Actor, lay_id: UUID, *, number: int | None = None) -> LaySheet:
    """Ask for the sheet of the chosen drawing of a lay, or of the one with this number; it comes with its job.

    Raises NotHere, and Conflict where none is chosen yet.
    """
    actor.need(Right.READ_PAPER)
    snapshot, shown = lay_snapshot(
        actor,
        lay_id,
        studio=studio_get(actor),
        made_at=timezone.now().astimezone(actor.zone),
        number=number,
    )
    sheet_id = new_id()
    sheet = save_new(
        LaySheet(
            id=sheet_id,
            lay_id=lay_id,
            number=shown,
            snapshot=snapshot,
            job=ask_for(actor, LAY_SHEET_JOB, {"sheet": str(sheet_id)}),
            asked_by_id=actor.member_id,
        )
    )
    record_act(actor, "ask_lay_sheet", sheet, lay=str(lay_id), number=shown)
    return sheet


def prepare_lay_sheet(arguments: dict[str, Any]) -> dict[str, Any]:
    """In scope: the frozen snapshot."""
    sheet = LaySheet.objects.filter(pk=UUID(arguments["sheet"])).first()
    if sheet is None:
        raise JobFailed("This sheet is not there any more.")
    snapshot: dict[str, Any] = sheet.snapshot
    return snapshot


def work_lay_sheet(snapshot: dict[str, Any], progress: Progress) -> DrawnSheet:
    """Without a database: the PDF."""
    progress(10, "Drawing the strip")
    try:
        return render_lay_sheet(snapshot)
    except CannotRender as exc:
        raise JobFailed(str(exc)) from exc


def finish_lay_sheet(
    arguments: dict[str, Any], snapshot: dict[str, Any], output: DrawnSheet
) -> dict[str, Any]:
    """In scope: keep the PDF once."""
    sheet = (
        LaySheet.objects.select_for_update(no_key=True, of=("self",))
        .filter(pk=UUID(arguments["sheet"]))
        .first()
    )
    if sheet is None:
        raise NotHere("sheet")
    if sheet.file_id is None:
        sheet.file = store_file(output.pdf, name="lay.pdf", media_type="application/pdf")
        sheet.pages = output.pages
        sheet.save(update_fields=["file", "pages"])
    return {"sheet": str(sheet.pk), "lay": str(sheet.lay_id), "pages": output.pages}
