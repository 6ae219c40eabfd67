"""Outlines and lays over the API."""

from django.core.files.uploadedfile import SimpleUploadedFile

from fitting.models import LayPlan, PieceOutline
from tests.fitting.lay.conftest import draw, make_cloth, make_skirt
from tests.fitting.lay.test_exchange import dxf
from tests.fitting.lay.test_lays import lines, search


def fields(response):
    return {error["field"]: error["reason"] for error in response.json()["errors"]}


def test_from_drafts_to_a_lay_and_its_sheet(house, api):
    with house.scope():
        skirt = make_skirt(house.instructor)
        cloth = make_cloth(house.instructor, "Sail poplin", width=1120, direction="two_way")
        line = lines(skirt)[0]
    caller = api(house.instructor)
    outlines = caller.get(f"/api/v1/patterns/{skirt.pk}/outlines/").json()["results"]
    assert [(one["size"], one["piece"]) for one in outlines[:3]] == [
        ("10", "Front"), ("10", "Back"), ("10", "Waistband")
    ]  # fmt: skip
    again = caller.post(f"/api/v1/patterns/{skirt.pk}/outlines/", {"length_mm": "700"}, format="json")
    assert again.json() == {"outlines": 6}
    asked = {
        "cloth_id": str(cloth.pk),
        "lines": [{"pattern_id": str(line.pattern_id), "size_id": str(line.size_id)}],
    }
    refused = caller.post("/api/v1/lays/", asked | {"matched": 1, "seconds": 9000}, format="json")
    assert refused.status_code == 400
    assert set(fields(refused)) == {"matched", "seconds"}
    made = caller.post("/api/v1/lays/", asked, format="json")
    assert made.status_code == 202
    assert made.json()["state"] == "waiting"
    address = made["Location"]
    with house.scope():
        search(LayPlan.objects.get())
    found = caller.get(address)
    lay = found.json()
    assert [one["way"] for one in lay["drawings"]] == ["two_way", "one_way"] * 2
    assert lay["price_of_one_way"] >= 0
    assert lay["buy"]["length"] >= float(lay["drawings"][0]["length_mm"])
    placements = lay["drawings"][0]["placements"]
    placements[-1]["x"] += 4000
    by_hand = caller.post(
        f"{address}drawings/", {"placements": placements}, format="json", HTTP_IF_MATCH=found["ETag"]
    )
    assert by_hand.status_code == 201
    assert by_hand.json()["drawings"][0]["way"] == "by_hand"
    placements[0]["y"] += 1000
    broken = caller.post(
        f"{address}drawings/", {"placements": placements}, format="json", HTTP_IF_MATCH=by_hand["ETag"]
    )
    assert broken.status_code == 400
    assert "over the usable width" in fields(broken)["placements"]
    chosen = caller.put(f"{address}chosen/", {"number": 2}, format="json")
    assert chosen.json()["chosen"] == 2
    key = placements[0]["key"]
    check = caller.post(
        f"{address}grain-checks/",
        {"key": key, "distance_a_mm": "301", "distance_b_mm": "300", "line_mm": "400"},
        format="json",
    )
    assert check.json()["within"] is True
    change = caller.post(
        f"{address}grain-changes/", {"key": key, "degrees": "45", "reason": ""}, format="json"
    )
    assert "Say why" in fields(change)["reason"]
    asked_sheet = caller.post(f"{address}sheets/")
    assert (asked_sheet.status_code, asked_sheet.json()["ready"]) == (202, False)
    pdf = f"{address}sheets/{asked_sheet.json()['id']}/pdf/"
    assert caller.get(pdf).status_code == 404
    with house.scope():
        draw(asked_sheet.json()["id"])
    assert b"".join(caller.get(pdf).streaming_content).startswith(b"%PDF")
    assert [row["ready"] for row in caller.get(f"{address}sheets/").json()] == [True]
    assert api(house.clerk).post("/api/v1/lays/", asked, format="json").status_code == 403


def test_a_drawing_and_a_remnant(house, other_house, api):
    with house.scope():
        skirt = make_skirt(house.instructor)
        cloth = make_cloth(house.instructor, "Sail poplin", width=1120, direction="two_way")
        size = lines(skirt)[0].size_id
    caller = api(house.instructor)
    given = SimpleUploadedFile("yoke.dxf", dxf(unit=""))
    taken = caller.post(f"/api/v1/patterns/{skirt.pk}/drawings/", {"file": given}, format="multipart")
    assert taken.status_code == 201
    assert taken.json()["open"] == ["unit"]
    address = taken["Location"]
    early = caller.post(f"{address}use/", {"size_id": str(size)}, format="json")
    assert early.status_code == 400
    told = caller.patch(address, {"answers": {"unit": "mm"}}, format="json", HTTP_IF_MATCH=taken["ETag"])
    assert told.json()["open"] == []
    used = caller.post(f"{address}use/", {"size_id": str(size)}, format="json")
    assert [one["piece"] for one in used.json()["results"]] == ["Back yoke"]
    with house.scope():
        assert PieceOutline.objects.filter(source="dxf").count() == 1
    kept = caller.post(
        "/api/v1/remnants/",
        {"cloth_id": str(cloth.pk), "length_mm": "400", "width_mm": "900"},
        format="json",
    )
    assert kept.status_code == 201
    assert len(caller.get("/api/v1/remnants/").json()["results"]) == 1
    stranger = api(other_house.instructor)
    assert stranger.get(address).status_code == 404
    assert stranger.post(f"/api/v1/remnants/{kept.json()['id']}/gone/").status_code == 404
    assert stranger.get("/api/v1/remnants/").json()["results"] == []
    assert caller.post(f"/api/v1/remnants/{kept.json()['id']}/gone/").status_code == 200
