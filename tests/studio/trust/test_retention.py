"""Consent that ended, and clients who are due: what stops, who is listed, what keeping does."""

from datetime import date, timedelta

import pytest
from django.db import connections
from django.utils import timezone

from studio.models import Client, Consent, Measuring
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused
from studio.platform.models import AuditEntry, Studio
from studio.queries.clients import consent_states
from studio.queries.retention import (
    consent_notices,
    consent_withdrawn,
    due_clients,
    grown_up_clients,
    keeping_of,
    withdrawn_clients,
)
from studio.services.clients import change_client, erase_client, record_consent
from studio.services.measuring import TypedReading, record_measuring
from studio.services.retention import keep_client, set_keep_months
from tests.conftest import found_house, real_transactions
from tests.studio.helpers import a_client, measured

GUARDED = {"guardian_name": "Runa Holt", "consent_by": "Runa Holt", "consent_by_guardian": True}


def withdraw(house, client, by="Olia Duarte"):
    return record_consent(house.clerk, client.pk, kind="measure", given=False, given_by=by)


def age_all_rows(by: timedelta):
    """Make everything older: acts are never changed by the app, so the owner of the tables does it."""
    with connections["owner"].cursor() as cursor:
        for table, column in (
            ("platform_auditentry", "at"),
            ("studio_measuring", "recorded_at"),
            ("studio_client", "created_at"),
        ):
            cursor.execute(f"alter table {table} disable trigger user")
            cursor.execute(f"alter table {table} no force row level security")
            cursor.execute(f"update {table} set {column} = {column} - %s", [by])
            cursor.execute(f"alter table {table} force row level security")
            cursor.execute(f"alter table {table} enable trigger user")


def test_the_owner_sets_the_months(in_house):
    assert keeping_of(in_house.owner).months is None
    for months in (1, 24, 240, None):
        set_keep_months(in_house.owner, months=months)
        assert Studio.objects.get().keep_months == months
    for months in (0, 241, -3):
        with pytest.raises(Refused, match="1 to 240"):
            set_keep_months(in_house.owner, months=months)
    acts = AuditEntry.objects.filter(act="set_keep_months").order_by("at")
    assert [act.detail["after"] for act in acts] == [1, 24, 240, None]
    for other in (in_house.instructor, in_house.clerk):
        for ask in (keeping_of, withdrawn_clients):
            with pytest.raises(NotAllowed):
                ask(other)
        with pytest.raises(NotAllowed):
            set_keep_months(other, months=24)


def test_months_are_those_of_the_calendar(in_house, monkeypatch):
    set_keep_months(in_house.owner, months=1)
    monkeypatch.setattr("studio.queries.retention.timezone.localdate", lambda *_, **__: date(2026, 3, 31))
    assert keeping_of(in_house.owner).due_before == date(2026, 2, 28)


@real_transactions
def test_whoever_had_no_act_for_so_long_is_due_and_nobody_is_erased():
    house = found_house("Thimble Row")
    with house.scope():
        quiet, busy = a_client(house.clerk, "Rosa Lind"), a_client(house.clerk)
        measured(house.instructor, quiet)
    age_all_rows(timedelta(days=400))
    with house.scope():
        change_client(house.clerk, busy.pk, expected_version=None, telephone="0555 014 277")
        for months, due in ((None, []), (240, []), (14, []), (13, [quiet]), (1, [quiet])):
            set_keep_months(house.owner, months=months)
            assert list(due_clients(house.owner, keeping_of(house.owner))) == due
        (listed,) = due_clients(house.owner, keeping_of(house.owner))
        assert (timezone.now() - listed.last_act).days == 400
        assert Client.objects.filter(erased_at=None).count() == 2
        keep_client(house.owner, quiet.pk, reason="has a coat on order")
        assert list(due_clients(house.owner, keeping_of(house.owner))) == []
        (act,) = AuditEntry.objects.filter(act="keep_client")
        assert (act.client_id, act.detail) == (quiet.pk, {"reason": "has a coat on order"})


def test_a_clients_silence_is_read_in_one_query(in_house, django_assert_num_queries):
    set_keep_months(in_house.owner, months=1)
    keeping = keeping_of(in_house.owner)
    for number in range(8):
        withdraw(in_house, a_client(in_house.clerk, f"Rosa Lind {number}"))
    with django_assert_num_queries(3):
        assert list(due_clients(in_house.owner, keeping)) == []
        assert len(withdrawn_clients(in_house.owner)) == 8
        assert list(grown_up_clients(in_house.owner)) == []


