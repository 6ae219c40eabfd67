"""Long work of this wing, and what it registers with the platform."""

from typing import Any
from uuid import UUID

from django.urls import reverse

from fitting.models import FitReport, IssuedReport
from fitting.queries import client_sections, panels
from fitting.queries.cutting_sheets import SHEET_JOB
from fitting.queries.lay_sheets import LAY_SHEET_JOB
from fitting.queries.lays import LAY_JOB
from fitting.queries.reports import photo_bytes, photos_allowed
from fitting.queries.sending import SENDING_JOB
from fitting.queries.subjects import SUBJECTS_HERE
from fitting.queries.tickets import NOTICE_JOB, SLIP_JOB
from fitting.reports.render import CannotRender, Rendered, render_pdf
from fitting.services.cutting_sheets import (
    finish_cutting_sheet,
    prepare_cutting_sheet,
    work_cutting_sheet,
)
from fitting.services.lay_search import finish_lay, prepare_lay, work_lay
from fitting.services.lay_sheets import finish_lay_sheet, prepare_lay_sheet, work_lay_sheet
from fitting.services.reports import REPORT_JOB, issued_result, store_issued
from fitting.services.sending import finish_sending, prepare_sending, work_sending
from fitting.services.ticket_acts import finish_notice, prepare_notice, work_notice
from fitting.services.ticket_slips import finish_slip, prepare_slip, work_slip
from studio.platform.errors import JobFailed
from studio.platform.registries import (
    CLIENT_EXPORTS,
    COURSE_PAGES,
    HOME_PANELS,
    SUBJECTS,
    JobKind,
    MenuEntry,
    Panel,
    Progress,
    register_eraser,
    register_finder,
    register_job,
    register_menu,
    register_panel,
    register_sections,
)
from studio.platform.rights import Right


def prepare_report(arguments: dict[str, Any]) -> dict[str, Any]:
    """In scope: the frozen snapshot; or, where the report was issued already, the result that it had."""
    # An erasure empties the arguments of her jobs; somebody may still try such a job again.
    named = arguments.get("report")
    report = FitReport.objects.select_related("client").filter(pk=UUID(named)).first() if named else None
    if report is None:
        raise JobFailed("This report is not there any more: its client was erased on request.")
    issued = IssuedReport.objects.filter(report_id=report.pk).first()
    if issued is None and not photos_allowed(report):
        raise JobFailed(
            "The consent to photographs was withdrawn meanwhile: make the report anew, without them."
        )
    return {
        "snapshot": report.snapshot,
        "photos": {} if issued else photo_bytes(report),
        "issued": issued_result(issued) if issued else None,
    }


def work_report(prepared: dict[str, Any], progress: Progress) -> Rendered | None:
    """Without a database: the PDF; nothing where it was issued already."""
    if prepared["issued"]:
        return None
    try:
        return render_pdf(prepared["snapshot"], progress, photos=prepared["photos"])
    except CannotRender as exc:
        raise JobFailed(str(exc)) from exc


def finish_report(
    arguments: dict[str, Any], prepared: dict[str, Any], output: Rendered | None
) -> dict[str, Any]:
    """In scope: keep the PDF, once."""
    if output is None:
        result: dict[str, Any] = prepared["issued"]
        return result
    return store_issued(
        UUID(arguments["report"]), output.pdf, pages=output.pages, rendered_with=output.rendered_with
    )


def report_page(result: dict[str, Any]) -> str:
    return reverse("fitting:report", args=[result["report"]]) if "report" in result else ""


def cutting_sheet_address(result: dict[str, Any]) -> str:
    if "sheet" not in result:
        return ""
    return reverse("fitting:cutting-sheet-pdf", args=[result["plan"], result["sheet"]])


def lay_sheet_address(result: dict[str, Any]) -> str:
    return reverse("fitting:lay-sheet", args=[result["lay"], result["sheet"]]) if "sheet" in result else ""


