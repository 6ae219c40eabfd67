"""Fit reports: frozen, numbered, issued once, opened by a link; and the look-up of past fits; and forgetting."""

import json
import re
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection, transaction
from django.db.utils import DatabaseError
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from fitting.jobs import finish_report, prepare_report, work_report
from fitting.models import (
    AcceptedEase,
    CheckpointAnswer,
    FitNote,
    FitPlan,
    FitReport,
    FittingSession,
    Garment,
    GarmentSeam,
    IssuedReport,
    ReportLink,
)
from fitting.queries.panels import export_of
from fitting.queries.past_fits import past_fits
from fitting.queries.reports import look_at_link, report_file, report_get
from fitting.services.fittings import note_fit, sign_off
from fitting.services.garments import answer_checkpoint, choose_seam
from fitting.services.reports import ask_report, make_link, open_link, revoke_link
from studio.platform.errors import Conflict, JobFailed, NotAllowed, NotHere, Refused
from studio.platform.models import Job, StoredFile
from studio.platform.models.base import new_id
from tests.conftest import House
from tests.fitting.garment.conftest import Shop, fill


def nothing(percent: int, words: str) -> None:
    """Progress that nobody listens to."""


def issue(report: FitReport) -> dict[str, Any]:
    """What the worker does, in its three steps."""
    arguments = Job.objects.get(pk=report.job_id).arguments
    prepared = prepare_report(arguments)
    return finish_report(arguments, prepared, work_report(prepared, nothing))


def test_nothing_to_report_is_said(shop: Shop) -> None:
    garment = shop.garment()
    with pytest.raises(Refused) as refused:
        ask_report(shop.instructor, garment.pk)
    assert refused.value.reasons["garment"].startswith("There is nothing to report for this garment yet: ")
    assert not FitReport.objects.exists()
    assert not Job.objects.exists()
    session = shop.baste(garment)
    with pytest.raises(Refused):
        ask_report(shop.instructor, garment.pk)
    sign_off(shop.instructor, session.pk, client_agreed=True)
    assert ask_report(shop.instructor, garment.pk).number == 1


def test_only_those_who_issue_may_ask(shop: Shop) -> None:
    garment = shop.full_garment()
    with pytest.raises(NotAllowed, match="A clerk may not issue fit reports"):
        ask_report(shop.house.clerk, garment.pk)


def test_the_snapshot_is_frozen_numbered_and_has_its_job(shop: Shop) -> None:
    garment = shop.signed_garment()
    choose_seam(shop.instructor, garment.pk, place="side seams", version_id=shop.version.pk)
    shop.trial()
    first = ask_report(shop.instructor, garment.pk)
    job = Job.objects.get(pk=first.job_id)
    assert (job.kind, job.queue, job.arguments) == ("fit_report", "reports", {"report": str(first.pk)})
    shot = first.snapshot
    assert json.loads(json.dumps(shot)) == shot
    assert shot["client"]["name"] == "Olia Carvalho"
    assert {row["code"]: row["text"] for row in shot["measures"]}["waist_girth"] == "74.2 cm"
    assert [row["zone"] for row in shot["sizes"]] == ["Waist", "Hip"]
    assert shot["seams"][0]["place"] == "Side seams"
    assert "proven by a sample on this cloth on" in shot["seams"][0]["proof"]
    assert shot["fittings"][0]["notes"][0] == {
        "where": "Waist", "seen": "the band stands away", "decision": "Take in 1.2 cm in all", "how": "",
        "by": "",
    }  # fmt: skip
    assert shot["made_with"]["renderer"].startswith("WeasyPrint 70")
    Garment.objects.filter(pk=garment.pk).update(words="grey trousers")
    assert FitReport.objects.get(pk=first.pk).snapshot["garment"]["words"] == "teal trousers"
    second = ask_report(shop.instructor, garment.pk, corrects=first.pk)
    assert (second.number, second.snapshot["report"]["corrects"]) == (2, 1)
    with pytest.raises(Refused, match="no such report of this garment"):
        ask_report(shop.instructor, garment.pk, corrects=new_id())


