"""Importing: the dry run changes nothing and tells all; the take-over is all or nothing; a file twice adds nothing."""

import hashlib
import io
import math
from datetime import date, datetime
from decimal import Decimal

import pytest
from django.core.files.storage import default_storage
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.models import Client, Consent, Measuring, Reading
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused
from studio.platform.jobs import run_job
from studio.platform.models import AuditEntry
from studio.queries import transfer as queries
from studio.queries.clients import find_clients
from studio.queries.trust import repeatability_of, technical_errors_for
from studio.services import transfer
from studio.services.clients import record_consent
from tests.studio.helpers import a_client, measured
from tests.studio.transfer.invented import (
    LONG,
    as_book,
    as_csv,
    checked,
    mapped,
    new_clients,
    problems,
    readings_of,
    seen,
    taken_over,
    told,
    uploaded,
    whole_way,
)

OLIA = ("Olia Duarte", "1990-02-03")
BORN = datetime(1990, 2, 3)  # noqa: DTZ001 - a workbook knows no time zones
AT = datetime(2026, 5, 4, 10, 30)  # noqa: DTZ001


@pytest.fixture
def olia(house):
    with house.scope():
        return a_client(house.owner, born=date(1990, 2, 3))


def test_a_long_file_is_taken_over_as_it_was_typed(house, olia):
    content = as_csv(LONG, [
        (*OLIA, "2026-05-04 10:30", "Waist girth", "76,4", "cm", 1),
        (*OLIA, "2026-05-04 10:30", "waist_girth", "30 1/8", "in", 2),
        (*OLIA, "2026-05-04 10:30", "Weight", "60.5", "kg", ""),
    ])  # fmt: skip
    row = whole_way(house, content)
    assert row.counts["new_readings"] == 3
    with house.scope():
        found = {(r.measure, r.take): (r.value, r.typed) for r in Reading.objects.all()}
        assert Measuring.objects.get().measured_at.isoformat() == "2026-05-04T09:30:00+00:00"
    assert found == {
        ("waist_girth", 1): (Decimal("764.0000"), "76,4"),
        ("waist_girth", 2): (Decimal("765.1750"), "30 1/8"),
        ("weight", 1): (Decimal("60.5000"), "60.5"),
    }


def test_a_wide_file_has_a_column_for_each_measure_and_takes_in_their_order(house, olia):
    heads = (
        "Name",
        "Birthday",
        "Date",
        "Over",
        "Shoes",
        "Waist 1 (in)",
        "Waist 2 (in)",
        "Hips",
        "Favourite colour",
    )
    content = as_csv(
        heads, [(*OLIA, "4 May 2026", "underwear", "no", "30 1/8", "30", "102,5", "teal")], ";", "cp1252"
    )
    row = whole_way(house, content)
    assert row.mapping["measures"] == {"6": "waist_girth", "7": "waist_girth", "8": "hip_girth"}
    with house.scope():
        taken = {(r.measure, r.take): r.value for r in Reading.objects.all()}
        measuring = Measuring.objects.get()
    assert taken == {
        ("waist_girth", 1): Decimal("765.1750"),  # 30 1/8 in of 25.4 mm (yard and pound agreement, 1959)
        ("waist_girth", 2): Decimal("762.0000"),
        ("hip_girth", 1): Decimal("1025.0000"),
    }
    assert (measuring.over, measuring.shoes, measuring.measured_by_id) == (
        "underwear",
        False,
        house.owner.member_id,
    )


def test_a_workbook_with_numbers_and_days_is_read_exactly(house, olia):
    content = as_book(LONG, [
        ("Olia Duarte", BORN, AT, "waist_girth", 968.375, "mm", 1),
        ("Olia Duarte", BORN, AT, "hip_girth", 102, "cm", 1),
        ("Olia Duarte", BORN, AT, "arm_length", 0.1 + 59.2, "cm", 1),
    ])  # fmt: skip
    whole_way(house, content, "readings.xlsx")
    with house.scope():
        assert dict(Reading.objects.values_list("measure", "value")) == {
            "waist_girth": Decimal("968.3750"),
            "hip_girth": Decimal("1020.0000"),
            "arm_length": Decimal("593.0000"),
        }


