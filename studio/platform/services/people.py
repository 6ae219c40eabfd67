"""Founding a studio, inviting and joining, tokens for programs."""

import secrets
from collections.abc import Callable
from datetime import timedelta
from uuid import UUID
from zoneinfo import available_timezones

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import IntegrityError, transaction
from django.utils import timezone

from studio.platform.actors import hash_secret
from studio.platform.database.scope import studio_scope
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models import ApiToken, Invitation, Member, SetupLink, Studio, User
from studio.platform.models.base import new_id
from studio.platform.rights import Actor, Right
from studio.platform.services.accounts import password_reasons
from studio.platform.services.audit import record_act
from studio.platform.services.saving import save_new

LINK_DAYS = 7


def make_setup_link() -> str:
    """The secret of a fresh one-time link for a new installation's first owner."""
    secret = secrets.token_urlsafe(24)
    SetupLink.objects.filter(expires_at__lt=timezone.now()).delete()
    SetupLink.objects.create(
        secret_hash=hash_secret(secret), expires_at=timezone.now() + timedelta(days=LINK_DAYS)
    )
    return secret


def open_setup_link(secret: str) -> SetupLink:
    """The unused, unexpired link of this secret; raises NotHere."""
    link = SetupLink.objects.filter(
        secret_hash=hash_secret(secret), used_at=None, expires_at__gt=timezone.now()
    ).first()
    if link is None:
        raise NotHere("link (it may have been used or have expired)")
    return link


def checked_account(email: str, password: str, name: str, *, studio_name: str = "") -> User:
    """An unsaved user with a usable address and password; raises Refused naming the field."""
    email = email.strip()
    user = User(email=User.objects.normalize_email(email), name=name.strip())
    reasons: dict[str, str] = {}
    try:
        validate_email(email)
    except ValidationError:
        reasons["email"] = "This is not an email address; write it like name@example.org."
    if not user.name:
        reasons["name"] = "Give the name by which colleagues know this person."
    if User.objects.filter(email=user.email).exists():
        reasons["email"] = "Somebody already signs in with this email address."
    weak = password_reasons(password, user, [studio_name] if studio_name else [])
    if weak:
        reasons["password"] = weak
    if reasons:
        raise Refused(reasons)
    user.set_password(password)
    return user


def _save_account(user: User) -> None:
    try:
        with transaction.atomic():
            user.save()
    except IntegrityError:  # somebody with the same address was a moment quicker
        raise Refused({"email": "Somebody already signs in with this email address."}) from None


def found_studio(
    *,
    studio_name: str,
    name: str,
    email: str,
    password: str,
    time_zone: str = "Europe/London",
    unit: str = "cm",
    language: str = "en",
    setup_secret: str | None = None,
) -> Actor:
    """Make a studio, its owner's account and membership in one transaction; a setup link is used up with it.

    Raises Refused (fields studio_name, name, email, password, time_zone) and NotHere for a dead link.
    """
    if not studio_name.strip():
        raise Refused({"studio_name": "Give the studio's name; it stands on every report."})
    if time_zone not in available_timezones():
        raise Refused({"time_zone": f"{time_zone!r} is not a time zone; write it like Europe/Lisbon."})
    user = checked_account(email, password, name, studio_name=studio_name)
    studio_id = new_id()
    with studio_scope(studio_id):
        if setup_secret is not None:
            link = open_setup_link(setup_secret)
            used = SetupLink.objects.filter(pk=link.pk, used_at=None).update(used_at=timezone.now())
            if not used:
                raise NotHere("link (it has just been used)")
        _save_account(user)
        studio = save_new(
            Studio(
                id=studio_id,
                name=studio_name.strip(),
                time_zone=time_zone,
                unit=unit,
                language=language,
            )
        )
        member = save_new(Member(user=user, name=user.name, role=Member.Role.OWNER))
        actor = Actor(studio_id, member.pk, user.pk, member.role, member.name, time_zone, unit)
        record_act(actor, "found_studio", studio)
    return actor


