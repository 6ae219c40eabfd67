"""What this wing registers with the platform: its menu, its part of a client's export and erasure."""

from typing import Any

from django.urls import reverse

from studio import transfer_jobs  # noqa: F401 - registers imports and exports
from studio.platform.registries import (
    CLIENT_EXPORTS,
    HOME_PANELS,
    LOOK_KEEPERS,
    SUBJECTS,
    TIDIERS,
    JobKind,
    MenuEntry,
    Panel,
    register_eraser,
    register_job,
    register_menu,
    register_panel,
    register_sections,
)
from studio.platform.rights import Right
from studio.queries import client_sections, clients, measuring, trust_panels
from studio.queries.client_copy import COPY_JOB
from studio.queries.sheets import SHEET_JOB
from studio.queries.subjects import SUBJECTS_HERE
from studio.services import client_copy, looking, sheets, taping


def sheet_address(result: dict[str, Any]) -> str:
    return reverse("studio:sheet-pdf", args=[result["course"], result["file"]]) if "file" in result else ""


def copy_page(result: dict[str, Any]) -> str:
    return reverse("studio:kept", args=[result["client"]]) if "client" in result else ""


register_menu(
    MenuEntry(20, "Clients", "studio:clients", Right.FIND_CLIENTS),
    MenuEntry(25, "Classes", "studio:courses", Right.FIND_CLIENTS),
)
register_job(
    JobKind(
        SHEET_JOB,
        "Class sheet",
        "reports",
        sheets.prepare_sheet,
        sheets.work_sheet,
        sheets.finish_sheet,
        link=sheet_address,
    )
)
register_job(
    JobKind(
        taping.LEARN_JOB,
        "Learning how this studio tapes",
        "general",
        taping.prepare_learning,
        taping.work_learning,
        taping.finish_learning,
        right=Right.RECORD_MEASURING,
    )
)
register_job(
    JobKind(
        COPY_JOB,
        "Copy of everything about a client",
        "reports",
        client_copy.prepare_copy,
        client_copy.work_copy,
        client_copy.finish_copy,
        link=copy_page,
        right=Right.EXPORT_AND_ERASE,
        hold=client_copy.hold_client,
    )
)
register_menu(MenuEntry(27, "Repeatability", "studio:repeatability", Right.RECORD_MEASURING, aside=True))
register_panel(Panel(5, Right.READ_READINGS, "studio/trust/_client_panel.html", trust_panels.of_client))
CLIENT_EXPORTS["studio"] = clients.export_of
register_sections(10, client_sections.sections_of)
SUBJECTS.update(SUBJECTS_HERE)
LOOK_KEEPERS.append(looking.keep_look)
TIDIERS["looks"] = looking.clear_old_looks
TIDIERS["copies"] = client_copy.clear_old_copies
# Last of all: other wings' rows point at the client and at her files.
register_eraser(80, "studio_erase_places")
register_eraser(90, "studio_erase_client")
HOME_PANELS.append(
    Panel(
        20,
        Right.READ_READINGS,
        "studio/_recently_measured.html",
        lambda actor, _: {"recently_measured": measuring.recently_measured(actor)},
    )
)
HOME_PANELS.append(
    Panel(90, Right.EXPORT_AND_ERASE, "studio/trust/_keeping_panel.html", trust_panels.of_home)
)
HOME_PANELS.append(
    Panel(
        1,
        Right.RECORD_MEASURING,
        "studio/_pad_waiting.html",
        lambda actor, _: {"pad_member": actor.member_id},
    )
)
HOME_PANELS.sort(key=lambda panel: panel.order)
