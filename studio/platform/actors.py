"""Finding out who asks and for which studio: from the session or from a bearer token, outside any scope."""

import hashlib
import time
from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest

from studio.platform.database.doors import Membership, memberships_of, token_owner
from studio.platform.database.scope import studio_scope
from studio.platform.models import Member
from studio.platform.rights import Actor

STUDIO_IN_SESSION = "studio"
PROOFS_IN_SESSION = "proofs"  # by what she has proved who she is: password, code, passkey, recovery
PROVED_AT = "proved_at"  # when she last did, in seconds since 1970
STRONG = {"code", "passkey", "recovery"}
BEARER = "bearer "


class BadToken(Exception):
    """A bearer token was sent that opens nothing."""


def hash_secret(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def actor_of(request: HttpRequest) -> Actor | None:
    """The member who asks, by token or session, or None for nobody; found once per request. Raises BadToken."""
    if not hasattr(request, "_actor"):
        request._actor = _find(request)  # type: ignore[attr-defined]
    found: Actor | None = request._actor  # type: ignore[attr-defined]
    return found


def member_at(request: HttpRequest) -> Actor | None:
    """The member who is signed in at this browser, or None. Pages are for people: a token opens the API alone."""
    if not hasattr(request, "_actor"):
        request._actor = _by_session(request)  # type: ignore[attr-defined]
    found: Actor | None = request._actor  # type: ignore[attr-defined]
    return found


def by_token(request: HttpRequest) -> bool:
    return request.headers.get("Authorization", "").lower().startswith(BEARER)


def _find(request: HttpRequest) -> Actor | None:
    if by_token(request):
        return _by_token(request.headers["Authorization"][len(BEARER) :].strip())
    return _by_session(request)


def _by_session(request: HttpRequest) -> Actor | None:
    user: Any = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return None
    chosen = request.session.get(STUDIO_IN_SESSION)
    mine = memberships_of(user.pk)
    membership = next((found for found in mine if str(found.studio_id) == chosen), None)
    if membership is None and len(mine) == 1:
        membership = mine[0]
    request._memberships = mine  # type: ignore[attr-defined]
    if membership is None:
        return None
    if membership.second_step and not signed_in_strongly(request):
        request._second_step_wanted = True  # type: ignore[attr-defined]
        return None
    request._studio_name = membership.studio_name  # type: ignore[attr-defined]
    return as_actor(membership, user.pk)


def signed_in_strongly(request: HttpRequest) -> bool:
    """Whether more than a password was asked for when this visit began (or since)."""
    return bool(STRONG & set(request.session.get(PROOFS_IN_SESSION, ())))


def is_fresh(request: HttpRequest) -> bool:
    """Whether she proved who she is within the last ten minutes (``FRESH_SECONDS``)."""
    return bool(time.time() - request.session.get(PROVED_AT, 0) <= settings.FRESH_SECONDS)


def second_step_wanted(request: HttpRequest) -> bool:
    """Whether the studio asks for a second step that this visit has not taken; ask after ``actor_of``."""
    return bool(getattr(request, "_second_step_wanted", False))


def as_actor(membership: Membership, user_id: UUID) -> Actor:
    """The member of this membership, ready to act."""
    return Actor(
        membership.studio_id,
        membership.member_id,
        user_id,
        membership.role,
        membership.name,
        membership.time_zone,
        membership.unit,
    )


def _by_token(secret: str) -> Actor:
    found = token_owner(hash_secret(secret))
    if found is None:
        raise BadToken
    studio_id, member_id = found
    with studio_scope(studio_id):
        member = Member.objects.select_related("studio").get(pk=member_id)
    studio = member.studio
    return Actor(
        studio_id, member_id, member.user_id, member.role, member.name, studio.time_zone, studio.unit
    )
