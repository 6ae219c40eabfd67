"""Pages of lays and outlines: who may open them, what they keep, what they say."""

import json
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from fitting.models import GrainCheck, LayDrawing, LayPlan, LaySheet, OutlineFile, PieceOutline, Remnant
from fitting.services.lays import ask_lay
from tests.fitting.lay.conftest import draw, make_cloth, make_skirt
from tests.fitting.lay.test_exchange import dxf
from tests.fitting.lay.test_lays import lines, search


@pytest.fixture
def laid(in_house, skirt, satin):
    """A lay that was searched for, the scope still open for looking at rows."""
    lay = ask_lay(in_house.instructor, cloth_id=satin.pk, lines=lines(skirt), seconds=1)
    search(lay)
    lay.refresh_from_db()
    return lay


@pytest.fixture
def rooms(laid, skirt):
    """Every page of this part."""
    key = laid.pieces[0]["key"]
    return {
        "outlines": reverse("fitting:outlines", args=[skirt.pk]),
        "lays": reverse("fitting:lays"),
        "lay": reverse("fitting:lay", args=[laid.pk]),
        "grain": reverse("fitting:grain", args=[laid.pk, key, 1]),
        "remnants": reverse("fitting:remnants"),
        "new": reverse("fitting:new-lay"),
        "hand": reverse("fitting:lay-by-hand", args=[laid.pk]),
    }


def test_a_clerk_reads_and_an_instructor_keeps(in_house, rooms, page):
    clerk, instructor = page(in_house.clerk), None
    for name, address in rooms.items():
        expected = 403 if name in ("new", "hand") else 200
        assert clerk.get(address).status_code == expected, name
    assert clerk.post(rooms["lay"], {"choose": "1"}).status_code == 403
    assert clerk.post(rooms["remnants"], {}).status_code == 403
    instructor = page(in_house.instructor)
    for name, address in rooms.items():
        answer = instructor.get(address)
        assert answer.status_code == 200, name
        assert "style=" not in answer.content.decode(), name


def test_a_sheet_is_drawn_in_the_background_and_kept_as_it_is(in_house, laid, rooms, page):
    browser = page(in_house.clerk)
    told = browser.post(reverse("fitting:ask-lay-sheet", args=[laid.pk]))
    sheet = LaySheet.objects.get()
    assert told["Location"] == reverse("platform:job", args=[sheet.job_id])
    waiting = reverse("fitting:lay-sheet", args=[laid.pk, sheet.pk])
    assert browser.get(waiting).status_code == 404
    assert "Being drawn since" in browser.get(rooms["lay"]).content.decode()
    draw(sheet.pk)
    assert waiting in browser.get(rooms["lay"]).content.decode()
    first, again = (b"".join(browser.get(waiting).streaming_content) for _ in range(2))
    assert first.startswith(b"%PDF")
    assert first == again
    draw(sheet.pk)  # a job that is done twice keeps the first
    assert b"".join(browser.get(waiting).streaming_content) == first


def test_a_lay_is_asked_for_on_its_page(in_house, skirt, satin, page):
    browser = page(in_house.instructor)
    ten = next(one for one in skirt.sizes.all() if one.name == "10")
    given = {
        "line_0": f"{skirt.pk}:{ten.pk}",
        "times_0": "2",
        "line_2": f"{skirt.pk}:{ten.pk}",
        "times_2": "1",
        "cloth_id": str(satin.pk),
        "cutting_unit_mm": "100",
        "end_allowance_mm": "6 cm",
        "seconds": "5",
    }
    answer = browser.post(reverse("fitting:new-lay"), given)
    assert answer.status_code == 302
    lay = LayPlan.objects.get()
    assert [(line.times) for line in lay.lines.order_by("id")] == [2, 1]
    assert lay.end_allowance_mm == Decimal(60)
    shown = browser.get(answer["Location"]).content.decode()
    assert "Searching for a lay" in shown
    PieceOutline.objects.filter(piece__name="Back", size=ten).delete()
    again = browser.post(reverse("fitting:new-lay"), given)
    assert again.status_code == 400
    assert LayPlan.objects.count() == 1
    stopped = browser.post(reverse("fitting:lay", args=[lay.pk]), {"stop": "1"})
    assert stopped.status_code == 302
    after = browser.get(answer["Location"]).content.decode()
    assert "Searching for a lay" not in after
    assert "The lay that is cut" in after  # the first one that came


