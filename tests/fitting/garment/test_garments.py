"""Garments and their checkpoints: opened, tied together, stopped before what can't be undone, handed over."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from fitting.models import (
    CheckpointAnswer,
    FitPlan,
    Garment,
    GarmentSeam,
    GrainCheck,
    LayDrawing,
    LayLine,
    LayPlan,
    Pattern,
    PatternSize,
)
from fitting.queries.checkpoints import CODES
from fitting.queries.garments import bench, checkpoint_states, garment_get
from fitting.services.fittings import note_fit, sign_off
from fitting.services.garments import (
    answer_checkpoint,
    change_garment,
    choose_seam,
    drop_seam,
    hand_over,
    open_garment,
    take_plan,
)
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused, Stale
from studio.platform.models import AuditEntry
from studio.platform.models.base import new_id
from studio.queries.clients import find_clients
from tests.conftest import House
from tests.fitting.garment.conftest import Shop, fill


def needs(shop: Shop, garment: Garment, checkpoint: str) -> tuple[str, ...]:
    states = {state.code: state for state in checkpoint_states(shop.instructor, garment.pk)}
    return states[checkpoint].needs


def test_a_garment_is_found_by_its_words(shop: Shop) -> None:
    garment = shop.garment(words="  teal   trousers ")
    assert garment.words == "teal trousers"
    hits = find_clients(shop.house.clerk, "teal trousers")
    assert [(hit.source, hit.source_id) for hit in hits] == [("garment", garment.pk)]
    change_garment(shop.house.clerk, garment.pk, words="emerald cape")
    assert [hit.source_id for hit in find_clients(shop.house.clerk, "emerald")] == [garment.pk]
    assert not [hit for hit in find_clients(shop.house.clerk, "trousers") if hit.source == "garment"]


def test_opening_leaves_an_audit_entry(shop: Shop) -> None:
    garment = shop.garment()
    entry = AuditEntry.objects.get(act="open_garment")
    assert (entry.object_id, entry.client_id, entry.member_id) == (
        garment.pk, shop.client.pk, shop.house.clerk.member_id,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({"client_id": new_id()}, "client", "There is no such client in this studio."),
        ({"words": "   "}, "words", "Say what it is in a few words"),
        ({"kind": "tent"}, "kind", "tent"),
        ({"pattern_id": new_id()}, "pattern", "There is no such pattern in this studio."),
        ({"cloth_id": new_id()}, "cloth", "There is no such cloth in this studio."),
        ({"due": timezone.localdate() - timedelta(days=9)}, "due", "is past"),
    ],
)
def test_opening_refuses_in_a_sentence_and_keeps_nothing(
    shop: Shop, given: dict[str, object], field: str, words: str
) -> None:
    with pytest.raises(Refused) as refused:
        shop.garment(**given)
    assert words in refused.value.reasons[field]
    assert not Garment.objects.exists()
    assert not AuditEntry.objects.filter(act="open_garment").exists()


def test_another_kind_of_pattern_is_refused(shop: Shop) -> None:
    with pytest.raises(Refused) as refused:
        shop.garment(kind="skirt", pattern_id=shop.pattern.pk)
    assert "is for another kind of garment (trousers)" in refused.value.reasons["pattern"]


def test_another_studios_rows_are_not_there(closed_shop: Shop, other_house: House) -> None:
    with closed_shop.house.scope():
        garment = closed_shop.garment()
    with other_house.scope():
        other = fill(other_house, "Noor Haddad")
        stranger = other_house.instructor
        with pytest.raises(NotHere):
            garment_get(stranger, garment.pk)
        with pytest.raises(NotHere):
            change_garment(stranger, garment.pk, words="mine")
        with pytest.raises(Refused, match="no such client"):
            open_garment(stranger, client_id=closed_shop.client.pk, kind="skirt", words="red skirt")
        mine = other.garment()
        with pytest.raises(Refused, match="no such version"):
            choose_seam(stranger, mine.pk, place="hem", version_id=closed_shop.version.pk)
        with pytest.raises(Refused, match="no such cloth"):
            change_garment(stranger, mine.pk, cloth_id=closed_shop.cloth.pk)
        assert bench(stranger).count == 1


def test_a_minors_garment_is_a_childs(shop: Shop) -> None:
    shop.client.born = timezone.localdate() - timedelta(days=365 * 9)
    shop.client.guardian_name = "Marta Carvalho"
    shop.client.save()
    assert shop.garment().for_child


def test_changing_counts_versions_and_refuses_a_stale_one(shop: Shop) -> None:
    garment = shop.garment()
    changed = change_garment(shop.house.clerk, garment.pk, expected_version=1, cloth_id=shop.cloth.pk)
    assert changed.version == 2
    with pytest.raises(Stale):
        change_garment(shop.house.clerk, garment.pk, expected_version=1, words="black trousers")
    assert Garment.objects.get(pk=garment.pk).words == "teal trousers"


def test_a_plan_brings_its_pattern_and_goes_with_it(shop: Shop) -> None:
    garment = shop.garment()
    garment = take_plan(shop.instructor, garment.pk, shop.plan)
    assert (garment.plan_id, garment.pattern_id) == (shop.plan.pk, shop.pattern.pk)
    other = Pattern.objects.create(name="Wide trousers", kind="trousers", closeness="loose")
    garment = change_garment(shop.instructor, garment.pk, pattern_id=other.pk)
    assert (garment.plan_id, garment.pattern_id) == (None, other.pk)


def test_a_clerk_may_not_tie_a_plan_and_a_strangers_plan_is_refused(shop: Shop) -> None:
    garment = shop.garment()
    with pytest.raises(NotAllowed, match="A clerk may not record patterns and fit plans"):
        change_garment(shop.house.clerk, garment.pk, plan_id=shop.plan.pk)
    from studio.models import Client

    FitPlan.objects.filter(pk=shop.plan.pk).update(client=Client.objects.create(name="Mina Okafor"))
    with pytest.raises(Refused, match="no such fit plan of this client"):
        change_garment(shop.instructor, garment.pk, plan_id=shop.plan.pk)


def test_a_place_has_one_seam_which_may_be_chosen_anew(shop: Shop) -> None:
    from seamlab.models import SeamRecipeVersion

    garment = shop.full_garment()
    first = choose_seam(shop.instructor, garment.pk, place="Side  seams", version_id=shop.version.pk)
    later = SeamRecipeVersion.objects.get(pk=shop.version.pk)
    later.pk, later.number = new_id(), 2
    later.save(force_insert=True)
    again = choose_seam(shop.instructor, garment.pk, place="side seams", version_id=later.pk)
    assert again.pk == first.pk
    assert GarmentSeam.objects.get().version_id == later.pk
    entry = AuditEntry.objects.filter(act="choose_seam").order_by("-id").first()
    assert entry.detail["before"] == str(shop.version.pk)
    drop_seam(shop.instructor, garment.pk, first.pk)
    assert not GarmentSeam.objects.exists()


def test_what_is_missing_is_told_in_words(shop: Shop) -> None:
    garment = shop.garment()
    assert needs(shop, garment, "body_measured") == ()
    assert needs(shop, garment, "paper_altered") == ("No pattern is chosen.",)
    assert needs(shop, garment, "cloth_known") == ("No cloth is chosen.",)
    assert needs(shop, garment, "lay_and_grain") == ()
    assert needs(shop, garment, "seams_proven") == ("No seam is chosen.",)
    assert needs(shop, garment, "basted_and_fitted") == ("No basted fitting has been held.",)
    assert needs(shop, garment, "sewn")[0] == "Body measured is not settled."
    assert needs(shop, garment, "handed_over") == ("The sewing is not done.",)


def test_the_pattern_says_which_measures_the_body_lacks(shop: Shop) -> None:
    from studio.models import Client

    bare = Client.objects.create(name="Mina Okafor")
    garment = shop.garment(client_id=bare.pk, pattern_id=shop.pattern.pk)
    assert needs(shop, garment, "body_measured") == ("No measuring of Mina Okafor is recorded.",)
    from studio.models import Measuring, Reading

    measuring = Measuring.objects.create(
        client=bare, measured_at=timezone.now(), measured_by_id=shop.instructor.member_id
    )
    Reading.objects.create(
        measuring=measuring,
        client=bare,
        measure="waist_girth",
        value=700,
        typed="70",
        recorded_by_id=shop.instructor.member_id,
    )
    [missing] = needs(shop, garment, "body_measured")
    assert "hip girth" in missing
    assert "body rise" in missing
    assert "waist girth" not in missing


def test_a_knit_must_be_stretched_and_shrinkage_is_only_remarked(shop: Shop) -> None:
    from seamlab.models import ClothTest

    rib = shop.cloth_named("Rib", "knit")
    garment = shop.garment(cloth_id=rib.pk)
    [missing] = needs(shop, garment, "cloth_known")
    assert "stretch of Rib has not been tested" in missing
    ClothTest.objects.create(
        cloth=rib, kind="stretch", way="crosswise", before_mm=100, after_mm=160, percent=60,
        tested_by_id=shop.instructor.member_id, tested_at=timezone.now(),
    )  # fmt: skip
    assert needs(shop, garment, "cloth_known") == ()
    state = next(s for s in checkpoint_states(shop.instructor, garment.pk) if s.code == "cloth_known")
    assert state.remarks == ("No wash test is recorded: its shrinkage is not known.",)


def test_seams_are_proven_on_this_very_cloth_and_this_version(shop: Shop) -> None:
    garment = shop.full_garment()
    choose_seam(shop.instructor, garment.pk, place="side seams", version_id=shop.version.pk)
    shop.trial(cloth=shop.cloth_named("Other cloth"))
    shop.trial(verdict="fails")
    [missing] = needs(shop, garment, "seams_proven")
    assert missing.startswith(
        "Side seams: Plain seam of Olia Carvalho, version 1, has no passing trial on Teal wool twill"
    )
    with pytest.raises(Conflict, match="has no passing trial"):
        answer_checkpoint(shop.instructor, garment.pk, checkpoint="seams_proven", answer="done")
    shop.trial()
    assert needs(shop, garment, "seams_proven") == ()
    assert (
        answer_checkpoint(shop.instructor, garment.pk, checkpoint="seams_proven", answer="done").answer
        == "done"
    )


def test_an_answer_is_in_doubt_when_something_comes_up(shop: Shop) -> None:
    garment = shop.full_garment()
    choose_seam(shop.instructor, garment.pk, place="side seams", version_id=shop.version.pk)
    shop.trial()
    answer_checkpoint(shop.instructor, garment.pk, checkpoint="seams_proven", answer="done")
    change_garment(shop.instructor, garment.pk, cloth_id=shop.cloth_named("Second thoughts").pk)
    state = next(s for s in checkpoint_states(shop.instructor, garment.pk) if s.code == "seams_proven")
    assert state.in_doubt
    assert not state.settled
    assert state.state == "in_doubt"


def test_the_two_stops(shop: Shop) -> None:
    garment = shop.full_garment()
    for checkpoint in ("body_measured", "paper_altered", "cloth_known"):
        answer_checkpoint(shop.instructor, garment.pk, checkpoint=checkpoint, answer="done")
    view = garment_get(shop.instructor, garment.pk)
    assert [state.code for state in view.cutting.open] == ["lay_and_grain"]
    assert not view.cutting.clear
    answer_checkpoint(shop.instructor, garment.pk, checkpoint="lay_and_grain", answer="done")
    answer_checkpoint(
        shop.instructor,
        garment.pk,
        checkpoint="seams_proven",
        answer="passed_by",
        reason="sewn by hand throughout",
    )
    view = garment_get(shop.instructor, garment.pk)
    assert view.cutting.clear
    assert [state.code for state in view.sewing.open] == ["basted_and_fitted"]
    assert [state.answer.reason for state in view.sewing.passed_by if state.answer] == [
        "sewn by hand throughout"
    ]
    assert CheckpointAnswer.objects.get(answer="passed_by").missing == ["No seam is chosen."]


def test_going_past_needs_an_instructor_and_a_reason(shop: Shop) -> None:
    garment = shop.garment()
    with pytest.raises(Refused, match="needs a reason in writing"):
        answer_checkpoint(
            shop.instructor, garment.pk, checkpoint="cloth_known", answer="passed_by", reason="  "
        )
    with pytest.raises(NotAllowed):
        answer_checkpoint(
            shop.house.clerk, garment.pk, checkpoint="cloth_known", answer="passed_by", reason="hurry"
        )
    with pytest.raises(NotAllowed):
        answer_checkpoint(shop.house.clerk, garment.pk, checkpoint="body_measured", answer="done")
    with pytest.raises(Refused, match="is not a checkpoint"):
        answer_checkpoint(shop.instructor, garment.pk, checkpoint="ironed", answer="done")
    with pytest.raises(Refused, match="is not an answer"):
        answer_checkpoint(shop.instructor, garment.pk, checkpoint="cloth_known", answer="maybe")
    with pytest.raises(Refused, match="can't be gone past"):
        answer_checkpoint(
            shop.instructor, garment.pk, checkpoint="handed_over", answer="passed_by", reason="gone"
        )
    assert not CheckpointAnswer.objects.exists()


def test_the_whole_way_to_handing_over(shop: Shop) -> None:
    garment = shop.signed_garment()
    choose_seam(shop.instructor, garment.pk, place="side seams", version_id=shop.version.pk)
    shop.trial()
    with pytest.raises(Conflict, match="The sewing is not done"):
        hand_over(shop.house.clerk, garment.pk)
    with pytest.raises(Conflict, match="Body measured is not settled"):
        answer_checkpoint(shop.instructor, garment.pk, checkpoint="sewn", answer="done")
    for checkpoint in CODES[:-1]:
        answer_checkpoint(shop.instructor, garment.pk, checkpoint=checkpoint, answer="done")
    assert bench(shop.house.clerk).groups[0].checkpoint.code == "handed_over"
    assert hand_over(shop.house.clerk, garment.pk).state == "handed_over"
    assert bench(shop.house.clerk).count == 0
    with pytest.raises(Conflict, match="handed over"):
        change_garment(shop.house.clerk, garment.pk, words="other")
    with pytest.raises(Conflict, match="handed over"):
        choose_seam(shop.instructor, garment.pk, place="hem", version_id=shop.version.pk)
    with pytest.raises(Conflict, match="handed over"):
        shop.baste(garment)
    answer_checkpoint(shop.house.clerk, garment.pk, checkpoint="handed_over", answer="reopened")
    assert Garment.objects.get(pk=garment.pk).state == "open"


def test_an_open_note_keeps_the_fitting_unsettled(shop: Shop) -> None:
    garment = shop.full_garment()
    session = shop.baste(garment)
    assert needs(shop, garment, "basted_and_fitted") == ("The basted fitting is not signed off.",)
    note_fit(shop.instructor, session.pk, place="hip", seen="strain across the back")
    assert needs(shop, garment, "basted_and_fitted") == ("1 fit note is not decided yet.",)


def test_only_a_basted_or_final_fitting_counts_before_the_machine_sews(shop: Shop) -> None:
    garment = shop.full_garment()
    toile = shop.baste(garment, kind="toile")
    sign_off(shop.instructor, toile.pk, client_agreed=True)
    assert needs(shop, garment, "basted_and_fitted") == ("No basted fitting has been held.",)


def test_giving_up_closes_and_can_be_taken_back(shop: Shop) -> None:
    garment = shop.garment()
    change_garment(shop.house.clerk, garment.pk, given_up=True)
    assert bench(shop.house.clerk).count == 0
    with pytest.raises(Conflict, match="given up"):
        change_garment(shop.house.clerk, garment.pk, words="other")
    change_garment(shop.house.clerk, garment.pk, given_up=False)
    assert bench(shop.house.clerk).count == 1


def test_the_bench_puts_what_is_due_first(shop: Shop) -> None:
    today = timezone.localdate()
    shop.garment(words="no date")
    shop.garment(words="next week", due=today + timedelta(days=7))
    shop.garment(words="today", due=today)
    found = bench(shop.house.clerk)
    [group] = found.groups
    assert [row.garment.words for row in group.rows] == ["today", "next week", "no date"]
    assert [row.is_due for row in group.rows] == [True, False, False]
    assert (found.count, found.due) == (3, 1)


def _many(shop: Shop, count: int) -> None:
    for number in range(count):
        garment = shop.full_garment(words=f"trousers {number}")
        choose_seam(shop.instructor, garment.pk, place="side seams", version_id=shop.version.pk)
        session = shop.baste(garment)
        note_fit(shop.instructor, session.pk, place="waist", seen="too much cloth")
        answer_checkpoint(shop.instructor, garment.pk, checkpoint="body_measured", answer="done")


def test_the_bench_asks_the_same_number_of_questions_for_many(shop: Shop, django_assert_num_queries) -> None:  # type: ignore[no-untyped-def]
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    _many(shop, 2)
    with CaptureQueriesContext(connection) as two:
        bench(shop.house.clerk)
    _many(shop, 18)
    with django_assert_num_queries(len(two)):
        assert bench(shop.house.clerk).count == 20


def test_one_garments_page_asks_the_same_number_of_questions_however_much_ties_to_it(
    shop: Shop,
    django_assert_num_queries,  # type: ignore[no-untyped-def]
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    garment = shop.full_garment()

    def add(count: int) -> None:
        for number in range(count):
            choose_seam(
                shop.instructor, garment.pk, place=f"seam {number} of {count}", version_id=shop.version.pk
            )
            session = shop.baste(garment)
            note_fit(shop.instructor, session.pk, place="waist", seen="too much cloth")

    add(2)
    with CaptureQueriesContext(connection) as two:
        garment_get(shop.instructor, garment.pk)
    add(18)
    with django_assert_num_queries(len(two)):
        view = garment_get(shop.instructor, garment.pk)
    assert len(view.seams) == len(view.sessions) == 20


def test_a_clerk_sees_a_garment_without_its_notes(shop: Shop) -> None:
    garment = shop.signed_garment()
    view = garment_get(shop.house.clerk, garment.pk)
    assert len(view.sessions) == 1
    assert view.sessions[0].notes == ()
    assert len(garment_get(shop.instructor, garment.pk).sessions[0].notes) == 1


@pytest.mark.usefixtures("in_house")
def test_an_empty_bench(in_house: House) -> None:
    found = bench(in_house.clerk)
    assert (found.groups, found.count, found.due) == ((), 0, 0)


def remarks(shop: Shop, garment: Garment, checkpoint: str) -> tuple[str, ...]:
    states = {state.code: state for state in checkpoint_states(shop.instructor, garment.pk)}
    return states[checkpoint].remarks


def test_the_lay_is_looked_at_for_its_grain(shop: Shop) -> None:
    garment = shop.full_garment()
    me = shop.instructor.member_id
    assert remarks(shop, garment, "lay_and_grain") == (
        "No lay is recorded for this garment: answer from the table.",
    )
    lay = LayPlan.objects.create(
        name="First lay", cloth=shop.cloth, direction="two_way", width_mm=1400, pieces=[], planned_by_id=me
    )
    size = PatternSize.objects.filter(pattern=shop.pattern).first()
    LayLine.objects.create(lay=lay, pattern=shop.pattern, size=size, garment=garment)
    nothing_chosen = "No lay of this garment has a drawing that is chosen."
    assert needs(shop, garment, "lay_and_grain") == (nothing_chosen,)
    assert remarks(shop, garment, "lay_and_grain") == ()
    LayDrawing.objects.create(
        lay=lay, number=1, way="two_way", placements=[], length_mm=900, density_percent=70, made_by_id=me
    )
    lay.chosen = 1
    lay.save()
    assert needs(shop, garment, "lay_and_grain") == ()
    assert remarks(shop, garment, "lay_and_grain") == ("In the lay “First lay” no grainline is taped yet.",)

    def check(*, within: bool) -> None:
        GrainCheck.objects.create(
            lay=lay, key="front", distance_a_mm=100, distance_b_mm=100 if within else 112, line_mm=600,
            degrees=0 if within else Decimal("1.15"), tolerance=Decimal("0.5"), within=within, by_id=me,
        )  # fmt: skip

    check(within=False)
    assert needs(shop, garment, "lay_and_grain") == (
        "In the lay “First lay” 1 piece lies off the grain at the newest check.",
    )
    check(within=True)
    assert needs(shop, garment, "lay_and_grain") == remarks(shop, garment, "lay_and_grain") == ()
    lay.chosen = None  # as when a piece was turned and nothing was found since
    lay.save()
    assert needs(shop, garment, "lay_and_grain") == (nothing_chosen,)


def test_what_is_decided_and_not_carried_to_the_paper_is_told(shop: Shop) -> None:
    garment = shop.full_garment()
    session = shop.baste(garment)
    for place, decision in (("waist", "take_in"), ("hip", "lengthen"), ("neck", "take_in")):
        note_fit(
            shop.instructor, session.pk, place=place, seen="gapes", decision=decision, amount_mm=Decimal(12)
        )
    assert remarks(shop, garment, "basted_and_fitted") == ()
    sign_off(shop.instructor, session.pk, client_agreed=True)
    told = ("1 decided change does not stand in the fit plan yet.",)  # the others are no width of the plan
    assert remarks(shop, garment, "basted_and_fitted") == remarks(shop, garment, "sewn") == told
