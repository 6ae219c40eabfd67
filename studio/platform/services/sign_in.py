"""Signing in, with a count of failures that outlives every rollback (this runs outside any scope)."""

from datetime import timedelta

from django.conf import settings
from django.contrib.auth import authenticate
from django.http import HttpRequest
from django.utils import timezone

from studio.platform.actors import hash_secret
from studio.platform.errors import Refused
from studio.platform.models import SignInAttempt, User

WINDOW = timedelta(minutes=15)
PER_EMAIL = 8
PER_ADDRESS = 60


def address_of(request: HttpRequest) -> str:
    """Where a request comes from: behind N trusted proxies, the Nth address from the end of X-Forwarded-For."""
    told = [part.strip() for part in request.headers.get("X-Forwarded-For", "").split(",") if part.strip()]
    if settings.TRUSTED_PROXIES and len(told) >= settings.TRUSTED_PROXIES:
        return told[-settings.TRUSTED_PROXIES][:64]
    return str(request.META.get("REMOTE_ADDR", ""))


def sign_in(request: HttpRequest, *, email: str, password: str) -> User:
    """The user of this email and password; raises Refused with one and the same sentence for every wrong pair."""
    address = address_of(request)
    email_hash = hash_secret(email.strip().lower())
    recent = SignInAttempt.objects.filter(at__gt=timezone.now() - WINDOW)
    if (
        recent.filter(email_hash=email_hash).count() >= PER_EMAIL
        or recent.filter(address=address).count() >= PER_ADDRESS
    ):
        raise Refused("Too many tries. Wait a quarter of an hour, then try again.")
    user = authenticate(request, username=email.strip(), password=password)
    if not isinstance(user, User):
        SignInAttempt.objects.create(email_hash=email_hash, address=address)
        raise Refused("Email and password do not fit together.")
    SignInAttempt.objects.filter(email_hash=email_hash).delete()
    return user
