"""The second step of a sign-in: codes from an app (RFC 6238), and recovery codes for the day when it is lost.

Nothing here is a studio's: a person has one second step for all her studios. What is done about it is written down in
each studio where she works.
"""

import re
import secrets
import time
from typing import Any

import pyotp
import structlog
from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.utils import timezone

from studio.platform.actors import as_actor
from studio.platform.database.doors import memberships_of
from studio.platform.database.scope import studio_scope
from studio.platform.errors import Conflict, Refused
from studio.platform.models import CodeKey, Member, Passkey, RecoveryCode, User
from studio.platform.sealing import seal, unseal
from studio.platform.services.audit import record_act
from studio.platform.services.limits import Limit

log = structlog.get_logger("studio.sign_in")

ISSUER = "Studio record"
SEAL = "code key"
STEP_SECONDS = 30
LATE_STEPS = (0, -1, 1)  # a clock may be half a minute off
RECOVERY_CODES = 10
LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that is read as another

# A thief of the password may guess a code of six digits so often: at most 90 chances in a million for a day.
TRIES = Limit("second step", 6, 15 * 60)
TRIES_A_DAY = Limit("second step in a day", 30, 24 * 3600)
TOO_MANY = "Too many wrong codes. Wait a quarter of an hour, then try again."


def record_everywhere(user: User, act: str, **detail: Any) -> None:
    """Write down what a person did about her account in each studio where she works; outside any scope."""
    for membership in memberships_of(user.pk):
        actor = as_actor(membership, user.pk)
        with studio_scope(membership.studio_id):
            record_act(actor, act, Member(pk=membership.member_id), **detail)


def begin_code_key(user: User) -> str:
    """The secret (base32) to put into an app; the same one until a first code confirms it.

    Raises Conflict where codes are asked for already.
    """
    with transaction.atomic():
        key, _ = CodeKey.objects.select_for_update().get_or_create(
            user=user, defaults={"secret": seal(SEAL, pyotp.random_base32())}
        )
        if key.confirmed_at:
            raise Conflict("You are asked for codes already: remove the app first to change to another.")
        secret = unseal(SEAL, key.secret)
        if secret is None:  # SECRET_KEY was changed in between
            secret = pyotp.random_base32()
            key.secret = seal(SEAL, secret)
            key.save(update_fields=["secret"])
    return secret


def setting_up_address(user: User, secret: str) -> str:
    """What the square holds: an otpauth address that apps read."""
    return pyotp.TOTP(secret).provisioning_uri(name=user.email, issuer_name=ISSUER)


def confirm_code_key(user: User, code: str) -> list[str]:
    """The first right code switches the second step on; gives recovery codes where there were none yet."""
    with transaction.atomic():
        key = CodeKey.objects.select_for_update().filter(user=user, confirmed_at=None).first()
        if key is None:
            raise Conflict("There is no app waiting for its first code: begin again.")
        step = _step_of(key, code)
        if step is None:
            raise Refused(
                {"code": "This code is not right. Look at the app and type the one that it shows now."}
            )
        key.confirmed_at, key.last_step = timezone.now(), step
        key.save(update_fields=["confirmed_at", "last_step"])
        record_everywhere(user, "add_second_step", kind="app")
        return recovery_if_none(user)


def check_second_step(user: User, typed: str) -> str:
    """ "code" or "recovery", by what was right; raises Refused. A code counts once, even within its half minute."""
    whom = str(user.pk)
    if TRIES_A_DAY.count(whom):
        raise Refused(TOO_MANY)
    if TRIES.count(whom):
        TRIES_A_DAY.take_back(whom)
        raise Refused(TOO_MANY)
    plain = re.sub(r"[\s-]", "", typed).lower()
    if re.fullmatch(r"\d{6}", plain):
        right = "code" if _take_code(user, plain) else ""
    else:
        right = "recovery" if _take_recovery(user, plain) else ""
    if not right:
        log.info("sign-in refused", user=whom, by="second step")
        raise Refused("This code is not right, or was used already. Type the one that the app shows now.")
    TRIES.forget(whom)
    TRIES_A_DAY.take_back(whom)
    return right


def _step_of(key: CodeKey, code: str) -> int | None:
    """The half minute to which this code belongs, if it is near now."""
    secret = unseal(SEAL, key.secret)
    plain = re.sub(r"\s", "", code)
    if secret is None or not re.fullmatch(r"\d{6}", plain):
        return None
    totp, now = pyotp.TOTP(secret), int(time.time())
    for late in LATE_STEPS:
        if totp.verify(plain, for_time=now + late * STEP_SECONDS):
            return now // STEP_SECONDS + late
    return None


def _take_code(user: User, code: str) -> bool:
    key = CodeKey.objects.filter(user=user).exclude(confirmed_at=None).first()
    step = _step_of(key, code) if key else None
    if key is None or step is None:
        return False
    # One statement decides between two requests with the same code.
    return CodeKey.objects.filter(pk=key.pk, last_step__lt=step).update(last_step=step) == 1


def _take_recovery(user: User, plain: str) -> bool:
    for row in RecoveryCode.objects.filter(user=user, used_at=None).order_by("id"):
        if check_password(plain, row.code_hash):
            with transaction.atomic():
                taken = RecoveryCode.objects.filter(pk=row.pk, used_at=None).update(used_at=timezone.now())
                if taken:
                    record_everywhere(user, "use_recovery_code")
            return taken == 1
    return False


def make_recovery_codes(user: User) -> list[str]:
    """Ten fresh codes, shown once; the old ones open nothing any more."""
    codes = ["".join(secrets.choice(LETTERS) for _ in range(10)) for _ in range(RECOVERY_CODES)]
    with transaction.atomic():
        User.objects.select_for_update(no_key=True).get(pk=user.pk)
        RecoveryCode.objects.filter(user=user).delete()
        RecoveryCode.objects.bulk_create(
            RecoveryCode(user=user, code_hash=make_password(code)) for code in codes
        )
        record_everywhere(user, "make_recovery_codes")
    return [f"{code[:5]}-{code[5:]}" for code in codes]


def recovery_if_none(user: User) -> list[str]:
    if RecoveryCode.objects.filter(user=user, used_at=None).exists():
        return []
    return make_recovery_codes(user)


def remove_code_key(user: User) -> None:
    """Codes are not asked for any more."""
    with transaction.atomic():
        User.objects.select_for_update(no_key=True).get(pk=user.pk)
        keep_one_where_asked(user, other_ways=Passkey.objects.filter(user=user).exists())
        gone, _ = CodeKey.objects.filter(user=user).exclude(confirmed_at=None).delete()
        CodeKey.objects.filter(user=user).delete()
        if gone:
            record_everywhere(user, "remove_second_step", kind="app")
        drop_recovery_if_last(user)


def keep_one_where_asked(user: User, *, other_ways: bool) -> None:
    """Raises Conflict where a studio asks for a second step and this would take the last one away."""
    asking = [found.studio_name for found in memberships_of(user.pk) if found.second_step]
    if asking and not other_ways:
        raise Conflict(f"{asking[0]} asks for a second step: add another one before you remove the last.")


def drop_recovery_if_last(user: User) -> None:
    """Recovery codes stand in for a second step; without one there is nothing to stand in for."""
    if not Passkey.objects.filter(user=user).exists() and not CodeKey.objects.filter(user=user).exists():
        RecoveryCode.objects.filter(user=user).delete()


def forget_second_step(user: User) -> None:
    """Everything about it goes; for somebody who has lost it all."""
    for model in (CodeKey, Passkey, RecoveryCode):
        model._default_manager.filter(user=user).delete()
