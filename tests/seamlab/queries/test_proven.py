"""Which seam for this cloth: ranked by evidence, with notes, in a constant number of queries."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from seamlab.queries import advice, seams
from seamlab.queries.cloth import cloth_figures, cloth_get
from seamlab.services import seams as services
from seamlab.services import supplies
from studio.platform.errors import NotHere, Refused
from tests.seamlab import sewing_room


def test_nothing_proven_gives_an_untested_starting_point(shelf):
    jersey = sewing_room.jersey(shelf.actor)
    (only,) = seams.proven_for(shelf.actor, jersey.pk, purpose="join")
    assert (only.is_starting_point, only.standing) == (True, "untested")
    assert only.standing_words == "Untested: sew a sample first"
    assert only.stitch_type == "304"
    assert any(row.name == "Stitch width" for row in only.settings)


def test_the_best_proven_comes_first_with_its_evidence(shelf):
    """Three of three before one of one, a failure last (the rule and its example: calc.evidence)."""
    jersey = sewing_room.jersey(shelf.actor)
    once, often, never = (shelf.zigzag(name) for name in ("Once", "Often", "Never"))
    shelf.trial(once, jersey)
    for _ in range(3):
        shelf.trial(often, jersey)
    shelf.trial(never, jersey, skipped_stitches=3)
    answers = seams.proven_for(shelf.actor, jersey.pk, purpose="join")
    assert [(row.name, row.standing) for row in answers] == [
        ("Often", "proven"),
        ("Once", "proven"),
        ("Never", "tried"),
    ]
    best = answers[0]
    assert best.lower == pytest.approx(0.05 ** (1 / 4))
    assert best.evidence.startswith("3 of 3 trials passed, the nearest on this cloth, last 2 March 2026")
    assert (best.trials, best.passes, best.nearest_cloth) == (3, 3, "Moss jersey")
    assert (best.version_id, best.number) == (often.pk, 1)


def test_a_like_cloth_lends_its_evidence_and_an_unlike_one_does_not(shelf):
    version = shelf.zigzag()
    near, mine = (
        sewing_room.jersey(shelf.actor, "Near"),
        sewing_room.jersey(shelf.actor, weight_gsm=Decimal(240)),
    )
    shelf.trial(version, near)
    best = seams.proven_for(shelf.actor, mine.pk, purpose="join")[0]
    assert (best.standing, best.nearest_cloth) == ("proven", "Near")
    assert 0 < best.distance < 1
    heavy = sewing_room.jersey(shelf.actor, "Heavy", weight_gsm=Decimal(900), thickness_mm=Decimal(4))
    answers = seams.proven_for(shelf.actor, heavy.pk, purpose="join")
    assert {row.standing for row in answers} == {"untested"}


def test_only_fitting_recipes_are_offered(shelf):
    twill = sewing_room.cloth(shelf.actor)
    shelf.zigzag("For knits")
    shelf.recipe("Hem", purpose="hem", seam_class="8", layers_low=1, layers_high=3)
    shelf.recipe("Plain")
    shelf.recipe("Lapped", seam_class="2")
    shelf.recipe("Thick", layers_low=4, layers_high=6)

    def names(**wanted):
        answers = seams.proven_for(shelf.actor, twill.pk, **({"purpose": "join"} | wanted))
        return {row.name for row in answers if not row.is_starting_point}

    assert names() == {"Plain", "Lapped"}
    assert names(seam_class="2") == {"Lapped"}
    assert names(layers=5) == {"Thick"}
    assert names(purpose="hem", layers=1) == {"Hem"}


def test_evidence_belongs_to_the_version(shelf):
    jersey = sewing_room.jersey(shelf.actor)
    first = shelf.zigzag()
    for _ in range(2):
        shelf.trial(first, jersey)
    changed = shelf.settings(stitch_type="304", stitch_width_mm=Decimal(4), needle_id=shelf.ball_needle.pk)
    services.change_recipe(shelf.actor, first.recipe_id, settings=changed)
    answers = seams.proven_for(shelf.actor, jersey.pk, purpose="join")
    mine = next(row for row in answers if not row.is_starting_point)
    assert (mine.number, mine.standing, mine.trials) == (2, "untested", 0)
    assert mine.older.startswith("Version 1 was proven: 2 of 2 trials passed")
    assert mine.older.endswith("Version 2 is not yet.")


def test_another_machines_trial_counts_less_and_says_so(shelf):
    jersey, version = sewing_room.jersey(shelf.actor), shelf.zigzag()
    shelf.trial(version, jersey)
    other = supplies.record_machine(
        shelf.actor, name="Table four", stitch_types=["304"], largest_width_mm=Decimal(5)
    )
    here = seams.proven_for(shelf.actor, jersey.pk, purpose="join", machine_id=shelf.machine.pk)[0]
    there = seams.proven_for(shelf.actor, jersey.pk, purpose="join", machine_id=other.pk)[0]
    assert there.lower < here.lower
    assert "set the tension again" in there.evidence
    assert "set the tension again" not in here.evidence


def test_however_many_rows_the_queries_stay_the_same(shelf):
    jersey = sewing_room.jersey(shelf.actor)
    shelf.trial(shelf.zigzag("First"), jersey)

    def count(**given):
        with CaptureQueriesContext(
            connection,
        ) as seen:
            seams.proven_for(shelf.actor, jersey.pk, purpose="join", **given)
        return len(seen)

    few, few_with_machine = count(), count(machine_id=shelf.machine.pk)
    for number in range(12):
        version = shelf.zigzag(f"Seam {number}")
        other = sewing_room.jersey(shelf.actor, f"Jersey {number}")
        shelf.trial(version, jersey)
        shelf.trial(version, other)
    assert (few, few_with_machine) == (7, 8)
    assert (count(), count(machine_id=shelf.machine.pk)) == (few, few_with_machine)


def test_what_can_not_be_asked_is_refused(shelf):
    twill = sewing_room.cloth(shelf.actor)
    for wrong in ({"purpose": "glue"}, {"seam_class": "12"}, {"layers": 0}):
        with pytest.raises(Refused) as caught:
            seams.proven_for(shelf.actor, twill.pk, **({"purpose": "join"} | wrong))
        assert set(caught.value.reasons) == set(wrong)
    with pytest.raises(NotHere):
        seams.proven_for(shelf.actor, twill.pk, purpose="join", machine_id=uuid4())


def test_another_studios_trials_prove_nothing_here(house, other_house):
    with other_house.scope():
        theirs = sewing_room.room(other_house.instructor)
        their_cloth = sewing_room.jersey(other_house.instructor)
        theirs.trial(theirs.zigzag(), their_cloth)
    with house.scope():
        jersey = sewing_room.jersey(house.instructor)
        assert [
            row.is_starting_point for row in seams.proven_for(house.clerk, jersey.pk, purpose="join")
        ] == [True]
        with pytest.raises(NotHere):
            seams.proven_for(house.clerk, their_cloth.pk, purpose="join")
        with pytest.raises(NotHere):
            seams.trials_on(house.clerk, their_cloth.pk)
        assert list(seams.trial_list(house.clerk)) == []


# --- notes and estimates ---


def notes(shelf, version, cloth):
    figures = cloth_figures(cloth_get(shelf.actor, cloth.pk))
    return [note.words for note in advice.notes_for(seams.version_get(shelf.actor, version.pk), figures, 2)]


def test_a_straight_seam_on_a_stretchy_cloth_is_warned_of(shelf):
    """By the geometry of calc.seam, 301 of 2.5 mm and 16 % thread on 1.4 mm gives 25 to 81 %."""
    jersey = sewing_room.jersey(shelf.actor)
    found = notes(shelf, shelf.recipe(structure="knit"), jersey)
    assert any(
        "The cloth stretches 50 %, this seam about 25 to 81 % (estimate): it may be too short." in words
        for words in found
    )
    assert any("point can cut the loops of a knit" in words for words in found)


def test_a_seam_that_follows_is_said_to_follow(shelf):
    found = notes(shelf, shelf.zigzag(width="4"), sewing_room.jersey(shelf.actor))
    (words,) = found
    assert "the cloth 30 % lengthwise and 50 % crosswise" in words


def test_two_thick_ends_in_a_fine_needle_are_warned_of(shelf):
    """Two ends of tex 27 are 54 in one eye; needle 80 is finer than the trade's table wants."""
    version = shelf.recipe(settings=shelf.settings(needle_thread_ends=2))
    (words,) = notes(shelf, version, sewing_room.cloth(shelf.actor))
    assert words.startswith("2 ends of tex 27 make tex 54 in one eye; needle 80 is finer than usual for it")


