"""Keeping a file: the bytes in the file storage, the row with its SHA-256 in the studio's scope."""

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from uuid import UUID

import structlog
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction

from studio.platform.errors import StorageFailed
from studio.platform.models import StoredFile
from studio.platform.models.base import new_id

log = structlog.get_logger(__name__)


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
    with storage_answers():
        row.key = default_storage.save(f"{row.studio_id}/{row.id}", ContentFile(content))
    try:
        row.save(force_insert=True)
    except Exception:
        default_storage.delete(row.key)
        raise
    return row


@contextmanager
def storage_answers() -> Iterator[None]:
    """Whatever a storage says when it is away or full is one thing here: StorageFailed."""
    try:
        yield
    except FileNotFoundError:
        raise
    except Exception as exc:
        # A bucket's client has errors of its own, in a package that a folder doesn't need.
        if isinstance(exc, OSError) or type(exc).__module__.startswith("botocore"):
            log.warning("the file storage failed", why=type(exc).__name__)
            raise StorageFailed from exc
        raise


def let_go(*keys: str) -> None:
    """Delete the bytes under these keys once all is committed; the rows stay as the record that there were some.

    Each by itself: one that can't be deleted must not keep the others.
    """
    for key in keys:
        transaction.on_commit(partial(default_storage.delete, key), robust=True)


def read_file(row: StoredFile) -> bytes:
    """The bytes as they were stored; raises ValueError where they are not what was stored."""
    with storage_answers(), default_storage.open(row.key, "rb") as stored:
        content: bytes = stored.read()
    if hashlib.sha256(content).hexdigest() != row.sha256:
        raise ValueError(f"The stored file {row.pk} is not what was stored: its SHA-256 differs.")
    return content
