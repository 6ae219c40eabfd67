"""Files in the API: sent as they are stored, whatever type a program asks for; a problem is sent as JSON."""

import json
from typing import Any

from rest_framework.renderers import BaseRenderer, JSONRenderer


class _AnyFileRenderer(BaseRenderer):
    media_type = "*/*"
    format = "file"

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> bytes:
        return json.dumps(data, default=str).encode()


FILE_RENDERERS = [JSONRenderer, _AnyFileRenderer]
