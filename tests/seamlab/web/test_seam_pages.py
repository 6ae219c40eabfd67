"""The pages of this wing: who may open them, what they ask, what they keep, how often they ask the database."""

import re
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from seamlab.models import Cloth, ClothTest, SeamRecipeVersion, SeamTrial, Thread
from seamlab.services import seams as seam_services
from studio.platform.database.scope import studio_scope
from studio.platform.models import Studio
from tests.seamlab import sewing_room


@pytest.fixture
def furnished(house):
    """A sewing room with a jersey, a recipe and a trial on it; the scope is closed again."""
    with house.scope():
        room = sewing_room.room(house.instructor)
        room.jersey = sewing_room.jersey(house.instructor)
        room.version = room.zigzag()
        room.made = room.trial(room.version, room.jersey)
    return room


def reading(room):
    return [
        reverse("seamlab:cloths"),
        reverse("seamlab:cloth", args=[room.jersey.pk]),
        reverse("seamlab:recipes"),
        reverse("seamlab:recipe", args=[room.version.recipe_id]),
        reverse("seamlab:trial", args=[room.made.pk]),
        reverse("seamlab:supplies"),
    ]


def keeping(room):
    return [
        reverse("seamlab:new-cloth"),
        reverse("seamlab:edit-cloth", args=[room.jersey.pk]),
        reverse("seamlab:test-cloth", args=[room.jersey.pk, "stretch"]),
        reverse("seamlab:test-cloth", args=[room.jersey.pk, "wash"]),
        reverse("seamlab:new-recipe"),
        reverse("seamlab:change-recipe", args=[room.version.recipe_id]),
        reverse("seamlab:describe-recipe", args=[room.version.recipe_id]),
        reverse("seamlab:new-trial"),
    ]


CLOTH = {
    "name": "Sand canvas",
    "structure": "woven",
    "construction": "plain weave",
    "weight_gsm": "310,5",
    "thickness_mm": "",
    "width_mm": "150",
    "usable_width_mm": "1,46 m",
    "direction": "two_way",
    "fibre_1": "flax",
    "percent_1": "55",
    "fibre_2": "cotton",
    "percent_2": "45",
}


def test_who_keeps_seams_opens_every_page(house, page, furnished):
    for actor in (house.owner, house.instructor):
        browser = page(actor)
        for path in reading(furnished) + keeping(furnished):
            answer = browser.get(path)
            assert answer.status_code == 200, path
            body = answer.content.decode()
            assert " style=" not in body, path
            assert not re.search(r"\son\w+=", body), path


def test_a_clerk_reads_and_is_offered_nothing_else(house, page, furnished):
    browser = page(house.clerk)
    for path in reading(furnished):
        body = browser.get(path).content.decode()
        for words in (
            "Record a trial",
            "New cloth",
            "New recipe",
            "Add a thread",
            "Test the stretch",
            "Change",
        ):
            assert words not in body, (path, words)
    for path in keeping(furnished):
        assert browser.get(path).status_code == 403, path
        assert browser.post(path, {}).status_code == 403, path
    assert browser.post(reverse("seamlab:supplies"), {"what": "thread"}).status_code == 403


def test_another_studios_pages_are_not_here(house, other_house, page, furnished):
    browser = page(other_house.owner)
    for path in reading(furnished) + keeping(furnished):
        expected = 404 if re.search(r"[0-9a-f]{8}-", path) else 200
        assert browser.get(path).status_code == expected, path
    assert "Moss jersey" not in browser.get(reverse("seamlab:cloths")).content.decode()
    assert "Jersey seam" not in browser.get(reverse("seamlab:recipes")).content.decode()


def test_nobody_in_particular_is_asked_to_sign_in(client, house, furnished):
    for path in reading(furnished) + keeping(furnished):
        assert client.get(path).status_code == 302, path


