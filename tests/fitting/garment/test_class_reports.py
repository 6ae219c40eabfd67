"""Fit reports of a whole class: each comes once, what lacks something is told, an erasure in between harms nobody."""

from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from fitting.models import FitReport, IssuedReport
from fitting.queries.class_reports import ERASED_SINCE, report_batch, report_candidates
from fitting.services.class_reports import ask_reports, retry_reports
from studio.models import Consent
from studio.platform.errors import NotAllowed, NotHere, Refused
from studio.platform.jobs import run_job
from studio.platform.models import Job
from studio.services.courses import enrol, open_course
from studio.services.leaving import erase_client
from tests.conftest import House, real_transactions
from tests.fitting.garment.conftest import Shop, fill


def some_shops(house: House, count: int) -> list[Shop]:
    return [fill(house, f"Student {letter}") for letter in "ABCDEFGH"[:count]]


def work_off(house: House) -> list[str]:
    """What the report worker does, job by job."""
    with house.scope():
        waiting = list(Job.objects.filter(state="waiting").order_by("id").values_list("pk", flat=True))
    return [run_job(house.studio_id, pk) for pk in waiting]


@real_transactions
def test_each_report_comes_once_however_often_it_is_asked_for(house: House) -> None:
    with house.scope():
        ids = [shop.full_garment().pk for shop in some_shops(house, 3)]
        made = ask_reports(house.instructor, ids)
        again = ask_reports(house.instructor, [*reversed(ids)], batch_id=made.id)
        assert {row.report.pk for row in again.rows} == {row.report.pk for row in made.rows}
        with pytest.raises(Refused, match="Report 1 of this garment is being made already"):
            ask_reports(house.instructor, ids)  # another page, sent before the first is through
        assert FitReport.objects.count() == Job.objects.filter(kind="fit_report").count() == 3
    assert work_off(house) == ["done"] * 3
    with house.scope():
        found = report_batch(house.instructor, made.id)
        assert (found.done, found.amiss, found.ended) == (3, 0, True)
        assert [line.report.client.name for line in found.lines] == ["Student A", "Student B", "Student C"]
        ask_reports(house.instructor, ids, batch_id=made.id)
        assert IssuedReport.objects.count() == FitReport.objects.count() == 3
        # A new act makes further ones: number two of each.
        later = ask_reports(house.instructor, ids[:1])
        assert [row.report.number for row in later.rows] == [2]


@real_transactions
def test_a_client_who_is_erased_in_between_leaves_the_others_alone(house: House) -> None:
    with house.scope():
        shops = some_shops(house, 3)
        ids = [shop.full_garment().pk for shop in shops]
        made = ask_reports(house.instructor, ids)
        erase_client(house.owner, shops[1].client.pk, reason="asked for")
    work_off(house)
    with house.scope():
        found = report_batch(house.instructor, made.id)
        assert (found.done, found.amiss, found.failed, found.ended) == (2, 1, 0, True)
        assert found.lines[-1].amiss == ERASED_SINCE
        assert retry_reports(house.instructor, made.id) == 0
        once_more = ask_reports(house.instructor, ids, batch_id=made.id)
        assert [row.missing for row in once_more.left_out] == [
            "This client was erased; nothing more can be recorded of her."
        ]
        assert FitReport.objects.count() == 2


@real_transactions
def test_what_failed_is_told_in_words_and_tried_again(house: House) -> None:
    with house.scope():
        ids = [shop.full_garment().pk for shop in some_shops(house, 2)]
        made = ask_reports(house.instructor, ids)
        broken = made.rows[0].report.job_id
        Job.objects.filter(pk=broken).update(state="failed", error="The font was not found.")
    work_off(house)
    with house.scope():
        found = report_batch(house.instructor, made.id)
        assert [line.amiss for line in found.lines if line.amiss] == ["The font was not found."]
        assert (found.done, found.failed) == (1, 1)
        assert retry_reports(house.instructor, made.id) == 1
        assert retry_reports(house.instructor, made.id) == 0
    work_off(house)
    with house.scope():
        assert report_batch(house.instructor, made.id).done == 2


