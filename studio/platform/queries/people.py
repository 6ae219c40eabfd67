"""Reading members, invitations, tokens and the studio itself."""

from django.db.models import QuerySet
from django.utils import timezone

from studio.platform.errors import NotHere
from studio.platform.models import ApiToken, Invitation, Member, Studio
from studio.platform.rights import Actor, Right


def member_list(actor: Actor) -> "QuerySet[Member]":
    actor.need(Right.KEEP_MEMBERS)
    return Member.objects.select_related("user").order_by("-active", "name", "id")


def open_invitations(actor: Actor) -> "QuerySet[Invitation]":
    actor.need(Right.KEEP_MEMBERS)
    return Invitation.objects.filter(used_at=None, expires_at__gt=timezone.now()).order_by("-id")


def token_list(actor: Actor) -> "QuerySet[ApiToken]":
    return ApiToken.objects.filter(member_id=actor.member_id, revoked_at=None).order_by("-id")


def studio_get(actor: Actor) -> Studio:
    found: Studio | None = Studio.objects.filter(pk=actor.studio_id).first()
    if found is None:
        raise NotHere("studio")
    return found