def test_weight_is_never_in_it_and_figures_only_if_wished(shop: Shop) -> None:
    garment = shop.signed_garment()
    text = json.dumps(ask_report(shop.instructor, garment.pk).snapshot)
    assert "weight" not in text.lower()
    assert "63.3" not in text
    assert "74.2 cm" in text
    shop.client.figures_in_report = False
    shop.client.save()
    shot = ask_report(shop.instructor, garment.pk).snapshot
    text = json.dumps(shot)
    assert shot["measures"] == []
    assert shot["zones"] == []
    assert "74.2" not in text  # the body's waist
    assert "76.0" not in text  # the finished waist, which with the ease would tell it
    assert shot["alterations"]
    assert shot["sizes"]


def test_a_childs_garment_brings_its_cautions(shop: Shop) -> None:
    garment = shop.full_garment(for_child=True)
    titles = [row["title"] for row in ask_report(shop.instructor, garment.pk).snapshot["cautions"]]
    assert "Cords and drawstrings" in titles
    plain = shop.full_garment(words="grown-up trousers")
    assert ask_report(shop.instructor, plain.pk).snapshot["cautions"] == []


def test_what_changed_beyond_the_tape_is_told(shop: Shop) -> None:
    from studio.models import Measuring, Reading

    me = shop.instructor.member_id
    again = Measuring.objects.create(client=shop.client, measured_at=timezone.now(), measured_by_id=me)
    for measure, value in {"waist_girth": 800, "hip_girth": 1012}.items():
        Reading.objects.create(
            measuring=again,
            client=shop.client,
            measure=measure,
            value=value,
            typed=str(value),
            recorded_by_id=me,
        )
    rows = {
        row["code"]: row for row in ask_report(shop.instructor, shop.full_garment().pk).snapshot["measures"]
    }
    assert rows["waist_girth"]["change"] == "+5.8 cm"
    assert rows["hip_girth"]["change"] == ""
    assert rows["inside_leg"]["change"] == ""


def test_the_worker_issues_one_pdf_however_often_it_runs(shop: Shop) -> None:
    report = ask_report(shop.instructor, shop.signed_garment().pk)
    first = issue(report)
    again = issue(report)
    assert first == again
    assert IssuedReport.objects.count() == StoredFile.objects.count() == 1
    file = report_file(shop.instructor, report.pk)
    assert file.content.startswith(b"%PDF-1.7")
    assert file.sha256 == first["sha256"]
    assert file.name == "Fit summary 1 - teal trousers.pdf"
    row = StoredFile.objects.get()
    assert row.client_id == shop.client.pk


def test_two_workers_at_once_leave_one_result(shop: Shop) -> None:
    report = ask_report(shop.instructor, shop.full_garment().pk)
    arguments = {"report": str(report.pk)}
    prepared = prepare_report(arguments)
    one, two = work_report(prepared, nothing), work_report(prepared, nothing)
    assert finish_report(arguments, prepared, one) == finish_report(arguments, prepared, two)
    assert IssuedReport.objects.count() == 1


def test_a_report_of_somebody_erased_fails_in_a_sentence(shop: Shop) -> None:
    with pytest.raises(JobFailed, match="erased on request"):
        prepare_report({"report": str(new_id())})


def test_reports_are_kept_as_written_by_the_database(shop: Shop) -> None:
    report = ask_report(shop.instructor, shop.full_garment().pk)
    with pytest.raises(DatabaseError), transaction.atomic():
        FitReport.objects.filter(pk=report.pk).update(number=9)