def test_empty_rooms_say_what_to_do(house, page):
    browser = page(house.instructor)
    for name, words in (
        ("cloths", "Record the first cloth"),
        ("recipes", "Write the first recipe"),
        ("supplies", "No thread is recorded yet"),
        ("new-recipe", "A recipe needs a thread"),
        ("new-trial", "A trial needs a recipe and a cloth"),
    ):
        assert words in browser.get(reverse(f"seamlab:{name}")).content.decode()


# --- cloth ---


def test_a_cloth_is_recorded_in_the_units_people_type(house, page):
    answer = page(house.instructor).post(reverse("seamlab:new-cloth"), CLOTH)
    with house.scope():
        made = Cloth.objects.get()
    assert answer["Location"] == reverse("seamlab:cloth", args=[made.pk])
    assert (made.width_mm, made.usable_width_mm) == (Decimal(1500), Decimal(1460))
    assert (made.weight_gsm, made.thickness_mm) == (Decimal("310.5"), None)
    assert made.fibres == [{"fibre": "flax", "percent": 55}, {"fibre": "cotton", "percent": 45}]


def test_an_inch_studio_types_inches(house, page):
    with house.scope():
        Studio.objects.update(unit="in")
    browser = page(house.instructor)
    answer = browser.post(
        reverse("seamlab:new-cloth"), CLOTH | {"width_mm": "59 3/8", "usable_width_mm": "57 1/2"}
    )
    with house.scope():
        made = Cloth.objects.get()
    assert made.width_mm == Decimal("1508.125")
    assert "57 1/2 in" in browser.get(answer["Location"]).content.decode()
    again = browser.get(reverse("seamlab:edit-cloth", args=[made.pk])).content.decode()
    assert 'value="59 3/8 in"' in again


def test_refusals_stand_beside_their_fields_and_what_was_typed_stays(house, page):
    wrong = CLOTH | {"percent_2": "46", "usable_width_mm": "160", "name": "Kept as typed"}
    answer = page(house.instructor).post(reverse("seamlab:new-cloth"), wrong)
    body = answer.content.decode()
    assert answer.status_code == 400
    assert "Fibres add to 101 %: they must add to 100." in body
    assert "The usable width, 1600 mm, is more than the width, 1500 mm." in body
    assert 'value="Kept as typed"' in body
    unclear = page(house.instructor).post(reverse("seamlab:new-cloth"), CLOTH | {"weight_gsm": "1,200"})
    assert "can be read in two ways" in unclear.content.decode()
    with house.scope():
        assert not Cloth.objects.exists()


def test_a_change_that_came_too_late_is_told(house, page, furnished):
    browser, path = page(house.instructor), reverse("seamlab:edit-cloth", args=[furnished.jersey.pk])
    given = CLOTH | {"structure": "knit", "version": "1"}
    assert browser.post(path, given).status_code == 302
    late = browser.post(path, given | {"care": "cool iron"})
    assert late.status_code == 400
    assert "changed by somebody else" in late.content.decode()


def test_two_readings_make_a_stretch_test(house, page, furnished):
    browser = page(house.instructor)
    path = reverse("seamlab:test-cloth", args=[furnished.jersey.pk, "stretch"])
    assert (
        browser.post(path, {"way": "crosswise", "relaxed_mm": "10", "stretched_mm": "13,5"}).status_code
        == 302
    )
    body = browser.get(reverse("seamlab:cloth", args=[furnished.jersey.pk])).content.decode()
    assert "10.0 cm → 13.5 cm" in body
    wrong = browser.post(path, {"way": "crosswise", "relaxed_mm": "10", "stretched_mm": "9"})
    assert wrong.status_code == 400
    assert "is shorter than relaxed" in wrong.content.decode()
    with house.scope():
        assert ClothTest.objects.count() == 3
    assert browser.get(path.replace("stretch", "burn")).status_code == 404