def test_the_same_file_twice_changes_nothing_the_second_time(house, olia):
    taken = (
        ("waist_girth", "76", 1),
        ("waist_girth", "76.4", 2),
        ("hip_girth", "102", 1),
        ("hip_girth", "102", 1),
    )
    rows = [(*OLIA, "2026-05-04", code, value, "cm", take) for code, value, take in taken]
    first = whole_way(house, as_csv(LONG, rows))
    assert (first.counts["new_readings"], first.counts["twice_in_file"]) == (3, 1)
    before = readings_of(house)
    second = whole_way(house, as_csv(LONG, rows), "again.csv")
    assert (second.counts["new_readings"], second.counts["there_already"]) == (0, 4)
    assert readings_of(house) == before
    more = whole_way(house, as_csv(LONG, [*rows, (*OLIA, "2026-05-04", "height", "168", "cm", 1)]))
    assert (more.counts["new_readings"], more.counts["added_to"], more.counts["new_measurings"]) == (1, 1, 0)
    with house.scope():
        assert Measuring.objects.count() == 1


def test_what_was_typed_on_the_page_is_there_already(house, olia):
    with house.scope():
        taken = measured(house.instructor, olia, {"waist_girth": ("76", "76.4")})
    rows = [(*OLIA, taken.measured_at.isoformat(), "waist_girth", "760", "mm", 1)]
    row = whole_way(house, as_csv(LONG, rows))
    assert (row.counts["new_readings"], row.counts["there_already"]) == (0, 1)
    other = checked(
        house,
        uploaded(house, as_csv(LONG, [(*OLIA, taken.measured_at.isoformat(), "waist_girth", "79", "cm", 1)])),
    )
    assert problems(house, other)[0][:2] == (2, "value")


def test_every_problem_is_told_by_row_and_field_and_nothing_is_saved(house, olia):
    with house.scope():
        a_client(house.owner, "Nils Ferro", telephone="0555 014 277", consent_by="")
        child = a_client(
            house.owner, "Tomas Duarte", born=date(2016, 4, 12), guardian_name="Olia Duarte", consent_by="Olia Duarte",
            consent_by_guardian=True,
        )  # fmt: skip
    heads = (*LONG[:2], "Telephone", *LONG[2:])
    good = ("Olia Duarte", "1990-02-03", "")
    rows = [
        (*good, "03/04/2026", "waist_girth", "76", "cm", 1),  # 2
        (*good, "2026-05-04", "wast girth", "76", "cm", 1),  # 3
        (*good, "2026-05-04", "waist_girth", "seventy", "cm", 1),  # 4
        (*good, "2026-05-04", "waist_girth", "760", "cm", 1),  # 5: beyond what a tape reads
        ("Olia Duarte", "", "", "2026-05-04", "hip_girth", "102", "cm", 1),  # 6: a name alone
        ("Nobody Here", "1980-01-01", "", "2026-05-04", "hip_girth", "102", "cm", 1),  # 7
        ("Nils Ferro", "", "0555014277", "2026-05-04", "hip_girth", "102", "cm", 1),  # 8: no consent
        ("Tomas Duarte", "2016-04-12", "", "2026-05-04", "hip_girth", "70", "cm", 1),  # 9: nobody present
        (*good, "1989-05-04", "hip_girth", "102", "cm", 1),  # 10: before birth
        (*good, "2026-05-04", "weight", "60", "cm", 1),  # 11: a weight in cm
        (*good, "2026-05-05", "hip_girth", "102", "cm", 2),  # 12: no first take
        (*good, "2026-05-06", "hip_girth", "102", "cm", 1),  # 13
        (*good, "2026-05-06", "hip_girth", "104", "cm", 1),  # 14: the same take with another value
        (*good, "2999-05-06", "hip_girth", "104", "cm", 1),  # 15: in the future
        (*good, "2026-05-06", "height", "168", "cm", 9),  # 16
        (*good, "2026-05-07", "hip_girth", "97 in", "cm", 1),  # 17: two units
    ]
    row = checked(house, uploaded(house, as_csv(heads, rows)))
    assert [(number, field) for number, field, _ in problems(house, row)] == [
        (2, "date"), (3, "measure"), (4, "value"), (5, "value"), (6, "client"), (7, "client"), (8, "client"),
        (9, "guardian_present"), (10, "date"), (11, "value"), (12, "take"), (14, "take"), (15, "date"), (16, "take"),
        (17, "value"),
    ]  # fmt: skip
    words = {number: reason for number, _, reason in problems(house, row)}
    assert "two ways" in words[2]
    assert "Waist girth" in words[3]
    assert "tape" in words[5]
    assert "consented" in words[8]
    assert not any(
        name in reason for reason in words.values() for name in ("Olia", "Nils", "Tomas", "Nobody")
    )
    assert row.problem_count == 15
    with house.scope():
        assert (Measuring.objects.count(), Reading.objects.count()) == (0, 0)
        assert child.pk is not None
        with pytest.raises(Conflict, match="15 problems"):
            transfer.take_over_readings(house.owner, row.pk)


