"""Passkeys (WebAuthn, W3C Recommendation level 2): made, proved, removed. The cryptography is py_webauthn's."""

import ipaddress
import json
from dataclasses import dataclass
from typing import Any
from uuid import UUID

import structlog
import webauthn
from django.db import IntegrityError, transaction
from django.utils import timezone
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models import CodeKey, Passkey, User
from studio.platform.services.second_step import (
    drop_recovery_if_last,
    keep_one_where_asked,
    record_everywhere,
    recovery_if_none,
)

log = structlog.get_logger("studio.sign_in")

NAME = "Studio record"
MOST = 12
LONGEST_ANSWER = 20_000
NOT_PROVED = "The passkey was not accepted. Try once more, or sign in another way."


@dataclass(frozen=True)
class Site:
    """Where passkeys hold: a host's name, and the address that browsers see."""

    host: str
    origin: str

    @property
    def possible(self) -> bool:
        """Browsers keep passkeys for names alone, on https or on the machine itself."""
        try:
            ipaddress.ip_address(self.host.strip("[]"))
        except ValueError:
            return self.host == "localhost" or self.origin.startswith("https://")
        return False


def _keys(user: User) -> list[PublicKeyCredentialDescriptor]:
    return [
        PublicKeyCredentialDescriptor(id=bytes(row.credential_id))
        for row in Passkey.objects.filter(user=user).order_by("id")
    ]


def ask_to_make(site: Site, user: User) -> tuple[dict[str, Any], bytes]:
    """What the browser needs to make one, and the challenge to keep."""
    options = webauthn.generate_registration_options(
        rp_id=site.host,
        rp_name=NAME,
        user_id=user.pk.bytes,
        user_name=user.email,
        user_display_name=user.name,
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.PREFERRED,
            user_verification=UserVerificationRequirement.PREFERRED,
        ),
        exclude_credentials=_keys(user),
    )
    return json.loads(webauthn.options_to_json(options)), options.challenge


def keep_passkey(site: Site, user: User, *, answer: str, challenge: bytes, name: str) -> list[str]:
    """Keep a passkey that was just made; gives recovery codes where there were none yet. Raises Refused."""
    name = name.strip()
    if not name or len(name) > 60:
        raise Refused({"name": "Give the passkey a name of 1 to 60 letters, such as “telephone”."})
    try:
        made = webauthn.verify_registration_response(
            credential=_short(answer),
            expected_challenge=challenge,
            expected_rp_id=site.host,
            expected_origin=site.origin,
        )
    except Exception as exc:  # a stranger's bytes: whatever the parser stumbles over, the answer is the same
        raise Refused("The passkey was not made. Try once more.") from exc
    with transaction.atomic():
        User.objects.select_for_update(no_key=True).get(pk=user.pk)
        if Passkey.objects.filter(user=user).count() >= MOST:
            raise Refused(f"{MOST} passkeys are enough: remove one that you do not use.")
        try:
            with transaction.atomic():
                Passkey.objects.create(
                    user=user,
                    name=name,
                    credential_id=made.credential_id,
                    public_key=made.credential_public_key,
                    sign_count=made.sign_count,
                )
        except IntegrityError:
            raise Conflict("This passkey is known already.") from None
        record_everywhere(user, "add_second_step", kind="passkey")
        return recovery_if_none(user)


def ask_to_prove(site: Site, user: User | None) -> tuple[dict[str, Any], bytes]:
    """What the browser needs to prove one: of this user, or of whoever is there.

    Where a passkey stands alone, the device must ask for a finger, a face or its PIN: that is the second factor.
    """
    options = webauthn.generate_authentication_options(
        rp_id=site.host,
        allow_credentials=_keys(user) if user else None,
        user_verification=(
            UserVerificationRequirement.PREFERRED if user else UserVerificationRequirement.REQUIRED
        ),
    )
    return json.loads(webauthn.options_to_json(options)), options.challenge


def prove_passkey(site: Site, *, answer: str, challenge: bytes, user: User | None = None) -> User:
    """Whose passkey answered; with ``user``, only hers is taken. Raises Refused with one sentence for everything."""
    try:
        credential = _short(answer)
        row = (
            Passkey.objects.select_related("user")
            .filter(credential_id=webauthn.base64url_to_bytes(json.loads(credential)["rawId"]))
            .first()
        )
        if row is None or not row.user.is_active or (user is not None and row.user_id != user.pk):
            raise Refused(NOT_PROVED)
        proved = webauthn.verify_authentication_response(
            credential=credential,
            expected_challenge=challenge,
            expected_rp_id=site.host,
            expected_origin=site.origin,
            credential_public_key=bytes(row.public_key),
            credential_current_sign_count=row.sign_count,
            require_user_verification=user is None,
        )
    except Refused:
        log.info("sign-in refused", by="passkey")
        raise
    except Exception as exc:  # as above: bad bytes, a bad signature and a copied key read the same
        log.info("sign-in refused", by="passkey")
        raise Refused(NOT_PROVED) from exc
    Passkey.objects.filter(pk=row.pk).update(sign_count=proved.new_sign_count, used_at=timezone.now())
    return row.user


def remove_passkey(user: User, passkey_id: UUID) -> None:
    with transaction.atomic():
        User.objects.select_for_update(no_key=True).get(pk=user.pk)
        others = Passkey.objects.filter(user=user).exclude(pk=passkey_id).exists()
        codes = CodeKey.objects.filter(user=user).exclude(confirmed_at=None).exists()
        row = Passkey.objects.filter(user=user, pk=passkey_id).first()
        if row is None:
            raise NotHere("passkey")
        keep_one_where_asked(user, other_ways=others or codes)
        row.delete()
        record_everywhere(user, "remove_second_step", kind="passkey")
        drop_recovery_if_last(user)


def _short(answer: str) -> str:
    if len(answer) > LONGEST_ANSWER:
        raise Refused(NOT_PROVED)
    return answer
