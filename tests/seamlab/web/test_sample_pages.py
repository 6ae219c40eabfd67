"""Pages about answers, the library, stitches, kept trials and samples side by side."""

import io
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from PIL import Image

from seamlab.models import ComparisonConclusion, SeamComparison, SeamRecipe, SeamTrial, TrialPhoto
from seamlab.services import comparisons
from tests.seamlab import sewing_room

STEADY = {"stretch_wanted_percent": Decimal(0)}


@pytest.fixture
def furnished(house):
    """A sewing room with a twill, one seam sewn in two ways on it, and both laid side by side."""
    with house.scope():
        room = sewing_room.room(house.instructor)
        room.twill = sewing_room.cloth(house.instructor)
        room.jersey = sewing_room.jersey(house.instructor)
        room.plain = room.recipe("One row", purpose="topstitch")
        room.triple = room.recipe("Triple", purpose="topstitch", settings=room.settings(passes=3))
        room.knit = room.zigzag()
        room.samples = [room.trial(version, room.twill, **STEADY) for version in (room.plain, room.triple)]
        room.kept = comparisons.keep_comparison(
            house.instructor, question="One row or three?", trial_ids=[trial.pk for trial in room.samples]
        )
    return room


def reading(room):
    first, second = (trial.pk for trial in room.samples)
    return [
        reverse("seamlab:answers"),
        reverse("seamlab:answers") + f"?cloth={room.twill.pk}&purpose=topstitch&layers=2",
        reverse("seamlab:library"),
        reverse("seamlab:stitches"),
        reverse("seamlab:stitch", args=["514"]),
        reverse("seamlab:comparisons"),
        reverse("seamlab:compare"),
        reverse("seamlab:compare") + f"?trial={first}&trial={second}",
        reverse("seamlab:comparison", args=[room.kept.pk]),
        reverse("seamlab:trial", args=[first]),
    ]


def text(answer):
    return " ".join(answer.content.decode().split())


def test_everybody_reads_and_only_who_keeps_seams_is_offered_an_act(house, page, furnished):
    acts = ("take-in", "conclude", "Keep the samples", "Put away", "Withdraw")
    for actor in (house.instructor, house.clerk):
        browser = page(actor)
        for path in reading(furnished):
            answer = browser.get(path)
            assert answer.status_code == 200, path
            assert "style=" not in answer.content.decode()
            assert actor is house.instructor or not any(act in text(answer) for act in acts), path
    clerk = page(house.clerk)
    for name, args in (
        ("take-in-library", []),
        ("keep-comparison", []),
        ("conclude", [furnished.kept.pk]),
        ("put-away-comparison", [furnished.kept.pk]),
        ("withdraw-trial", [furnished.samples[0].pk]),
        ("trial-photos", [furnished.samples[0].pk]),
    ):
        assert clerk.post(reverse(f"seamlab:{name}", args=args)).status_code == 403, name


def test_another_studios_samples_are_not_here(house, other_house, page, furnished):
    browser = page(other_house.instructor)
    for path in reading(furnished)[-3:]:
        assert browser.get(path).status_code == 404, path
    assert browser.get(reverse("seamlab:stitch", args=["999"])).status_code == 404


def test_the_library_is_taken_in_by_one_button(house, page):
    browser = page(house.instructor)
    assert "Take in the starting library" in text(browser.get(reverse("seamlab:recipes")))
    answer = browser.post(reverse("seamlab:take-in-library"), follow=True)
    assert "All of them are untested here until a sample passes." in text(answer)
    assert "Take in" not in text(browser.get(reverse("seamlab:library")))
    with house.scope():
        assert SeamRecipe.objects.filter(origin="library").count() >= 40
        recipe = SeamRecipe.objects.get(library_key="swim_514")
    body = text(browser.get(reverse("seamlab:recipe", args=[recipe.pk])))
    assert "Untested here." in body
    assert "common practice, no source" in body
    assert "has a knife" in body
    only = text(browser.get(reverse("seamlab:library") + "?kind=leather"))
    assert "Lapped seam on thin leather" in only
    assert "French seam on voile" not in only


