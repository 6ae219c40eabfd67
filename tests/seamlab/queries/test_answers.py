"""Answers first: what is left out and why, what outweighs a rule, and what stands where nothing is proven.

Figures: zigzag geometry and thread elongation, computed in `test_suits`; needles by the trade's table (common
practice).
"""

from decimal import Decimal

import pytest
from scipy.stats import beta

from seamlab.queries import seams
from seamlab.services import supplies
from seamlab.services.library import take_in_library
from seamlab.services.trials import withdraw_trial
from studio.platform.errors import Refused
from tests.seamlab import sewing_room

THIN = Decimal("0.25")
STEADY = {"stretch_wanted_percent": Decimal(0)}  # the twill's own stretch is not tested


@pytest.fixture
def jersey(shelf):
    """Stretches 30 % lengthwise, 50 % crosswise; two layers are half a millimetre thick."""
    return sewing_room.jersey(shelf.actor, thickness_mm=THIN)


def ask(shelf, cloth, **given):
    return seams.answers_for(shelf.actor, cloth.pk, **({"purpose": "join"} | given))


def names(found):
    return [answer.name for answer in found.answers]


def left_out(found):
    return {group.check: [seam.name for seam in group.seams] for group in found.left_out}


def straight(shelf, name, extension, **given):
    thread = supplies.record_thread(
        shelf.actor,
        name=f"Thread of {name}",
        fibre="polyester",
        size=Decimal(27),
        extension_percent=Decimal(extension),
    )
    settings = shelf.settings(needle_thread_id=thread.pk, needle_id=shelf.ball_needle.pk, **given)
    return shelf.recipe(name, structure="knit", settings=settings)


def test_65_against_20_percent_decides_a_straight_seam_on_a_jersey(shelf, jersey):
    straight(shelf, "Stiff", 20)
    straight(shelf, "Extensible", 65)
    found = ask(shelf, jersey)
    assert names(found)[0] == "Extensible"
    assert left_out(found) == {"stretch": ["Stiff"]}
    (stiff,) = found.left_out[0].seams
    assert (
        stiff.reason
        == "The cloth stretches 50 %, this seam about 24 to 44 % (estimate): its thread would break first."
    )
    assert found.stretch_percent == 50


def test_only_the_way_the_seam_runs_is_asked_for(shelf, jersey):
    straight(shelf, "Middling", 30)  # 36 to 56 %: may be too short for 50, follows 30
    assert left_out(ask(shelf, jersey)) == {"stretch maybe": ["Middling"]}
    assert left_out(ask(shelf, jersey, runs="crosswise")) == {"stretch maybe": ["Middling"]}
    lengthwise = ask(shelf, jersey, runs="lengthwise")
    assert (names(lengthwise)[0], lengthwise.left_out, lengthwise.stretch_percent) == ("Middling", (), 30)
    with pytest.raises(Refused) as caught:
        ask(shelf, jersey, runs="sideways")
    assert "runs" in caught.value.reasons


def test_a_doubt_is_settled_by_a_trial_on_a_like_cloth(shelf, jersey):
    version = straight(shelf, "Middling", 30)
    near = sewing_room.jersey(shelf.actor, "Near", thickness_mm=THIN, weight_gsm=Decimal(240))
    shelf.trial(version, near, stretched_mm=Decimal(310))
    found = ask(shelf, jersey)
    assert (names(found), found.left_out) == (["Middling"], ())
    assert found.answers[0].standing == "proven"
    assert "it may be too short" in found.answers[0].warnings[0].words


def test_a_seam_that_holds_a_length_need_not_stretch(shelf, jersey):
    version = straight(shelf, "Stay", 20)
    version.recipe.purpose = "staystitch"
    version.recipe.save()
    found = ask(shelf, jersey, purpose="staystitch")
    assert (names(found)[0], found.left_out, found.stretch_percent) == ("Stay", (), None)


def test_what_the_machine_can_not_sew_is_named(shelf):
    twill = sewing_room.cloth(shelf.actor)
    wide = shelf.settings(stitch_type="304", stitch_width_mm=Decimal(9))
    shelf.recipe("Nine millimetres", settings=wide)
    shelf.recipe("Plain")
    found = ask(shelf, twill, machine_id=shelf.machine.pk)
    (group,) = found.left_out
    assert (group.check, group.words, group.count) == ("machine", "Table three can't sew these", 1)
    assert group.seams[0].reason == "Table three sews at most 7 mm wide; this seam is 9 mm wide."
    assert "Nine millimetres" in names(ask(shelf, twill))  # on no machine in particular
    # Not even a sample that passed elsewhere makes this machine sew it.
    other = supplies.record_machine(
        shelf.actor, name="Wide", stitch_types=["304"], largest_width_mm=Decimal(9), stitches_per_minute=800
    )
    shelf.trial(
        seams.recipe_page(shelf.actor, words="nine").groups[0].rows[0].version, twill, machine_id=other.pk
    )
    assert left_out(ask(shelf, twill, machine_id=shelf.machine.pk)) == {"machine": ["Nine millimetres"]}


def test_three_ends_want_a_larger_needle_and_a_knit_a_ball_point(shelf, jersey):
    twill = sewing_room.cloth(shelf.actor)
    shelf.recipe("Three ends", settings=shelf.settings(needle_thread_ends=3))
    assert left_out(ask(shelf, twill)) == {"ends": ["Three ends"]}
    pointed = shelf.settings(stitch_type="304", stitch_width_mm=Decimal(4))
    shelf.recipe("Pointed", structure="knit", settings=pointed)
    assert left_out(ask(shelf, jersey)) == {"point": ["Pointed"]}