def test_what_is_laid_by_hand_is_judged_by_the_server(in_house, laid, rooms, page):
    browser = page(in_house.instructor)
    drawing = LayDrawing.objects.get(lay=laid, number=laid.chosen)
    moved = [dict(row) for row in drawing.placements]
    moved[0]["y"] += 900
    given = {"version": laid.version, "placements": json.dumps(moved)}
    answer = browser.post(rooms["hand"], given)
    assert answer.status_code == 400
    assert "over the usable width" in answer.content.decode()
    moved[0] |= {"y": drawing.placements[0]["y"], "x": drawing.placements[0]["x"] + 3000}
    assert browser.post(rooms["hand"], given | {"placements": json.dumps(moved)}).status_code == 302
    laid.refresh_from_db()
    assert LayDrawing.objects.get(lay=laid, number=laid.chosen).way == "by_hand"
    stale = browser.post(rooms["hand"], given | {"placements": json.dumps(moved)})
    assert "changed by somebody else" in stale.content.decode()
    for broken in ("no json", "[1, 2]", "[]"):
        assert browser.post(rooms["hand"], {"version": laid.version, "placements": broken}).status_code == 400


def test_grain_and_remnants_at_the_table(in_house, laid, rooms, satin, page):
    browser = page(in_house.instructor)
    off = {"distance_a_mm": "30,6", "distance_b_mm": "30", "line_mm": "30"}
    answer = browser.post(rooms["grain"], off, follow=True)
    assert "pin it anew" in answer.content.decode()
    assert GrainCheck.objects.get().degrees == Decimal("1.15")
    wrong = browser.post(rooms["grain"], off | {"line_mm": "3"})
    assert wrong.status_code == 400
    assert "at least 10.0 cm apart" in wrong.content.decode()
    nameless = browser.post(rooms["grain"], {"change": "1", "degrees": "45", "reason": ""})
    assert nameless.status_code == 400
    kept = browser.post(
        rooms["remnants"],
        {"cloth_id": satin.pk, "length_mm": "40", "width_mm": "1200 mm", "place": "Shelf 2"},
    )
    assert kept.status_code == 302
    remnant = Remnant.objects.get()
    assert browser.post(rooms["remnants"], {"gone": remnant.pk}).status_code == 302
    assert Remnant.objects.get().is_gone


def test_the_pieces_are_measured_across(in_house, skirt, page):
    browser = page(in_house.clerk)
    outlines = reverse("fitting:outlines", args=[skirt.pk])
    # The draft's hip lies 20 cm below the waist of a skirt of 62 cm: 96 cm in the size table.
    shown = browser.get(
        outlines, {"size": "10", "level": "42", "end": "foot", "pieces": ["Front", "Back"]}
    ).content.decode()
    assert "<strong>96.0 cm</strong>" in shown
    assert "2 × 24.0 cm" in shown
    high = {"level": "70", "end": "foot", "pieces": ["Front", "Back", "Waistband"]}
    assert "Not so long: Front, Back" in browser.get(outlines, high).content.decode()
    wrong = browser.get(outlines, {"level": "soon", "end": "foot"})
    assert wrong.status_code == 200
    assert "Measured across the pieces" in wrong.content.decode()


def test_a_drawing_is_read_asked_about_and_used(in_house, skirt, page):
    browser = page(in_house.instructor)
    outlines = reverse("fitting:outlines", args=[skirt.pk])
    bad = browser.post(outlines, {"file": SimpleUploadedFile("a.dxf", b"%PDF")})
    assert bad.status_code == 400
    assert "not a DXF file" in bad.content.decode()
    assert OutlineFile.objects.count() == 0
    given = SimpleUploadedFile("yoke.dxf", dxf(unit="", heads=False))
    answer = browser.post(outlines, {"file": given})
    assert answer.status_code == 302
    drawing = answer["Location"]
    assert "2 questions open" in browser.get(drawing).content.decode()
    ten = next(one for one in skirt.sizes.all() if one.name == "10")
    early = browser.post(drawing, {"doubt-unit": "mm", "size": ten.pk, "use": "1"})
    assert "not answered yet" in early.content.decode()
    assert OutlineFile.objects.get().answers == {"unit": "mm"}  # what was answered stays
    used = browser.post(drawing, {"doubt-arrow:0": "both", "size": ten.pk, "use": "1"})
    assert used.status_code == 302
    assert PieceOutline.objects.filter(piece__name="Back yoke", size__name="12").exists()


def test_other_studios_see_none_of_it(house, other_house, page):
    with house.scope():
        skirt = make_skirt(house.instructor)
        cloth = make_cloth(house.instructor, "Duchess satin", width=1370, direction="sheen")
        lay = ask_lay(house.instructor, cloth_id=cloth.pk, lines=lines(skirt), seconds=1)
        search(lay)
        key = lay.pieces[0]["key"]
    browser = page(other_house.instructor)
    for name, named in (
        ("outlines", [skirt.pk]),
        ("lay", [lay.pk]),
        ("lay-by-hand", [lay.pk]),
        ("grain", [lay.pk, key, 1]),
    ):
        assert browser.get(reverse(f"fitting:{name}", args=named)).status_code == 404, name
    assert browser.post(reverse("fitting:lay", args=[lay.pk]), {"choose": "1"}).status_code == 404
