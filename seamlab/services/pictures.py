"""Photographs of cloth."""

from typing import TypeVar
from uuid import UUID

from seamlab.models import ClothPhoto, TrialPhoto
from seamlab.services.cloth_tests import cloth_here
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import let_go
from studio.platform.services.pictures import store_picture
from studio.platform.services.saving import save_new

SMALL_EDGE = 240
MOST_PHOTOS = 24
Shown = TypeVar("Shown", ClothPhoto, TrialPhoto)


def add_cloth_photo(
    actor: Actor, cloth_id: UUID, *, picture: bytes, side: str = ClothPhoto.Side.FACE, note: str = ""
) -> ClothPhoto:
    """Add a photograph of a cloth: its right side, wrong side or a detail. The newest of the right side is shown first.

    Raises NotHere, and Refused naming picture or side.
    """
    actor.need(Right.KEEP_SEAMS)
    cloth_here(cloth_id)
    if side not in ClothPhoto.Side.values:
        raise Refused({"side": f"The side must be one of {', '.join(ClothPhoto.Side.values)}; got {side!r}."})
    if ClothPhoto.objects.filter(cloth_id=cloth_id, is_hidden=False).count() >= MOST_PHOTOS:
        raise Refused({"picture": f"This cloth has {MOST_PHOTOS} photographs: take one away first."})
    photo = save_new(
        ClothPhoto(
            cloth_id=cloth_id,
            file=store_picture(picture, name="cloth"),
            small=store_picture(picture, name="cloth-small", longest=SMALL_EDGE),
            side=side,
            note=note.strip(),
            added_by_id=actor.member_id,
        )
    )
    record_act(actor, "add_cloth_photo", photo, cloth=str(cloth_id), side=side)
    return photo


def hide_cloth_photo(actor: Actor, photo_id: UUID) -> ClothPhoto:
    """Take a photograph from the cloth's page, for good. Raises NotHere."""
    actor.need(Right.KEEP_SEAMS)
    photo = take_out_of_sight(ClothPhoto, photo_id)
    record_act(actor, "hide_cloth_photo", photo, cloth=str(photo.cloth_id))
    return photo


def take_out_of_sight(kind: type[Shown], photo_id: UUID) -> Shown:
    """Hide a photograph that is still shown, its row locked, and let its bytes go; raises NotHere where none is.

    The row stays, so that the sample's story has no hole; a picture that was taken away by mistake is taken again.
    """
    photo = (
        kind.objects.select_for_update(no_key=True, of=("self",)).filter(pk=photo_id, is_hidden=False).first()
    )
    if photo is None:
        raise NotHere("photograph")
    photo.is_hidden = True
    photo.save(update_fields=["is_hidden"])
    let_go(*(file.key for file in (photo.file, getattr(photo, "small", None)) if file))
    return photo
