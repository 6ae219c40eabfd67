"""A note that is tapped on the figure: its sign, what that may mean, what was chosen, its photograph."""

import io
from decimal import Decimal
from typing import Any

import pytest
from PIL import Image

from fitting.figures.try_on import PLACES_OF, SPOTS, regions, share
from fitting.models import FitNote, FitPhoto
from fitting.queries.fittings import PLACES, session_get
from fitting.queries.try_on import marked
from fitting.services.fit_photos import add_fit_photo, take_away_photo
from fitting.services.fittings import decide, note_fit
from fitting.services.told import Told
from studio.platform.errors import Conflict, NotHere, Refused
from studio.services.clients import record_consent
from tests.fitting.garment.conftest import Shop

pytestmark = pytest.mark.django_db


def picture(size: tuple[int, int] = (40, 30), form: str = "PNG") -> bytes:
    drawn = io.BytesIO()
    Image.new("RGB", size, "teal").save(drawn, form)
    return drawn.getvalue()


def test_every_place_can_be_tapped_somewhere_and_lies_on_the_figure() -> None:
    tapped = {place for spots in SPOTS.values() for place in spots}
    assert tapped == set(PLACES)
    for kind in PLACES_OF:
        for view in SPOTS:
            found = regions(view, kind, PLACES)
            assert found
            for one in found:
                across, down = share(view, one.x, one.y)
                assert 0.05 < across < 0.95, one
                assert 0.02 < down < 0.98, one
            near = [
                (a.words, b.words)
                for i, a in enumerate(found)
                for b in found[i + 1 :]
                if (a.x - b.x) ** 2 + (a.y - b.y) ** 2 < 24**2
            ]
            assert near == [], "two places lie under one finger"


def test_the_wearers_sides() -> None:
    front = {(r.place, r.side): r.x for r in regions("front", "dress", PLACES)}
    back = {(r.place, r.side): r.x for r in regions("back", "dress", PLACES)}
    assert front["waist", "right"] < 0 < front["waist", "left"]
    assert back["waist", "left"] < 0 < back["waist", "right"]


def test_a_tapped_note_keeps_all_of_it_and_a_decision_carries_it_on(shop: Shop) -> None:
    session = shop.baste(shop.full_garment())
    told = Told(
        sign="fold_upright",
        pinched_mm=Decimal(30),
        view="back",
        mark=(Decimal("0.41"), Decimal("0.39")),
        change="narrower_waist",
    )
    note = note_fit(shop.instructor, session.pk, place="waist", told=told)
    assert note.seen == "Loose fold, upright"
    later = decide(
        shop.instructor, note.pk, decision="take_in", amount_mm=Decimal(30), piece="back", seam="side seams"
    )
    row = FitNote.objects.get(pk=later.pk)
    kept = (row.sign, row.pinched_mm, row.view, row.mark_x, row.change, row.piece, row.seam)
    assert kept == (
        "fold_upright", Decimal(30), "back", Decimal("0.41"), "narrower_waist", "back", "side seams"
    )  # fmt: skip
    drawn = marked(session_get(shop.instructor, session.pk).notes, "skirt")
    assert [(each.number, each.view, each.mark is not None) for each in drawn] == [(1, "back", True)]


def test_a_note_without_a_tap_lies_at_its_place(shop: Shop) -> None:
    session = shop.baste(shop.full_garment())
    note_fit(shop.instructor, session.pk, place="hip", side="left", seen="strain")
    drawn = marked(session_get(shop.instructor, session.pk).notes, "skirt")[0]
    assert drawn.view == "front"
    assert drawn.mark is not None
    assert drawn.mark.x > 0.5  # the wearer's left is the picture's right


@pytest.mark.parametrize(
    ("told", "field", "sentence"),
    [
        (Told(sign="sparkle"), "sign", "'sparkle' is not a sign"),
        (Told(sign="gaping", direction="back"), "direction", "Gaping has no direction 'back'"),
        (Told(direction="back"), "direction", "choose the sign first"),
        (Told(sign="gaping", pinched_mm=Decimal(0)), "pinched", "more than nothing"),
        (Told(sign="gaping", pinched_mm=Decimal(900)), "pinched", "check the unit"),
        (Told(sign="gaping", view="below"), "view", "not a view of the figure"),
        (Told(sign="gaping", mark=(Decimal("0.5"), Decimal("0.5"))), "view", "front, back or side"),
        (Told(sign="gaping", view="back", mark=(Decimal(2), Decimal(0))), "mark", "within the figure"),
        (Told(sign="gaping", change="magic"), "change", "not a change"),
    ],
)
def test_what_makes_no_sense_is_refused_and_nothing_is_kept(
    shop: Shop, told: Told, field: str, sentence: str
) -> None:
    session = shop.baste(shop.full_garment())
    with pytest.raises(Refused) as caught:
        note_fit(shop.instructor, session.pk, place="waist", told=told)
    assert sentence in caught.value.reasons[field]
    assert not FitNote.objects.exists()


