"""What this wing registers with the platform: its menu, its part of a client's export and erasure."""

from studio.platform.registries import CLIENT_EXPORTS, register_eraser
from studio.queries import clients

CLIENT_EXPORTS["studio"] = clients.export_of
# Last of all: other wings' rows point at the client and at her files.
register_eraser(90, "studio_erase_client")
