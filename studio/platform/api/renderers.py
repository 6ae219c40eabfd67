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


FILE_RENDERERS = [JSONRenderer, FileRenderer]