@pytest.mark.django_db
def test_a_course_says_what_each_lacks(in_house: House) -> None:
    house = in_house
    ready, bare, withdrawn, without = some_shops(house, 4)
    course = open_course(
        house.owner, name="Trousers on Tuesdays", measure_set="trousers", starts=None, ends=None
    )
    for shop in (ready, bare, withdrawn, without):
        enrol(house.owner, course.pk, client_id=shop.client.pk)
    good = ready.full_garment()
    bare.garment()
    withdrawn.full_garment()
    Consent.objects.create(
        client=withdrawn.client, kind="measure", given=False, given_by="C", at=timezone.now(),
        recorded_by_id=house.instructor.member_id,
    )  # fmt: skip
    found = report_candidates(house.instructor, course.pk)
    assert [row.garment.client.name for row in found.rows if not row.missing] == ["Student A"]
    assert "neither a fit plan nor a signed-off fitting" in found.rows[1].missing
    assert "has withdrawn the consent" in found.rows[2].missing
    assert found.without == ("Student D",)
    made = ask_reports(house.instructor, [row.garment.pk for row in found.rows])
    assert [row.garment.pk for row in made.rows if row.report] == [good.pk]
    assert {row.missing for row in made.left_out} == {row.missing for row in found.rows[1:]}
    assert (
        report_candidates(house.instructor).rows[0].missing
        == "Report 1 of this garment is being made already."
    )
    with pytest.raises(NotAllowed):
        report_candidates(house.clerk)
    with pytest.raises(NotAllowed):
        ask_reports(house.clerk, [good.pk])


@pytest.mark.django_db
def test_as_many_queries_for_one_as_for_many(in_house: House) -> None:
    shops = some_shops(in_house, 4)
    counts = []
    for shop in shops:
        shop.full_garment()
        with CaptureQueriesContext(
            connection,
        ) as seen:
            report_candidates(in_house.instructor)
        counts.append(len(seen))
    assert len(set(counts)) == 1


@pytest.mark.django_db
def test_what_is_not_ours_or_too_much_is_refused(in_house: House) -> None:
    garment = some_shops(in_house, 1)[0].full_garment()
    with pytest.raises(NotHere):
        ask_reports(in_house.instructor, [garment.pk, uuid4()])
    with pytest.raises(Refused, match="from 1 to 60"):
        ask_reports(in_house.instructor, [uuid4() for _ in range(61)])
    with pytest.raises(NotHere):
        report_batch(in_house.instructor, uuid4())
    assert not FitReport.objects.exists()


@pytest.mark.django_db
def test_the_pages_and_the_api(house: House, page: Any, api: Any) -> None:
    with house.scope():
        ids = [str(shop.full_garment().pk) for shop in some_shops(house, 2)]
    teacher = page(house.instructor)
    address = reverse("fitting:class-reports")
    shown = teacher.get(address)
    assert "2 of 2 garments can have a report now" in shown.content.decode()
    assert address in teacher.get(reverse("fitting:bench")).content.decode()
    batch = str(shown.context["form"].initial["batch"])
    assert "Tick at least one garment." in teacher.post(address, {"batch": batch}).content.decode()
    for _ in range(2):  # a form sent twice
        sent = teacher.post(address, {"batch": batch, "garments": ids})
        assert sent.url == reverse("fitting:report-batch", args=[batch])
    told = teacher.get(sent.url).content.decode()
    assert "0 of 2 made so far" in told
    assert "Student A" in told
    assert teacher.get(address, {"course": "what"}).status_code == 404
    program = api(house.instructor)
    read = program.get(reverse("report-batch-read", args=[batch])).json()
    assert [line["job_state"] for line in read["results"]] == ["waiting", "waiting"]
    assert read["done"] == 0
    listed = program.get(reverse("report-batch-list")).json()["results"]
    assert [row["missing"] for row in listed] == ["Report 1 of this garment is being made already."] * 2
    path = reverse("report-batch-list")
    refused = program.post(path, {"garments": ids}, format="json")
    assert refused.status_code == 400
    assert "is being made already" in refused.content.decode()
    with house.scope():
        further = str(fill(house, "Student Z").full_garment().pk)
    once, again = (
        program.post(path, {"garments": [further]}, format="json", headers={"Idempotency-Key": "class-one"})
        for _ in range(2)
    )
    assert once.status_code == again.status_code == 202
    assert once.json() == again.json()
    with house.scope():
        assert FitReport.objects.count() == 3
