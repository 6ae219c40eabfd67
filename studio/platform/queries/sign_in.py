"""Reading how a person signs in and where she is signed in."""

import hashlib
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.utils import timezone

from studio.platform.models import CodeKey, Passkey, RecoveryCode, Session, User


@dataclass(frozen=True)
class Ways:
    """The second steps of one person."""

    codes: bool
    passkeys: list[Passkey]
    recovery_left: int

    @property
    def any(self) -> bool:
        return self.codes or bool(self.passkeys)


@dataclass(frozen=True)
class Visit:
    """One browser in which she is signed in; ``mark`` names it without telling its key."""

    mark: str
    browser: str
    address: str
    began_at: datetime
    seen_at: datetime
    here: bool


def ways_of(user: User) -> Ways:
    return Ways(
        codes=CodeKey.objects.filter(user=user).exclude(confirmed_at=None).exists(),
        passkeys=list(Passkey.objects.filter(user=user).order_by("id")),
        recovery_left=RecoveryCode.objects.filter(user=user, used_at=None).count(),
    )


def has_second_step(user: User) -> bool:
    return ways_of(user).any


def with_second_step(user_ids: list[UUID]) -> set[UUID]:
    """Which of these people have a second step."""
    codes = CodeKey.objects.filter(user_id__in=user_ids).exclude(confirmed_at=None)
    keys = Passkey.objects.filter(user_id__in=user_ids)
    return set(codes.values_list("user_id", flat=True)) | set(keys.values_list("user_id", flat=True))


def mark_of(session_key: str) -> str:
    return hashlib.sha256(f"visit {session_key}".encode()).hexdigest()[:32]


def visits_of(user: User, here: str) -> list[Visit]:
    """Where she is signed in, this browser first, then the last seen."""
    rows = Session.objects.filter(user=user, expire_date__gt=timezone.now()).order_by("-seen_at")
    found = [
        Visit(
            mark_of(row.session_key),
            row.browser or "An unknown browser",
            row.address,
            row.began_at,
            row.seen_at,
            row.session_key == here,
        )
        for row in rows
    ]
    return sorted(found, key=lambda visit: not visit.here)
