"""Photographs of cloth and samples: made plain before they are kept.

A picture is drawn anew as JPEG: where and by whom it was taken (which cameras write into files) does not come along,
and nothing but a picture can hide in it.
"""

import io
from uuid import UUID

from PIL import Image, ImageOps, UnidentifiedImageError

from seamlab.models import ClothPhoto
from seamlab.services.cloth_tests import cloth_here
from studio.platform.errors import NotHere, Refused
from studio.platform.models import StoredFile
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import store_file
from studio.platform.services.saving import save_new

MOST_BYTES = 20 * 1024 * 1024
MOST_PIXELS = 60_000_000
LONGEST_EDGE = 1600
SMALL_EDGE = 240
FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PHOTOS = 24


def clean_picture(content: bytes, longest: int = LONGEST_EDGE) -> bytes:
    """The picture as JPEG, upright, at most ``longest`` pixels long; raises Refused naming picture."""
    if not content:
        raise Refused({"picture": "This file is empty."})
    if len(content) > MOST_BYTES:
        raise Refused({"picture": f"A photograph may have {MOST_BYTES // 1024 // 1024} MB at most."})
    try:
        with Image.open(io.BytesIO(content), formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise Refused(
                    {"picture": f"This picture has {opened.width} × {opened.height} points, more than is needed: "
                     "make it smaller."}
                )  # fmt: skip
            upright = ImageOps.exif_transpose(opened)
            ground = Image.new("RGB", upright.size, "white")
            layer = upright.convert("RGBA")
            ground.paste(layer, mask=layer.getchannel("A"))
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, Image.DecompressionBombError) as exc:
        raise Refused(
            {"picture": "This is not a photograph that can be read: send a JPEG, PNG or WebP file."}
        ) from exc
    ground.thumbnail((longest, longest))
    drawn = io.BytesIO()
    ground.save(drawn, "JPEG", quality=85, optimize=True)
    return drawn.getvalue()


def store_picture(content: bytes, *, name: str, longest: int = LONGEST_EDGE) -> StoredFile:
    """Keep a photograph as a file of the studio; raises Refused naming picture."""
    return store_file(clean_picture(content, longest), name=f"{name}.jpg", media_type="image/jpeg")


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
    photo: ClothPhoto | None = (
        ClothPhoto.objects.select_for_update(no_key=True, of=("self",))
        .filter(pk=photo_id, is_hidden=False)
        .first()
    )
    if photo is None:
        raise NotHere("photograph")
    photo.is_hidden = True
    photo.save(update_fields=["is_hidden"])
    record_act(actor, "hide_cloth_photo", photo, cloth=str(photo.cloth_id))
    return photo
