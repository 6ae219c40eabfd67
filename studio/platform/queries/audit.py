"""Reading who did what."""

from django.db.models import QuerySet

from studio.platform.models import AuditEntry
from studio.platform.rights import Actor, Right


def audit_list(actor: Actor) -> "QuerySet[AuditEntry]":
    actor.need(Right.READ_AUDIT)
    return AuditEntry.objects.order_by("-id")
