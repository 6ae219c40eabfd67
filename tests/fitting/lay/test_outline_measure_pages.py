"""Pages and API by which outlines feed the size table, and by which a piece is taken out."""

from django.urls import reverse

from fitting.models import PatternMeasure, PatternPiece, PieceOutline
from tests.fitting.lay.conftest import make_skirt
from tests.fitting.lay.test_outline_measures import panel_skirt


def test_measures_are_taken_over_on_their_page(in_house, skirt, page):
    address = reverse("fitting:outline-measures", args=[skirt.pk])
    clerk = page(in_house.clerk)
    read = clerk.get(address).content.decode()
    assert "2 × (20.8 − 3.2 dart)" in read
    assert "Take over" not in read
    assert clerk.post(f"{address}?size=10", {"chosen": "waist"}).status_code == 403
    instructor = page(in_house.instructor)
    shown = instructor.get(f"{address}?size=12").content.decode()
    assert "Take over in size 12" in shown
    assert "−0.0 cm" not in shown
    # What differs from the record is not taken over unasked.
    PatternMeasure.objects.filter(measure="hip", size__name="12").update(value=1010)
    off = instructor.get(f"{address}?size=12").content.decode()
    assert 'value="waist" id="take-waist" checked' in off
    assert 'value="hip" id="take-hip" aria-label' in off
    assert "−1.0 cm" in off
    assert "style=" not in shown
    alone = instructor.post(f"{address}?size=12", {"chosen": "waist_to_hip"})
    assert alone.status_code == 400
    assert "in every size" in alone.content.decode()
    assert not PatternMeasure.objects.filter(from_outline=True).exists()
    given = {"chosen": ["waist", "hip", "waist_to_hip"], "every": "1"}
    assert instructor.post(f"{address}?size=12", given).status_code == 302
    assert PatternMeasure.objects.filter(from_outline=True).count() == 6
    assert "taken over" in instructor.get(address).content.decode()
    pattern = instructor.get(reverse("fitting:pattern", args=[skirt.pk])).content.decode()
    assert pattern.count("measured from the outline") == 6  # in the table and above each sum
    assert "Front side and Back side are equally long" in pattern


def test_a_read_in_piece_is_named_on_its_page(in_house, page):
    pattern, _, (front, _) = panel_skirt(in_house.instructor)
    address = reverse("fitting:piece-gauges", args=[pattern.pk, front.piece_id]) + "?size=36"
    assert page(in_house.clerk).get(address).status_code == 403
    browser = page(in_house.instructor)
    shown = browser.get(address).content.decode()
    assert "Edge 4 is called" in shown
    assert "style=" not in shown
    given = {"version": front.version, "name_2": "side", "name_3": "waist", "feed_3": "waist"}
    given |= {"zone_1": "hip", "at_1": "70 cm"} | {f"end_{row}": "top" for row in range(4)}
    far = browser.post(address, given)
    assert far.status_code == 400
    assert "does not reach" in far.content.decode()
    missing = browser.post(address, given | {"at_1": ""})
    assert "Say how far" in missing.content.decode()
    assert browser.post(address, given | {"at_1": "15 cm"}).status_code == 302
    front.refresh_from_db()
    assert [gauge["zone"] for gauge in front.drawing["gauges"]] == ["waist", "hip"]
    again = browser.get(address).content.decode()
    assert 'name="at_0" value="15' in again  # the level that was said stands in the first row now
    stale = browser.post(address, given | {"at_1": "15 cm"})
    assert "changed by somebody else" in stale.content.decode()
    assert browser.get(address.replace("36", "99")).status_code == 404
    measures = browser.get(reverse("fitting:outline-measures", args=[pattern.pk])).content.decode()
    assert "Say where" in measures


def test_a_piece_is_taken_out_after_a_second_question(in_house, skirt, page):
    band, front = (PatternPiece.objects.get(name=name) for name in ("Waistband", "Front"))
    address = reverse("fitting:remove-piece", args=[skirt.pk, band.pk])
    assert page(in_house.clerk).post(address).status_code == 403
    browser = page(in_house.instructor)
    assert "with 2 outlines" in browser.get(address).content.decode()
    assert PatternPiece.objects.filter(pk=band.pk).exists()
    assert browser.post(address).status_code == 302
    assert not PieceOutline.objects.filter(piece_id=band.pk).exists()
    assert browser.get(address).status_code == 404
    browser.post(reverse("fitting:outline-measures", args=[skirt.pk]) + "?size=10", {"chosen": "hip"})
    kept = reverse("fitting:remove-piece", args=[skirt.pk, front.pk])
    assert "It can&#x27;t be taken out" in browser.get(kept).content.decode().replace("'", "&#x27;")
    assert browser.post(kept).status_code == 409


def test_the_same_over_the_api(house, other_house, api):
    with house.scope():
        skirt = make_skirt(house.instructor)
        band = PatternPiece.objects.get(name="Waistband")
        _, _, (front, _) = panel_skirt(house.instructor)
    caller = api(house.instructor)
    address = f"/api/v1/patterns/{skirt.pk}/outline-measures/"
    hip = next(one for one in caller.get(address).json()["results"] if one["zone"] == "hip")
    assert (hip["outline_mm"], hip["recorded_from"], hip["differs"]) == (960.0, "stated", False)
    taken = caller.post(address, {"chosen": [{"zone": "hip", "size_id": hip["size_id"]}]}, format="json")
    assert taken.status_code == 200
    assert [one["recorded_from"] for one in taken.json()["results"] if one["zone"] == "hip"] == [
        "outline",
        "stated",
    ]
    assert api(other_house.instructor).get(address).status_code == 404
    assert api(house.clerk).post(address, {"chosen": []}, format="json").status_code == 403
    said = {
        "edges": [{"number": 3, "name": "waist", "zone": "waist"}],
        "levels": [{"zone": "hip", "mm": "150"}],
    }
    gauges = f"/api/v1/outlines/{front.pk}/gauges/"
    assert caller.put(gauges, said, format="json").status_code == 428
    put = caller.put(gauges, said, format="json", HTTP_IF_MATCH=f'"{front.version}"')
    assert put.status_code == 200
    assert len(put.json()["results"][0]["drawing"]["gauges"]) == 2
    assert caller.delete(f"/api/v1/patterns/{skirt.pk}/pieces/{band.pk}/").status_code == 204
    assert caller.delete(f"/api/v1/patterns/{skirt.pk}/pieces/{band.pk}/").status_code == 404
