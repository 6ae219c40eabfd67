"""Long work of this wing, and what it registers with the platform."""

from typing import Any

from django.urls import reverse

from seamlab.queries.sample_sheets import SHEET_JOB
from seamlab.queries.transfer import CHECK_JOB, EXPORT_JOB, TAKE_OVER_JOB
from seamlab.services import sample_sheets, transfer, transfer_export
from studio.platform.registries import JobKind, MenuEntry, register_job, register_menu
from studio.platform.rights import Right


def import_page(result: dict[str, Any]) -> str:
    return reverse("seamlab:transfer-import", args=[result["import"]]) if "import" in result else ""


def export_page(result: dict[str, Any]) -> str:
    return reverse("seamlab:transfer") if "file" in result else ""


def sheet_page(result: dict[str, Any]) -> str:
    return reverse("seamlab:sample-sheet-file", args=[result["sheet"]]) if "sheet" in result else ""


for name, words, finish in (
    (CHECK_JOB, "Dry run of cloth and seams", transfer.finish_check),
    (TAKE_OVER_JOB, "Taking over cloth and seams", transfer.finish_take_over),
):
    register_job(
        JobKind(
            name,
            words,
            "general",
            transfer.prepare_reading,
            transfer.read_whole,
            finish,
            link=import_page,
            right=Right.KEEP_SEAMS,
        )
    )
register_job(
    JobKind(
        EXPORT_JOB,
        "Export of cloth and seams",
        "general",
        transfer_export.prepare_export,
        transfer_export.write_export,
        transfer_export.finish_export,
        link=export_page,
        right=Right.KEEP_SEAMS,
    )
)
register_job(
    JobKind(
        SHEET_JOB,
        "Sample sheet",
        "reports",
        sample_sheets.prepare_sheet,
        sample_sheets.work_sheet,
        sample_sheets.finish_sheet,
        link=sheet_page,
        right=Right.KEEP_SEAMS,
    )
)
register_menu(
    MenuEntry(40, "Cloth", "seamlab:cloths", Right.READ_SEAMS),
    MenuEntry(50, "Seams", "seamlab:recipes", Right.READ_SEAMS),
    MenuEntry(85, "Cloth and seams as tables", "seamlab:transfer", Right.KEEP_SEAMS, aside=True),
)