def test_the_cloth_page_answers_which_seam(house, page, furnished):
    browser, path = page(house.clerk), reverse("seamlab:cloth", args=[furnished.jersey.pk])
    body = browser.get(path).content.decode()
    assert "1 of 1 trial passed, the nearest on this cloth" in body
    assert "<svg" in body
    hem = browser.get(path, {"purpose": "hem", "layers": "2", "machine": str(furnished.machine.pk)})
    assert "Untested: sew a sample first" in hem.content.decode()
    odd = browser.get(path, {"purpose": "glue", "layers": "many", "machine": "7"})
    assert odd.status_code == 200


# --- supplies ---


def test_supplies_are_added_and_shown_in_every_numbering(house, page):
    browser, path = page(house.instructor), reverse("seamlab:supplies")
    thread = {"what": "thread", "name": "Reel", "fibre": "polyester", "size": "27", "system": "tex"}
    assert browser.post(path, thread).status_code == 302
    needle = {"what": "needle", "size": "14", "numbering": "number", "point": "sharp"}
    assert browser.post(path, needle).status_code == 302
    machine = {"what": "machine", "name": "Table one", "stitch_types": ["301"], "stitches_per_minute": "900"}
    assert browser.post(path, machine).status_code == 302
    body = browser.get(path).content.decode()
    for words in ("111.1", "37.04", "90 (14) fine sharp", "0.90", "301 lockstitch", "straight only"):
        assert words in body, words
    again = browser.post(path, thread)
    assert again.status_code == 400
    assert "already a thread called" in again.content.decode()
    with house.scope():
        assert Thread.objects.count() == 1


# --- recipes ---


def settings_of(room):
    return {
        "stitch_type": "304",
        "stitch_length_mm": "2,5",
        "stitch_width_mm": "3",
        "passes": "1",
        "needle_id": str(room.ball_needle.pk),
        "needle_thread_id": str(room.thread.pk),
        "needle_thread_ends": "1",
        "tension": "3.5",
    }


def test_a_recipe_is_written_and_changed(house, page, furnished):
    browser = page(house.instructor)
    facts = {
        "name": "Hem",
        "purpose": "hem",
        "seam_class": "8",
        "structure": "knit",
        "layers_low": "1",
        "layers_high": "2",
    }
    made = browser.post(reverse("seamlab:new-recipe"), facts | settings_of(furnished))
    assert made.status_code == 302, made.content.decode()
    with house.scope():
        version = SeamRecipeVersion.objects.get(recipe__name="Hem")
    assert version.stitch_length_mm == Decimal("2.5")
    change = reverse("seamlab:change-recipe", args=[version.recipe_id])
    assert 'value="3.5"' in browser.get(change).content.decode()
    same = browser.post(change, settings_of(furnished) | {"version": "1"})
    assert "nothing would change" in same.content.decode()
    wider = settings_of(furnished) | {"version": "1", "stitch_width_mm": "4"}
    assert browser.post(change, wider)["Location"] == reverse("seamlab:recipe", args=[version.recipe_id])
    body = browser.get(reverse("seamlab:recipe", args=[version.recipe_id])).content.decode()
    assert "Settings, version 2" in body
    assert "Earlier versions" in body
    straight = settings_of(furnished) | {"version": "2", "stitch_type": "301"}
    assert "lies in one line" in browser.post(change, straight).content.decode()


# --- trials ---


def sample(room):
    return {
        "version_id": str(room.version.pk),
        "cloth_id": str(room.jersey.pk),
        "machine_id": str(room.machine.pk),
        "layers": "2",
        "direction": "crosswise",
        "length_before_mm": "20",
        "length_after_mm": "20.1",
        "stretched_mm": "26",
        "pull_end": "broke",
        "smoothness": "4,5",
        "balance": "even",
        "skipped_stitches": "0",
        "needle_damage": "none",
    }


