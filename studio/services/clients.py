"""Recording clients and their consent."""

from datetime import date
from typing import TypedDict, Unpack
from uuid import UUID

from django.utils import timezone

from studio.models import Client, Consent
from studio.platform.errors import Conflict, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new
from studio.services.leaving import erase_client, export_client
from studio.services.search import index_words, rename_in_search

__all__ = [
    "ClientFacts",
    "change_client",
    "client_here",
    "erase_client",
    "export_client",
    "record_client",
    "record_consent",
]

OLDEST_YEARS = 130


class ClientFacts(TypedDict, total=False):
    """What can be changed of a client; what is left out stays as it is."""

    name: str
    telephone: str
    email: str
    born: date | None
    unit: str
    language: str
    body_model: str
    guardian_name: str
    guardian_telephone: str
    guardian_email: str
    figures_in_report: bool
    notes: str


def record_client(
    actor: Actor,
    *,
    name: str,
    telephone: str = "",
    email: str = "",
    born: date | None = None,
    unit: str = "cm",
    language: str = "",
    body_model: str = "both",
    guardian_name: str = "",
    guardian_telephone: str = "",
    guardian_email: str = "",
    notes: str = "",
    figures_in_report: bool = True,
    consent_by: str = "",
    consent_by_guardian: bool = False,
) -> Client:
    """Record a client and, where ``consent_by`` names who gave it, the consent to be measured.

    ``body_model`` says which fitted model her readings are compared with: "female", "male", "both" (not said: they must
    agree) or "none" (left out; why is not asked). ``language`` is that of what she reads, empty where it is
    the studio's.
    Somebody under 18 needs a guardian's name, and her consent must be the guardian's; without any consent the
    client is recorded but can't be measured yet. Raises Refused naming each field.
    """
    actor.need(Right.KEEP_CLIENTS)
    client = Client(
        name=_plain(name),
        telephone=_plain(telephone),
        email=email.strip(),
        born=born,
        unit=unit,
        language=language,
        body_model=body_model,
        guardian_name=_plain(guardian_name),
        guardian_telephone=_plain(guardian_telephone),
        guardian_email=guardian_email.strip(),
        notes=notes.strip(),
        figures_in_report=figures_in_report,
    )
    today = timezone.localdate()
    reasons = _reasons(client, today)
    if consent_by.strip() and client.is_minor(today) and not consent_by_guardian:
        reasons["consent_by_guardian"] = (
            f"{client.name or 'The client'} is under 18: consent to be measured is the guardian's to give."
        )
    if consent_by_guardian and not consent_by.strip():
        reasons["consent_by"] = "Give the name of the guardian who consents."
    if reasons:
        raise Refused(reasons)
    save_new(client)
    _index(client)
    record_act(actor, "record_client", client, client_id=client.pk)
    if consent_by.strip():
        _keep_consent(
            actor,
            client,
            kind=Consent.Kind.MEASURE,
            given=True,
            given_by=consent_by,
            by_guardian=consent_by_guardian,
        )
    return client


def change_client(
    actor: Actor, client_id: UUID, *, expected_version: int | None, **facts: Unpack[ClientFacts]
) -> Client:
    """Change what is known of a client. Raises Refused, NotHere, Conflict for an erased client, and Stale
    where she was changed since ``expected_version`` was read (None: whatever it is now).
    """
    actor.need(Right.KEEP_CLIENTS)
    client = client_here(client_id, expected_version)
    # Every text but the notes stands in one line.
    changes = {
        field: (value.strip() if field == "notes" else _plain(value)) if isinstance(value, str) else value
        for field, value in facts.items()
    }
    proposed = Client(
        **{field.attname: getattr(client, field.attname) for field in Client._meta.concrete_fields}
    )
    for field, value in changes.items():
        setattr(proposed, field, value)
    reasons = _reasons(proposed, timezone.localdate())
    if reasons:
        raise Refused(reasons)
    changed = save_edit(client, changes)
    if changed:
        _index(client)
        if "name" in changed:
            rename_in_search(client.pk, client.name)
        # Names of fields only: old values would outlive the client in the record of acts.
        record_act(actor, "change_client", client, client_id=client.pk, fields=sorted(changed))
    return client


