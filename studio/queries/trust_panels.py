"""What trust and keeping show on a client's page and on the owner's first page."""

from typing import Any
from uuid import UUID

from django.utils import timezone

from studio.platform.rights import Actor
from studio.queries.clients import client_get
from studio.queries.estimates import Estimates, estimates_of
from studio.queries.retention import due_clients, grown_up_clients, keeping_of, withdrawn_clients


def of_client(actor: Actor, client_id: UUID) -> dict[str, Any]:
    """Estimates of what was not taken, and the way to history and standard figure."""
    client = client_get(actor, client_id)
    erased = client.erased_at is not None
    return {
        "client_id": client_id,
        "unit": client.unit,
        "minor": client.is_minor(timezone.localdate()),
        "erased": erased,
        "estimates": Estimates([], [], "") if erased else estimates_of(actor, client_id),
    }


def of_home(actor: Actor, _: UUID) -> dict[str, Any]:
    """How many clients the owner is to decide about. Four queries."""
    keeping = keeping_of(actor)
    return {
        "months": keeping.months,
        "due": due_clients(actor, keeping).count(),
        "withdrawn": withdrawn_clients(actor).count(),
        "grown_up": grown_up_clients(actor).count(),
    }
