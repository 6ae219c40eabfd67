"""Trials that are kept: time and thread, the checklist, photographs, withdrawals; and samples side by side."""

import io
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.files.storage import default_storage
from django.db import ProgrammingError, transaction
from PIL import Image

from seamlab.models import ComparisonConclusion, SeamTrial, TrialWithdrawal
from seamlab.queries import advice, comparisons, seams
from seamlab.services import comparisons as services
from seamlab.services import trials as keeping
from studio.platform.errors import NotAllowed, NotHere, Refused, Stale
from studio.platform.models import AuditEntry
from tests.seamlab import sewing_room

STEADY = {"stretch_wanted_percent": Decimal(0)}  # the twill's own stretch is not tested


def refused(act, *args, **given):
    with pytest.raises(Refused) as caught:
        act(*args, **given)
    return caught.value.reasons


def picture():
    drawn = io.BytesIO()
    Image.new("RGB", (40, 30), "teal").save(drawn, "PNG")
    return drawn.getvalue()


@pytest.fixture
def twill(shelf):
    return sewing_room.cloth(shelf.actor)


# --- time, thread, checklist ---


@pytest.mark.parametrize(
    ("given", "field", "sentence"),
    [
        ({"sewing_seconds": Decimal(0)}, "sewing_seconds", "greater than 0 s"),
        ({"needle_thread_mm": Decimal(130)}, "unpicked_length_mm", "Say from what length of seam"),
        ({"unpicked_length_mm": Decimal(100)}, "needle_thread_mm", "Give the length of thread"),
        (
            {"unpicked_length_mm": Decimal(400), "needle_thread_mm": Decimal(500)},
            "unpicked_length_mm",
            "400 mm were unpicked of a sample of 200 mm",
        ),
        (
            {"unpicked_length_mm": Decimal(100), "needle_thread_mm": Decimal(13)},
            "needle_thread_mm",
            "13 mm of thread can't have sewn 100 mm of seam",
        ),
        ({"checklist": [{"key": "glue", "answer": "done"}]}, "checklist", "'glue' is not on the checklist"),
        ({"checklist": [{"key": "ball_point", "answer": "maybe"}]}, "checklist", "done, left"),
        ({"stretched_mm": Decimal(180)}, "stretched_mm", "shorter than the sewn sample"),
    ],
)
def test_impossible_facts_are_refused_in_a_sentence(shelf, twill, given, field, sentence):
    reasons = refused(shelf.trial, shelf.recipe(), twill, **given)
    assert sentence in reasons[field]
    assert not SeamTrial.objects.exists()


def test_a_nine_millimetre_zigzag_is_not_sewn_on_a_seven_millimetre_machine(shelf, twill):
    wide = shelf.recipe(settings=shelf.settings(stitch_type="304", stitch_width_mm=Decimal(9)))
    reasons = refused(shelf.trial, wide, twill)
    assert reasons["machine_id"] == "Table three sews at most 7 mm wide; this recipe is 9 mm wide."


def test_the_knit_checklist_is_kept_with_the_trial_in_the_words_it_was_asked_in(shelf):
    jersey, version = sewing_room.jersey(shelf.actor), shelf.zigzag()
    asked = advice.knit_checklist(seams.version_get(shelf.actor, version.pk), "knit")
    assert [change.key for change in asked] == [
        "ball_point",
        "extensible_thread",
        "looser_tension",
        "stabiliser_under",
    ]
    assert [change.suggested for change in asked] == [
        "done",
        "to do",
        "to do",
        "",
    ]  # 16 % is no extensible thread
    assert advice.knit_checklist(seams.version_get(shelf.actor, version.pk), "woven") == ()
    trial = shelf.trial(
        version,
        jersey,
        checklist=[{"key": "ball_point", "answer": "done"}, {"key": "looser_tension", "answer": "left"}],
    )
    kept = SeamTrial.objects.get(pk=trial.pk).checklist
    assert kept[0] == {"key": "ball_point", "words": asked[0].words, "answer": "done", "note": ""}
    assert kept[1]["answer"] == "left"


def test_photographs_of_a_sample_are_kept_and_taken_away(shelf, twill, django_capture_on_commit_callbacks):
    trial = shelf.trial(shelf.recipe(), twill)
    photo = keeping.add_trial_photo(shelf.actor, trial.pk, picture=picture(), side="under")
    shown = seams.trial_get(shelf.actor, trial.pk).shown_photos
    assert [row.side for row in shown] == ["under"]
    assert seams.trial_photo_file(shelf.actor, photo.pk).media_type == "image/jpeg"
    assert (
        "not a photograph"
        in refused(keeping.add_trial_photo, shelf.actor, trial.pk, picture=b"<svg/>")["picture"]
    )
    assert "side" in refused(keeping.add_trial_photo, shelf.actor, trial.pk, picture=picture(), side="inside")
    with django_capture_on_commit_callbacks(execute=True):
        keeping.hide_trial_photo(shelf.actor, photo.pk)
    assert not default_storage.exists(photo.file.key)
    assert seams.trial_get(shelf.actor, trial.pk).shown_photos == []
    with pytest.raises(NotHere):
        seams.trial_photo_file(shelf.actor, photo.pk)


