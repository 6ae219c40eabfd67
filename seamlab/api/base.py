"""What the views of this wing share."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request

from studio.platform.rights import Right

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
