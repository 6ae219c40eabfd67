"""What every answer carries: the headers that tell a browser to be careful, and the request's id."""

import re
from collections.abc import Callable
from time import monotonic

import structlog
from django.http import HttpRequest, HttpResponse

from studio.platform.database.scope import StudioMoved
from studio.platform.errors import StorageFailed
from studio.platform.metrics import count_request
from studio.platform.models.base import new_id
from studio.platform.requests import set_request_id
from studio.platform.tracing import span
from studio.platform.web.errors import bad_request, out_of_order

log = structlog.get_logger("studio.request")
ACCEPTABLE = re.compile(r"[A-Za-z0-9._-]{8,64}")


# The house needs none of a device's senses; a photograph is chosen as a file. Passkeys are for our own pages.
SENSES = (
    "accelerometer", "autoplay", "browsing-topics", "camera", "display-capture", "encrypted-media",
    "gamepad", "geolocation", "gyroscope", "hid", "idle-detection", "magnetometer", "microphone", "midi", "payment",
    "serial", "usb", "xr-spatial-tracking",
)  # fmt: skip
EVERY_ANSWER = {
    "Permissions-Policy": ", ".join(
        [f"{sense}=()" for sense in SENSES]
        + ["publickey-credentials-get=(self)", "publickey-credentials-create=(self)"]
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    # The pages' own policy is set further in; this stands on what never came so far.
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
    # Whatever does not say otherwise is somebody's, and stays in no cache.
    "Cache-Control": "private, no-store",
}


class HeadersMiddleware:
    """Sets each of these where nothing further in has set it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        for name, value in EVERY_ANSWER.items():
            response.headers.setdefault(name, value)
        return response


class RequestIdMiddleware:
    """Takes over a proxy's X-Request-Id where it looks like one, else makes one; logs one line per request."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """What no view can help: a studio that has moved, a storage that is away. The same answer for whoever asks."""
        if isinstance(exception, StudioMoved):
            return out_of_order(request, 410, "moved", "Moved", exception)
        if isinstance(exception, StorageFailed):
            return out_of_order(request, 503, "storage", "Not saved", exception)
        return None

    def __call__(self, request: HttpRequest) -> HttpResponse:
        given = request.headers.get("X-Request-Id", "")
        request_id = given if ACCEPTABLE.fullmatch(given) else new_id().hex
        set_request_id(request_id)
        started = monotonic()
        if "%00" in request.META.get("QUERY_STRING", "") or "\x00" in request.path:
            response = bad_request(request)  # PostgreSQL keeps no NUL, and nobody types one
        else:
            with span("request") as traced:
                response = self.get_response(request)
                if traced is not None:
                    traced.update_name(f"{request.method} {_route(request)}")
                    traced.set_attributes(
                        {"http.response.status_code": response.status_code, "request.id": request_id}
                    )
        response["X-Request-Id"] = request_id
        if not request.path.startswith(("/static/", "/health/")):
            route = _route(request)
            count_request(route, request.method, response.status_code, monotonic() - started)
            log.info(
                "request",
                request=request_id,
                method=request.method,
                route=route,
                status=response.status_code,
                ms=round(1000 * (monotonic() - started)),
                **_asker(request),
            )
        return response


def _asker(request: HttpRequest) -> dict[str, str]:
    """Who asked, by ids alone: a refusal (401, 403) can be followed up."""
    actor = getattr(request, "_actor", None)
    return {"member": str(actor.member_id), "studio": str(actor.studio_id)} if actor is not None else {}


def _route(request: HttpRequest) -> str:
    """The route's name, not the path: paths carry search words and link secrets."""
    return request.resolver_match.view_name if request.resolver_match else ""
