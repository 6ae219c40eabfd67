"""Answers, the library, kept trials and samples side by side in the API."""

import io
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from tests.seamlab import sewing_room

ROOT = "/api/v1"


@pytest.fixture
def furnished(house):
    with house.scope():
        room = sewing_room.room(house.instructor)
        room.twill = sewing_room.cloth(house.instructor)
        room.jersey = sewing_room.jersey(house.instructor)
        room.knit = room.zigzag()
        room.plain = room.recipe("One row", purpose="topstitch")
        room.triple = room.recipe("Triple", purpose="topstitch", settings=room.settings(passes=3))
        room.samples = [
            str(room.trial(version, room.twill, stretch_wanted_percent=Decimal(0)).pk)
            for version in (room.plain, room.triple)
        ]
    return room


def reasons(response, status=400):
    assert response.status_code == status, response.content
    return {error["field"]: error["reason"] for error in response.json()["errors"]}


def test_answers_tell_what_was_left_out(house, api, furnished):
    mine = api(house.instructor)
    taken = mine.post(f"{ROOT}/seam-library/", {})
    assert (taken.status_code, taken.json()["recipes"]) == (
        201,
        mine.get(f"{ROOT}/seam-library/").json()["taken_in"],
    )
    assert mine.post(f"{ROOT}/seam-library/", {}).json()["recipes"] == 0
    found = mine.get(
        f"{ROOT}/cloths/{furnished.jersey.pk}/seam-answers/",
        {"purpose": "join", "machine": str(furnished.machine.pk), "runs": "crosswise", "most": 3},
    ).json()
    assert len(found["answers"]) == 3
    assert found["answers"][0]["standing_words"].startswith("Untested")
    assert found["stretch_percent"] == 50
    by_check = {group["check"]: group for group in found["left_out"]}
    assert "does not make stitch" in by_check["machine"]["seams"][0]["reason"]
    assert "runs" in reasons(
        mine.get(f"{ROOT}/cloths/{furnished.jersey.pk}/seam-answers/", {"purpose": "join", "runs": "up"})
    )
    recipes = mine.get(f"{ROOT}/seam-recipes/").json()["results"]
    assert {row["origin"] for row in recipes} == {"own", "library"} or {row["origin"] for row in recipes} == {
        "library"
    }


def test_the_knit_checklist_is_asked_and_kept(house, api, furnished):
    mine = api(house.instructor)
    path = f"{ROOT}/seam-versions/{furnished.knit.pk}/knit-checklist/"
    asked = mine.get(path, {"cloth": str(furnished.jersey.pk)}).json()
    assert asked[0]["key"] == "ball_point"
    assert mine.get(path, {"cloth": str(furnished.twill.pk)}).json() == []
    made = mine.post(
        f"{ROOT}/seam-trials/",
        {
            "version_id": str(furnished.knit.pk),
            "cloth_id": str(furnished.jersey.pk),
            "machine_id": str(furnished.machine.pk),
            "smoothness": "4",
            "sewing_seconds": "9.5",
            "checklist": [{"key": "ball_point", "answer": "done"}],
        },
    )
    assert made.status_code == 201, made.content
    assert made.json()["checklist"][0]["words"].startswith("A ball-point needle")
    assert (made.json()["sewing_seconds"], made.json()["is_withdrawn"]) == ("9.5", False)


def test_samples_side_by_side_from_keeping_to_conclusion(house, api, furnished):
    mine = api(house.instructor)
    given = {"question": "One row or three?", "trials": furnished.samples}
    made = mine.post(f"{ROOT}/seam-comparisons/", given)
    assert made.status_code == 201, made.content
    path = made["Location"]
    row = made.json()
    assert row["trials"] == furnished.samples
    assert "Sewn over each stitch" in {line["name"] for line in row["settings"]}
    assert all(line["differs"] for line in row["settings"])
    assert row["cost"][0]["cells"][0]["source"].startswith("estimate")
    assert "trials" in reasons(
        mine.post(f"{ROOT}/seam-comparisons/", given | {"trials": furnished.samples[:1]})
    )
    changed = mine.patch(path, {"trials": furnished.samples[::-1]}, headers={"If-Match": made["ETag"]})
    assert (changed.status_code, changed.json()["trials"]) == (200, furnished.samples[::-1])
    assert mine.patch(path, {"question": "Late?"}, headers={"If-Match": made["ETag"]}).status_code == 412
    assert "words" in reasons(mine.post(f"{path}conclusions/", {"taken_id": None}))
    assert mine.post(f"{path}conclusions/", {"taken_id": furnished.samples[0]}).status_code == 201
    assert mine.get(path).json()["conclusion"]["words"] == "We take this one."
    listed = mine.get(f"{ROOT}/seam-comparisons/").json()["results"]
    assert [row["question"] for row in listed] == ["One row or three?"]
    assert mine.delete(path).status_code == 204
    assert mine.get(path).status_code == 404


def test_a_photograph_and_a_withdrawal(house, api, furnished):
    mine = api(house.instructor)
    trial = f"{ROOT}/seam-trials/{furnished.samples[0]}/"
    drawn = io.BytesIO()
    Image.new("RGB", (20, 20), "teal").save(drawn, "JPEG")
    upload = {"picture": SimpleUploadedFile("a.jpg", drawn.getvalue(), "image/jpeg"), "side": "under"}
    made = mine.post(f"{trial}photos/", upload, format="multipart")
    assert made.status_code == 201, made.content
    assert [row["side"] for row in mine.get(f"{trial}photos/").json()] == ["under"]
    assert mine.get(made["Location"]).status_code == 200
    assert mine.delete(made["Location"]).status_code == 204
    assert "reason" in reasons(mine.post(f"{trial}withdrawal/", {"reason": ""}))
    assert mine.post(f"{trial}withdrawal/", {"reason": "Taped in inches."}).status_code == 201
    assert mine.get(trial).json()["is_withdrawn"] is True


def test_a_clerk_reads_and_another_studio_finds_nothing(house, other_house, api, furnished):
    clerk, stranger = api(house.clerk), api(other_house.instructor)
    made = api(house.instructor).post(
        f"{ROOT}/seam-comparisons/", {"question": "Which?", "trials": furnished.samples}
    )
    path = made["Location"]
    assert clerk.get(path).status_code == 200
    for act in (
        lambda who: who.post(f"{path}conclusions/", {"taken_id": furnished.samples[0]}),
        lambda who: who.delete(path),
        lambda who: who.post(f"{ROOT}/seam-trials/{furnished.samples[0]}/withdrawal/", {"reason": "No"}),
    ):
        assert act(clerk).status_code == 403
        assert act(stranger).status_code == 404
    assert clerk.post(f"{ROOT}/seam-library/", {}).status_code == 403
    assert stranger.get(path).status_code == 404