def test_a_sample_that_passed_on_this_cloth_outweighs_a_rule_of_thumb(shelf, jersey):
    version = straight(shelf, "Stiff", 20)
    shelf.trial(version, jersey, stretched_mm=Decimal(310))
    found = ask(shelf, jersey)
    assert (names(found), found.left_out) == (["Stiff"], ())
    assert found.answers[0].standing == "proven"
    # On another jersey it is only an estimate again.
    near = sewing_room.jersey(shelf.actor, "Near", thickness_mm=THIN)
    assert left_out(ask(shelf, near)) == {"stretch": ["Stiff"]}


def test_the_order_is_that_of_posteriors_reckoned_by_hand(shelf):
    """Beta(1 + passes, 1 + failures) and its 5 % quantile, by closed forms and a binomial sum.

    3 of 3 is Beta(4, 1), 0.05^(1/4) = 0.473; 4 of 5 is Beta(5, 2), where 6 x^5 - 5 x^6 = 0.05; 1 of 1 is Beta(2, 1),
    0.05^(1/2) = 0.224; a failure is Beta(1, 2), 1 - 0.95^(1/2) = 0.025.
    """
    twill = sewing_room.cloth(shelf.actor)
    for name, passes, failures in (
        ("Once", 1, 0),
        ("Thrice", 3, 0),
        ("Four of five", 4, 1),
        ("Failed", 0, 1),
    ):
        version = shelf.recipe(name)
        for _ in range(passes):
            shelf.trial(version, twill, **STEADY)
        for _ in range(failures):
            shelf.trial(version, twill, skipped_stitches=2, **STEADY)
    answers = ask(shelf, twill).answers
    assert [answer.name for answer in answers] == ["Thrice", "Four of five", "Once", "Failed"]
    lower = {answer.name: answer.lower for answer in answers}
    assert lower["Thrice"] == pytest.approx(0.05 ** (1 / 4)) == pytest.approx(0.4729, abs=1e-4)
    x = lower["Four of five"]
    assert 6 * x**5 - 5 * x**6 == pytest.approx(0.05)
    assert lower["Once"] == pytest.approx(0.2236, abs=1e-4)
    assert lower["Failed"] == pytest.approx(1 - 0.95**0.5)
    for name, a, b in (("Thrice", 4, 1), ("Four of five", 5, 2), ("Once", 2, 1), ("Failed", 1, 2)):
        assert lower[name] == pytest.approx(beta.ppf(0.05, a, b))


def test_a_withdrawn_trial_counts_no_longer(shelf):
    twill, version = sewing_room.cloth(shelf.actor), shelf.recipe()
    trial = shelf.trial(version, twill, **STEADY)
    assert ask(shelf, twill).answers[0].standing == "proven"
    withdraw_trial(shelf.actor, trial.pk, reason="Sewn on the grey twill, not on this one.")
    assert ask(shelf, twill).answers[0].standing == "untested"


def test_nothing_proven_the_library_for_this_kind_comes_before_the_rule(shelf):
    take_in_library(shelf.actor)
    jersey = sewing_room.jersey(shelf.actor, kind="single_jersey")
    found = ask(shelf, jersey, most=30)
    assert found.kind_is_known
    origins = [answer.origin for answer in found.answers]
    assert origins == ["library"] * (len(origins) - 1) + ["rule"]
    assert {answer.standing_words for answer in found.answers[:-1]} == {"Untested here: sew a sample first"}
    assert found.answers[-1].standing_words == "Untested: sew a sample first"
    assert "Over-edge seam on jersey" in names(found)
    assert "Over-edge seam on rib" in left_out(found)["kind"]
    assert len(found.answers) + found.left_out_count == len(ask_all(shelf)) + 1


def ask_all(shelf):
    return [
        row
        for group in seams.recipe_page(shelf.actor, purpose="join", structure="knit").groups
        for row in group.rows
        if row.recipe.layers_low <= 2 <= row.recipe.layers_high
    ]


def test_what_was_tried_here_stays_though_it_was_written_for_another_cloth(shelf):
    take_in_library(shelf.actor)
    jersey = sewing_room.jersey(shelf.actor, kind="single_jersey")
    rib = seams.recipe_page(shelf.actor, words="over-edge rib").groups[0].rows[0].version
    overedge = supplies.record_machine(
        shelf.actor,
        name="Over-edge",
        stitch_types=["504"],
        largest_width_mm=Decimal(6),
        stitches_per_minute=1300,
    )
    shelf.trial(rib, jersey, machine_id=overedge.pk)
    found = ask(shelf, jersey)
    assert found.answers[0].name == "Over-edge seam on rib"
    assert found.answers[0].standing == "proven"


def test_the_starting_point_says_where_the_machine_can_not_sew_it(shelf, jersey):
    plain = supplies.record_machine(
        shelf.actor, name="Straight only", stitch_types=["301"], stitches_per_minute=900
    )
    (only,) = ask(shelf, jersey, machine_id=plain.pk).answers
    assert [note.words for note in only.warnings] == ["Straight only does not make stitch 304."]


def test_a_few_are_told_in_full_and_the_rest_is_counted(shelf):
    twill = sewing_room.cloth(shelf.actor)
    for number in range(6):
        shelf.recipe(f"Seam {number}")
    found = ask(shelf, twill, most=4)
    assert (len(found.answers), found.more) == (4, 3)  # six recipes and a starting point
