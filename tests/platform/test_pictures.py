"""Photographs are drawn anew; half a picture is none, whatever else runs in the process."""

import io

import pytest
from PIL import Image, ImageFile

from studio.platform.errors import Refused
from studio.platform.services.pictures import clean_picture


def photograph(form: str) -> bytes:
    drawn = io.BytesIO()
    Image.effect_noise((400, 300), 80).convert("RGB").save(drawn, form)
    return drawn.getvalue()


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_half_a_picture_is_refused_though_the_process_would_read_it(
    form: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    whole = photograph(form)
    with Image.open(io.BytesIO(clean_picture(whole, longest=200))) as kept:
        assert (kept.format, kept.size) == ("JPEG", (200, 150))
    with pytest.raises(Refused, match="not a photograph that can be read"):
        clean_picture(whole[: len(whole) // 2])
    assert ImageFile.LOAD_TRUNCATED_IMAGES is True


def test_what_is_no_picture_is_refused() -> None:
    for content, sentence in (
        (b"", "empty"),
        (b"%PDF-1.7", "not a photograph"),
        (bytes(21 * 1024 * 1024), "20 MB"),
    ):
        with pytest.raises(Refused, match=sentence):
            clean_picture(content)
