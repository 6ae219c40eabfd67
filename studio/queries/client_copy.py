"""Copies of everything about a client: which are there, and which can still be fetched."""

from datetime import timedelta
from uuid import UUID

from django.core.files.storage import default_storage
from django.utils import timezone

from studio.platform.errors import NotHere
from studio.platform.models import StoredFile
from studio.platform.rights import Actor, Right

COPY_JOB = "copy_for_client"
COPY_NAME = "everything-about-a-client.zip"
KEPT_DAYS = 7  # how long a copy can be fetched


def copies_of(actor: Actor, client_id: UUID) -> list[StoredFile]:
    """Copies that can still be fetched, the newest first."""
    actor.need(Right.EXPORT_AND_ERASE)
    since = timezone.now() - timedelta(days=KEPT_DAYS)
    rows = StoredFile.objects.filter(client_id=client_id, name=COPY_NAME, stored_at__gte=since)
    return [row for row in rows.order_by("-stored_at") if default_storage.exists(row.key)]


def copy_get(actor: Actor, client_id: UUID, file_id: UUID) -> StoredFile:
    """One copy that can still be fetched. Raises NotHere."""
    found = next((row for row in copies_of(actor, client_id) if row.pk == file_id), None)
    if found is None:
        raise NotHere("copy; it can be fetched for a week")
    return found
