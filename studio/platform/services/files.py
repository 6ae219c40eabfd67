"""Keeping a file: the bytes in the file storage, the row with its SHA-256 in the studio's scope."""

import hashlib
from functools import partial
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction

from studio.platform.models import StoredFile
from studio.platform.models.base import new_id


def store_file(content: bytes, *, name: str, media_type: str, client_id: UUID | None = None) -> StoredFile:
    """Write the bytes first, then the row: a row without its bytes can't come to be.

    Bytes whose row was rolled back are cleared away by ``tidy`` a day later.
    """
    row = StoredFile(
        id=new_id(),
        name=name,
        media_type=media_type,
        size=len(content),
        sha256=hashlib.sha256(content).hexdigest(),
        client_id=client_id,
    )
    row.key = default_storage.save(f"{row.studio_id}/{row.id}", ContentFile(content))
    try:
        row.save(force_insert=True)
    except Exception:
        default_storage.delete(row.key)
        raise
    return row


def let_go(*keys: str) -> None:
    """Delete the bytes under these keys once all is committed; the rows stay as the record that there were some.

    Each by itself: one that can't be deleted must not keep the others.
    """
    for key in keys:
        transaction.on_commit(partial(default_storage.delete, key), robust=True)


def read_file(row: StoredFile) -> bytes:
    """The bytes as they were stored; raises ValueError where they are not what was stored."""
    with default_storage.open(row.key, "rb") as stored:
        content: bytes = stored.read()
    if hashlib.sha256(content).hexdigest() != row.sha256:
        raise ValueError(f"The stored file {row.pk} is not what was stored: its SHA-256 differs.")
    return content
