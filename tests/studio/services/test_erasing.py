"""Erasing a person on request: nothing personal is left in any table of the studio, and nobody else loses
anything.
"""

import json

import pytest
from django.core.files.storage import default_storage
from django.db import connection
from django.utils import timezone

from studio.models import Client, ClientSearch, Consent, Measuring, Reading
from studio.platform.database.grants import tenant_models
from studio.platform.errors import NotAllowed, Refused
from studio.platform.models import AuditEntry, Erasure, Job, StoredAnswer, StoredFile
from studio.platform.services.files import store_file
from studio.services import clients
from studio.services.measuring import correct_reading
from studio.services.search import index_words
from tests.studio.helpers import a_client, measured

PERSONAL = (
    "Wilhelmine",
    "Ostergaard",
    "0555 014 277",
    "0555014277",
    "wilhelmine@home.example",
    "Guardina",
    "left-handed",
    "76,4 cm",
)


def _all_text(studio_id):
    """Every column of every tenant table of this studio, as text."""
    found = {}
    with connection.cursor() as cursor:
        for model in tenant_models():
            table = model._meta.db_table
            cursor.execute(f"select coalesce(json_agg(t), '[]')::text from \"{table}\" t")
            found[table] = cursor.fetchone()[0]
    return found


@pytest.fixture
def person(in_house):
    """A client about whom a good deal is known, in every table that this wing and the platform fill."""
    client = a_client(
        in_house.clerk,
        "Wilhelmine Ostergaard",
        telephone="0555 014 277",
        email="wilhelmine@home.example",
        guardian_name="Guardina",
        notes="left-handed",
    )
    row = measured(in_house.instructor, client, {"waist_girth": ("76", "76,4 cm"), "hip_girth": "102"})
    correct_reading(in_house.owner, row.readings.get(measure="hip_girth").pk, typed="101", reason="a slip")
    index_words(client_id=client.pk, source="garment", source_id=row.pk, words="teal trousers")
    member = in_house.owner.member_id
    StoredAnswer.objects.create(
        member_id=member, key="k", fingerprint="f", status=201, body={"name": "Wilhelmine Ostergaard"}
    )
    now = timezone.now()
    Job.objects.create(
        kind="x", queue="general", arguments={"client": str(client.pk)}, not_before=now, asked_by_id=member
    )
    Job.objects.create(
        kind="x",
        queue="general",
        state="failed",
        arguments={"other": 1},
        error="Wilhelmine Ostergaard has nothing to report.",
        not_before=now,
    )
    store_file(b"a picture", name="Wilhelmine.pdf", media_type="application/pdf", client_id=client.pk)
    return client


def test_after_an_erasure_nothing_personal_is_left(in_house, person, django_capture_on_commit_callbacks):
    before = _all_text(in_house.studio_id)
    assert all(any(text in table for table in before.values()) for text in PERSONAL if text != "0555014277")
    key = StoredFile.objects.get().key
    assert default_storage.exists(key)
    with django_capture_on_commit_callbacks(execute=True):
        erasure = clients.erase_client(in_house.owner, person.pk, reason="asked by letter on 3 May")
    for table, text in _all_text(in_house.studio_id).items():
        for personal in PERSONAL:
            assert personal.lower() not in text.lower(), (table, personal)
    assert not default_storage.exists(key)
    for model in (Measuring, Reading, Consent, ClientSearch, StoredFile, StoredAnswer):
        assert not model.objects.exists()
    left = Client.objects.get()
    assert (left.pk, left.name, left.born, left.figures_in_report) == (person.pk, "Erased", None, False)
    assert left.erased_at is not None
    assert Erasure.objects.get() == erasure
    assert erasure.client_id == person.pk
    acts = AuditEntry.objects.filter(client_id=person.pk)
    assert "erase_client" in {entry.act for entry in acts}
    assert all(entry.detail == {} for entry in acts)


def test_a_job_about_her_is_stopped_and_another_goes_on(in_house, person):
    clients.erase_client(in_house.owner, person.pk, reason="asked by letter")
    about_her, other = Job.objects.order_by("id")
    assert (about_her.state, about_her.arguments) == ("cancelled", {})
    assert (other.state, other.arguments, other.error) == ("failed", {"other": 1}, "")


def test_nobody_else_loses_anything(house, other_house):
    with other_house.scope():
        theirs = a_client(other_house.clerk, "Wilhelmine Ostergaard")
        measured(other_house.instructor, theirs)
        there = _all_text(other_house.studio_id)
    with house.scope():
        other = a_client(house.clerk, "Olia Duarte")
        measured(house.instructor, other)
        store_file(b"hers", name="olia.pdf", media_type="application/pdf", client_id=other.pk)
        kept = {name: json.loads(text) for name, text in _all_text(house.studio_id).items()}
        gone = a_client(house.clerk, "Wilhelmine Ostergaard")
        measured(house.instructor, gone)
        clients.erase_client(house.owner, gone.pk, reason="asked by letter")
        left = {name: json.loads(text) for name, text in _all_text(house.studio_id).items()}
        for table, rows in kept.items():
            for row in rows:
                assert row in left[table], table
    with other_house.scope():
        assert _all_text(other_house.studio_id) == there


def test_only_an_owner_erases_or_exports(in_house):
    client = a_client(in_house.clerk)
    for actor in (in_house.instructor, in_house.clerk):
        with pytest.raises(NotAllowed, match="may not export or erase a client"):
            clients.erase_client(actor, client.pk, reason="asked by letter")
        with pytest.raises(NotAllowed):
            clients.export_client(actor, client.pk)


@pytest.mark.parametrize("reason", ["", "  ", "Olia asked by letter", "for DUARTE", "x" * 201])
def test_the_reason_is_given_and_names_nobody(in_house, reason):
    client = a_client(in_house.clerk, "Olia Duarte")
    with pytest.raises(Refused) as refused:
        clients.erase_client(in_house.owner, client.pk, reason=reason)
    assert set(refused.value.reasons) == {"reason"}


def test_an_erasure_that_fails_half_way_erases_nothing(in_house, person, monkeypatch):
    from django.db import DatabaseError, transaction

    monkeypatch.setattr(
        "studio.services.leaving.CLIENT_ERASERS", [(90, "studio_erase_client"), (99, "no_such_eraser")]
    )
    with pytest.raises(DatabaseError), transaction.atomic():
        clients.erase_client(in_house.owner, person.pk, reason="asked by letter")
    assert Client.objects.get().name == "Wilhelmine Ostergaard"
    assert Reading.objects.count() == 4


def test_the_function_reaches_no_other_studio(house, other_house):
    from django.db import DatabaseError, transaction

    with other_house.scope():
        theirs = a_client(other_house.clerk)
    refused = pytest.raises(DatabaseError, match="no such client")
    with house.scope(), refused, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("select studio_erase_client(%s)", [theirs.pk])
    with other_house.scope():
        assert Client.objects.get().name == "Olia Duarte"


def test_the_export_holds_all_and_is_written_down(in_house, person):
    data = json.loads(json.dumps(clients.export_client(in_house.owner, person.pk)))
    mine = data["studio"]
    assert mine["client"]["email"] == "wilhelmine@home.example"
    assert [consent["given_by"] for consent in mine["consents"]] == ["Wilhelmine Ostergaard"]
    readings = mine["measurings"][0]["readings"]
    assert {reading["typed"] for reading in readings} == {"76", "76,4 cm", "102", "101"}
    assert mine["files"][0]["name"] == "Wilhelmine.pdf"
    assert "export_client" in {act["act"] for act in mine["acts"]}