def test_a_ball_point_on_woven_cloth_is_warned_of(shelf):
    version = shelf.recipe(settings=shelf.settings(needle_id=shelf.ball_needle.pk))
    found = notes(shelf, version, sewing_room.cloth(shelf.actor))
    assert any("push the yarns of a woven cloth aside" in words for words in found)


def test_no_model_is_said_and_not_guessed(shelf):
    triple = shelf.recipe(structure="knit", settings=shelf.settings(passes=3, needle_id=shelf.ball_needle.pk))
    found = notes(shelf, triple, sewing_room.jersey(shelf.actor))
    assert any("a stitch sewn several times over has no model" in words for words in found)


def test_estimates_say_what_they_rest_on(shelf):
    """301, 2.5 mm, seam 1.1 mm thick: 2 + 2 x 1.1 / 2.5 = 2.88 m; 400 stitches at 850 a minute take 28 s."""
    version = seams.version_get(shelf.actor, shelf.recipe().pk)
    thread, time = advice.estimates_for(version, [shelf.machine], thickness_mm=1.1)
    assert (thread.words, time.words) == ("about 2.9 m", "about 28 s")
    assert "estimate" in thread.basis
    assert "estimate" in time.basis
    middling, _ = advice.estimates_for(version, [shelf.machine])
    assert middling.words == "about 2.5 m"  # the table's ratio for 301