def test_keeping_is_refused_with_reasons(in_house):
    client = a_client(in_house.clerk)
    for reason in (" ", "x" * 201):
        with pytest.raises(Refused) as refused:
            keep_client(in_house.owner, client.pk, reason=reason)
        assert set(refused.value.reasons) == {"reason"}
    with pytest.raises(NotAllowed):
        keep_client(in_house.instructor, client.pk, reason="has a coat on order")
    erase_client(in_house.owner, client.pk, reason="asked by letter")
    with pytest.raises(Conflict):
        keep_client(in_house.owner, client.pk, reason="has a coat on order")


def test_another_studios_client_is_not_here(house, other_house):
    with other_house.scope():
        theirs = a_client(other_house.clerk)
        withdraw(other_house, theirs)
    with house.scope():
        with pytest.raises(NotHere):
            keep_client(house.owner, theirs.pk, reason="has a coat on order")
        assert list(withdrawn_clients(house.owner)) == []


def test_withdrawal_stops_the_tape_and_starts_the_question(in_house):
    client = a_client(in_house.clerk)
    assert not consent_withdrawn(client.pk)
    withdraw(in_house, client)
    assert consent_withdrawn(client.pk)
    with pytest.raises(Refused, match="withdrawn"):
        record_measuring(
            in_house.instructor,
            client_id=client.pk,
            measured_at=timezone.now(),
            readings=[TypedReading("waist_girth", "76")],
        )
    assert not Measuring.objects.exists()
    assert list(withdrawn_clients(in_house.owner)) == [client]
    keep_client(in_house.owner, client.pk, reason="tax records are running")
    assert list(withdrawn_clients(in_house.owner)) == []
    assert consent_withdrawn(client.pk)  # kept is not used


def test_consent_given_again_ends_the_question(in_house):
    client = a_client(in_house.clerk)
    withdraw(in_house, client)
    record_consent(in_house.clerk, client.pk, kind="measure", given=True, given_by="Olia Duarte")
    assert list(withdrawn_clients(in_house.owner)) == []
    assert not consent_withdrawn(client.pk)
    withdraw(in_house, client)
    assert list(withdrawn_clients(in_house.owner)) == [client]
    record_consent(in_house.clerk, client.pk, kind="photograph", given=True, given_by="Olia Duarte")
    assert list(withdrawn_clients(in_house.owner)) == [client]  # another question


def test_somebody_of_age_since_is_asked_anew(in_house, monkeypatch):
    born = timezone.localdate() - timedelta(days=int(17.5 * 365.25))
    client = a_client(in_house.clerk, "Ida Holt", born=born, **GUARDED)
    today = timezone.localdate()
    assert consent_notices(client, consent_states(in_house.owner, client.pk), today) == []
    assert list(grown_up_clients(in_house.owner)) == []
    later = today + timedelta(days=365)
    (notice,) = consent_notices(client, consent_states(in_house.owner, client.pk), later)
    assert (notice.kind, notice.consent) == ("of age", "measure")
    assert "still the guardian's" in notice.words
    monkeypatch.setattr("studio.queries.retention.timezone.localdate", lambda *_, **__: later)
    assert [(found.name, found.guardian_gave) for found in grown_up_clients(in_house.clerk)] == [
        ("Ida Holt", "Runa Holt")
    ]
    monkeypatch.setattr("studio.services.clients.timezone.localdate", lambda *_, **__: later)
    record_consent(in_house.clerk, client.pk, kind="measure", given=True, given_by="Ida Holt")
    assert list(grown_up_clients(in_house.clerk)) == []
    assert consent_notices(client, consent_states(in_house.owner, client.pk), later) == []


def test_notices_speak_only_of_what_ended(in_house):
    client = a_client(in_house.clerk)
    states = consent_states(in_house.owner, client.pk)
    assert consent_notices(client, states, timezone.localdate()) == []
    withdraw(in_house, client)
    (notice,) = consent_notices(client, consent_states(in_house.owner, client.pk), timezone.localdate())
    assert notice.kind == "withdrawn"
    assert Consent.objects.filter(client=client).count() == 2