def test_links_open_expire_and_are_revoked(closed_shop: Shop) -> None:
    shop = closed_shop
    with shop.house.scope():
        report = ask_report(shop.instructor, shop.signed_garment().pk)
        made = make_link(shop.house.clerk, report.pk, days=3)
        for days in (0, 366, -1):
            with pytest.raises(Refused, match="from 1 to 365 days"):
                make_link(shop.house.clerk, report.pk, days=days)
        with pytest.raises(NotHere):
            make_link(shop.house.clerk, new_id())
    signed = made.address.rstrip("/").rsplit("/", 1)[1]
    assert (made.send_to, made.send_by) == ("Olia Carvalho", "olia@example.org")
    for _ in range(2):
        assert look_at_link(signed).state == "open"
    with shop.house.scope():
        assert ReportLink.objects.get().openings == 0  # looking is not opening
    opened = open_link(signed)
    assert opened.snapshot is not None
    assert opened.snapshot["garment"]["words"] == "teal trousers"
    with shop.house.scope():
        assert ReportLink.objects.get().openings == 1
        ReportLink.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    expired = open_link(signed)
    assert (expired.state, expired.snapshot) == ("expired", None)
    with shop.house.scope():
        with pytest.raises(Conflict, match="opens nothing any more"):
            revoke_link(shop.house.clerk, made.link.pk)
        second = make_link(shop.instructor, report.pk)
        revoke_link(shop.house.clerk, second.link.pk)
        assert ReportLink.objects.get(pk=made.link.pk).openings == 1
    assert look_at_link(second.address.rstrip("/").rsplit("/", 1)[1]).state == "revoked"
    with pytest.raises(NotHere, match="cut off"):
        look_at_link(signed[:-2])


def test_a_minors_link_goes_to_the_guardian(shop: Shop) -> None:
    shop.client.born = timezone.localdate() - timedelta(days=365 * 9)
    shop.client.guardian_name, shop.client.guardian_email = "Marta Carvalho", "marta@example.org"
    shop.client.save()
    made = make_link(shop.instructor, ask_report(shop.instructor, shop.full_garment().pk).pk)
    assert (made.send_to, made.send_by) == ("Marta Carvalho", "marta@example.org")


def test_a_replaced_report_says_so(closed_shop: Shop) -> None:
    with closed_shop.house.scope():
        garment = closed_shop.signed_garment()
        first = ask_report(closed_shop.instructor, garment.pk)
        signed = make_link(closed_shop.instructor, first.pk).address.rstrip("/").rsplit("/", 1)[1]
        ask_report(closed_shop.instructor, garment.pk, corrects=first.pk)
    assert look_at_link(signed).newer_number == 2


def test_past_fits_tell_what_the_counter_needs_and_no_figure_of_the_body(shop: Shop) -> None:
    shop.signed_garment()
    shop.garment(kind="skirt", words="emerald skirt")
    [found] = past_fits(shop.house.clerk, "olia teai trousrs")
    assert (found.name, found.telephone) == ("Olia Carvalho", "0555 0142")
    garment = found.garments[0]
    assert garment.words == "teal trousers"
    assert garment.sizes[0] == ("Waist", "40")
    assert [(row.words, row.text) for row in garment.ease if row.zone == "waist"] == [("Waist", "+0.6 cm")]
    assert [(row.where, row.words) for row in garment.changes] == [("Waist", "Take in 1.2 cm in all")]
    assert garment.year == timezone.now().year
    told = re.sub(r"UUID\('[^']*'\)", "", repr(found))  # an id may hold any digits
    assert "the band stands away" not in told  # what was seen on the body is not the counter's
    assert "742" not in told
    assert "74.2" not in told


def test_past_fits_by_telephone_kind_and_year(shop: Shop) -> None:
    shop.signed_garment()
    shop.garment(kind="skirt", words="emerald skirt")
    [found] = past_fits(shop.house.clerk, "0555 0142", kind="skirt")
    assert [garment.words for garment in found.garments] == ["emerald skirt"]
    assert past_fits(shop.house.clerk, "olia", year=1999) == []
    assert past_fits(shop.house.clerk, "   ") == []
    assert len(past_fits(shop.house.clerk, "olia", year=timezone.now().year)[0].garments) == 2


