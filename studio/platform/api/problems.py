"""Errors as ``application/problem+json`` (RFC 9457), each naming field and reason."""

from collections.abc import Iterator, Mapping
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404
from rest_framework import exceptions, status
from rest_framework.response import Response
from rest_framework.views import set_rollback

from studio.platform.actors import BadToken
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused, Stale
from studio.platform.requests import current_request_id

MEDIA_TYPE = "application/problem+json"


class PreconditionRequired(exceptions.APIException):
    status_code = 428
    default_detail = "Send If-Match with the ETag that you read, so that nobody's change is overwritten."
    default_code = "precondition_required"


# What each refusal becomes: (status, stable name of the kind, title).
KINDS: list[tuple[type[BaseException], int, str, str]] = [
    (Refused, 400, "refused", "Something given can't be used"),
    (NotAllowed, 403, "not-allowed", "Not included in this role"),
    (NotHere, 404, "not-here", "Not here"),
    (Conflict, 409, "conflict", "Not in this state"),
    (Stale, 412, "stale", "Changed in the meantime"),
    (BadToken, 401, "bad-token", "This token opens nothing"),
]


def problem(
    status_code: int, kind: str, title: str, detail: str, errors: list[dict[str, str]] | None = None
) -> dict[str, Any]:
    """The body of a problem; ``errors`` lists {field, reason}."""
    body: dict[str, Any] = {
        "type": f"urn:studio-record:problem:{kind}",
        "title": title,
        "status": status_code,
        "detail": detail,
        "request_id": current_request_id(),
    }
    if errors:
        body["errors"] = errors
    return body


def problem_response(exc: Exception, context: Mapping[str, Any]) -> Response | None:
    """DRF's exception handler: every error of the API leaves through here, with the transaction marked to roll back."""
    set_rollback()
    body, headers = _body(exc)
    if body is None:
        return None
    return Response(body, status=body["status"], headers=headers, content_type=MEDIA_TYPE)


def _body(exc: Exception) -> tuple[dict[str, Any] | None, dict[str, str]]:
    if isinstance(exc, Http404):
        exc = NotHere("address")
    if isinstance(exc, PermissionDenied):
        exc = exceptions.PermissionDenied()
    for kind, code, name, title in KINDS:
        if isinstance(exc, kind):
            errors = (
                [{"field": field, "reason": reason} for field, reason in exc.reasons.items()]
                if isinstance(exc, Refused)
                else None
            )
            detail = str(exc) or title + "."
            return problem(code, name, title, detail, errors), _challenge(code)
    if isinstance(exc, exceptions.ValidationError):
        errors = list(_flat(exc.detail))
        detail = " ".join(
            f"{error['field']}: {error['reason']}" if error["field"] else error["reason"] for error in errors
        )
        return problem(400, "refused", "Something given can't be used", detail, errors), {}
    if isinstance(exc, exceptions.APIException):
        name = str(exc.default_code).replace("_", "-")
        headers = _challenge(exc.status_code)
        wait = getattr(exc, "wait", None)
        if wait is not None:
            headers["Retry-After"] = str(int(wait) + 1)
        return problem(exc.status_code, name, str(exc.default_detail), str(exc.detail)), headers
    return None, {}


def _challenge(code: int) -> dict[str, str]:
    return {"WWW-Authenticate": "Bearer"} if code == status.HTTP_401_UNAUTHORIZED else {}


def _flat(detail: Any, path: str = "") -> Iterator[dict[str, str]]:
    """DRF nests by field and, for lists, by index (a list or, since 3.18, a dict keyed by index)."""
    if isinstance(detail, Mapping):
        for key, value in detail.items():
            yield from _flat(
                value, path if key == "non_field_errors" else f"{path}.{key}" if path else str(key)
            )
    elif isinstance(detail, list):
        for index, value in enumerate(detail):
            nested = isinstance(value, Mapping | list)
            if not nested or value:
                yield from _flat(value, f"{path}.{index}" if nested else path)
    else:
        yield {"field": path, "reason": str(detail)}
