"""Signing in by a password, counted so that guessing is slow and nobody can shut another person out.

Whoever signed in at a browser before is counted by that browser alone (a signed cookie of hers); everybody else shares
one count for the account, and one for their address. So a stranger who keeps on guessing shuts strangers out, never
the person at her own tablet (OWASP, "Slow Down Online Guessing Attacks with Device Cookies"). Each try is counted
before the password is looked at, in the database, so that neither many processes nor many requests at once get more.
"""

import secrets

import structlog
from django.conf import settings
from django.contrib.auth import authenticate
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac

from studio.platform.errors import Refused
from studio.platform.models import User
from studio.platform.services.limits import Limit

log = structlog.get_logger("studio.sign_in")  # an account's mark or id, never its address

QUARTER = 15 * 60
BY_ACCOUNT = Limit("sign-in account", 8, QUARTER)
BY_DEVICE = Limit("sign-in device", 8, QUARTER)
BY_ADDRESS = Limit("sign-in address", 60, QUARTER)
BY_LINK = Limit("link", 120, QUARTER)  # pages that a link opens without an account
TOO_MANY = "Too many tries. Wait a quarter of an hour, then try again."

KNOWN_COOKIE = "known"
KNOWN_SALT = "known device"
KNOWN_DAYS = 365
KNOWN_PEOPLE = 12  # on one shared tablet


def address_of(request: HttpRequest) -> str:
    """Where a request comes from: behind N trusted proxies, the Nth address from the end of X-Forwarded-For."""
    told = [part.strip() for part in request.headers.get("X-Forwarded-For", "").split(",") if part.strip()]
    if settings.TRUSTED_PROXIES and len(told) >= settings.TRUSTED_PROXIES:
        return told[-settings.TRUSTED_PROXIES][:64]
    return str(request.META.get("REMOTE_ADDR", ""))


def count_link(request: HttpRequest) -> None:
    """Count a visit to a page that opens by a link alone; raises Refused where there were too many."""
    if BY_LINK.count(address_of(request)):
        raise Refused(TOO_MANY)


def check_password(request: HttpRequest, *, email: str, password: str) -> User:
    """The user of this email and password; raises Refused with one and the same sentence for every wrong pair."""
    address, account = address_of(request), account_mark(email)
    device = known_devices(request).get(account)
    limit, whom = (BY_DEVICE, device) if device else (BY_ACCOUNT, account)
    if BY_ADDRESS.count(address):
        raise Refused(TOO_MANY)
    if limit.count(whom):
        BY_ADDRESS.take_back(address)
        raise Refused(TOO_MANY)
    user = authenticate(request, username=email.strip(), password=password)
    if not isinstance(user, User):
        log.info("sign-in refused", account=account, by="password", known_browser=device is not None)
        raise Refused("Email and password do not fit together.")
    limit.forget(whom)
    BY_ADDRESS.take_back(address)
    return user


def account_mark(email: str) -> str:
    """Stands for an account in counts and cookies without telling whose it is."""
    return salted_hmac("account mark", User.objects.normalize_email(email), algorithm="sha256").hexdigest()[
        :32
    ]


def known_devices(request: HttpRequest) -> dict[str, str]:
    """Account mark -> a secret of this browser, for everybody who signed in here; empty where it was tampered with."""
    try:
        found = signing.loads(
            request.COOKIES.get(KNOWN_COOKIE, ""), salt=KNOWN_SALT, max_age=KNOWN_DAYS * 86400
        )
    except signing.BadSignature:
        return {}
    return found if isinstance(found, dict) else {}


def remember_device(request: HttpRequest, response: HttpResponse, user: User) -> None:
    """Let this browser be known for this person from now on."""
    known = known_devices(request)
    mark = account_mark(user.email)
    device = known.pop(mark, None) or secrets.token_urlsafe(24)
    known = {**dict(list(known.items())[-(KNOWN_PEOPLE - 1) :]), mark: device}
    response.set_cookie(
        KNOWN_COOKIE,
        signing.dumps(known, salt=KNOWN_SALT),
        max_age=KNOWN_DAYS * 86400,
        path="/",
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )
