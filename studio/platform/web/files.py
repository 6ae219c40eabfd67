"""Handing out a stored file as it was stored."""

from django.core.files.storage import default_storage
from django.http import FileResponse
from django.utils.http import content_disposition_header

from studio.platform.errors import NotHere
from studio.platform.models import StoredFile
from studio.platform.services.files import storage_answers


def file_answer(file: StoredFile, *, as_attachment: bool = True) -> FileResponse:
    """The bytes with their name, type and SHA-256; nobody on the way may keep them. Raises NotHere, StorageFailed."""
    try:
        with storage_answers():
            stored = default_storage.open(file.key, "rb")
    except FileNotFoundError as exc:  # taken away on purpose: the row tells that it was there
        raise NotHere("file any more") from exc
    response = FileResponse(stored, content_type=file.media_type)
    response["Content-Disposition"] = content_disposition_header(as_attachment, file.name) or ""
    response["Content-Length"] = str(file.size)
    response["ETag"] = f'"{file.sha256}"'
    response["Cache-Control"] = "no-store"
    return response
