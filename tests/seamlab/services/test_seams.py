"""Writing recipes, changing them, recording trials: the real judge on the cloth's own tests."""

from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import ProgrammingError, transaction

from seamlab.models import SeamRecipe, SeamRecipeVersion, SeamTrial
from seamlab.queries import seams as queries
from seamlab.services import cloth as cloth_services
from seamlab.services import seams, supplies
from studio.platform.errors import NotAllowed, NotHere, Refused, Stale
from studio.platform.models import AuditEntry
from tests.seamlab import sewing_room


def refused(act, *args, **given):
    with pytest.raises(Refused) as caught:
        act(*args, **given)
    return caught.value.reasons


# --- recipes ---


def test_a_recipe_begins_with_version_one(shelf):
    version = shelf.recipe()
    assert (version.number, version.recipe.version, version.written_by_id) == (1, 1, shelf.actor.member_id)
    assert seams.settings_of_version(SeamRecipeVersion.objects.get()) == shelf.settings()


@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"stitch_type": "999"}, "stitch_type", "'999' is not a stitch type"),
        ({"stitch_type": "304"}, "stitch_width_mm", "304 zigzag lockstitch needs a width"),
        ({"stitch_width_mm": Decimal(2)}, "stitch_width_mm", "lies in one line"),
        ({"stitch_length_mm": Decimal(0)}, "stitch_length_mm", "greater than 0 mm"),
        ({"stitch_length_mm": Decimal(250)}, "stitch_length_mm", "check the unit"),
        ({"passes": 0}, "passes", "1 to 9 times"),
        ({"needle_thread_ends": 7}, "needle_thread_ends", "1 to 6 ends"),
        ({"needle_thread_id": uuid4()}, "needle_thread_id", "no such thread here"),
        ({"under_thread_id": uuid4()}, "under_thread_id", "no such thread here"),
        ({"needle_id": uuid4()}, "needle_id", "no such needle here"),
        ({"needle_id": None}, "needle_id", "Choose a needle"),
        ({"stitch_type": "209"}, "needle_id", "sewn by hand: leave the machine needle out"),
    ],
)
def test_bad_settings_are_refused_by_field_and_nothing_is_saved(shelf, given, field, sentence):
    reasons = refused(shelf.recipe, settings=shelf.settings(**given))
    assert sentence in reasons[field]
    assert not SeamRecipe.objects.exists()


@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"name": " "}, "name", "Give the recipe a name"),
        ({"purpose": "glue"}, "purpose", "join, topstitch"),
        ({"seam_class": "9"}, "seam_class", "ISO 4916"),
        ({"layers_low": 3, "layers_high": 2}, "layers_high", "from 3 to 20"),
        ({"structure": "felt"}, "structure", "woven, knit"),
    ],
)
def test_bad_recipes_are_refused_by_field(shelf, given, field, sentence):
    assert sentence in refused(shelf.recipe, **{"name": "Seam"} | given)[field]


def test_another_studios_thread_is_no_thread(house, other_house):
    with other_house.scope():
        theirs = sewing_room.room(other_house.instructor).thread
    with house.scope():
        mine = sewing_room.room(house.instructor)
        reasons = refused(mine.recipe, settings=mine.settings(needle_thread_id=theirs.pk))
        assert set(reasons) == {"needle_thread_id"}


def test_a_changed_recipe_is_a_new_version_and_old_trials_stay_with_the_old(shelf):
    first = shelf.recipe()
    trial = shelf.trial(first, sewing_room.cloth(shelf.actor))
    second = seams.change_recipe(
        shelf.actor, first.recipe_id, settings=shelf.settings(stitch_length_mm=Decimal(3)), expected_version=1
    )
    assert (second.number, SeamRecipe.objects.get().version) == (2, 2)
    trial.refresh_from_db()
    assert trial.version_id == first.pk
    with pytest.raises(Stale):
        seams.change_recipe(shelf.actor, first.recipe_id, settings=shelf.settings(), expected_version=1)


def test_a_recipe_is_renamed_put_away_and_no_longer_offered(shelf):
    twill = sewing_room.cloth(shelf.actor)
    recipe = shelf.recipe("Plain").recipe
    shelf.recipe("Taken")
    assert "already a recipe" in refused(seams.describe_recipe, shelf.actor, recipe.pk, name="Taken")["name"]
    assert (
        "no woven cloth"
        in refused(seams.describe_recipe, shelf.actor, recipe.pk, written_for=["rib"])["written_for"]
    )
    seams.describe_recipe(
        shelf.actor, recipe.pk, name="Plain seam", written_for=["denim"], expected_version=1
    )
    with pytest.raises(Stale):
        seams.describe_recipe(shelf.actor, recipe.pk, is_hidden=True, expected_version=1)
    seams.describe_recipe(shelf.actor, recipe.pk, is_hidden=True)
    offered = queries.proven_for(shelf.actor, twill.pk, purpose="join")
    assert [row.name for row in offered if not row.is_starting_point] == ["Taken"]
    assert queries.recipe_page(shelf.actor).found == 1
    seams.describe_recipe(shelf.actor, recipe.pk, is_hidden=False)
    assert queries.recipe_page(shelf.actor).found == 2


