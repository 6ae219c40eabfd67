"""Renderers for answers that are files."""

import json
from typing import Any

from rest_framework.renderers import BaseRenderer, JSONRenderer


class FileRenderer(BaseRenderer):
    """Lets a program ask for the file's own type; the file is sent as it is stored, a problem as JSON."""

    media_type = "*/*"
    format = "file"

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> bytes:
        return json.dumps(data, default=str).encode()


class JpegRenderer(FileRenderer):
    """The same for a photograph."""

    media_type = "image/jpeg"
    format = "jpg"


# What an export is, as the document says it.
TABLE_TYPES = ("text/csv", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
FILE_RENDERERS = [JSONRenderer, FileRenderer]
