"""The audit entry: one per act, in the act's own transaction."""

from typing import Any
from uuid import UUID

from django.db import models

from studio.platform.models import AuditEntry
from studio.platform.requests import current_request_id
from studio.platform.rights import Actor


def record_act(
    actor: Actor | None,
    act: str,
    subject: models.Model,
    *,
    client_id: UUID | None = None,
    **detail: Any,
) -> None:
    """Write down that ``actor`` did ``act`` to ``subject``. Detail holds ids and plain facts, no body figures."""
    AuditEntry.objects.create(
        member_id=actor.member_id if actor else None,
        request_id=current_request_id(),
        act=act,
        noun=subject._meta.model_name or "",
        object_id=subject.pk,
        client_id=client_id,
        detail=detail,
    )
