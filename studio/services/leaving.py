"""When a client asks for her data, or asks to be forgotten."""

import re
from typing import Any
from uuid import UUID

from django.db import connection
from django.utils import timezone
from psycopg import sql

from studio.models import Client
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models import Erasure, StoredFile
from studio.platform.registries import CLIENT_ERASERS, CLIENT_EXPORTS
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import let_go
from studio.platform.services.saving import lock_for_edit, save_new
from studio.queries.sheets import sheet_keys_naming
from studio.queries.transfer import export_keys

LOCAL_DIGITS = 7
FEWEST_DIGITS = 5  # fewer stand in a date, too


def export_client(actor: Actor, client_id: UUID) -> dict[str, Any]:
    """All that the studio knows of a client, as plain data that JSON can hold; every wing adds its part.

    Raises NotHere. That it was exported is written down.
    """
    actor.need(Right.EXPORT_AND_ERASE)
    client = Client.objects.filter(pk=client_id).first()
    if client is None:
        raise NotHere("client")
    record_act(actor, "export_client", client, client_id=client.pk)
    return {
        "client_id": str(client.pk),
        "exported_at": timezone.now().isoformat(),
        **{name: export(actor, client.pk) for name, export in sorted(CLIENT_EXPORTS.items())},
    }


def erase_client(actor: Actor, client_id: UUID, *, reason: str) -> Erasure:
    """Erase a person on request: everything personal goes, in all wings at once or not at all.

    What stays is an anonymous remainder that garments point at, and the erasure itself, so that a restored
    backup can repeat it. Stored files lose their bytes once all is committed. Raises NotHere, Conflict if she
    was erased before, and Refused for a reason that is missing or tells who she is (name, telephone, email, hers or her
    guardian's).
    """
    actor.need(Right.EXPORT_AND_ERASE)
    client = lock_for_edit(Client, client_id, None)
    if client.erased_at is not None:
        raise Conflict("This client was erased already.")
    reason = " ".join(reason.split())
    if not reason:
        raise Refused({"reason": "Say why, for example: asked by letter on 3 May."})
    told = _tells(client, reason)
    if told:
        raise Refused(
            {"reason": f"Leave the {told} out of the reason: it is kept after everything else is gone."}
        )
    # Class sheets and exports bear several names, so they belong to nobody alone.
    keys = set(sheet_keys_naming(client.pk)) | export_keys()
    with connection.cursor() as cursor:
        for _, function in CLIENT_ERASERS:
            # Looked at again each time: the first erasers wait for work in hand, which may have stored one more.
            keys |= set(StoredFile.objects.filter(client_id=client.pk).values_list("key", flat=True))
            cursor.execute(sql.SQL("select {}(%s)").format(sql.Identifier(function)), [client.pk])
    erasure = save_new(Erasure(client_id=client.pk, member_id=actor.member_id, reason=reason))
    record_act(actor, "erase_client", client, client_id=client.pk)
    let_go(*keys)
    return erasure


def _tells(client: Client, reason: str) -> str:
    """What of the client a reason gives away, in a word; "" where it is nothing."""
    for name in (client.name, client.guardian_name):
        if _words(name) & _words(reason):
            return "name"
    digits = _digits(reason)
    for number in (client.telephone, client.guardian_telephone):
        wanted = _digits(number)[-LOCAL_DIGITS:]  # the country's number may stand before it or not
        if len(wanted) >= FEWEST_DIGITS and wanted in digits:
            return "telephone number"
    for email in (client.email, client.guardian_email):
        if email and email.casefold() in reason.casefold():
            return "email address"
    return ""


def _digits(text: str) -> str:
    return re.sub(r"\D", "", text)


def _words(text: str) -> set[str]:
    return {word for word in re.split(r"\W+", text.casefold()) if len(word) > 1}
