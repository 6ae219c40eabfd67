"""Before sewing the real thing: proof by cloth, thread by colour, time; refusals; who may; constant queries."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fitting.queries.garments import checkpoint_states
from fitting.queries.seams import garment_sewing
from fitting.services import seams as services
from fitting.services.garments import choose_seam
from seamlab.api.sheet_serializers import SampleSheetOut
from seamlab.models import Machine, SeamRecipe, SeamRecipeVersion, SeamTrial
from seamlab.queries.sample_sheets import sheet_file, sheet_list
from seamlab.services.trials import withdraw_trial
from studio.platform.errors import NotHere, Refused
from studio.platform.jobs import run_job
from studio.platform.models import Job
from studio.services.leaving import erase_client


@pytest.fixture
def taped(shop: Any) -> Any:
    """(shop, garment, side seams, hem): side seams 2 x 1.04 m grey above and moss beneath; a hem of 0.5 m, not said."""
    garment = shop.full_garment()
    side = choose_seam(shop.instructor, garment.pk, place="side seams", version_id=shop.version.pk)
    hem = choose_seam(shop.instructor, garment.pk, place="hem", version_id=shop.version.pk)
    services.measure_seam(
        shop.instructor,
        garment.pk,
        side.pk,
        facts={"length_mm": Decimal(1040), "times": 2, "needle_colour": "grey", "under_colour": "moss"},
    )
    services.measure_seam(shop.instructor, garment.pk, hem.pk, facts={"length_mm": Decimal(500)})
    return shop, garment, side, hem


def test_thread_by_colour_from_an_unpicked_sample_and_time_on_its_machine(taped: Any) -> None:
    shop, garment, *_ = taped
    SeamTrial.objects.create(
        version=shop.version, cloth=shop.cloth, machine=shop.machine, length_before_mm=200, length_after_mm=200,
        smoothness=5, unpicked_length_mm=150, needle_thread_mm=195, under_thread_mm=180, proposed="passes",
        verdict="passes", sewn_by_id=shop.instructor.member_id, sewn_at=garment.created_at,
    )  # fmt: skip
    needs = garment_sewing(shop.instructor, garment.pk, allowance_percent=Decimal(10)).needs
    sewn = {row.colour: row.sewn_m for row in needs.threads}
    # 195/150 of 2 x 1.04 m above and 180/150 beneath; the hem's colour was not said: both its threads in one line.
    assert sewn == {
        "grey": pytest.approx(2.08 * 1.3),
        "moss": pytest.approx(2.08 * 1.2),
        "colour not said": pytest.approx(0.5 * 2.5),
    }
    assert {row.colour: row.metres for row in needs.threads} == {"grey": 3, "moss": 3, "colour not said": 2}
    assert all(row.needed_m == pytest.approx(1.1 * row.sewn_m) for row in needs.threads)
    assert [row.standing for row in needs.seams] == ["proven", "proven"]
    assert needs.seams[0].basis.startswith("unpicked from the sample of")
    length = float(shop.version.stitch_length_mm)
    assert needs.minutes == pytest.approx((2080 + 500) / length / shop.machine.stitches_per_minute)


def test_a_lining_is_proven_on_its_own_cloth_and_a_withdrawn_sample_proves_nothing(taped: Any) -> None:
    shop, garment, _, hem = taped
    proof = shop.trial()
    lining = shop.cloth_named("Rose lining")
    services.measure_seam(shop.instructor, garment.pk, hem.pk, facts={"cloth_id": lining.pk})

    def standing() -> dict[str, str]:
        return {
            row.asked.place: row.standing for row in garment_sewing(shop.instructor, garment.pk).needs.seams
        }

    def missing() -> tuple[str, ...]:
        return next(
            state.needs
            for state in checkpoint_states(shop.instructor, garment.pk)
            if state.code == "seams_proven"
        )

    assert standing() == {"side seams": "proven", "hem": "owed"}
    assert len(missing()) == 1
    assert missing()[0].startswith("Hem:")
    assert missing()[0].endswith("on Rose lining.")
    shop.trial(cloth=lining)
    assert standing() == {"side seams": "proven", "hem": "proven"}
    assert missing() == ()
    shop.trial(verdict="fails")
    assert standing()["side seams"] == "doubted"
    withdraw_trial(shop.instructor, proof.pk, reason="Sewn on the wrong machine")
    assert standing()["side seams"] == "failed"
    assert missing()[0].startswith("Side seams:")


@pytest.mark.parametrize(
    ("facts", "field", "words"),
    [
        ({"length_mm": Decimal(0)}, "length_mm", "longer than 0"),
        ({"length_mm": Decimal(60_000)}, "length_mm", "check the unit"),
        ({"times": 0}, "times", "1 to 40"),
        ({"needle_colour": "x" * 61}, "needle_colour", "a word or two"),
        ({"colour": "red"}, "colour", "nothing of this name"),
    ],
)
def test_impossible_lengths_are_refused(taped: Any, facts: Any, field: str, words: str) -> None:
    shop, garment, side, _ = taped
    with pytest.raises(Refused) as refused:
        services.measure_seam(shop.instructor, garment.pk, side.pk, facts=facts)
    assert list(refused.value.reasons) == [field]
    assert words in refused.value.reasons[field]


def test_a_cloth_of_another_structure_or_studio_is_refused(taped: Any) -> None:
    from uuid import uuid4

    shop, garment, side, _ = taped
    knit = shop.cloth_named("Plum rib", "knit")
    for cloth_id, words in ((knit.pk, "Plum rib is knit"), (uuid4(), "no such cloth")):
        with pytest.raises(Refused, match=words):
            services.measure_seam(shop.instructor, garment.pk, side.pk, facts={"cloth_id": cloth_id})


def test_however_many_seams_the_queries_stay_the_same(taped: Any) -> None:
    shop, garment, *_ = taped

    def count() -> int:
        with CaptureQueriesContext(connection) as queries:
            garment_sewing(shop.instructor, garment.pk)
        return len(queries)

    shop.trial()
    few = count()
    for number in range(6):
        recipe = SeamRecipe.objects.create(
            name=f"R{number}", purpose="join", seam_class="1", structure="woven"
        )
        version = SeamRecipeVersion.objects.create(
            recipe=recipe, number=1, stitch_type="304", stitch_length_mm=2, stitch_width_mm=3,
            needle_thread=shop.version.needle_thread, needle=shop.version.needle,
            written_by_id=shop.instructor.member_id,
        )  # fmt: skip
        seam = choose_seam(shop.instructor, garment.pk, place=f"seam {number}", version_id=version.pk)
        services.measure_seam(shop.instructor, garment.pk, seam.pk, facts={"length_mm": Decimal(900)})
        shop.trial(version)
    assert count() == few


def test_the_pages_and_the_sheet(shop: Any, taped: Any, page: Any) -> None:
    _, garment, _, hem = taped
    shop.trial()
    browser = page(shop.instructor)
    address = reverse("fitting:garment-sewing", args=[garment.pk])
    shown = browser.get(address)
    assert shown.status_code == 200
    text = " ".join(shown.content.decode().split())
    assert "Every seam is proven on its cloth." in text
    assert "2 × " in text
    assert browser.get(address, {"allowance": "900"}).status_code == 400
    assert (
        browser.get(address, {"allowance": "20", "machine": str(Machine.objects.get().pk)}).status_code == 200
    )
    seam = reverse("fitting:garment-seam", args=[garment.pk, hem.pk])
    assert browser.get(seam).status_code == 200
    wrong = browser.post(seam, {"length_mm": "-3", "times": "1"})
    assert wrong.status_code == 400
    assert browser.post(seam, {"length_mm": "61.5", "times": "1", "needle_colour": "teal"}).url == address
    hem.refresh_from_db()
    assert (hem.length_mm, hem.needle_colour) == (Decimal(615), "teal")
    assert "Before sewing" in browser.get(reverse("fitting:garment", args=[garment.pk])).content.decode()
    asked = browser.post(reverse("fitting:garment-sample-sheet", args=[garment.pk]))
    job = Job.objects.filter(kind="sample_sheet").get()
    assert asked.url == reverse("platform:job", args=[job.pk])
    assert job.arguments["snapshot"]["title"] == "Seams of teal trousers", (
        "a sheet that lies about names nobody"
    )
    assert page(shop.house.clerk).get(address).status_code == 200
    assert (
        page(shop.house.clerk).post(reverse("fitting:garment-sample-sheet", args=[garment.pk])).status_code
        == 403
    )


def test_the_api(shop: Any, taped: Any, api: Any) -> None:
    _, garment, side, _ = taped
    caller = api(shop.house.clerk)
    found = caller.get(reverse("garment-sewing", args=[garment.pk])).json()
    assert [row["standing"] for row in found["seams"]] == ["owed", "owed"]
    assert {row["colour"] for row in found["threads"]} == {"grey", "moss", "colour not said"}
    changed = caller.patch(
        reverse("garment-seam", args=[garment.pk, side.pk]), {"length_mm": "1000", "times": 2}, format="json"
    )
    assert (changed.status_code, changed.json()["length_mm"]) == (200, "1000.0000")
    refused = caller.get(reverse("garment-sewing", args=[garment.pk]), {"allowance_percent": "101"})
    assert refused.json()["errors"][0]["field"] == "allowance_percent"
    sheet = api(shop.instructor).post(reverse("garment-sample-sheet", args=[garment.pk]))
    assert sheet.status_code == 201
    assert run_job(shop.house.studio_id, sheet.json()["id"]) == "done"


def test_an_erasure_takes_the_sheet_of_her_garment_along(taped: Any) -> None:
    shop, garment, *_ = taped
    job = services.ask_garment_sheet(shop.instructor, garment.pk)
    assert run_job(shop.house.studio_id, job.pk) == "done"
    assert sheet_file(shop.instructor, job.pk).client_id == shop.client.pk
    erase_client(shop.house.owner, shop.client.pk, reason="asked by letter")
    job.refresh_from_db()
    assert (job.arguments, job.result) == ({}, {})
    with pytest.raises(NotHere):
        sheet_file(shop.instructor, job.pk)
    assert SampleSheetOut(sheet_list(shop.instructor)[0]).data["title"] == ""