def test_answers_show_what_was_left_out_and_why(house, page, furnished):
    with house.scope():
        furnished.recipe(
            "Wide one", settings=furnished.settings(stitch_type="304", stitch_width_mm=Decimal(9))
        )
    body = text(
        page(house.instructor).get(
            reverse("seamlab:answers"),
            {
                "cloth": furnished.twill.pk,
                "purpose": "join",
                "layers": 2,
                "machine": furnished.machine.pk,
                "runs": "",
            },
        )
    )
    assert "Left out: 1" in body
    assert "Table three sews at most 7 mm wide; this seam is 9 mm wide." in body


def test_a_knit_brings_its_checklist_and_the_trial_keeps_it(house, page, furnished):
    browser = page(house.instructor)
    path = reverse("seamlab:new-trial")
    link = {"version": furnished.knit.pk, "cloth": furnished.jersey.pk}
    body = text(browser.get(path, link))
    assert "The few changes for a knit" in body
    assert "A ball-point needle is in, and it is new" in body
    assert "The few changes for a knit" not in text(browser.get(path, link | {"cloth": furnished.twill.pk}))
    # The form asks for the same panel with its own field names.
    assert "The few changes for a knit" in text(
        browser.get(path, {"version_id": furnished.knit.pk, "cloth_id": furnished.jersey.pk})
    )
    answer = browser.post(
        path,
        {
            "version_id": furnished.knit.pk,
            "cloth_id": furnished.jersey.pk,
            "machine_id": furnished.machine.pk,
            "layers": 2,
            "direction": "crosswise",
            "length_before_mm": "20",
            "length_after_mm": "20",
            "smoothness": "4",
            "sewing_seconds": "12,5",
            "check_ball_point": "done",
            "check_looser_tension": "left",
            "check_extensible_thread": "",
            "verdict": "look_again",
            "keep": "yes",
        },
        follow=True,
    )
    assert answer.status_code == 200, text(answer)
    assert "Changed for a knit" in text(answer)
    with house.scope():
        made = SeamTrial.objects.latest("id")
    assert [(row["key"], row["answer"]) for row in made.checklist] == [
        ("ball_point", "done"),
        ("looser_tension", "left"),
    ]
    assert made.sewing_seconds == Decimal("12.5")


def test_a_photograph_is_added_shown_and_taken_away(house, page, furnished):
    browser = page(house.instructor)
    trial = furnished.samples[0].pk
    drawn = io.BytesIO()
    Image.new("RGB", (20, 20), "teal").save(drawn, "JPEG")
    path = reverse("seamlab:trial-photos", args=[trial])
    wrong = browser.post(path, {"picture": SimpleUploadedFile("a.jpg", b"no picture"), "side": "top"})
    assert wrong.status_code == 400
    assert "This is not a photograph that can be read" in text(wrong)
    browser.post(path, {"picture": SimpleUploadedFile("a.jpg", drawn.getvalue()), "side": "under"})
    with house.scope():
        photo = TrialPhoto.objects.get()
    image = browser.get(reverse("seamlab:trial-photo", args=[photo.pk]))
    assert (image.status_code, image["Content-Type"]) == (200, "image/jpeg")
    assert "no-store" in image["Cache-Control"]
    for where in (
        reverse("seamlab:trial", args=[trial]),
        reverse("seamlab:comparison", args=[furnished.kept.pk]),
    ):
        assert str(photo.pk) in text(browser.get(where))
    browser.post(reverse("seamlab:hide-trial-photo", args=[photo.pk]))
    assert str(photo.pk) not in text(browser.get(reverse("seamlab:trial", args=[trial])))