def invite_member(actor: Actor, *, name: str, email: str, role: str) -> Invitation:
    """Invite somebody to this studio; the link is made from the returned row by ``links.sign``."""
    actor.need(Right.KEEP_MEMBERS)
    invitation = save_new(
        Invitation(
            name=name.strip(),
            email=email.strip(),
            role=role,
            invited_by_id=actor.member_id,
            expires_at=timezone.now() + timedelta(days=LINK_DAYS),
        )
    )
    record_act(actor, "invite_member", invitation, role=role)
    return invitation


def accept_invitation(studio_id: UUID, invitation_id: UUID, user_for: Callable[[Invitation], User]) -> Actor:
    """Join the studio that the signed link names; ``user_for`` gives the account (signed in, or newly checked)."""
    with studio_scope(studio_id):
        invitation = (
            Invitation.objects.select_for_update(no_key=True, of=("self",)).filter(pk=invitation_id).first()
        )
        if invitation is None or invitation.used_at or invitation.expires_at < timezone.now():
            raise NotHere("invitation (it may have been used or have expired)")
        user = user_for(invitation)
        if user._state.adding:
            _save_account(user)
        invitation.used_at = timezone.now()
        invitation.save(update_fields=["used_at"])
        member = Member.objects.select_for_update(no_key=True, of=("self",)).filter(user=user).first()
        if member is None:
            member = save_new(Member(user=user, name=user.name, role=invitation.role))
        elif member.active:
            raise Conflict("You already work in this studio.")
        else:  # let go once, and asked back
            member.role, member.active = invitation.role, True
            member.save(update_fields=["role", "active"])
        studio = Studio.objects.get()
        actor = Actor(studio_id, member.pk, user.pk, member.role, member.name, studio.time_zone, studio.unit)
        record_act(actor, "accept_invitation", invitation)
    return actor


def change_member(actor: Actor, member_id: UUID, *, role: str, active: bool) -> Member:
    """Change a member's role or let her go; a studio always keeps one active owner."""
    actor.need(Right.KEEP_MEMBERS)
    owners = list(
        Member.objects.select_for_update(no_key=True, of=("self",)).filter(
            role=Member.Role.OWNER, active=True
        )
    )
    member = Member.objects.select_for_update(no_key=True, of=("self",)).filter(pk=member_id).first()
    if member is None:
        raise NotHere("member")
    if role not in Member.Role.values:
        raise Refused({"role": "Choose owner, instructor or clerk."})
    if owners == [member] and (role != Member.Role.OWNER or not active):
        raise Conflict("A studio needs an owner: make somebody else an owner first.")
    before = [member.role, member.active]
    member.role, member.active = role, active
    member.save(update_fields=["role", "active"])
    record_act(actor, "change_member", member, before=before, after=[role, active])
    return member


def make_token(actor: Actor, *, name: str, days: int | None = None) -> tuple[ApiToken, str]:
    """A token that acts as this member; the secret is returned once and only its hash is kept."""
    if not name.strip():
        raise Refused({"name": "Say which program this token is for."})
    if days is not None and not 1 <= days <= 3650:
        raise Refused({"days": "A token lives from 1 to 3650 days."})
    secret = secrets.token_urlsafe(32)
    token = save_new(
        ApiToken(
            member_id=actor.member_id,
            name=name.strip(),
            secret_hash=hash_secret(secret),
            expires_at=timezone.now() + timedelta(days=days) if days else None,
        )
    )
    record_act(actor, "make_token", token)
    return token, secret


def revoke_token(actor: Actor, token_id: UUID) -> None:
    """End a token of one's own (an owner may end anybody's)."""
    tokens = ApiToken.objects.filter(pk=token_id, revoked_at=None)
    if not actor.may(Right.KEEP_MEMBERS):
        tokens = tokens.filter(member_id=actor.member_id)
    token = tokens.first()
    if token is None:
        raise NotHere("token")
    token.revoked_at = timezone.now()
    token.save(update_fields=["revoked_at"])
    record_act(actor, "revoke_token", token)