def test_the_same_settings_are_no_change(shelf):
    first = shelf.recipe(settings=shelf.settings(foot="narrow"))
    same = shelf.settings(foot=" narrow ", stitch_length_mm=Decimal("2.50"))
    assert (
        "settings of version 1"
        in refused(seams.change_recipe, shelf.actor, first.recipe_id, settings=same)[""]
    )
    assert SeamRecipeVersion.objects.count() == 1


def test_a_version_is_never_rewritten(shelf):
    version = shelf.recipe()
    with pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
        SeamRecipeVersion.objects.filter(pk=version.pk).update(foot="wide")


def test_a_clerk_writes_nothing(shelf, in_house):
    version = shelf.recipe()
    twill = sewing_room.cloth(shelf.actor)
    shelf.actor = in_house.clerk
    with pytest.raises(NotAllowed):
        shelf.recipe("Other")
    with pytest.raises(NotAllowed):
        shelf.trial(version, twill)
    with pytest.raises(NotAllowed):
        seams.change_recipe(in_house.clerk, version.recipe_id, settings=shelf.settings(foot="wide"))


# --- trials ---


def test_the_proposal_reads_the_cloths_own_stretch(shelf):
    """The jersey stretches 50 % crosswise: a seam that breaks at 30 % fails, one at 50 % passes."""
    jersey, version = sewing_room.jersey(shelf.actor), shelf.zigzag()
    short = shelf.trial(version, jersey, direction="crosswise", stretched_mm=Decimal(260), pull_end="broke")
    assert (short.proposed, short.verdict) == ("fails", "fails")
    assert short.reasons[0] == {
        "check": "stretch",
        "verdict": "fails",
        "text": "The seam broke at 30 %, before the 50 % needed.",
    }
    enough = shelf.trial(version, jersey, direction="crosswise", stretched_mm=Decimal(300))
    assert enough.verdict == "passes"
    assert {reason["check"] for reason in enough.reasons} == {
        "stretch",
        "waviness",
        "smoothness",
        "balance",
        "skipped stitches",
        "needle damage",
    }


def test_the_newest_test_counts(shelf):
    jersey, version = sewing_room.jersey(shelf.actor), shelf.zigzag()
    cloth_services.test_stretch(
        shelf.actor, jersey.pk, way="crosswise", relaxed_mm=Decimal(100), stretched_mm=Decimal(125)
    )
    trial = shelf.trial(version, jersey, direction="crosswise", stretched_mm=Decimal(260), pull_end="broke")
    assert trial.proposed == "passes"


def test_what_was_not_looked_at_asks_for_another_look(shelf):
    trial = shelf.trial(
        shelf.recipe(),
        sewing_room.cloth(shelf.actor),
        stretched_mm=None,
        pull_end="",
        balance="",
        needle_damage="",
        smoothness=None,
    )
    assert trial.proposed == "look_again"
    open_checks = {reason["check"] for reason in trial.reasons if reason["verdict"] == "look_again"}
    assert open_checks == {"stretch", "smoothness", "balance", "needle damage"}


@pytest.mark.parametrize(
    ("given", "check"),
    [
        ({"balance": "top_tight"}, "balance"),
        ({"balance": "under_tight"}, "balance"),
        ({"needle_damage": "cut"}, "needle damage"),
        ({"skipped_stitches": 2}, "skipped stitches"),
        ({"smoothness": Decimal("2.5")}, "smoothness"),
        ({"length_after_mm": Decimal(188)}, "waviness"),
        ({"strength_n_per_cm": Decimal(10), "strength_wanted_n_per_cm": Decimal(40)}, "strength"),
        ({"smoothness": Decimal(4), "smoothness_wanted": Decimal(5)}, "smoothness"),
        ({"stretch_wanted_percent": Decimal(60)}, "stretch"),
    ],
)
def test_each_fault_fails_by_its_own_check(shelf, given, check):
    trial = shelf.trial(shelf.zigzag(), sewing_room.jersey(shelf.actor), direction="crosswise", **given)
    assert trial.proposed == "fails"
    assert [reason["check"] for reason in trial.reasons if reason["verdict"] == "fails"] == [check]


def test_a_person_decides_otherwise_with_a_reason(shelf):
    jersey, version = sewing_room.jersey(shelf.actor), shelf.zigzag()
    reasons = refused(shelf.trial, version, jersey, skipped_stitches=1, verdict="passes")
    assert "The figures say: fails. Say why" in reasons["verdict_reason"]
    assert not SeamTrial.objects.exists()
    trial = shelf.trial(
        version, jersey, skipped_stitches=1, verdict="passes", verdict_reason="At the very start only."
    )
    assert (trial.proposed, trial.verdict) == ("fails", "passes")
    assert AuditEntry.objects.get(act="record_trial").detail["verdict"] == "passes"
    assert "verdict" in refused(shelf.trial, version, jersey, verdict="maybe")


