"""The letter with a link for a new password, sent by the worker so that no answer tells how long sending took."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMessage
from django.utils import timezone

from studio.platform.errors import JobFailed
from studio.platform.models import User
from studio.platform.registries import JobKind, Progress, register_job
from studio.platform.rights import Right
from studio.platform.services.accounts import LETTER_JOB, new_password_address


@dataclass(frozen=True)
class Letter:
    to: str
    text: str


def prepare_letter(arguments: dict[str, Any]) -> Letter:
    """In scope: the link is made here, so that it lies in no table."""
    user = User.objects.filter(pk=UUID(arguments["user"]), is_active=True).first()
    if user is None:
        raise JobFailed("There is no such account any more, so nothing was sent.")
    lines = [
        f"Dear {user.name},",
        "",
        "somebody asked for a new password for this email address. This address lets you choose one:",
        "",
        new_password_address(user),
        "",
        "It works once, for two hours. If it was not you, leave it: your password stays as it is.",
    ]
    return Letter(user.email, "\n".join(lines))


def work_letter(letter: Letter, progress: Progress) -> bool:
    """Without a database: hand it to the mail server."""
    EmailMessage("A new password", letter.text, settings.DEFAULT_FROM_EMAIL, [letter.to]).send()
    return True


def finish_letter(arguments: dict[str, Any], letter: Letter, output: bool) -> dict[str, Any]:
    return {"sent": timezone.now().isoformat()}


def register() -> None:
    register_job(
        JobKind(
            name=LETTER_JOB,
            words="Letter for a new password",
            queue="general",
            prepare=prepare_letter,
            work=work_letter,
            finish=finish_letter,
            right=Right.KEEP_MEMBERS,
        )
    )