def test_ticked_samples_are_laid_out_kept_and_one_is_taken(house, page, furnished):
    browser = page(house.instructor)
    first, second = (str(trial.pk) for trial in furnished.samples)
    assert "Lay the ticked samples side by side" in text(
        browser.get(reverse("seamlab:cloth", args=[furnished.twill.pk]))
    )
    table = text(browser.get(reverse("seamlab:compare"), {"trial": [first, second]}))
    assert "In what they differ" in table
    assert "3 times" in table
    assert "Tick 2 to 6 samples" in text(browser.get(reverse("seamlab:compare"), {"trial": first}))
    keep = reverse("seamlab:keep-comparison")
    assert browser.post(keep, {"trial": [first, second], "question": ""}).status_code == 400
    kept = browser.post(keep, {"trial": [second, first], "question": "Three or one?"}, follow=True)
    assert "Three or one?" in text(kept)
    with house.scope():
        comparison = SeamComparison.objects.get(question="Three or one?")
    path = reverse("seamlab:conclude", args=[comparison.pk])
    refused = browser.post(path, {"taken_id": "none", "words": ""})
    assert refused.status_code == 400
    assert "Say why none of them is taken" in text(refused)
    done = browser.post(path, {"taken_id": first, "words": ""}, follow=True)
    assert "Taken: One row, version 1" in text(done)
    assert "We take this one." in text(done)
    with house.scope():
        assert ComparisonConclusion.objects.count() == 1
    assert "Three or one?" in text(browser.get(reverse("seamlab:recipe", args=[furnished.plain.recipe_id])))


def test_other_samples_are_laid_on_a_kept_table(house, page, furnished):
    browser = page(house.instructor)
    with house.scope():
        more = furnished.trial(furnished.recipe("Two rows", purpose="topstitch"), furnished.twill, **STEADY)
    path = reverse("seamlab:comparison", args=[furnished.kept.pk])
    assert "Two rows" in text(browser.get(path))
    lay = reverse("seamlab:lay-samples", args=[furnished.kept.pk])
    given = {"trial": [str(furnished.samples[1].pk), str(more.pk)], "version": 1}
    assert "Sample 2 <a" in text(browser.post(lay, given, follow=True)).replace("</span> <a", " <a")
    with house.scope():
        assert [row.trial_id for row in furnished.kept.samples.order_by("place")] == [
            furnished.samples[1].pk,
            more.pk,
        ]
    assert browser.post(lay, given).status_code == 409  # somebody laid others in the meantime


def test_a_wrong_trial_is_withdrawn_with_its_reason(house, page, furnished):
    browser = page(house.instructor)
    path = reverse("seamlab:withdraw-trial", args=[furnished.samples[0].pk])
    assert browser.post(path, {"reason": ""}).status_code == 400
    body = text(browser.post(path, {"reason": "Taped in inches."}, follow=True))
    assert "Withdrawn: it counts no longer." in body
    assert "Taped in inches." in body
    assert "This trial was recorded wrongly" not in body
    assert "withdrawn" in text(browser.get(reverse("seamlab:recipe", args=[furnished.plain.recipe_id])))


@pytest.mark.parametrize("name", ["recipes", "answers", "comparisons", "comparison", "library"])
def test_pages_ask_as_often_for_many_as_for_few(house, page, furnished, name):
    browser = page(house.owner)
    path = reverse(f"seamlab:{name}", args=[furnished.kept.pk] if name == "comparison" else [])
    if name == "answers":
        path += f"?cloth={furnished.twill.pk}&purpose=topstitch&layers=2"

    def count():
        with CaptureQueriesContext(connection) as seen:
            assert browser.get(path).status_code == 200
        return len(seen)

    count()
    few = count()
    with house.scope():
        more = [
            furnished.trial(
                furnished.recipe(f"Row {number}", purpose="topstitch"), furnished.twill, **STEADY
            ).pk
            for number in range(4)
        ]
        for _ in range(3):
            comparisons.keep_comparison(house.instructor, question="Which?", trial_ids=more)
        comparisons.change_comparison(
            house.instructor, furnished.kept.pk, trial_ids=[trial.pk for trial in furnished.samples] + more
        )
    assert count() == few
