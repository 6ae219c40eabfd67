"""What this wing registers with the platform: its menu, its part of a client's export and erasure."""

from studio.platform.registries import (
    CLIENT_EXPORTS,
    HOME_PANELS,
    MenuEntry,
    Panel,
    register_eraser,
    register_menu,
)
from studio.platform.rights import Right
from studio.queries import clients, measuring

register_menu(MenuEntry(20, "Clients", "studio:clients", Right.FIND_CLIENTS))
CLIENT_EXPORTS["studio"] = clients.export_of
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
HOME_PANELS.sort(key=lambda panel: panel.order)
