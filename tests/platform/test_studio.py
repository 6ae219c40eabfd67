"""The studio's own page and its colour.

Contrast figures: WCAG 2.2, success criterion 1.4.3 and its definition of contrast ratio (black on white is 21 to 1);
#767676 is the palest grey that reaches 4.5 to 1 on white (WebAIM, contrast and color accessibility), #777777 does not.
"""

from typing import Any

import pytest
from django.test import Client as Browser
from hypothesis import given
from hypothesis import strategies as st

from studio.figures import palette
from studio.platform.colour import DARK, HOUSE_COLOUR, SHADE, checked_colour, contrast, lit, page_colours
from studio.platform.database.scope import studio_scope
from studio.platform.errors import NotAllowed, Refused, Stale
from studio.platform.models import AuditEntry, Studio
from studio.platform.services.studios import change_studio

pytestmark = pytest.mark.django_db


def test_contrast_is_that_of_the_published_definition() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#ffffff", "#ffffff") == 1
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")
    assert contrast("#ff0000", "#ffffff") == pytest.approx(3.998, abs=0.001)  # 1.05 / (0.2126 + 0.05)


def test_the_house_s_colour_is_the_drawings_thread_and_can_be_read() -> None:
    assert palette.THREAD == HOUSE_COLOUR
    assert palette.SHADE == SHADE
    assert checked_colour(HOUSE_COLOUR.upper()) == HOUSE_COLOUR


@pytest.mark.parametrize("colour", ["#f2c94c", "#ffffff", "#767676"])
def test_a_pale_colour_is_refused_with_its_contrast(colour: str) -> None:
    with pytest.raises(
        ValueError, match=r"too pale to be read on paper: its contrast is [\d.]+ to 1 on white"
    ):
        checked_colour(colour)


@pytest.mark.parametrize("colour", ["red", "#12345", "#12345g", "", "#a3234e;}", "url(x)"])
def test_what_is_no_colour_is_refused(colour: str) -> None:
    with pytest.raises(ValueError, match="for example #1f3f77"):
        checked_colour(colour)


@given(st.integers(0, 0xFFFFFF))
def test_every_colour_that_is_taken_can_be_read_by_day_and_in_the_dark(number: int) -> None:
    colour = f"#{number:06x}"
    try:
        checked_colour(colour)
    except ValueError:
        assert contrast(colour, SHADE) < 4.5
    else:
        assert contrast(colour, "#ffffff") >= contrast(colour, SHADE) >= 4.5
        assert contrast(lit(colour), DARK) >= 4.5


def test_an_owner_changes_what_is_given_and_nothing_else(house: Any) -> None:
    with studio_scope(house.owner.studio_id):
        before = Studio.objects.get(pk=house.owner.studio_id)
        studio = change_studio(
            house.owner, expected_version=before.version, colour="#1F3F77", address="4 Needle Yard"
        )
        assert (studio.colour, studio.address, studio.name) == ("#1f3f77", "4 Needle Yard", before.name)
        entry = AuditEntry.objects.filter(act="change_studio").get()
        assert entry.detail["changed"]["colour"] == [HOUSE_COLOUR, "#1f3f77"]
        with pytest.raises(Stale):
            change_studio(house.owner, expected_version=before.version, name="Another")
        with pytest.raises(NotAllowed, match="change the studio's name"):
            change_studio(house.instructor, name="Mine now")


def test_everything_wrong_is_told_at_once_and_nothing_is_saved(house: Any) -> None:
    with studio_scope(house.owner.studio_id):
        with pytest.raises(Refused) as told:
            change_studio(house.owner, name=" ", time_zone="Mars/Base", unit="ell", colour="#ffff00")
        assert set(told.value.reasons) == {"name", "time_zone", "unit", "colour"}
        assert Studio.objects.get(pk=house.owner.studio_id).version == 1


def test_the_page_saves_and_tells_why_not(house: Any, page: Any) -> None:
    browser = page(house.owner)
    answer = browser.get("/studio/")
    assert answer.status_code == 200
    assert 'type="color"' in answer.content.decode()
    given = {
        "name": "Thimble Row", "address": "", "time_zone": "Europe/Lisbon", "unit": "in", "colour": "#ffee00",
        "version": 1,
    }  # fmt: skip
    refused = browser.post("/studio/", given)
    assert refused.status_code == 400
    assert "too pale to be read" in refused.content.decode()
    assert browser.post("/studio/", {**given, "colour": "#1f3f77"}).status_code == 302
    again = browser.get("/studio/").content.decode()
    assert "Thimble Row" in again
    assert "Colour #1f3f77" in again
    assert page(house.instructor).get("/studio/").status_code == 403


def test_the_api_reads_and_changes_it(house: Any, api: Any) -> None:
    read = api(house.clerk).get("/api/v1/studio/")
    assert read.status_code == 200
    assert read.json()["colour"] == HOUSE_COLOUR
    owner = api(house.owner)
    assert owner.patch("/api/v1/studio/", {"unit": "in"}, format="json").status_code == 428
    changed = owner.patch(
        "/api/v1/studio/", {"colour": "#1f3f77"}, format="json", headers={"If-Match": read["ETag"]}
    )
    assert changed.status_code == 200
    assert changed.json()["colour"] == "#1f3f77"
    stale = owner.patch("/api/v1/studio/", {"unit": "in"}, format="json", headers={"If-Match": read["ETag"]})
    assert stale.status_code == 412
    pale = owner.patch(
        "/api/v1/studio/", {"colour": "#ffffff"}, format="json", headers={"If-Match": changed["ETag"]}
    )
    assert pale.status_code == 400
    assert "too pale" in pale.content.decode()


def test_a_colour_s_sheet_is_made_of_nothing_but_a_colour() -> None:
    browser = Browser()
    sheet = browser.get("/colour/1f3f77.css")
    assert sheet["Content-Type"] == "text/css"
    assert sheet.content.decode() == page_colours("#1f3f77")
    assert "immutable" in sheet["Cache-Control"]
    for nonsense in ("ffffff", "zzzzzz", "a3234e}", "12"):
        assert browser.get(f"/colour/{nonsense}.css").status_code == 404