def test_the_order_of_a_date_can_be_stated(house, olia):
    content = as_csv(LONG, [(*OLIA, "03/04/2026", "waist_girth", "76", "cm", 1)])
    whole_way(house, content, date_order="mdy")
    with house.scope():
        assert timezone.localdate(Measuring.objects.get().measured_at, house.owner.zone) == date(2026, 3, 4)


def test_a_stated_decimal_comma_reads_three_decimals(house, olia):
    content = as_csv(LONG, [(*OLIA, "2026-05-04", "waist_girth", "96,838", "cm", 1)], ";")
    row = uploaded(house, content)
    assert "two ways" in problems(house, checked(house, row))[0][2]
    mapped(house, row, decimal_mark="comma")
    taken_over(house, checked(house, row))
    with house.scope():
        assert Reading.objects.get().value == Decimal("968.3800")


def test_new_clients_need_a_stated_consent(house):
    heads = ("Client", "Birthday", "Telephone", "Guardian", "Guardian present", *LONG[2:])
    rows = [
        ("Jonas Ferro", "1985-07-01", "+44 555 014", "", "", "2026-05-04", "waist_girth", "88", "cm", 1),
        ("Jonas Ferro", "1985-07-01", "", "", "", "2026-05-05", "waist_girth", "88.5", "cm", 1),
        (
            "Mira Ferro",
            "2017-07-01",
            "",
            "Jonas Ferro",
            "Jonas Ferro",
            "2026-05-04",
            "height",
            "120",
            "cm",
            1,
        ),
    ]
    row = uploaded(house, as_csv(heads, rows))
    assert [number for number, _, _ in problems(house, checked(house, row))] == [2, 3, 4]
    with house.scope(), pytest.raises(Refused) as refused:
        transfer.map_columns(house.owner, row.pk, expected_version=None, new_clients=True)
    assert "consent_stated" in refused.value.reasons
    mapped(house, row, **new_clients())
    done = taken_over(house, checked(house, row))
    assert (done.counts["clients_new"], done.counts["clients_found"]) == (2, 0)
    with house.scope():
        jonas, mira = Client.objects.order_by("name")
        assert (jonas.telephone, jonas.born, mira.guardian_name) == (
            "+44 555 014",
            date(1985, 7, 1),
            "Jonas Ferro",
        )
        consent = Consent.objects.get(client=mira)
        assert (consent.given, consent.by_guardian, consent.given_by) == (True, True, "Jonas Ferro")
        assert house.owner.name in consent.note
        assert {found.client_id for found in find_clients(house.owner, "mira")} == {mira.pk}
        assert AuditEntry.objects.filter(act="record_client", client_id=jonas.pk).count() == 1
        assert Reading.objects.filter(client=jonas).count() == 2
    again = whole_way(house, as_csv(heads, rows), **new_clients())
    assert (again.counts["clients_new"], again.counts["new_readings"]) == (0, 0)


def test_a_new_child_needs_a_guardian(house):
    content = as_csv(LONG, [("Mira Ferro", "2017-07-01", "2026-05-04", "height", "120", "cm", 1)])
    row = uploaded(house, content)
    mapped(house, row, **new_clients())
    assert {field for _, field, _ in problems(house, checked(house, row))} == {"guardian", "guardian_present"}


def test_who_could_be_somebody_else_is_not_guessed(house):
    with house.scope():
        a_client(house.owner, "Ana Prado", telephone="0555 1")
        for telephone in ("0555 2", "0555 3"):
            a_client(house.owner, "Ana Lima", born=date(1970, 1, 1), telephone=telephone)
    heads = (*LONG[:2], "Telephone", *LONG[2:])
    rows = [
        (
            "Ana Prado",
            "1980-01-01",
            "",
            "2026-05-04",
            "height",
            "168",
            "cm",
            1,
        ),  # her birthday is not recorded
        ("Ana Lima", "1970-01-01", "", "2026-05-04", "height", "168", "cm", 1),  # two bear it
        ("Eva Reis", "1960-01-01", "", "2026-05-04", "height", "168", "cm", 1),
        (
            "Eva Reis",
            "",
            "0555 9",
            "2026-05-04",
            "height",
            "168",
            "cm",
            1,
        ),  # the same new client, or another?
    ]
    row = uploaded(house, as_csv(heads, rows))
    mapped(house, row, **new_clients())
    assert [(number, field) for number, field, _ in problems(house, checked(house, row))] == [
        (2, "client"), (3, "client"), (5, "client"),
    ]  # fmt: skip


