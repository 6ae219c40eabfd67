"""Both halves of the wing together: a real plan for a garment, its fitting, its report, the next plan."""

from decimal import Decimal

from fitting.models import AcceptedEase, Garment
from fitting.queries.checkpoints import DONE
from fitting.queries.garments import checkpoint_states
from fitting.reports.render import render_html
from fitting.services.fittings import note_fit, sign_off
from fitting.services.garments import answer_checkpoint
from fitting.services.patterns import SizeGiven, record_pattern
from fitting.services.plans import approve_plan, make_plan
from fitting.services.reports import ask_report
from tests.fitting.garment.conftest import Shop
from tests.fitting.garment.invented import PAPER


def test_a_real_plan_is_tied_fitted_and_reported(shop: Shop) -> None:
    pattern = record_pattern(
        shop.instructor,
        name="Wide trousers",
        kind="trousers",
        closeness="fitted",
        structure="woven",
        basis="finished",
        sizes=[
            SizeGiven(row.name, {code: Decimal(value) for code, value in row.measures.items()})
            for row in PAPER
        ],
    )
    garment = shop.garment(pattern_id=pattern.pk, cloth_id=shop.cloth.pk)
    plan = make_plan(shop.instructor, client_id=shop.client.pk, pattern_id=pattern.pk, garment_id=garment.pk)
    approve_plan(shop.instructor, plan.pk)
    assert Garment.objects.get(pk=garment.pk).plan_id == plan.pk
    paper = next(
        state for state in checkpoint_states(shop.instructor, garment.pk) if state.code == "paper_altered"
    )
    assert paper.needs == ()
    assert (
        answer_checkpoint(shop.instructor, garment.pk, checkpoint="paper_altered", answer=DONE).answer == DONE
    )
    outcome = next(row for row in plan.result["outcomes"] if row["zone"] == "waist")
    session = shop.baste(garment)
    note_fit(
        shop.instructor,
        session.pk,
        place="waist",
        seen="gapes",
        decision="let_out",
        amount_mm=Decimal("6.35"),
    )
    sign_off(shop.instructor, session.pk, client_agreed=True)
    kept = AcceptedEase.objects.get(session=session, zone="waist")
    expected = Decimal(repr(outcome["finished"] - 742.0)) + Decimal("6.35")
    assert abs(kept.ease_mm - expected) < Decimal("0.0002")
    shot = ask_report(shop.instructor, garment.pk).snapshot
    assert [row["zone"] for row in shot["sizes"]][:2] == ["Waist", "Hip"]
    assert {row["code"] for row in shot["measures"]} >= {
        "waist_girth",
        "hip_girth",
        "body_rise",
        "inside_leg",
    }
    assert all(row["error"] > 0 for row in shot["zones"])
    assert "Wide trousers" in render_html(shot)
    again = make_plan(shop.instructor, client_id=shop.client.pk, pattern_id=pattern.pk)
    assert again.inputs["rules"]["waist"]["accepted"] == [float(kept.ease_mm)]
