"""A small invented studio for the garment half: a client, her body, cloth, a seam, paper and an approved plan."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from tests.conftest import House
from tests.fitting.garment.invented import BODY, BODY_MEASURES, PAPER, plan_rows


@dataclass
class Shop:
    """Rows of one studio; made straight from the models, so that these tests need no other wing's services."""

    house: House
    client: Any
    pattern: Any
    cloth: Any
    version: Any
    machine: Any
    plan: Any

    @property
    def instructor(self) -> Any:
        return self.house.instructor

    def trial(self, version: Any = None, *, cloth: Any = None, verdict: str = "passes") -> Any:
        from seamlab.models import SeamTrial

        return SeamTrial.objects.create(
            version=version or self.version,
            cloth=cloth or self.cloth,
            machine=self.machine,
            length_before_mm=200,
            length_after_mm=200,
            smoothness=5,
            balance="even",
            proposed=verdict,
            verdict=verdict,
            sewn_by_id=self.instructor.member_id,
            sewn_at=timezone.now(),
        )

    def garment(self, **given: Any) -> Any:
        from fitting.services.garments import open_garment

        return open_garment(
            self.house.clerk,
            **({"client_id": self.client.pk, "kind": "trousers", "words": "teal trousers"} | given),
        )

    def full_garment(self, **given: Any) -> Any:
        """A garment with its pattern, cloth and approved plan."""
        from fitting.services.garments import change_garment

        garment = self.garment(pattern_id=self.pattern.pk, cloth_id=self.cloth.pk, **given)
        return change_garment(self.instructor, garment.pk, plan_id=self.plan.pk)

    def baste(self, garment: Any, *, kind: str = "baste", days_ago: float = 0) -> Any:
        from fitting.services.fittings import hold_session

        return hold_session(
            self.instructor,
            garment.pk,
            kind=kind,
            held_at=timezone.now() - timedelta(days=days_ago),
            worn="low shoes",
        )

    def signed_garment(self) -> Any:
        """A garment with a signed-off basted fitting at which the waist was taken in by 12 mm."""
        from fitting.services.fittings import note_fit, sign_off

        garment = self.full_garment()
        session = self.baste(garment)
        note_fit(
            self.instructor, session.pk, place="waist", seen="the band stands away", decision="take_in",
            amount_mm=Decimal(12),
        )  # fmt: skip
        sign_off(self.instructor, session.pk, client_agreed=True)
        return garment

    def cloth_named(self, name: str, structure: str = "woven") -> Any:
        from seamlab.models import Cloth

        return Cloth.objects.create(
            name=name, structure=structure, weight_gsm=280, thickness_mm=Decimal("0.6"), width_mm=1500,
            usable_width_mm=1470, direction="two_way",
        )  # fmt: skip


def fill(house: House, name: str = "Olia Carvalho") -> Shop:
    """Make the rows; the house's scope must be open."""
    from fitting.models import FitPlan, Pattern, PatternMeasure, PatternSize
    from seamlab.models import Cloth, ClothTest, Machine, Needle, SeamRecipe, SeamRecipeVersion, Thread
    from studio.models import Client, Consent, Measuring, Reading
    from studio.services.search import index_words

    me = house.instructor.member_id
    client = Client.objects.create(name=name, telephone="0555 0142", email="olia@example.org")
    index_words(
        client_id=client.pk,
        source="client",
        source_id=client.pk,
        words=client.name,
        telephone=client.telephone,
    )
    Consent.objects.create(client=client, kind="measure", given=True, given_by=name, recorded_by_id=me)
    measuring = Measuring.objects.create(
        client=client, measured_at=timezone.now() - timedelta(days=10), measured_by_id=me
    )
    body = {BODY_MEASURES[zone]: value for zone, value in BODY.items()} | {
        "thigh_girth": 584.0,
        "height": 1686.0,
    }
    for measure, value in body.items():
        Reading.objects.create(
            measuring=measuring, client=client, measure=measure, value=Decimal(value), typed=f"{value / 10} cm",
            recorded_by_id=me,
        )  # fmt: skip
    Reading.objects.create(
        measuring=measuring,
        client=client,
        measure="weight",
        value=Decimal("63.3"),
        typed="63.3 kg",
        recorded_by_id=me,
    )
    pattern = Pattern.objects.create(name=f"Straight trousers of {name}", kind="trousers", closeness="fitted")
    for place, row in enumerate(PAPER):
        size = PatternSize.objects.create(pattern=pattern, name=row.name, place=place)
        for code, value in row.measures.items():
            PatternMeasure.objects.create(size=size, measure=code, value=Decimal(value))
    inputs, result = plan_rows()
    plan = FitPlan.objects.create(
        client=client, pattern=pattern, inputs=inputs, result=result, state="approved", planned_by_id=me,
        approved_by_id=me, approved_at=timezone.now(),
    )  # fmt: skip
    cloth = Cloth.objects.create(
        name=f"Teal wool twill of {name}", structure="woven", weight_gsm=280, thickness_mm=Decimal("0.6"),
        width_mm=1500, usable_width_mm=1470, direction="two_way",
    )  # fmt: skip
    ClothTest.objects.create(
        cloth=cloth, kind="wash", way="lengthwise", before_mm=500, after_mm=495, percent=-1, tested_by_id=me,
        tested_at=timezone.now(),
    )  # fmt: skip
    thread = Thread.objects.create(name=f"Polyester 40 of {name}", fibre="polyester", tex=40)
    needle = Needle.objects.filter(metric=80, point="round").first() or Needle.objects.create(
        metric=80, point="round"
    )
    machine = Machine.objects.create(name=f"Lockstitch of {name}", stitch_types=["301"])
    recipe = SeamRecipe.objects.create(
        name=f"Plain seam of {name}", purpose="join", seam_class="1", structure="woven"
    )
    version = SeamRecipeVersion.objects.create(
        recipe=recipe, number=1, stitch_type="301", stitch_length_mm=Decimal("2.5"), needle_thread=thread,
        needle=needle, written_by_id=me,
    )  # fmt: skip
    return Shop(house, client, pattern, cloth, version, machine, plan)


@pytest.fixture
def shop(in_house: House) -> Shop:
    """A filled studio with its scope open, for services and queries."""
    return fill(in_house)


@pytest.fixture
def closed_shop(house: House) -> Shop:
    """The same with its scope closed, for pages and the API."""
    with house.scope():
        return fill(house)


@pytest.fixture
def run_jobs(django_capture_on_commit_callbacks: Any) -> Callable[[House], list[str]]:
    """Do what waits in the queue, as the worker does it."""

    def run(house: House) -> list[str]:
        from studio.platform.jobs import run_job
        from studio.platform.models import Job

        with house.scope():
            waiting = list(Job.objects.filter(state="waiting").values_list("pk", flat=True))
        return [run_job(house.studio_id, pk) for pk in waiting]

    return run