def test_a_client_is_found_by_id_and_not_under_another_name(house, other_house, olia):
    with other_house.scope():
        stranger = a_client(other_house.owner, "Olia Duarte", born=date(1990, 2, 3))
    heads = ("Client id", "Client", *LONG[2:])
    good = whole_way(house, as_csv(heads, [(olia.pk, "", "2026-05-04", "height", "168", "cm", 1)]))
    assert good.counts["new_readings"] == 1
    rows = [
        (olia.pk, "Ana Prado", "2026-05-04", "height", "168", "cm", 1),
        (stranger.pk, "Olia Duarte", "2026-05-04", "height", "168", "cm", 1),
        ("C-103", "Olia Duarte", "2026-05-04", "height", "168", "cm", 1),
    ]
    row = checked(house, uploaded(house, as_csv(heads, rows)))
    assert [(number, field) for number, field, _ in problems(house, row)] == [
        (2, "client_id"), (3, "client_id"), (4, "client_id"),
    ]  # fmt: skip


def test_a_member_who_is_named_keeps_her_readings(house, olia):
    heads = (*LONG, "Measured by")
    rows = [
        (*OLIA, "2026-05-04", "height", "168", "cm", 1, house.instructor.name),
        (*OLIA, "2026-05-05", "height", "168", "cm", 1, "Somebody Gone"),
    ]
    row = whole_way(house, as_csv(heads, rows))
    assert row.counts["measurer_unknown"] == 1
    with house.scope():
        hers, gone = Measuring.objects.select_related("measured_by").order_by("measured_at")
    assert (hers.measured_by_id, hers.measurer_known) == (house.instructor.member_id, True)
    assert hers.measurer == house.instructor.name
    # Whoever brought it in answers for it, but it is told as somebody else's.
    assert (gone.measured_by_id, gone.measurer_known) == (house.owner.member_id, False)
    assert gone.measurer == "Somebody Gone"
    again = uploaded(house, as_csv(LONG, [(*OLIA, "2026-05-06", "height", "168", "cm", 1)]))
    checked(house, again)
    taken_over(house, again)
    with house.scope():
        nameless = Measuring.objects.select_related("measured_by").latest("measured_at")
    assert nameless.measurer == f"an unknown hand (brought in by {house.owner.name})"


def test_readings_of_an_unknown_hand_count_toward_nobodys_repeatability(house, olia):
    """25 pairs brought in, of nobody and of the owner by name: only those with her name are hers and the studio's."""
    days = [f"2025-{month:02}-{day:02}" for month in (3, 4, 5) for day in range(1, 26)]

    def pairs(days, *measurer):
        return [
            (*OLIA, day, "waist_girth", value, "cm", take, *measurer)
            for day in days
            for take, value in ((1, "76"), (2, "76.4"))
        ]

    whole_way(house, as_csv(LONG, pairs(days[:25])))
    whole_way(house, as_csv((*LONG, "Measured by"), pairs(days[25:50], "Somebody Gone")))
    with house.scope():
        assert technical_errors_for(house.owner)["waist_girth"].pairs == 0
        assert repeatability_of(house.owner).pairs == 0
    whole_way(house, as_csv((*LONG, "Measured by"), pairs(days[50:], house.owner.name)))
    with house.scope():
        used = technical_errors_for(house.owner)["waist_girth"]
        assert (used.pairs, used.own) == (25, True)
        # Dahlberg: sqrt(25 * 4^2 / 50) mm.
        assert used.value == pytest.approx(math.sqrt(8))
        assert repeatability_of(house.owner).pairs == 25


def test_every_measuring_of_somebody_who_withdrew_is_refused_by_row(house, olia):
    rows = [
        (*OLIA, f"2026-05-0{day}", code, "80", "cm", 1)
        for day in (4, 5, 6)
        for code in ("waist_girth", "hip_girth")
    ]
    with house.scope():
        other = a_client(house.owner, "Mo Lind", born=date(1988, 5, 6))
        record_consent(house.owner, olia.pk, kind="measure", given=False, given_by="Olia Duarte")
    rows.append((other.name, "1988-05-06", "2026-05-04", "waist_girth", "80", "cm", 1))
    row = checked(house, uploaded(house, as_csv(LONG, rows)))
    assert problems(house, row) == [
        (number, "client", "This client has withdrawn the consent to being measured.") for number in (2, 4, 6)
    ]
    with house.scope(), pytest.raises(Conflict):
        transfer.take_over_readings(house.owner, row.pk)


