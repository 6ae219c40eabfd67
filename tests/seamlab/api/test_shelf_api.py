"""Bolts, photographs, laboratory figures and supplies through the API: roles, other studios, sentences, versions."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from seamlab.models import Bolt, LabFigure
from tests.seamlab import sewing_room

ROOT = "/api/v1"


@pytest.fixture
def furnished(house):
    with house.scope():
        room = sewing_room.room(house.instructor)
        room.cloth = sewing_room.cloth(house.instructor)
    return room


def reasons(response, status=400):
    assert response.status_code == status, response.content
    return {error["field"]: error["reason"] for error in response.json()["errors"]}


def picture(kind="PNG", size=(40, 30), **options):
    drawn = io.BytesIO()
    Image.new("RGB", size, "teal").save(drawn, kind, **options)
    return SimpleUploadedFile(f"swatch.{kind.lower()}", drawn.getvalue(), f"image/{kind.lower()}")


def test_a_bolt_is_cut_and_counted_and_never_typed_over(house, api, furnished):
    mine = api(house.instructor)
    made = mine.post(
        f"{ROOT}/bolts/",
        {"cloth_id": str(furnished.cloth.pk), "label": "T-1", "length_mm": "12500", "dye_lot": "7A"},
    )
    assert (made.status_code, made.json()["remaining_mm"]) == (201, "12500.0000")
    records = f"{made['Location']}records/"
    cut = mine.post(records, {"kind": "cut", "length_mm": "2200.5", "reason": "trousers"})
    assert (cut.status_code, cut.json()["remaining_mm"], cut.json()["number"]) == (201, "10299.5000", 1)
    too_much = mine.post(records, {"kind": "cut", "length_mm": "10300", "reason": "curtain"})
    assert reasons(too_much)["length_mm"].startswith("Only 10.3 m remain on T-1")
    counted = mine.post(records, {"kind": "counted", "length_mm": "9900", "reason": "stock-taking"})
    assert counted.json()["remaining_mm"] == "9900.0000"
    blank = mine.post(records, {"kind": "counted", "length_mm": "9900", "reason": " "})
    assert set(reasons(blank)) == {"reason"}
    read = mine.get(made["Location"])
    assert (read.json()["remaining_mm"], read.json()["length_at_start_mm"]) == ("9900.0000", "12500.0000")
    assert [row["kind"] for row in mine.get(records).json()["results"]] == ["counted", "cut"]
    moved = mine.patch(made["Location"], {"place": "Rail 2"}, headers={"If-Match": made["ETag"]})
    assert moved.status_code == 412, "two records were written since"
    moved = mine.patch(made["Location"], {"place": "Rail 2"}, headers={"If-Match": read["ETag"]})
    assert moved.json()["place"] == "Rail 2"
    gone = mine.patch(made["Location"], {"is_hidden": True}, headers={"If-Match": moved["ETag"]})
    assert gone.status_code == 200
    assert mine.get(f"{ROOT}/bolts/").json()["results"] == []
    assert len(mine.get(f"{ROOT}/bolts/?hidden=true").json()["results"]) == 1


def test_a_photograph_leaves_its_camera_and_place_behind(house, api, furnished, client):
    mine, path = api(house.instructor), f"{ROOT}/cloths/{furnished.cloth.pk}/photos/"
    exif = Image.Exif()
    exif[0x010F] = "Some camera"
    exif[0x0112] = 6  # lies on its side
    sent = mine.post(path, {"picture": picture("JPEG", exif=exif), "side": "face"}, format="multipart")
    assert sent.status_code == 201, sent.content
    answer = mine.get(sent["Location"])
    content = b"".join(answer.streaming_content)
    with Image.open(io.BytesIO(content)) as kept:
        assert (kept.format, kept.size) == ("JPEG", (30, 40))
        assert not kept.getexif()
    assert b"Some camera" not in content
    half = picture(size=(600, 400)).read()
    for bad in (b"<svg onload='alert(1)'/>", half[: len(half) // 2], b"", b"GIF89a" + half[6:]):
        answer = mine.post(
            path, {"picture": SimpleUploadedFile("swatch.png", bad, "image/png")}, format="multipart"
        )
        assert reasons(answer).keys() == {"picture"}, bad[:20]
    large = SimpleUploadedFile("swatch.png", half + bytes(6 * 1024 * 1024), "image/png")
    keyed = mine.post(path, {"picture": large}, format="multipart", headers={"Idempotency-Key": "one"})
    assert keyed.status_code == 413
    assert "side" in reasons(mine.post(path, {"picture": picture(), "side": "inside"}, format="multipart"))
    assert len(mine.get(path).json()) == 1
    assert mine.delete(sent["Location"]).status_code == 204
    assert mine.get(sent["Location"]).status_code == 404
    assert mine.get(path).json() == []


def test_a_report_is_read_in_words_and_kept_or_refused_whole(house, api, furnished):
    mine, path = api(house.instructor), f"{ROOT}/cloths/{furnished.cloth.pk}/"
    report = {
        "method": "Textile department",
        "tested_on": "2026-03-02",
        "figures": [
            {"quantity": "bias_extension", "value": "3.075"},
            {"quantity": "modulus", "way": "lengthwise", "value": "1000"},
            {"quantity": "modulus", "way": "crosswise", "value": "800"},
            {"quantity": "poisson", "value": "0.2"},
        ],
    }
    assert mine.post(f"{path}lab-figures/", report).status_code == 201
    reading = mine.get(f"{path}lab-reading/").json()
    # 123 / 3.075 = 40 N/m; plane orthotropic elasticity (standard mechanics): 148.9758 N/m at 45 degrees.
    bias = next(row for row in reading["table"] if row["angle_deg"] == 45)
    assert bias["modulus"] == pytest.approx(148.9758, abs=1e-4)
    assert "on the true bias" in reading["sentences"][0]
    for wrong, words in (
        ([{"quantity": "bias_extension", "value": "500"}], "outside 0.1 to 60"),
        ([{"quantity": "modulus", "value": "800"}], "needs its way"),
        ([{"quantity": "softness", "value": "8"}], "must be one of"),
        (report["figures"] + [{"quantity": "poisson", "value": "0.3"}], "is given twice"),
        (
            [
                {"quantity": "extension_5", "way": "crosswise", "value": "4"},
                {"quantity": "extension_20", "way": "crosswise", "value": "3"},
            ],
            "a heavier pull extends cloth further",
        ),
        ([], "at least one figure"),
    ):
        answer = mine.post(f"{path}lab-figures/", report | {"figures": wrong})
        assert words in reasons(answer)["figures"], wrong
    with house.scope():
        assert LabFigure.objects.count() == 4
    early = report | {"tested_on": "2226-03-02"}
    assert "future" in reasons(mine.post(f"{path}lab-figures/", early))["tested_on"]


def test_supplies_are_changed_with_their_etag_and_put_away(house, api, furnished):
    mine = api(house.instructor)
    with house.scope():
        furnished.recipe()
    for noun, row, change in (
        ("threads", furnished.thread, {"colours": [{"colour": "grey", "reels": 3}, "teal"]}),
        ("needles", furnished.needle, {"what_for": "medium wovens"}),
        ("machines", furnished.machine, {"feeds": ["walking", "drop"], "feet": ["zip foot"]}),
    ):
        path = f"{ROOT}/{noun}/{row.pk}/"
        read = mine.get(path)
        assert mine.patch(path, change).status_code == 428
        changed = mine.patch(path, change, headers={"If-Match": read["ETag"]})
        assert changed.status_code == 200, changed.content
        assert mine.patch(path, change, headers={"If-Match": read["ETag"]}).status_code == 412
        away = mine.patch(path, {"is_hidden": True}, headers={"If-Match": changed["ETag"]})
        assert away.json()["is_hidden"] is True
        assert row.pk.hex not in [
            r["id"].replace("-", "") for r in mine.get(f"{ROOT}/{noun}/").json()["results"]
        ]
        assert api(house.clerk).patch(path, change, headers={"If-Match": away["ETag"]}).status_code == 403
    thread = mine.get(f"{ROOT}/threads/{furnished.thread.pk}/").json()
    assert thread["colours"] == [{"colour": "grey", "reels": 3}, {"colour": "teal", "reels": None}]
    assert mine.get(f"{ROOT}/machines/{furnished.machine.pk}/").json()["feeds"] == ["drop", "walking"]
    thicker = mine.patch(
        f"{ROOT}/threads/{furnished.thread.pk}/",
        {"size": "60", "system": "tex"},
        headers={"If-Match": mine.get(f"{ROOT}/threads/{furnished.thread.pk}/")["ETag"]},
    )
    assert thicker.status_code == 409
    assert "1 recipe is written with Grey all-purpose" in thicker.json()["detail"]


def test_a_machine_tells_when_it_was_last_serviced(house, api, furnished):
    mine, path = api(house.instructor), f"{ROOT}/machines/{furnished.machine.pk}/"
    assert mine.get(path).json()["last_serviced"] is None
    for when in ("2025-11-03", "2026-04-20", "2024-05-01"):
        sent = mine.post(f"{path}services/", {"serviced_on": when, "done_by": "Mechanic", "note": "oiled"})
        assert sent.status_code == 201
    assert mine.get(path).json()["last_serviced"] == "2026-04-20"
    assert "future" in reasons(mine.post(f"{path}services/", {"serviced_on": "2126-01-01"}))["serviced_on"]
    assert len(mine.get(f"{path}services/").json()["results"]) == 3


def test_another_studios_shelf_is_as_if_it_were_not_there(house, other_house, api, furnished):
    with house.scope():
        from seamlab.services import bolts, pictures

        bolt = bolts.record_bolt(
            house.instructor, cloth_id=furnished.cloth.pk, label="T-1", length_mm=sewing_room.Decimal(9000)
        )
        photo = pictures.add_cloth_photo(house.instructor, furnished.cloth.pk, picture=picture().read())
    theirs = api(other_house.instructor)
    cloth = furnished.cloth.pk
    for path in (
        f"bolts/{bolt.pk}/", f"bolts/{bolt.pk}/records/", f"cloth-photos/{photo.pk}/", f"cloths/{cloth}/photos/",
        f"cloths/{cloth}/lab-figures/", f"cloths/{cloth}/lab-reading/", f"threads/{furnished.thread.pk}/",
        f"needles/{furnished.needle.pk}/", f"machines/{furnished.machine.pk}/",
        f"machines/{furnished.machine.pk}/services/",
    ):  # fmt: skip
        assert theirs.get(f"{ROOT}/{path}").status_code == 404, path
    cut = {"kind": "cut", "length_mm": "100", "reason": "curious"}
    assert theirs.post(f"{ROOT}/bolts/{bolt.pk}/records/", cut).status_code == 404
    new = {"cloth_id": str(cloth), "label": "T-2", "length_mm": "100"}
    assert theirs.post(f"{ROOT}/bolts/", new).status_code == 404
    assert theirs.delete(f"{ROOT}/cloth-photos/{photo.pk}/").status_code == 404
    assert theirs.get(f"{ROOT}/bolts/?hidden=true").json()["results"] == []
    with house.scope():
        assert Bolt.objects.get().records.count() == 0
