"""What is exported can be imported into another studio with nothing lost, and nothing in it acts on a spreadsheet."""

import csv
import io
from datetime import date, timedelta

import pytest
from django.core.files.storage import default_storage
from django.utils import timezone

from studio.models import Client, Reading
from studio.platform.errors import NotAllowed, NotHere, Refused
from studio.platform.jobs import run_job
from studio.platform.models import AuditEntry, Job, Member
from studio.queries import transfer as queries
from studio.services import transfer_export
from studio.services.clients import erase_client
from studio.services.courses import enrol, open_course
from studio.services.measuring import correct_reading
from tests.studio.helpers import a_client, measured
from tests.studio.transfer.invented import (
    checked,
    new_clients,
    problems,
    readings_of,
    told,
    uploaded,
    whole_way,
)


def exported(house, **what):
    """A finished export: (its bytes, its file's row, its job)."""
    with house.scope():
        job = transfer_export.export_readings(house.owner, **what)
    assert run_job(house.studio_id, job.pk) == "done", told(house, job)
    with house.scope():
        file = queries.export_file(house.owner, job.pk)
        with default_storage.open(file.key, "rb") as stored:
            return stored.read(), file, job


def clients_of(house):
    with house.scope():
        return list(
            Client.objects.order_by("name").values_list(
                "name", "born", "telephone", "guardian_name", "body_model"
            )
        )


def names_in(content):
    rows = list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))
    return {row["Client"] for row in rows}


@pytest.fixture
def full(house):
    """Texts in several units, takes, a chain of corrections that comes back to its first value, and texts that a
    spreadsheet could take for formulas.
    """
    with house.scope():
        olia = a_client(
            house.owner,
            '=Olia "Quote", Duarte',
            born=date(1990, 2, 3),
            telephone="+44 555 014",
            consent_by="Olia",
            body_model="female",
        )
        tomas = a_client(
            house.owner, "'t Hooft, Tomas", born=date(2016, 4, 12), guardian_name="@Olia", consent_by="@Olia",
            consent_by_guardian=True,
        )  # fmt: skip
        typed = {"waist_girth": ("38 1/8 in", "96,9"), "hip_girth": "102,5 cm", "weight": "60.5"}
        measured(house.instructor, olia, typed, over="underwear", notes='=1+1\nsecond line; "quoted"')
        measured(house.instructor, tomas, {"height": "120.3"}, guardian_present="Olia", posture="-leaning")
        first = Reading.objects.get(measure="hip_girth")
        second = correct_reading(house.owner, first.pk, typed="40 9/16 in", reason="+slip")
        correct_reading(house.owner, second.pk, typed="102,5 cm", reason="was right at first")
    return house


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_studio_goes_into_another_with_nothing_lost(full, other_house, form):
    content, file, _ = exported(full, file_form=form)
    assert file.name.endswith(f".{form}")
    row = whole_way(other_house, content, file.name, **new_clients())
    assert row.counts["corrections"] == 2
    assert readings_of(other_house) == readings_of(full)
    assert clients_of(other_house) == clients_of(full)
    # Both ways once more: nothing new on either side.
    for house in (other_house, full):
        again = whole_way(house, content, file.name, **new_clients())
        assert (again.counts["new_readings"], again.counts["clients_new"]) == (0, 0)


def test_a_second_correction_of_what_is_here_already_is_a_problem(full, other_house):
    content, _, _ = exported(full)
    whole_way(other_house, content, **new_clients())
    changed = content.decode("utf-8-sig").replace("40 9/16 in", "40 5/8 in").replace("103.02875", "103.1875")
    row = checked(other_house, uploaded(other_house, changed.encode()))
    assert [field for _, field, _ in problems(other_house, row)] == ["value"]


def test_no_cell_begins_like_a_formula(full):
    content, _, _ = exported(full)
    cells = [cell for row in csv.reader(io.StringIO(content.decode("utf-8-sig"))) for cell in row]
    assert any(cell.startswith("'=Olia") for cell in cells)
    assert not [cell for cell in cells if cell.lstrip()[:1] in set("=+-@")]


def test_a_client_or_a_course_alone(full):
    with full.scope():
        olia = Client.objects.get(name__startswith="=Olia")
        course = open_course(full.owner, name="Shirts on Mondays", measure_set="shirt")
        enrol(full.owner, course.pk, client_id=olia.pk)
    content, file, _ = exported(full, client_id=olia.pk)
    assert names_in(content) == {"'" + olia.name}
    assert file.client_id == olia.pk
    content, file, _ = exported(full, course_id=course.pk)
    assert names_in(content) == {"'" + olia.name}
    assert file.client_id is None


def test_an_erased_client_leaves_in_exports_too(full, django_capture_on_commit_callbacks):
    with full.scope():
        olia = Client.objects.get(name__startswith="=Olia")
    _, of_client, _ = exported(full, client_id=olia.pk)
    _, of_studio, job_of_all = exported(full)
    with django_capture_on_commit_callbacks(execute=True), full.scope():
        erase_client(full.owner, olia.pk, reason="asked by letter")
    assert not default_storage.exists(of_client.key)
    assert not default_storage.exists(of_studio.key)
    with full.scope(), pytest.raises(NotHere):
        queries.export_file(full.owner, job_of_all.pk)


def test_an_export_is_kept_for_its_days_only(full, django_capture_on_commit_callbacks):
    _, file, job = exported(full)
    with django_capture_on_commit_callbacks(execute=True), full.scope():
        transfer_export.forget_exports(full.owner)
    assert default_storage.exists(file.key)
    with django_capture_on_commit_callbacks(execute=True), full.scope():
        Job.objects.filter(pk=job.pk).update(ended_at=timezone.now() - timedelta(days=8))
        transfer_export.forget_exports(full.owner)
    assert not default_storage.exists(file.key)


def test_only_the_owner_exports_and_only_what_is_hers(full, other_house):
    with full.scope():
        olia = Client.objects.get(name__startswith="=Olia")
        for actor in (full.instructor, full.clerk):
            with pytest.raises(NotAllowed):
                transfer_export.export_readings(actor)
            with pytest.raises(NotAllowed):
                queries.export_list(actor)
        with pytest.raises(Refused):
            transfer_export.export_readings(full.owner, file_form="ods")
        job = transfer_export.export_readings(full.owner)
        assert AuditEntry.objects.filter(act="export_readings", object_id=job.pk).exists()
    with other_house.scope():
        with pytest.raises(NotHere):
            transfer_export.export_readings(other_house.owner, client_id=olia.pk)
        with pytest.raises(NotHere):
            queries.export_get(other_house.owner, job.pk)


def test_whoever_is_owner_no_longer_gets_no_export_that_she_asked_for(full):
    with full.scope():
        job = transfer_export.export_readings(full.owner)
        Member.objects.filter(pk=full.owner.member_id).update(role="clerk")
    assert run_job(full.studio_id, job.pk) == "failed"
    assert "may not export" in told(full, job)