def record_consent(
    actor: Actor,
    client_id: UUID,
    *,
    kind: str,
    given: bool,
    given_by: str,
    by_guardian: bool = False,
    note: str = "",
) -> Consent:
    """Keep an answer for ever: consent given, or (``given=False``) withdrawn. The newest of its kind holds.

    For somebody under 18 consent is given by the guardian; anybody may withdraw it. Raises Refused, NotHere,
    Conflict.
    """
    actor.need(Right.KEEP_CLIENTS)
    client = client_here(client_id)
    reasons: dict[str, str] = {}
    if kind not in Consent.Kind.values:
        reasons["kind"] = f"Consent is to one of {', '.join(Consent.Kind.values)} (got {kind[:32]!r})."
    if not given_by.strip():
        reasons["given_by"] = "Say who " + ("gave" if given else "withdrew") + " it."
    if given and client.is_minor(timezone.localdate()):
        if not by_guardian:
            reasons["by_guardian"] = f"{client.name} is under 18: consent is the guardian's to give."
        if not client.guardian_name:
            reasons["given_by"] = (
                f"{client.name} is under 18: record the guardian's name with the client first."
            )
    if reasons:
        raise Refused(reasons)
    return _keep_consent(
        actor, client, kind=kind, given=given, given_by=given_by, by_guardian=by_guardian, note=note
    )


def client_here(client_id: UUID, expected_version: int | None = None) -> Client:
    """The client, locked until the transaction ends; raises NotHere, Stale, and Conflict where she was
    erased.
    """
    client = lock_for_edit(Client, client_id, expected_version)
    if client.erased_at is not None:
        raise Conflict("This client was erased; nothing more can be recorded of her.")
    return client


def _keep_consent(
    actor: Actor, client: Client, *, kind: str, given: bool, given_by: str, by_guardian: bool, note: str = ""
) -> Consent:
    consent = save_new(
        Consent(
            client_id=client.pk,
            kind=kind,
            given=given,
            given_by=_plain(given_by),
            by_guardian=by_guardian,
            recorded_by_id=actor.member_id,
            note=note.strip(),
        )
    )
    record_act(actor, "record_consent", consent, client_id=client.pk, kind=kind, given=given)
    return consent


def _plain(text: str) -> str:
    return " ".join(text.split())


def _reasons(client: Client, today: date) -> dict[str, str]:
    """What can't be so, by field; the columns' own limits are told when the row is saved."""
    reasons: dict[str, str] = {}
    if not client.name:
        reasons["name"] = "Give the client's name."
    if client.unit not in dict(Client._meta.get_field("unit").choices or ()):
        reasons["unit"] = f"Lengths are shown in cm or in (got {client.unit!r})."
    languages = dict(Client._meta.get_field("language").choices or ())
    if client.language and client.language not in languages:
        reasons["language"] = (
            f"Clients are written to in one of {', '.join(languages)} (got {client.language[:16]!r}); "
            "left empty it is the studio's."
        )
    if client.body_model not in Client.BodyModel.values:
        reasons["body_model"] = (
            f"The body model is one of {', '.join(Client.BodyModel.values)} (got {client.body_model[:16]!r})."
        )
    if client.born is not None:
        if client.born > today:
            reasons["born"] = f"The birthday {client.born:%d.%m.%Y} lies in the future."
        elif today.year - client.born.year > OLDEST_YEARS:
            reasons["born"] = f"The birthday {client.born:%d.%m.%Y} is more than {OLDEST_YEARS} years ago."
        elif client.is_minor(today) and not client.guardian_name:
            reasons["guardian_name"] = f"{client.name or 'The client'} is under 18: give the guardian's name."
    return reasons


def _index(client: Client) -> None:
    words = f"{client.name} (guardian {client.guardian_name})" if client.guardian_name else client.name
    index_words(
        client_id=client.pk,
        source="client",
        source_id=client.pk,
        words=words,
        telephone=", ".join(number for number in (client.telephone, client.guardian_telephone) if number),
    )
