"""How long clients are kept, and the answer to whether one is kept longer."""

from uuid import UUID

from studio.models import Client
from studio.platform.errors import NotHere, Refused
from studio.platform.models import Studio
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.queries.retention import KEPT, LONGEST_MONTHS, SHORTEST_MONTHS
from studio.services.clients import client_here

LONGEST_REASON = 200


def set_keep_months(actor: Actor, *, months: int | None) -> Studio:
    """Say for how many months after the last act a client is kept (None: no limit). Raises Refused (months).

    Nobody is erased by it: clients who are due are listed, and the owner decides about each.
    """
    actor.need(Right.EXPORT_AND_ERASE)
    if months is not None and not SHORTEST_MONTHS <= months <= LONGEST_MONTHS:
        raise Refused(
            {
                "months": f"Clients are kept for {SHORTEST_MONTHS} to {LONGEST_MONTHS} months, or without a limit "
                f"(got {months})."
            }
        )
    studio: Studio | None = Studio.objects.select_for_update(no_key=True).filter(pk=actor.studio_id).first()
    if studio is None:
        raise NotHere("studio")
    before = studio.keep_months
    if before != months:
        studio.keep_months = months
        studio.save(update_fields=["keep_months"])
        record_act(actor, "set_keep_months", studio, before=before, after=months)
    return studio


def keep_client(actor: Actor, client_id: UUID, *, reason: str) -> Client:
    """Keep a client who is due, or who withdrew her consent; it counts as an act from which the months run anew.

    Raises NotHere, Conflict (erased), Refused (reason: missing, too long).
    """
    actor.need(Right.EXPORT_AND_ERASE)
    client = client_here(client_id)
    reason = " ".join(reason.split())
    if not reason:
        raise Refused({"reason": "Say why the client is kept, for example: has a coat on order."})
    if len(reason) > LONGEST_REASON:
        raise Refused({"reason": f"The reason has at most {LONGEST_REASON} signs (got {len(reason)})."})
    record_act(actor, KEPT, client, client_id=client.pk, reason=reason)
    return client
