"""What the views of this wing share."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from drf_spectacular.utils import OpenApiParameter
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from studio.platform.api.base import HouseView
from studio.platform.rights import Actor, Right

READS = {"GET": Right.READ_SEAMS}
KEEPS = {"GET": Right.READ_SEAMS, "POST": Right.KEEP_SEAMS}
HIDDEN = OpenApiParameter("hidden", bool, description="true: what was put away comes along.")


def with_hidden(request: Request) -> bool:
    """Whether what was put away is asked for as well."""
    return request.query_params.get("hidden", "").lower() in ("true", "1")


def asked(request: Request, serializer_class: Any) -> dict[str, Any]:
    """The query parameters as typed values."""
    serializer = serializer_class(data=request.query_params)
    serializer.is_valid(raise_exception=True)
    values: dict[str, Any] = serializer.validated_data
    return values


class UploadView(HouseView):
    """A view that takes a file. With an Idempotency-Key the whole request is held in memory, so it is smaller then."""

    parser_classes = [MultiPartParser]

    def _answer(self, request: HttpRequest, actor: Actor, *args: Any, **kwargs: Any) -> Any:
        length = request.META.get("CONTENT_LENGTH") or "0"
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        if request.headers.get("Idempotency-Key") and length.isdigit() and int(length) > most:
            return self._problem(
                request,
                413,
                "too-large",
                f"With an Idempotency-Key an upload may have {most // 1024 // 1024} MB; send a larger one without.",
            )
        return super()._answer(request, actor, *args, **kwargs)
