"""Photographs of try-ons: shown only while the consent to photographs holds."""

from collections import defaultdict
from datetime import date
from uuid import UUID

from fitting.models import FitPhoto
from fitting.queries.fittings import SessionView
from studio.models import Client, Consent
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right


def may_be_photographed(client: Client, today: date) -> bool:
    """Does the newest answer about photographs say yes, a minor's by the guardian?"""
    newest = (
        Consent.objects.filter(client_id=client.pk, kind=Consent.Kind.PHOTOGRAPH)
        .order_by("-at", "-id")
        .first()
    )
    return newest is not None and newest.given and (newest.by_guardian or not client.is_minor(today))


def photos_of(session: SessionView) -> dict[UUID, list[FitPhoto]]:
    """The photographs of a session by the note that holds now, oldest first: one query.

    A photograph of a note that a later one superseded goes on with the later one.
    """
    later = {note.supersedes_id: note.id for note in (*session.notes, *session.earlier) if note.supersedes_id}
    ids = [note.id for note in (*session.notes, *session.earlier)]
    found: dict[UUID, list[FitPhoto]] = defaultdict(list)
    for photo in FitPhoto.objects.filter(note_id__in=ids).select_related("taken_by").order_by("id"):
        holds = photo.note_id
        while holds in later:
            holds = later[holds]
        found[holds].append(photo)
    return found


def fit_photo(actor: Actor, photo_id: UUID, today: date) -> FitPhoto:
    """One photograph with its file; raises NotHere, also where the consent was withdrawn since."""
    actor.need(Right.READ_FIT_NOTES)
    photo = FitPhoto.objects.select_related("file", "client").filter(pk=photo_id).first()
    if photo is None or not may_be_photographed(photo.client, today):
        raise NotHere("photograph")
    return photo
