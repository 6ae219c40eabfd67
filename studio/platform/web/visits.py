"""A visit: from signing in to signing out, what it remembers, and asking once more before a dangerous act."""

import time
from base64 import b64decode, b64encode
from typing import Any
from uuid import UUID

import structlog
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from studio.platform.actors import PROOFS_IN_SESSION, PROVED_AT, STUDIO_IN_SESSION, is_fresh
from studio.platform.errors import Refused
from studio.platform.models import User
from studio.platform.queries.sign_in import ways_of
from studio.platform.services.accounts import prove_password
from studio.platform.services.passkeys import Site, prove_passkey
from studio.platform.services.sign_in import address_of, remember_device
from studio.platform.sessions import ADDRESS, BEGAN, BROWSER
from studio.platform.web.browsers import browser_words

log = structlog.get_logger("studio.sign_in")

BACKEND = "django.contrib.auth.backends.ModelBackend"
HALF = "half_signed_in"
HALF_SECONDS = 10 * 60
CHALLENGE = "passkey_challenge"
CHALLENGE_SECONDS = 5 * 60

# Fields of the page that asks once more; everything else in its form is the act itself.
AGAIN_PASSWORD, AGAIN_PASSKEY, AGAIN_THEN = "again_password", "again_passkey", "again_then"


# --- beginning ---------------------------------------------------------------------------------------------------


def begin_visit(
    request: HttpRequest, user: Any, response: HttpResponse, *proofs: str, studio_id: UUID | None = None
) -> HttpResponse:
    """Sign in: a fresh key for the session, what it is to be known by, and a browser that is known from now on."""
    login(request, user, backend=BACKEND)
    request.session.pop(HALF, None)
    now = int(time.time())
    request.session.update(
        {
            BEGAN: now,
            PROVED_AT: now,
            PROOFS_IN_SESSION: list(proofs),
            BROWSER: browser_words(request.headers.get("User-Agent", "")),
            ADDRESS: address_of(request),
        }
    )
    if studio_id is not None:
        request.session[STUDIO_IN_SESSION] = str(studio_id)
    remember_device(request, response, user)
    log.info("signed in", user=str(user.pk), by=proofs)
    return response


def half_begin(request: HttpRequest, user: User, next_page: str) -> None:
    """The password was right; the second step is still to come."""
    request.session.cycle_key()
    request.session[HALF] = {"user": str(user.pk), "at": int(time.time()), "next": next_page}


def half_signed_in(request: HttpRequest) -> tuple[User, str] | None:
    """(who gave the right password a moment ago, where she wanted to go), or None."""
    half = request.session.get(HALF)
    if not half or time.time() - half["at"] > HALF_SECONDS:
        return None
    user = User.objects.filter(pk=half["user"], is_active=True).first()
    return (user, half["next"]) if user else None


def add_proof(request: HttpRequest, proof: str) -> None:
    """What she has just set up counts for this visit."""
    request.session[PROOFS_IN_SESSION] = [*request.session.get(PROOFS_IN_SESSION, ()), proof]


# --- passkeys ----------------------------------------------------------------------------------------------------


def site_of(request: HttpRequest) -> Site:
    """The host is one of ALLOWED_HOSTS, or Django would have refused the request."""
    host = request.get_host()
    name = host if host.endswith("]") else host.rsplit(":", 1)[0]
    return Site(name, f"{'https' if request.is_secure() else 'http'}://{host}")


def keep_challenge(request: HttpRequest, challenge: bytes, purpose: str) -> None:
    request.session[CHALLENGE] = {
        "is": b64encode(challenge).decode(),
        "for": purpose,
        "at": int(time.time()),
    }


def take_challenge(request: HttpRequest, purpose: str) -> bytes:
    """The challenge that this browser was given, once; raises Refused."""
    kept = request.session.pop(CHALLENGE, None)
    if not kept or kept["for"] != purpose or time.time() - kept["at"] > CHALLENGE_SECONDS:
        raise Refused("That took too long. Try once more.")
    return b64decode(kept["is"])


# --- asking once more --------------------------------------------------------------------------------------------


def ask_once_more(request: HttpRequest) -> HttpResponse | None:
    """None where she has just proved who she is; else the page that asks, with the act itself carried along.

    A page that was asked for by GET comes after a right answer; a form goes through with that answer.
    """
    if is_fresh(request):
        return None
    user: Any = request.user
    error = ""
    if AGAIN_PASSWORD in request.POST:
        try:
            if request.POST.get(AGAIN_PASSKEY):
                challenge = take_challenge(request, "prove")
                prove_passkey(
                    site_of(request), answer=request.POST[AGAIN_PASSKEY], challenge=challenge, user=user
                )
            else:
                prove_password(user, request.POST[AGAIN_PASSWORD])
        except Refused as exc:
            error = str(exc)
        else:
            request.session[PROVED_AT] = int(time.time())
            return HttpResponseRedirect(request.get_full_path()) if request.POST.get(AGAIN_THEN) else None
    carried = [
        (name, value)
        for name, values in request.POST.lists()
        if name not in {AGAIN_PASSWORD, AGAIN_PASSKEY, AGAIN_THEN, "csrfmiddlewaretoken"}
        for value in values
    ]
    looking = request.method == "GET" or bool(request.POST.get(AGAIN_THEN))
    response = render(
        request,
        "platform/once_more.html",
        {
            "error": error,
            "carried": carried,
            "then": looking,
            "passkeys": site_of(request).possible and bool(ways_of(user).passkeys),
        },
        status=400 if error else 200,
    )
    response["Cache-Control"] = "private, no-store"
    return response