def test_photographs_need_their_own_consent_and_go_on_with_the_note(shop: Shop) -> None:
    session = shop.baste(shop.full_garment())
    note = note_fit(shop.instructor, session.pk, place="waist", seen="gapes")
    with pytest.raises(Conflict, match="consent to photographs is not recorded"):
        add_fit_photo(shop.instructor, note.pk, picture=picture())
    record_consent(shop.instructor, shop.client.pk, kind="photograph", given=True, given_by=shop.client.name)
    with pytest.raises(Refused, match="not a photograph"):
        add_fit_photo(shop.instructor, note.pk, picture=b"%PDF-1.7 not a picture")
    photo = add_fit_photo(shop.instructor, note.pk, picture=picture())
    decide(shop.instructor, note.pk, decision="leave")
    from fitting.queries.fit_photos import fit_photo, photos_of

    session_now = session_get(shop.instructor, session.pk)
    assert [row.pk for row in photos_of(session_now)[session_now.notes[0].id]] == [photo.pk]
    record_consent(shop.instructor, shop.client.pk, kind="photograph", given=False, given_by=shop.client.name)
    from django.utils import timezone

    with pytest.raises(NotHere):
        fit_photo(shop.instructor, photo.pk, timezone.localdate())
    assert take_away_photo(shop.instructor, photo.pk) == session.pk
    assert not FitPhoto.objects.exists()


def test_the_pages_lead_from_a_tap_to_a_note(closed_shop: Shop, page: Any) -> None:
    shop = closed_shop
    with shop.house.scope():
        session = shop.baste(shop.full_garment())
    browser = page(shop.instructor)
    first = browser.get(f"/fittings/{session.pk}/").content.decode()
    assert "place=waist&amp;side=left" in first
    start = f"/fittings/{session.pk}/note/?view=back&place=waist&side=both&x=0.5000&y=0.4000"
    assert "Loose fold, upright" in browser.get(start).content.decode()
    asked = browser.get(f"{start}&sign=fold_upright&direction=&pinched=3").content.decode()
    assert "Less width at the waist" in asked
    assert "0.8 at each of 4 edges" in asked or "0.7 at each of 4 edges" in asked
    wrong = browser.get(f"{start}&sign=gaping&direction=back")
    assert wrong.status_code == 400
    assert "This sign has no such direction" in wrong.content.decode()
    hidden = {"view": "back", "place": "waist", "side": "both", "x": "0.5", "y": "0.4", "sign": "fold_upright",
              "direction": "", "pinched": "3"}  # fmt: skip
    lacks = browser.post(
        f"/fittings/{session.pk}/note/",
        {**hidden, "change": "narrower_waist", "decision": "take_in", "amount": ""},
    )
    assert lacks.status_code == 400
    assert "needs an amount" in lacks.content.decode()
    made = browser.post(
        f"/fittings/{session.pk}/note/",
        {**hidden, "change": "narrower_waist", "decision": "take_in", "amount": "3", "seam": "side seams"},
        follow=True,
    ).content.decode()
    assert "Less width at the waist" in made
    with shop.house.scope():
        row = FitNote.objects.get()
    assert (row.sign, row.change, row.amount_mm, row.pinched_mm) == (
        "fold_upright", "narrower_waist", Decimal(30), Decimal(30)
    )  # fmt: skip


def test_the_api_says_what_a_sign_may_mean(closed_shop: Shop, api: Any) -> None:
    shop = closed_shop
    with shop.house.scope():
        session = shop.baste(shop.full_garment())
    talk = api(shop.instructor)
    told = talk.get(
        "/api/v1/fit-signs/", {"place": "waist", "sign": "fold_upright", "pinched": "3 cm"}
    ).json()
    assert told["meanings"][0]["change"] == "narrower_waist"
    assert told["meanings"][0]["amount_mm"] == 30.0
    assert len(told["signs"]) >= 16
    bad = talk.get("/api/v1/fit-signs/", {"place": "nose", "sign": "gaping"})
    assert bad.status_code == 400
    made = talk.post(
        f"/api/v1/fitting-sessions/{session.pk}/notes/",
        {"place": "waist", "sign": "gaping", "view": "back", "mark": ["0.5", "0.4"], "pinched": "2 cm"},
        format="json",
    )
    assert made.status_code == 201, made.json()
    assert made.json()["seen"] == "Gaping"
    refused = talk.post(
        f"/api/v1/fit-notes/{made.json()['id']}/photos/",
        {"picture": io.BytesIO(picture())},
        format="multipart",
    )
    assert refused.status_code == 409