def test_a_trial_the_machine_can_not_have_sewn_is_refused(shelf):
    jersey = sewing_room.jersey(shelf.actor)
    wide = shelf.zigzag("Wide", width="9")
    reasons = refused(shelf.trial, wide, jersey)
    assert reasons["machine_id"] == "Table three sews at most 7 mm wide; this recipe is 9 mm wide."
    plain = supplies.record_machine(shelf.actor, name="Table one", stitch_types=["301"])
    reasons = refused(shelf.trial, shelf.zigzag("Narrow"), jersey, machine_id=plain.pk)
    assert reasons["machine_id"] == "Table one does not make 304 zigzag lockstitch."
    assert (
        "Say which machine"
        in refused(shelf.trial, shelf.zigzag("None"), jersey, machine_id=None)["machine_id"]
    )


def test_a_basting_stitch_is_sewn_by_hand_without_a_machine(shelf):
    by_hand = shelf.settings(stitch_type="209", stitch_length_mm=Decimal(12), needle_id=None)
    baste = shelf.recipe("Baste", purpose="baste", settings=by_hand)
    twill = sewing_room.cloth(shelf.actor)
    assert "leave the machine out" in refused(shelf.trial, baste, twill)["machine_id"]
    assert shelf.trial(baste, twill, machine_id=None).machine is None


def test_cloth_and_recipe_must_belong_together(shelf):
    twill, knit_seam = sewing_room.cloth(shelf.actor), shelf.zigzag()
    reasons = refused(shelf.trial, knit_seam, twill, layers=4)
    assert reasons["cloth_id"] == "Jersey seam is a recipe for a knit cloth; Teal twill is woven."
    assert reasons["layers"] == "Jersey seam is for 2 layers, not for 4."


def test_unknown_and_foreign_things_are_not_here(house, other_house):
    with other_house.scope():
        theirs = sewing_room.room(other_house.instructor)
        their_cloth = sewing_room.cloth(other_house.instructor)
        their_version = theirs.recipe()
    with house.scope():
        mine = sewing_room.room(house.instructor)
        cloth, version = sewing_room.cloth(house.instructor), mine.recipe()
        for wrong in (
            {"cloth_id": uuid4()},
            {"cloth_id": their_cloth.pk},
            {"version_id": their_version.pk},
            {"machine_id": theirs.machine.pk},
        ):
            facts = {"version_id": version.pk, "cloth_id": cloth.pk, "machine_id": mine.machine.pk} | wrong
            with pytest.raises(NotHere):
                seams.record_trial(house.instructor, smoothness=Decimal(4), **facts)
        assert not SeamTrial.objects.exists()


@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"length_after_mm": Decimal(20)}, "length_after_mm", "200 mm became 20 mm by sewing"),
        ({"length_before_mm": Decimal("NaN")}, "length_before_mm", "must be a number"),
        ({"stretched_mm": Decimal(150)}, "stretched_mm", "shorter than the sewn sample"),
        ({"stretched_mm": None}, "stretched_mm", "Give the length at which the pull ended"),
        ({"pull_end": ""}, "pull_end", "Say what ended the pull"),
        ({"pull_end": "slid"}, "pull_end", "held, stopped, broke"),
        ({"length_after_mm": None}, "length_after_mm", "relaxed length after sewing"),
        ({"smoothness": Decimal("4.2")}, "smoothness", "in halves"),
        ({"smoothness": Decimal(6)}, "smoothness", "from 1 (worst) to 5"),
        ({"skipped_stitches": -1}, "skipped_stitches", "from 0"),
        ({"direction": "up"}, "direction", "lengthwise, crosswise, bias"),
        ({"strength_n_per_cm": Decimal(0)}, "strength_n_per_cm", "greater than 0 N/cm"),
        ({"stretch_wanted_percent": Decimal(-5)}, "stretch_wanted_percent", "from 0 to 500"),
    ],
)
def test_impossible_figures_are_refused_by_field(shelf, given, field, sentence):
    twill = sewing_room.cloth(shelf.actor)
    assert sentence in refused(shelf.trial, shelf.recipe(), twill, **given)[field]
    assert not SeamTrial.objects.exists()


def test_an_empty_trial_is_no_trial(shelf):
    version, twill = shelf.recipe(), sewing_room.cloth(shelf.actor)
    reasons = refused(
        seams.record_trial,
        shelf.actor,
        version_id=version.pk,
        cloth_id=twill.pk,
        machine_id=shelf.machine.pk,
    )
    assert reasons == {"": "Nothing was measured or seen on this sample yet."}


def test_a_trial_is_never_rewritten(shelf):
    trial = shelf.trial(shelf.recipe(), sewing_room.cloth(shelf.actor))
    for act in (
        lambda: SeamTrial.objects.filter(pk=trial.pk).update(verdict="passes"),
        lambda: SeamTrial.objects.filter(pk=trial.pk).delete(),
    ):
        with pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
            act()
