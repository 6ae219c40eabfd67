"""What a fitting decided goes back to the paper: a new plan, new finished measures, nothing counted twice."""

from decimal import Decimal

import pytest

from fitting.models import AcceptedEase, FitPlan, PlanOverrule
from fitting.queries.carried import to_carry
from fitting.queries.garments import checkpoint_states
from fitting.queries.learnt import client_learnt
from fitting.queries.plan_view import lines_of
from fitting.queries.planned import read_plan
from fitting.services.carrying import carry_to_paper
from fitting.services.fittings import note_fit, sign_off
from fitting.services.plan_acts import tick_line
from fitting.services.plans import approve_plan, make_plan
from studio.platform.errors import Conflict, NotHere
from studio.platform.models.base import new_id
from tests.fitting.garment.conftest import Shop

pytestmark = pytest.mark.django_db


def planned_garment(shop: Shop):  # type: ignore[no-untyped-def]
    garment = shop.garment(pattern_id=shop.pattern.pk, cloth_id=shop.cloth.pk)
    plan = make_plan(
        shop.instructor, client_id=shop.client.pk, pattern_id=shop.pattern.pk, garment_id=garment.pk
    )
    approve_plan(shop.instructor, plan.pk)
    garment.refresh_from_db()
    return garment


def fit(shop: Shop, garment, amount: int = 12, place: str = "waist"):  # type: ignore[no-untyped-def]
    session = shop.baste(garment)
    note_fit(
        shop.instructor,
        session.pk,
        place=place,
        seen="stands away",
        decision="take_in",
        amount_mm=Decimal(amount),
    )
    note_fit(shop.instructor, session.pk, place="hem", seen="dips", decision="reshape", decided="level it")
    return session


def test_a_decided_change_stands_in_a_new_plan(shop: Shop) -> None:
    garment = planned_garment(shop)
    before = read_plan(garment.plan).zone("waist")
    assert before is not None
    session = fit(shop, garment)
    with pytest.raises(Conflict, match="Sign the fitting off first"):
        carry_to_paper(shop.instructor, session.pk)
    sign_off(shop.instructor, session.pk, client_agreed=True)
    carrying = to_carry(session.pk, garment.plan)
    assert carrying.zones == {"waist": -12.0}
    assert [note.place for note in carrying.by_hand] == ["hem"]
    made = carry_to_paper(shop.instructor, session.pk)
    assert made.state == FitPlan.State.DRAFT
    assert made.inputs["body"] == garment.plan.inputs["body"]
    after = read_plan(made).zone("waist")
    assert after is not None
    assert after.finished == pytest.approx(
        before.finished - 12, abs=4 * 2 / 2
    )  # four edges, each drawn to 2 mm
    [overrule] = PlanOverrule.objects.filter(plan=made, zone="waist")
    assert "fitting of" in overrule.reason
    assert "1.2 cm less" in overrule.reason
    approve_plan(shop.instructor, made.pk)
    garment.refresh_from_db()
    assert garment.plan_id == made.pk
    with pytest.raises(Conflict, match="Nothing of this fitting is left"):
        carry_to_paper(shop.instructor, session.pk)


def test_nothing_is_counted_twice(shop: Shop) -> None:
    garment = planned_garment(shop)
    first = fit(shop, garment)
    sign_off(shop.instructor, first.pk, client_agreed=True)
    accepted = AcceptedEase.objects.get(session=first, zone="waist").ease_mm
    learnt = {row.place: row.habit.mean for row in client_learnt(shop.instructor, shop.client.pk, "cm")}
    approve_plan(shop.instructor, carry_to_paper(shop.instructor, first.pk).pk)
    garment.refresh_from_db()
    again = shop.baste(garment)
    note_fit(shop.instructor, again.pk, place="waist", seen="sits well", decision="leave")
    sign_off(shop.instructor, again.pk, client_agreed=True)
    later = AcceptedEase.objects.get(session=again, zone="waist").ease_mm
    assert abs(later - accepted) <= 4  # the rounding at four edges, not the change once more
    now = {row.place: row.habit.mean for row in client_learnt(shop.instructor, shop.client.pk, "cm")}
    assert now.keys() == learnt.keys()


def test_the_checkpoint_tells_what_is_not_drawn_yet(shop: Shop) -> None:
    garment = planned_garment(shop)
    lines = lines_of(garment.plan.result)
    assert lines

    def remarks() -> tuple[str, ...]:
        return checkpoint_states(shop.instructor, garment.pk)[1].remarks

    assert f"of {len(lines)} changes of the fit plan" in remarks()[0]
    for line in lines:
        tick_line(shop.instructor, garment.plan_id, line=line)
    assert remarks() == ()


def test_what_can_not_be_carried(shop: Shop) -> None:
    with pytest.raises(NotHere):
        carry_to_paper(shop.instructor, new_id())
    bare = shop.garment()
    session = shop.baste(bare)
    sign_off(shop.instructor, session.pk, client_agreed=False)
    with pytest.raises(Conflict, match="no approved fit plan"):
        carry_to_paper(shop.instructor, session.pk)