def lay_page(result: dict[str, Any]) -> str:
    return reverse("fitting:lay", args=[result["lay"]]) if "lay" in result else ""


def slip_address(result: dict[str, Any]) -> str:
    return reverse("fitting:slip-pdf", args=[result["ticket"], result["slip"]]) if "slip" in result else ""


def ticket_address(result: dict[str, Any]) -> str:
    return reverse("fitting:ticket", args=[result["ticket"]]) if "ticket" in result else ""


register_job(
    JobKind(
        REPORT_JOB,
        "Fit report",
        "reports",
        prepare_report,
        work_report,
        finish_report,
        report_page,
        Right.ISSUE_REPORTS,
    )
)
register_job(
    JobKind(
        SHEET_JOB,
        "Sheet for the cutting table",
        "reports",
        prepare_cutting_sheet,
        work_cutting_sheet,
        finish_cutting_sheet,
        cutting_sheet_address,
        Right.KEEP_PAPER,
    )
)
register_job(
    JobKind(LAY_JOB, "Lay on cloth", "general", prepare_lay, work_lay, finish_lay, lay_page, Right.KEEP_PAPER)
)
register_job(
    JobKind(
        LAY_SHEET_JOB,
        "Sheet of a lay",
        "reports",
        prepare_lay_sheet,
        work_lay_sheet,
        finish_lay_sheet,
        lay_sheet_address,
        Right.READ_PAPER,
    )
)
register_job(
    JobKind(
        SENDING_JOB,
        "Letter with a client's link",
        "general",
        prepare_sending,
        work_sending,
        finish_sending,
        right=Right.SEND_LINKS,
    )
)
register_job(
    JobKind(
        SLIP_JOB,
        "Slip for a ticket",
        "reports",
        prepare_slip,
        work_slip,
        finish_slip,
        slip_address,
        Right.KEEP_GARMENTS,
    )
)
register_job(
    JobKind(
        NOTICE_JOB,
        "Notice that a garment is ready",
        "general",
        prepare_notice,
        work_notice,
        finish_notice,
        ticket_address,
        Right.KEEP_GARMENTS,
    )
)
register_menu(
    MenuEntry(12, "Tickets", "fitting:tickets", Right.KEEP_GARMENTS),
    MenuEntry(70, "Prices", "fitting:prices", Right.KEEP_GARMENTS, aside=True),
    MenuEntry(10, "Bench", "fitting:bench", Right.KEEP_GARMENTS),
    MenuEntry(30, "Past fits", "fitting:past-fits", Right.READ_FIT_HISTORY),
    MenuEntry(60, "Patterns", "fitting:patterns", Right.READ_PAPER),
    MenuEntry(65, "Lays", "fitting:lays", Right.READ_PAPER),
)
COURSE_PAGES.append(MenuEntry(10, "Fit reports", "fitting:class-reports", Right.ISSUE_REPORTS))
register_finder(MenuEntry(0, "Find a client, a garment or a ticket", "fitting:find", Right.READ_FIT_HISTORY))
register_panel(Panel(30, Right.READ_FIT_HISTORY, "fitting/garment/_client_panel.html", panels.of_client))
HOME_PANELS.append(Panel(10, Right.KEEP_GARMENTS, "fitting/garment/_home_panel.html", panels.of_home))
HOME_PANELS.sort(key=lambda panel: panel.order)
CLIENT_EXPORTS["fitting"] = panels.export_of
register_sections(20, client_sections.sections_of)
SUBJECTS.update(SUBJECTS_HERE)
register_eraser(5, "fitting_stop_reports")
register_eraser(6, "fitting_erase_photos")
register_eraser(7, "fitting_erase_paper")
register_eraser(8, "fitting_erase_appointments")
register_eraser(9, "fitting_erase_tickets")
register_eraser(10, "fitting_erase_client")
register_eraser(11, "fitting_erase_agreements")
