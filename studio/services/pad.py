"""What a tablet kept for its member, recorded when it arrives."""

from typing import Any
from uuid import UUID

from studio.models import Measuring
from studio.platform.errors import Conflict
from studio.platform.rights import Actor, Right
from studio.services.measuring import record_measuring


def record_kept(actor: Actor, *, measured_by: UUID | None = None, **facts: Any) -> Measuring:
    """Record a measuring that may have waited: ``measured_by`` names the member who typed it.

    On a shared tablet somebody else may have signed in since; her session must not send it, or the measuring
    would stand in her name. Everything else as in `record_measuring`. Raises Conflict where it is not hers.
    """
    actor.need(Right.RECORD_MEASURING)
    if measured_by is not None and measured_by != actor.member_id:
        raise Conflict("Somebody else measured this: it is sent when she signs in again.")
    return record_measuring(actor, **facts)