def test_after_the_take_over_only_the_sum_of_the_file_is_kept(
    house, olia, django_capture_on_commit_callbacks
):
    content = as_csv(LONG, [(*OLIA, "2026-05-04", "height", "168", "cm", 1)])
    row = uploaded(house, content)
    checked(house, row)
    assert default_storage.exists(row.file.key)
    with django_capture_on_commit_callbacks(execute=True):
        done = taken_over(house, row)
    assert not default_storage.exists(row.file.key)
    assert done.file.sha256 == hashlib.sha256(content).hexdigest()
    with house.scope(), pytest.raises(Conflict):
        transfer.check_readings(house.owner, row.pk)


def test_a_problem_that_comes_up_after_the_check_takes_nothing_over(house, olia):
    rows = [(*OLIA, "2026-05-04", code, "100", "cm", 1) for code in ("hip_girth", "bust_girth")]
    row = checked(house, uploaded(house, as_csv(LONG, rows)))
    assert problems(house, row) == []
    with house.scope():
        record_consent(house.owner, olia.pk, kind="measure", given=False, given_by="Olia Duarte")
        job = transfer.take_over_readings(house.owner, row.pk).job
    assert run_job(house.studio_id, job.pk) == "failed"
    assert "nothing was taken over" in told(house, job)
    with house.scope():
        assert (Measuring.objects.count(), Reading.objects.count()) == (0, 0)
    assert seen(house, row).state == "checked"


def test_a_fault_in_the_middle_of_storing_leaves_nothing(house, monkeypatch):
    rows = [
        ("Eva Reis", "1960-01-01", "2026-05-04", code, "100", "cm", 1) for code in ("hip_girth", "bust_girth")
    ]
    row = uploaded(house, as_csv(LONG, rows))
    mapped(house, row, **new_clients())
    checked(house, row)

    def broken(cursor, facts):
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr("studio.services.transfer_store._insert_readings", broken)
    with house.scope():
        job = transfer.take_over_readings(house.owner, row.pk).job
    assert run_job(house.studio_id, job.pk) == "waiting"
    with house.scope():
        assert (Client.objects.count(), Consent.objects.count(), Measuring.objects.count()) == (0, 0, 0)
    assert seen(house, row).state == "checked"


def test_only_the_owner_imports_and_only_her_own_studio(house, other_house, olia):
    row = uploaded(house, as_csv(LONG, [(*OLIA, "2026-05-04", "height", "168", "cm", 1)]))
    for actor in (house.instructor, house.clerk):
        with house.scope():
            for act in (
                lambda actor=actor: transfer.upload_readings(actor, content=io.BytesIO(b"x"), name="x"),
                lambda actor=actor: transfer.map_columns(actor, row.pk, expected_version=None),
                lambda actor=actor: transfer.check_readings(actor, row.pk),
                lambda actor=actor: transfer.take_over_readings(actor, row.pk),
                lambda actor=actor: transfer.discard_import(actor, row.pk),
                lambda actor=actor: queries.import_list(actor),
                lambda actor=actor: queries.problems_of(actor, row.pk),
            ):
                with pytest.raises(NotAllowed):
                    act()
    with other_house.scope(), pytest.raises(NotHere):
        transfer.check_readings(other_house.owner, row.pk)


def test_an_upload_that_is_not_wanted_is_deleted_with_its_bytes(
    house, olia, django_capture_on_commit_callbacks
):
    row = uploaded(house, as_csv(LONG, [(*OLIA, "2026-05-04", "height", "168", "cm", 1)]))
    with django_capture_on_commit_callbacks(execute=True), house.scope():
        transfer.discard_import(house.owner, row.pk)
    assert not default_storage.exists(row.file.key)
    with house.scope(), pytest.raises(NotHere):
        queries.import_get(house.owner, row.pk)


def test_the_number_of_queries_does_not_grow_with_the_rows(house, olia):
    def statements(many, year):
        days = [f"{year}-{month:02}-{day:02}" for month in range(1, 12) for day in range(1, 28)]
        rows = [(*OLIA, day, "height", "168", "cm", 1) for day in days]
        row = checked(house, uploaded(house, as_csv(LONG, rows[:many])))
        with house.scope():
            job = transfer.take_over_readings(house.owner, row.pk).job
        with CaptureQueriesContext(connection) as captured:
            assert run_job(house.studio_id, job.pk) == "done"
        return len(captured)

    few, many = statements(2, 2024), statements(200, 2025)
    assert few <= many <= few + 2  # the second file asks for the habit of the tape to be learnt