def test_a_sample_is_judged_first_and_kept_by_a_decision(house, page, furnished):
    browser, path = page(house.instructor), reverse("seamlab:new-trial")
    judged = browser.post(path, sample(furnished) | {"judge": "yes"})
    body = judged.content.decode()
    assert judged.status_code == 200
    assert "before the 50 % needed" in body
    assert "Keep the trial" in body
    assert re.search(r'name="verdict" value="fails"[^>]* checked', body)
    with house.scope():
        assert SeamTrial.objects.count() == 1  # the furnished one: nothing is kept yet
    decided = sample(furnished) | {"keep": "yes", "verdict": "passes"}
    refused = browser.post(path, decided)
    assert refused.status_code == 400
    assert "Say why you decide otherwise" in refused.content.decode()
    kept = browser.post(path, decided | {"verdict_reason": "A skirt never stretches so far."})
    assert kept.status_code == 302
    body = browser.get(kept["Location"]).content.decode()
    assert "The figures said: fails." in body
    assert "A skirt never stretches so far." in body


def test_a_trial_the_machine_can_not_sew_is_told_beside_the_machine(house, page, furnished):
    with house.scope():
        wide = furnished.zigzag("Wide", width="9")
    answer = page(house.instructor).post(
        reverse("seamlab:new-trial"), sample(furnished) | {"version_id": str(wide.pk), "judge": "yes"}
    )
    assert answer.status_code == 400
    assert "sews at most 7 mm wide; this recipe is 9 mm wide" in answer.content.decode()


def test_the_form_opens_with_what_the_link_names(house, page, furnished):
    body = (
        page(house.instructor)
        .get(reverse("seamlab:new-trial"), {"version": furnished.version.pk, "cloth": furnished.jersey.pk})
        .content.decode()
    )
    assert body.count("selected") == 2 + body.count('value="" selected')


# --- the same number of queries, however many rows ---


@pytest.mark.parametrize("name", ["cloths", "cloth", "recipes", "recipe", "supplies", "new-trial"])
def test_pages_ask_the_database_as_often_for_many_as_for_few(house, page, furnished, name):
    browser = page(house.owner)
    args = {"cloth": [furnished.jersey.pk], "recipe": [furnished.version.recipe_id]}.get(name, [])
    path = reverse(f"seamlab:{name}", args=args)

    def count():
        with CaptureQueriesContext(connection) as seen:
            assert browser.get(path).status_code == 200
        return len(seen)

    count()
    few = count()
    with house.scope():
        for number in range(6):
            version = furnished.zigzag(f"Seam {number}")
            furnished.trial(version, furnished.jersey)
            other = sewing_room.jersey(house.instructor, f"Jersey {number}")
            furnished.trial(furnished.version, other)
            seam_services.change_recipe(
                house.instructor,
                version.recipe_id,
                settings=furnished.settings(stitch_length_mm=Decimal(number + 1)),
            )
        seam_services.change_recipe(
            house.instructor, furnished.version.recipe_id, settings=furnished.settings(foot="narrow")
        )
    assert count() <= few  # one fewer where every recipe is ruled out


def test_a_recipe_is_renamed_and_its_settings_and_trials_stay(furnished, page):
    recipe_id = furnished.version.recipe_id
    address = reverse("seamlab:describe-recipe", args=[recipe_id])
    browser = page(furnished.actor)
    shown = browser.get(address).content.decode()
    assert 'name="written_for"' in shown
    kept = {"version": "1", "name": "Zigzag for swimwear"}
    assert browser.post(address, {**kept, "name": " "}).status_code == 400
    told = browser.post(address, kept, follow=True).content.decode()
    assert "Zigzag for swimwear" in told
    stale = browser.post(address, {**kept, "name": "Another"})
    assert stale.status_code == 400
    with studio_scope(furnished.actor.studio_id):
        assert SeamTrial.objects.filter(version__recipe_id=recipe_id).count() == 1
        assert SeamRecipeVersion.objects.filter(recipe_id=recipe_id).count() == 1
