"""Photographs of what was seen at a try-on: only with the consent to photographs, a minor's by the guardian."""

from uuid import UUID

from django.utils import timezone

from fitting.models import FitNote, FitPhoto
from fitting.queries.fit_photos import may_be_photographed
from fitting.services.garments import locked_open_garment
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models import StoredFile
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import let_go
from studio.platform.services.pictures import store_picture
from studio.platform.services.saving import save_new

MOST_PHOTOS = 12


def add_fit_photo(actor: Actor, note_id: UUID, *, picture: bytes) -> FitPhoto:
    """Keep a photograph of what a note tells. Raises NotHere, Refused (picture), and Conflict without consent."""
    actor.need(Right.FIT)
    note = FitNote.objects.select_related("session").filter(pk=note_id).first()
    if note is None:
        raise NotHere("fit note")
    garment = locked_open_garment(note.session.garment_id)
    today = timezone.localdate(timezone=actor.zone)
    if not may_be_photographed(garment.client, today):
        raise Conflict(
            f"No photograph: {garment.client.name}’s consent to photographs is not recorded"
            f"{', by a guardian' if garment.client.is_minor(today) else ''}."
        )
    if FitPhoto.objects.filter(note_id=note.pk).count() >= MOST_PHOTOS:
        raise Refused({"picture": f"This note has {MOST_PHOTOS} photographs: take one away first."})
    photo = save_new(
        FitPhoto(
            note=note,
            client_id=garment.client_id,
            file=store_picture(picture, name="fitting", client_id=garment.client_id),
            taken_by_id=actor.member_id,
        )
    )
    record_act(actor, "add_fit_photo", photo, client_id=garment.client_id, note=str(note.pk))
    return photo


def take_away_photo(actor: Actor, photo_id: UUID) -> UUID:
    """Take a photograph away for good, its bytes with it; gives its session's id. Raises NotHere."""
    actor.need(Right.FIT)
    photo = FitPhoto.objects.select_related("note", "file").filter(pk=photo_id).first()
    if photo is None:
        raise NotHere("photograph")
    session_id: UUID = photo.note.session_id
    file: StoredFile = photo.file
    record_act(actor, "take_away_photo", photo, client_id=photo.client_id, note=str(photo.note_id))
    photo.delete()
    let_go(file.key)
    return session_id
