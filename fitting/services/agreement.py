"""The client's own word on how a garment fits: a typed name under what was decided, kept as it was read."""

from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from fitting.models import ClientAgreement, FittingSession
from fitting.queries.agreement import agreement_text, hindrance_to_agree
from fitting.queries.fittings import session_get
from fitting.services.fittings import keep_accepted_ease
from fitting.services.garments import locked_open_garment
from studio.platform.errors import Conflict, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import save_new


def client_agrees(actor: Actor, session_id: UUID, *, name: str, by_guardian: bool = False) -> ClientAgreement:
    """Keep the client's agreement to a signed-off fitting: the name as she typed it, and what was read, frozen.

    The member who is signed in is the witness. For somebody under 18 a guardian agrees, in the guardian's own name.
    Where the fitter had not recorded the client's word, the ease is kept now. Raises Refused (name, by_guardian),
    NotHere, Conflict (not signed off, a later fitting was held, or agreed already).
    """
    actor.need(Right.FIT)
    garment = locked_open_garment(session_get(actor, session_id).garment_id)
    session = session_get(actor, session_id)  # as it stands under the lock
    hindrance = hindrance_to_agree(session)
    if hindrance:
        raise Conflict(hindrance)
    reasons: dict[str, str] = {}
    name = " ".join(name.split())
    client = garment.client
    minor = client.is_minor(timezone.localdate(timezone=actor.zone))
    if not name:
        reasons["name"] = "Whoever agrees types the name."
    if minor and not by_guardian:
        reasons["by_guardian"] = f"{client.name} is under 18: a guardian agrees, in the guardian’s own name."
    if reasons:
        raise Refused(reasons)
    agreed: dict[str, Any] = agreement_text(session, garment)
    try:
        with transaction.atomic():
            made = save_new(
                ClientAgreement(
                    session_id=session.id,
                    name=name,
                    by_guardian=by_guardian,
                    agreed=agreed,
                    witness_id=actor.member_id,
                )
            )
    except IntegrityError as exc:
        raise Conflict("The client has agreed to this fitting already.") from exc
    kept = []
    if session.sign_off is not None and not session.sign_off.client_agreed:
        kept = keep_accepted_ease(garment, FittingSession.objects.get(pk=session.id))
    record_act(
        actor, "client_agrees", made, client_id=garment.client_id, session=str(session.id),
        by_guardian=by_guardian, zones=[accepted.zone for accepted in kept],
    )  # fmt: skip
    return made