def test_a_trial_is_withdrawn_once_with_its_reason_and_stays_as_written(shelf, twill):
    version = shelf.recipe()
    wrong, right = (shelf.trial(version, twill, **STEADY) for _ in range(2))
    assert "reason" in refused(keeping.withdraw_trial, shelf.actor, wrong.pk, reason=" ")
    assert "replaced_by_id" in refused(
        keeping.withdraw_trial, shelf.actor, wrong.pk, reason="Slip", replaced_by_id=wrong.pk
    )
    keeping.withdraw_trial(shelf.actor, wrong.pk, reason="Taped in inches.", replaced_by_id=right.pk)
    assert "already" in str(refused(keeping.withdraw_trial, shelf.actor, wrong.pk, reason="Again"))
    assert [row.is_withdrawn for row in seams.trial_list(shelf.actor)] == [False, True]
    (group,) = seams.recipes_by_purpose(shelf.actor)
    assert group.rows[0].evidence == "1 of 1 passed"
    with pytest.raises(ProgrammingError), transaction.atomic():
        TrialWithdrawal.objects.all().update(reason="other")


# --- side by side ---


@pytest.fixture
def three(shelf, twill):
    """One seam in three ways: a plain row, a triple stitch, three ends in one larger needle."""
    from seamlab.services import supplies

    thick = supplies.record_needle(shelf.actor, size=110, point="round")
    plain = shelf.recipe("One row", purpose="topstitch")
    triple = shelf.recipe("Triple", purpose="topstitch", settings=shelf.settings(passes=3))
    ends = shelf.recipe(
        "Three ends", purpose="topstitch", settings=shelf.settings(needle_thread_ends=3, needle_id=thick.pk)
    )
    return [
        shelf.trial(plain, twill, **STEADY),
        shelf.trial(triple, twill, length_after_mm=Decimal(197), **STEADY),
        shelf.trial(
            ends,
            twill,
            **STEADY,
            sewing_seconds=Decimal(10),
            unpicked_length_mm=Decimal(150),
            needle_thread_mm=Decimal(585),
            under_thread_mm=Decimal(190),
        ),
    ]


def test_samples_side_by_side_show_in_what_they_differ_and_what_each_takes(shelf, three):
    table = comparisons.sample_table(
        comparisons.comparable(shelf.actor, [trial.pk for trial in three]), length=lambda mm: f"{mm:f}"
    )
    differ = {line.name: [cell.words for cell in line.cells] for line in table.settings}
    assert differ["Sewn over each stitch"] == ["–", "3 times", "–"]
    assert differ["Needle"][2].startswith("110")
    assert "Cloth" in {line.name for line in table.alike}
    time, thread = table.cost
    # 1 m of 2.5 mm stitches is 400: at 850 a minute 28 s, three times over 85 s; 10 s for 20 cm are 50 s a metre.
    assert [cell.words for cell in time.cells] == ["28 s", "85 s", "50 s"]
    assert time.cells[2].source == "timed on the sample"
    # 301 by geometry, two layers of 0.55 mm: 2 + 2 x 1.1 x 0.4 = 2.88 m, three times 8.64 m; unpicked 585 and 190 of
    # 150 mm: 3.90 and 1.27 m (the measured-sample method of a textile teaching page).
    assert [cell.words for cell in thread.cells] == [
        "2.9 m",
        "8.6 m",
        "5.17 m: 3.90 m above and 1.27 m below",
    ]
    measured = {line.name: line for line in table.measured}
    assert [cell.words for cell in measured["Length by sewing"].cells] == ["kept", "1.5 % shorter", "kept"]
    assert measured["Length by sewing"].differs
    assert not measured["Balance"].differs


def test_several_ends_add_their_thread(shelf, three):
    """Each thread of a lockstitch takes half (a published example: 550 cm, needle 275 and bobbin 275).

    With three ends above that is 3 halves and 1: twice as much in all.
    """
    one, _, ends = (seams.version_get(shelf.actor, trial.version_id) for trial in three)
    single, _ = advice.thread_estimate(one, 1.1)
    several, _ = advice.thread_estimate(ends, 1.1)
    assert several == pytest.approx(2 * single)