def test_past_fits_ask_the_same_number_of_questions_for_many(
    shop: Shop, django_assert_num_queries: Any
) -> None:
    from studio.models import Client
    from studio.services.search import index_words

    def add(count: int) -> None:
        for number in range(count):
            client = Client.objects.create(name=f"Olia {number} {count}")
            index_words(client_id=client.pk, source="client", source_id=client.pk, words=client.name)
            for words in ("teal trousers", "grey trousers"):
                session = shop.baste(shop.garment(client_id=client.pk, words=words))
                note_fit(
                    shop.instructor,
                    session.pk,
                    place="waist",
                    seen="gapes",
                    decision="take_in",
                    amount_mm=Decimal(9),
                )

    add(1)
    with CaptureQueriesContext(connection) as few:
        past_fits(shop.house.clerk, "olia")
    add(10)
    with django_assert_num_queries(len(few)):
        assert len(past_fits(shop.house.clerk, "olia")) == 12


def test_another_studio_finds_and_opens_nothing(closed_shop: Shop, other_house: House) -> None:
    with closed_shop.house.scope():
        report = ask_report(closed_shop.instructor, closed_shop.signed_garment().pk)
    with other_house.scope():
        assert past_fits(other_house.clerk, "olia teal trousers") == []
        for act in (
            lambda: report_get(other_house.instructor, report.pk),
            lambda: report_file(other_house.instructor, report.pk),
            lambda: make_link(other_house.instructor, report.pk),
            lambda: ask_report(other_house.instructor, report.garment_id),
        ):
            with pytest.raises(NotHere):
                act()


def test_a_clerk_sends_the_link_but_does_not_open_the_pdf(shop: Shop) -> None:
    report = ask_report(shop.instructor, shop.full_garment().pk)
    issue(report)
    assert report_get(shop.house.clerk, report.pk).pk == report.pk
    with pytest.raises(NotAllowed, match="A clerk may not open fit reports"):
        report_file(shop.house.clerk, report.pk)


def test_forgetting_a_client_leaves_the_garments_technical_facts(shop: Shop) -> None:
    from studio.services.clients import erase_client

    garment = shop.signed_garment()
    choose_seam(shop.instructor, garment.pk, place="side seams", version_id=shop.version.pk)
    answer_checkpoint(
        shop.instructor,
        garment.pk,
        checkpoint="lay_and_grain",
        answer="passed_by",
        reason="Olia cut it herself",
    )
    FitPlan.objects.filter(pk=shop.plan.pk).update(garment=garment)
    report = ask_report(shop.instructor, garment.pk)
    issue(report)
    make_link(shop.instructor, report.pk)
    waiting = ask_report(shop.instructor, garment.pk, corrects=report.pk)
    exported = export_of(shop.house.owner, shop.client.pk)
    assert json.loads(json.dumps(exported)) == exported
    assert exported["garments"][0]["sessions"][0]["notes"][0]["seen"] == "the band stands away"
    bystander = fill(shop.house, "Noor Haddad")
    bystander.signed_garment()
    kept = [model.objects.count() for model in (FitNote, AcceptedEase, FitPlan)]
    erase_client(shop.house.owner, shop.client.pk, reason="asked by letter")
    after = Garment.objects.get(pk=garment.pk)
    assert (after.kind, after.cloth_id, after.pattern_id) == ("trousers", shop.cloth.pk, shop.pattern.pk)
    assert (after.words, after.plan_id, after.notes) == ("Erased", None, "")
    assert GarmentSeam.objects.filter(garment=garment).count() == 1
    assert FittingSession.objects.get(garment=garment).worn == ""
    assert CheckpointAnswer.objects.get(garment=garment).reason == "Erased on request."
    for model in (FitReport, IssuedReport, ReportLink):
        assert not model.objects.exists(), model
    assert not StoredFile.objects.filter(client_id=shop.client.pk).exists()
    assert Job.objects.get(pk=waiting.job_id).state == "cancelled"
    assert kept == [2, 10, 2]
    assert [model.objects.count() for model in (FitNote, AcceptedEase, FitPlan)] == [1, 5, 1]
    with pytest.raises(Conflict, match="This client was erased"):
        ask_report(shop.instructor, garment.pk)