# --- lists ---


def test_recipes_stand_under_their_purpose_with_their_trials(shelf, django_assert_num_queries):
    plain, jersey = shelf.recipe("Plain"), sewing_room.jersey(shelf.actor)
    knit = shelf.zigzag()
    shelf.trial(knit, jersey)
    shelf.trial(knit, jersey, skipped_stitches=2)
    shelf.trial(knit, jersey, smoothness=None)
    shelf.recipe("Hem", purpose="hem")
    for number in range(5):
        shelf.recipe(f"Seam {number}", purpose="topstitch")
    with django_assert_num_queries(2):
        groups = seams.recipes_by_purpose(shelf.actor)
        found = {row.recipe.name: row.evidence for group in groups for row in group.rows}
    assert [group.purpose for group in groups] == ["join", "topstitch", "hem"]
    assert found["Jersey seam"] == "1 of 2 passed, 1 to look at again"
    assert found[plain.recipe.name] == "no trial yet"


def test_a_recipe_comes_with_its_versions_in_two_queries(shelf, django_assert_num_queries):
    version = shelf.recipe()
    for length in (3, 4, 5):
        services.change_recipe(
            shelf.actor, version.recipe_id, settings=shelf.settings(stitch_length_mm=Decimal(length))
        )
    with django_assert_num_queries(2):
        recipe = seams.recipe_get(shelf.actor, version.recipe_id)
        read = [advice.settings_of(row)[1].words for row in recipe.versions.all()]
    assert read == ["5 mm", "4 mm", "3 mm", "2.5 mm"]


def test_a_trial_is_read_whole_in_three_queries(shelf, django_assert_num_queries):
    made = shelf.trial(shelf.zigzag(), sewing_room.jersey(shelf.actor))
    with django_assert_num_queries(3):
        found = seams.trial_get(shelf.actor, made.pk)
        read = (
            found.version.recipe.name,
            found.version.needle.metric,
            found.machine.name,
            found.sewn_by.name,
        )
    assert read[:3] == ("Jersey seam", 75, "Table three")
