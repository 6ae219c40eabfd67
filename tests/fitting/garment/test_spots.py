"""Where a change is made: the pattern's own pieces and seams where it has them, free words otherwise."""

import re
from decimal import Decimal
from typing import Any

import pytest

from fitting.calc.drafts import DRAFTED_KINDS, SEAMS, draft, seam_edges
from fitting.calc.outline import seam_names
from fitting.models import FitNote
from fitting.queries.spots import Spot, spots_of
from fitting.services.fittings import decide, note_fit
from fitting.services.garments import change_garment
from fitting.services.patterns import record_pattern
from fitting.services.told import Told
from studio.platform.errors import Refused
from tests.fitting.garment.conftest import Shop
from tests.fitting.lay.conftest import make_skirt, sizes_of_a_skirt

pytestmark = pytest.mark.django_db

MEASURES = {
    "bust": 960.0, "chest": 1040.0, "waist": 760.0, "hip": 1000.0, "thigh": 620.0, "upper_arm": 340.0,
    "shoulder_to_waist": 420.0, "waist_to_hip": 200.0, "rise": 280.0, "leg": 780.0, "sleeve": 600.0,
}  # fmt: skip


@pytest.mark.parametrize("kind", DRAFTED_KINDS)
def test_every_drafted_piece_tells_its_seams(kind: str) -> None:
    pieces = {piece.name: piece.outline for piece in draft(kind, MEASURES)}
    for name, outline in pieces.items():
        names = seam_names(outline)
        assert {edge.name for edge in outline.edges} <= set(names), name
        assert len(names) == len(set(names))
        assert ("dart" in names) == bool(outline.darts)
    for seam in SEAMS[kind]:
        for side in (seam.first, seam.second):
            assert seam_edges({name.split(",")[0]: one for name, one in pieces.items()}, side)
    assert any("hem" in seam_names(outline) for outline in pieces.values())


def skirt_garment(shop: Shop) -> Any:
    skirt = make_skirt(shop.instructor)
    garment = shop.garment(kind="skirt", words="panel skirt")
    return change_garment(shop.instructor, garment.pk, pattern_id=skirt.pk)


def test_a_patterns_pieces_and_seams_are_offered(shop: Shop) -> None:
    garment = skirt_garment(shop)
    spots = spots_of(garment.pattern)
    headings = [heading for heading, _ in spots.groups]
    assert headings[0] == "Seams of two pieces"
    assert any(spot.seam == "side seam" and " and " in spot.piece for spot in spots.groups[0][1])
    front = next(piece for piece in spots.pieces if piece.startswith("Front") and " and " not in piece)
    assert {"side", "waist", "hem"} <= set(spots.seams_of(front))
    assert Spot(front, "") in dict(spots.groups)[front]
    bare = record_pattern(shop.instructor, **(sizes_of_a_skirt() | {"name": "No pieces"}))
    assert not spots_of(bare)
    assert not spots_of(None)


def test_what_the_pattern_lacks_is_refused_and_nothing_is_kept(shop: Shop) -> None:
    session = shop.baste(skirt_garment(shop))
    front = spots_of(session.garment.pattern).pieces[1]
    with pytest.raises(Refused) as piece:
        note_fit(shop.instructor, session.pk, place="hip", seen="pulls", told=Told(piece="Sleeve"))
    assert "'Sleeve' is not a piece of Panel skirt; choose one of" in piece.value.reasons["piece"]
    with pytest.raises(Refused) as seam:
        note_fit(shop.instructor, session.pk, place="hip", seen="pulls", told=Told(piece=front, seam="cap"))
    assert "has no seam 'cap'; choose one of" in seam.value.reasons["seam"]
    assert not FitNote.objects.exists()
    note = note_fit(
        shop.instructor, session.pk, place="hip", seen="pulls", told=Told(piece=front, seam="side")
    )
    with pytest.raises(Refused, match="is not a piece"):
        decide(shop.instructor, note.pk, decision="leave", piece="Sleeve")
    kept = decide(shop.instructor, note.pk, decision="let_out", amount_mm=Decimal(8))
    assert (kept.piece, kept.seam) == (front, "side")
    words = decide(shop.instructor, kept.pk, decision="let_out", amount_mm=Decimal(8), seam="at the placket")
    assert (words.piece, words.seam) == ("", "at the placket")


def test_without_pieces_words_are_free(shop: Shop) -> None:
    session = shop.baste(shop.full_garment())
    note = note_fit(
        shop.instructor, session.pk, place="hip", seen="pulls", told=Told(piece="front", seam="side seams")
    )
    assert (note.piece, note.seam) == ("front", "side seams")


def test_the_page_offers_them_and_keeps_the_choice(closed_shop: Shop, page: Any) -> None:
    shop = closed_shop
    with shop.house.scope():
        session = shop.baste(skirt_garment(shop))
        front = spots_of(session.garment.pattern).pieces[1]
    browser = page(shop.instructor)
    start = f"/fittings/{session.pk}/note/?place=hip&side=both&sign=strain_level"
    told = browser.get(start).content.decode()
    assert '<optgroup label="Seams of two pieces">' in told
    assert re.search(r"<option value=\"[^\"]*\|side seam\">", told)
    hidden = {"place": "hip", "side": "both", "sign": "strain_level", "change": "", "decision": "open"}
    both = browser.post(
        f"/fittings/{session.pk}/note/", {**hidden, "spot": f"{front}|side", "seam": "somewhere"}
    )
    assert both.status_code == 400
    assert "not both" in both.content.decode()
    browser.post(f"/fittings/{session.pk}/note/", {**hidden, "spot": f"{front}|side"})
    with shop.house.scope():
        note = FitNote.objects.get()
    assert (note.piece, note.seam) == (front, "side")
    again = browser.get(f"/fittings/{session.pk}/").content.decode()
    assert f'<option value="{front}|side" selected>' in again
