"""What the views of this wing share."""

from typing import Any

from rest_framework.request import Request

from studio.platform.rights import Right

READS = {"GET": Right.READ_SEAMS}
KEEPS = {"GET": Right.READ_SEAMS, "POST": Right.KEEP_SEAMS}


def asked(request: Request, serializer_class: Any) -> dict[str, Any]:
    """The query parameters as typed values."""
    serializer = serializer_class(data=request.query_params)
    serializer.is_valid(raise_exception=True)
    values: dict[str, Any] = serializer.validated_data
    return values
