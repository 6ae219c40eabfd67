"""Photographs: made plain before they are kept.

A picture is drawn anew as JPEG: where and by whom it was taken (which cameras write into files) does not come along,
and nothing but a picture can hide in it.
"""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock
from uuid import UUID

from PIL import Image, ImageFile, ImageOps, UnidentifiedImageError

from studio.platform.errors import Refused
from studio.platform.models import StoredFile
from studio.platform.services.files import store_file

MOST_BYTES = 20 * 1024 * 1024
MOST_PIXELS = 60_000_000
LONGEST_EDGE = 1600
FORMATS = ("JPEG", "PNG", "WEBP")
_LOCK = Lock()


def clean_picture(content: bytes, *, longest: int = LONGEST_EDGE) -> bytes:
    """The picture as JPEG, upright, at most ``longest`` pixels long; raises Refused naming picture."""
    if not content:
        raise Refused({"picture": "This file is empty."})
    if len(content) > MOST_BYTES:
        raise Refused({"picture": f"A photograph may have {MOST_BYTES // 1024 // 1024} MB at most."})
    try:
        with _whole_ones(), Image.open(io.BytesIO(content), formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                size = f"{opened.width} × {opened.height}"
                raise Refused(
                    {"picture": f"This picture has {size} points, more than is needed: make it smaller."}
                )
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


@contextmanager
def _whole_ones() -> Iterator[None]:
    """Half a picture is none: the PDF renderer, once loaded, lets the whole process read them."""
    with _LOCK:
        before, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
        try:
            yield
        finally:
            ImageFile.LOAD_TRUNCATED_IMAGES = before


def store_picture(
    content: bytes, *, name: str, longest: int = LONGEST_EDGE, client_id: UUID | None = None
) -> StoredFile:
    """Keep a photograph as a file of the studio, or of a client; raises Refused naming picture."""
    cleaned = clean_picture(content, longest=longest)
    return store_file(cleaned, name=f"{name}.jpg", media_type="image/jpeg", client_id=client_id)