def test_a_table_is_kept_changed_and_concluded(shelf, twill, three, django_assert_num_queries):
    ids = [trial.pk for trial in three]
    kept = services.keep_comparison(shelf.actor, question="One row or three?", trial_ids=ids)
    assert (kept.cloth_id, kept.recipe_id) == (twill.pk, None)
    with django_assert_num_queries(5):
        found = comparisons.comparison_get(shelf.actor, kept.pk)
    assert [trial.pk for trial in found.trials] == ids
    services.change_comparison(shelf.actor, kept.pk, trial_ids=ids[::-1], expected_version=1)
    assert [trial.pk for trial in comparisons.comparison_get(shelf.actor, kept.pk).trials] == ids[::-1]
    with pytest.raises(Stale):
        services.change_comparison(shelf.actor, kept.pk, question="Otherwise?", expected_version=1)
    services.conclude_comparison(
        shelf.actor, kept.pk, taken_id=None, words="None lies flat; try a longer stitch."
    )
    services.conclude_comparison(shelf.actor, kept.pk, taken_id=ids[2])
    found = comparisons.comparison_get(shelf.actor, kept.pk)
    assert [row.words for row in found.newest_first] == [
        "We take this one.",
        "None lies flat; try a longer stitch.",
    ]
    assert (
        "stays on the table"
        in refused(services.change_comparison, shelf.actor, kept.pk, trial_ids=ids[:2])["trials"]
    )
    (by_cloth,) = comparisons.comparison_list(shelf.actor, cloth_id=twill.pk)
    (by_recipe,) = comparisons.comparison_list(shelf.actor, recipe_id=three[0].version.recipe_id)
    assert by_cloth.pk == by_recipe.pk == kept.pk
    acts = set(AuditEntry.objects.values_list("act", flat=True))
    assert acts >= {"keep_comparison", "change_comparison", "conclude_comparison"}
    services.put_away_comparison(shelf.actor, kept.pk)
    assert not comparisons.comparison_list(shelf.actor).exists()
    assert ComparisonConclusion.objects.count() == 2


def test_what_does_not_belong_side_by_side_is_refused(shelf, twill, three):
    hem = shelf.trial(shelf.recipe("Hem", purpose="hem"), twill)
    one = three[0].pk
    keep = services.keep_comparison
    assert "question" in refused(keep, shelf.actor, question=" ", trial_ids=[one, three[1].pk])
    assert "2 to 6" in refused(keep, shelf.actor, question="Which?", trial_ids=[one, one])["trials"]
    assert (
        "not of one seam: hem and topstitch"
        in refused(keep, shelf.actor, question="Which?", trial_ids=[one, hem.pk])["trials"]
    )
    assert "not here" in refused(keep, shelf.actor, question="Which?", trial_ids=[one, uuid4()])["trials"]
    keeping.withdraw_trial(shelf.actor, three[1].pk, reason="Another thread.")
    assert (
        "withdrawn" in refused(keep, shelf.actor, question="Which?", trial_ids=[one, three[1].pk])["trials"]
    )


def test_a_failed_sample_is_taken_only_with_a_reason(shelf, twill, three):
    failed = shelf.trial(three[0].version, twill, skipped_stitches=4)
    kept = services.keep_comparison(shelf.actor, question="Which?", trial_ids=[three[0].pk, failed.pk])
    assert (
        "Say why it is taken"
        in refused(services.conclude_comparison, shelf.actor, kept.pk, taken_id=failed.pk)["words"]
    )
    assert "words" in refused(services.conclude_comparison, shelf.actor, kept.pk, taken_id=None)
    assert "taken_id" in refused(services.conclude_comparison, shelf.actor, kept.pk, taken_id=three[2].pk)


def test_a_clerk_reads_and_another_studio_sees_nothing(house, other_house):
    with other_house.scope():
        theirs = sewing_room.room(other_house.instructor)
        version, cloth = theirs.recipe(), sewing_room.cloth(other_house.instructor)
        foreign = [theirs.trial(version, cloth).pk for _ in range(2)]
        kept = services.keep_comparison(other_house.instructor, question="Which?", trial_ids=foreign)
        with pytest.raises(NotAllowed):
            services.conclude_comparison(other_house.clerk, kept.pk, taken_id=foreign[0])
    with house.scope():
        mine = sewing_room.room(house.instructor)
        for act in (
            lambda: comparisons.comparison_get(house.clerk, kept.pk),
            lambda: comparisons.comparable(house.clerk, foreign),
            lambda: keeping.withdraw_trial(house.instructor, foreign[0], reason="Not ours"),
            lambda: keeping.add_trial_photo(house.instructor, foreign[0], picture=picture()),
            lambda: services.conclude_comparison(house.instructor, kept.pk, taken_id=None, words="None"),
            # A trial on another studio's cloth: as if it were not there.
            lambda: mine.trial(mine.recipe(), cloth),
        ):
            with pytest.raises(NotHere):
                act()
        assert (
            "not here"
            in refused(services.keep_comparison, house.instructor, question="Which?", trial_ids=foreign)[
                "trials"
            ]
        )
