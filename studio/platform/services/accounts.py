"""A person's own account: her password, forgotten ones, and the browsers in which she is signed in.

Outside any scope, except where an owner helps a member of her studio.
"""

from uuid import UUID

from django.contrib.auth.password_validation import get_default_password_validators, validate_password
from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.http import urlsafe_base64_decode, urlsafe_base64_encode

from studio.platform import links
from studio.platform.actors import as_actor
from studio.platform.database.doors import memberships_of
from studio.platform.database.scope import studio_scope
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models import Member, Session, Studio, User
from studio.platform.passwords import NotTheHouse
from studio.platform.queries.sign_in import has_second_step, mark_of
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.jobs import ask_for
from studio.platform.services.limits import Limit
from studio.platform.services.second_step import forget_second_step, record_everywhere
from studio.platform.services.sign_in import BY_ACCOUNT, QUARTER, account_mark

LETTER_JOB = "password_letter"
PROOFS = Limit("proof", 8, QUARTER)  # of being still the same person, before a dangerous act
LETTERS_TO_ONE = Limit("letter to one", 3, 3600)
LETTERS_FROM_ONE = Limit("letter from one address", 10, QUARTER)
TOO_MANY_PROOFS = "Too many wrong passwords. Wait a quarter of an hour, then try again."


def password_reasons(password: str, user: User, studio_names: list[str]) -> str:
    """Why this password won't do, in sentences; empty where it will."""
    try:
        validate_password(password, user, [*get_default_password_validators(), NotTheHouse(studio_names)])
    except ValidationError as exc:
        return " ".join(exc.messages)
    return ""


def _keep_password(user: User, password: str, field: str) -> None:
    names = [found.studio_name for found in memberships_of(user.pk)]
    reasons = password_reasons(password, user, names)
    if reasons:
        raise Refused({field: reasons})
    user.set_password(password)
    user.save(update_fields=["password"])


def prove_password(user: User, password: str) -> None:
    """Raises Refused unless this is her password; counted."""
    whom = str(user.pk)
    if PROOFS.count(whom):
        raise Refused(TOO_MANY_PROOFS)
    if not user.check_password(password):
        raise Refused("This is not your password.")
    PROOFS.forget(whom)


def change_password(user: User, *, old: str, new: str, here: str) -> None:
    """A new password; every other browser is signed out. Raises Refused naming old or new."""
    try:
        prove_password(user, old)
    except Refused as exc:
        raise Refused({"old": str(exc)}) from None
    if new == old:
        raise Refused({"new": "This is the password that you have already."})
    with transaction.atomic():
        _keep_password(user, new, "new")
        Session.objects.filter(user=user).exclude(session_key=here).delete()
        record_everywhere(user, "change_password")


# --- where somebody is signed in ---------------------------------------------------------------------------------


def end_visit(user: User, mark: str) -> None:
    """Sign out one browser of hers; raises NotHere."""
    for key in Session.objects.filter(user=user).values_list("session_key", flat=True):
        if mark_of(key) == mark:
            Session.objects.filter(session_key=key).delete()
            return
    raise NotHere("browser (it may have been signed out already)")


def end_visits(user: User, *, but: str = "") -> int:
    """Sign out everywhere, or everywhere else; how many browsers that were."""
    with transaction.atomic():
        gone = int(Session.objects.filter(user=user).exclude(session_key=but).delete()[0])
        record_everywhere(user, "sign_out_everywhere", browsers=gone)
    return gone


# --- a forgotten password ----------------------------------------------------------------------------------------


def ask_for_letter(email: str, address: str) -> None:
    """Send a letter with a link for a new password, if somebody signs in with this email.

    Tells nobody whether there is such a person. Raises Refused where too many were asked for.
    """
    if LETTERS_FROM_ONE.count(address):
        raise Refused("Too many letters were asked for from here. Wait a quarter of an hour.")
    if LETTERS_TO_ONE.count(account_mark(email)):
        return
    user = User.objects.filter(email=User.objects.normalize_email(email), is_active=True).first()
    mine = memberships_of(user.pk) if user else []
    if user is None or not mine:
        return
    with studio_scope(mine[0].studio_id):
        actor = as_actor(mine[0], user.pk)
        job = ask_for(actor, LETTER_JOB, {"user": str(user.pk)})
        record_act(actor, "ask_for_new_password", job)


def new_password_address(user: User) -> str:
    """A link by which this person sets a new password: once, for two hours, as long as she does not sign in."""
    return links.address(
        "platform:new-password",
        urlsafe_base64_encode(user.pk.bytes),
        default_token_generator.make_token(user),
    )


def who_may_set(uid: str, token: str) -> User:
    """Whose link this is; raises NotHere where it was used, changed or is too old."""
    dead = "link (it may have been used or have expired)"
    try:
        user = User.objects.filter(pk=UUID(bytes=urlsafe_base64_decode(uid)), is_active=True).first()
    except (ValueError, TypeError):
        raise NotHere(dead) from None
    if user is None or not default_token_generator.check_token(user, token):
        raise NotHere(dead)
    return user


def set_forgotten_password(uid: str, token: str, *, new: str) -> User:
    """Set a new password by a link. She is signed out everywhere; her second step stays. Raises Refused naming new."""
    with transaction.atomic():
        found = who_may_set(uid, token)
        user = User.objects.select_for_update(no_key=True).get(pk=found.pk)
        if not default_token_generator.check_token(user, token):
            raise NotHere("link (it has just been used)")
        _keep_password(user, new, "new")
        Session.objects.filter(user=user).delete()
        record_everywhere(user, "set_forgotten_password")
    BY_ACCOUNT.forget(account_mark(user.email))
    return user


# --- an owner helps, in her studio's scope -----------------------------------------------------------------------


def _member_to_help(actor: Actor, member_id: UUID) -> Member:
    actor.need(Right.KEEP_MEMBERS)
    member = Member.objects.select_related("user").filter(pk=member_id, active=True).first()
    if member is None:
        raise NotHere("member")
    if any(found.studio_id != actor.studio_id for found in memberships_of(member.user_id)):
        raise Conflict(
            f"{member.name} works in another studio as well, so no owner alone can open this account. Whoever keeps "
            "this installation can help (manage.py let_in)."
        )
    return member


def help_with_password(actor: Actor, member_id: UUID) -> str:
    """A one-time link by which a member of this studio alone sets a new password. Shown once, written down."""
    member = _member_to_help(actor, member_id)
    record_act(actor, "help_with_password", member)
    return new_password_address(member.user)


def help_with_second_step(actor: Actor, member_id: UUID) -> Member:
    """Forget the lost second step of a member of this studio alone; she is signed out everywhere."""
    member = _member_to_help(actor, member_id)
    if not has_second_step(member.user):
        raise Conflict(f"{member.name} has no second step.")
    forget_second_step(member.user)
    Session.objects.filter(user=member.user).delete()
    record_act(actor, "help_with_second_step", member)
    return member


def ask_everybody_for_second_step(actor: Actor, *, required: bool) -> None:
    """Whether this studio lets nobody in by a password alone. The owner who asks it has one herself."""
    actor.need(Right.KEEP_MEMBERS)
    if required and not has_second_step(User.objects.get(pk=actor.user_id)):
        raise Conflict("Add a second step to your own account first, so that you know how it is done.")
    studio = Studio.objects.select_for_update(no_key=True, of=("self",)).get()
    before, studio.second_step_required = studio.second_step_required, required
    studio.save(update_fields=["second_step_required"])
    record_act(actor, "ask_for_second_step", studio, before=before, after=required)
