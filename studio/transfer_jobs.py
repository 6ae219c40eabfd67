"""Long work with files of readings: the dry run, the take-over, the export."""

from typing import Any

from django.urls import reverse

from studio.platform.registries import JobKind, MenuEntry, register_job, register_menu
from studio.platform.rights import Right
from studio.queries.transfer import EXPORT_JOB
from studio.services import transfer, transfer_export, transfer_work


def import_page(result: dict[str, Any]) -> str:
    return reverse("studio:transfer-import", args=[result["import"]]) if "import" in result else ""


def export_page(result: dict[str, Any]) -> str:
    return reverse("studio:transfer") if "file" in result else ""


for name, words, finish in (
    (transfer.CHECK_JOB, "Dry run of an import", transfer_work.finish_check),
    (transfer.TAKE_OVER_JOB, "Taking over readings", transfer_work.finish_take_over),
):
    register_job(
        JobKind(
            name,
            words,
            "general",
            transfer_work.prepare_reading,
            transfer_work.read_into_spool,
            finish,
            link=import_page,
            right=Right.EXPORT_AND_ERASE,
        )
    )
register_job(
    JobKind(
        EXPORT_JOB,
        "Export of readings",
        "general",
        transfer_export.prepare_export,
        transfer_export.write_export,
        transfer_export.finish_export,
        link=export_page,
        right=Right.EXPORT_AND_ERASE,
    )
)
register_menu(MenuEntry(90, "Import and export", "studio:transfer", Right.EXPORT_AND_ERASE, aside=True))
