"""Recording measurings: consent, plausibility, takes, corrections; a constant number of queries.

The limits of a tape on a person come from the catalogue (common practice, no source).
"""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection, transaction
from django.db.utils import DatabaseError
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.models import Measuring, Reading
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused
from studio.platform.models import AuditEntry
from studio.queries.catalogue import catalogue
from studio.services import clients
from studio.services.measuring import TypedReading, add_take, correct_reading, record_measuring
from tests.studio.helpers import BASIC, a_client, measured, readings


def _refused(actor, client, typed, **facts):
    with pytest.raises(Refused) as refused:
        measured(actor, client, typed, **facts)
    assert not Measuring.objects.exists()
    assert not Reading.objects.exists()
    return refused.value.reasons


def test_a_measuring_keeps_exact_values_and_what_was_typed(in_house):
    client = a_client(in_house.clerk)
    row = measured(
        in_house.instructor,
        client,
        {"waist_girth": ("76", '30 1/16"'), "hip_girth": "1,02 m", "weight": "60,5"},
    )
    found = [(each.measure, each.take, each.value, each.typed) for each in row.readings.order_by("id")]
    assert found == [
        ("waist_girth", 1, Decimal("760.0000"), "76"),
        ("waist_girth", 2, Decimal("763.5875"), '30 1/16"'),  # 30 x 25.4 + 25.4 / 16
        ("hip_girth", 1, Decimal("1020.0000"), "1,02 m"),
        ("weight", 1, Decimal("60.5000"), "60,5"),
    ]
    assert row.measured_by_id == in_house.instructor.member_id
    entry = AuditEntry.objects.get(act="record_measuring")
    assert (entry.client_id, entry.detail) == (client.pk, {"readings": 4})


def test_inches_hold_where_the_client_reads_inches(in_house):
    client = a_client(in_house.clerk, unit="in")
    row = measured(in_house.instructor, client, {"waist_girth": "30 1/8", "weight": "132"})
    values = dict(row.readings.values_list("measure", "value"))
    assert values["waist_girth"] == Decimal("765.1750")
    assert values["weight"] == Decimal("59.8742")  # 132 x 0.45359237, international pound, 1959
    row = measured(in_house.instructor, client, {"waist_girth": "76"}, unit="cm", measured_at=timezone.now())
    assert row.readings.get().value == Decimal("760.0000")


def test_a_clerk_measures_nobody(in_house):
    client = a_client(in_house.clerk)
    with pytest.raises(NotAllowed, match="A clerk may not record body measurements"):
        measured(in_house.clerk, client)


def test_without_consent_nobody_is_measured(in_house):
    client = clients.record_client(in_house.clerk, name="Olia Duarte")
    assert _refused(in_house.instructor, client, BASIC) == {
        "": "Olia Duarte has not consented to being measured: record the consent first."
    }
    clients.record_consent(in_house.clerk, client.pk, kind="photograph", given=True, given_by="Olia")
    assert "has not consented" in _refused(in_house.instructor, client, BASIC)[""]
    clients.record_consent(in_house.clerk, client.pk, kind="measure", given=True, given_by="Olia")
    clients.record_consent(in_house.clerk, client.pk, kind="measure", given=False, given_by="Olia")
    assert "has withdrawn the consent" in _refused(in_house.instructor, client, BASIC)[""]


def test_a_minor_is_measured_with_the_guardians_consent_and_presence(in_house):
    born = timezone.localdate().replace(year=timezone.localdate().year - 9, day=1)
    child = clients.record_client(in_house.clerk, name="Tomas", born=born, guardian_name="Olia")
    assert (
        "has not consented"
        in _refused(in_house.instructor, child, {"height": "132"}, guardian_present="Olia")[""]
    )
    clients.record_consent(
        in_house.clerk, child.pk, kind="measure", given=True, given_by="Olia", by_guardian=True
    )
    alone = _refused(in_house.instructor, child, {"height": "132"})
    assert alone == {"guardian_present": "Tomas is under 18: say which guardian is present."}
    row = measured(in_house.instructor, child, {"height": "110"}, guardian_present="Olia")
    assert row.guardian_present == "Olia"  # and 110 cm, which no adult has, is in a child's range


def test_an_adults_own_consent_given_earlier_does_not_cover_a_minor(in_house):
    client = a_client(in_house.clerk, "Tomas")
    born = timezone.localdate().replace(year=timezone.localdate().year - 9, day=1)
    clients.change_client(in_house.clerk, client.pk, expected_version=None, born=born, guardian_name="Olia")
    reasons = _refused(in_house.instructor, client, {"height": "132"}, guardian_present="Olia")
    assert "the consent is not a guardian's" in reasons[""]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("790", "Waist girth of 790.0 cm is outside what a tape can read on a person (40.0 to 200.0 cm)."),
        ("7.9", "Waist girth of 7.9 cm is outside"),
        ("nan", "Waist girth: “nan” is not a length"),
        ("inf", "Waist girth: “inf” is not a length"),
        ("-76", "Waist girth: “-76” is negative"),
        ("76 ell", "Waist girth: “76 ell” has an unknown unit, 'ell'"),
        ("60 kg", "Waist girth: “60 kg” has an unknown unit"),
        ("", "Waist girth: No length was typed"),
        ("76" + " " * 40 + "cm", "Waist girth: more than 32 signs were typed."),
        ("0", "Waist girth of 0.0 cm is outside"),
    ],
)
def test_a_slip_is_refused_in_a_sentence_that_names_the_measure(in_house, typed, sentence):
    reasons = _refused(in_house.instructor, a_client(in_house.clerk), {"height": "168", "waist_girth": typed})
    assert set(reasons) == {"readings.1.typed"}
    assert reasons["readings.1.typed"].startswith(sentence)


def test_all_slips_are_told_at_once(in_house):
    client = a_client(in_house.clerk)
    with pytest.raises(Refused) as refused:
        record_measuring(
            in_house.instructor,
            client_id=client.pk,
            measured_at=timezone.now() - timedelta(hours=1),
            readings=[
                TypedReading("waist_girth", "76"),
                TypedReading("waist_girth", "77"),
                TypedReading("hip_girth", "102", take=2),
                TypedReading("tail_length", "40"),
                TypedReading("height", "168", take=9),
                TypedReading("bust_girth", "9"),
                TypedReading("weight", "60 cm"),
                TypedReading("chest_girth", "88", kept_because="x" * 201),
            ],
        )
    reasons = refused.value.reasons
    assert reasons["readings.1.take"] == "Waist girth: take 1 is given twice."
    assert reasons["readings.2.take"] == "Hip girth: take 2 is given without take 1."
    assert reasons["readings.3.measure"] == "There is no measure 'tail_length' in the catalogue."
    assert reasons["readings.4.take"] == "Height: takes are counted from 1 to 5."
    assert reasons["readings.5.typed"].startswith("Bust girth of 9.0 cm is outside")
    assert reasons["readings.6.typed"].startswith("Weight: “60 cm” has an unknown unit")
    assert not Measuring.objects.exists()


def test_a_reason_for_keeping_may_not_be_endless(in_house):
    client = a_client(in_house.clerk)
    with pytest.raises(Refused) as refused, transaction.atomic():
        record_measuring(
            in_house.instructor,
            client_id=client.pk,
            measured_at=timezone.now() - timedelta(hours=1),
            readings=[TypedReading("chest_girth", "88", kept_because="x" * 201)],
        )
    assert set(refused.value.reasons) == {"readings.0.kept_because"}
    assert not Measuring.objects.exists()


def test_no_reading_at_all_is_refused(in_house):
    with pytest.raises(Refused) as refused:
        record_measuring(
            in_house.instructor,
            client_id=a_client(in_house.clerk).pk,
            measured_at=timezone.now(),
            readings=[],
        )
    assert refused.value.reasons == {"readings": "No reading was given: take at least one measure."}


@pytest.mark.parametrize(
    ("facts", "field", "sentence"),
    [
        ({"measured_at": timezone.now() + timedelta(hours=1)}, "measured_at", "lies in the future"),
        (
            {"measured_at": (timezone.now() - timedelta(days=1)).replace(tzinfo=None)},
            "measured_at",
            "time zone",
        ),
        ({"unit": "ell"}, "unit", "typed in cm or in"),
        ({"over": "armour"}, "over", "not a valid choice"),
        ({"posture": "x" * 81}, "posture", "80"),
    ],
)
def test_the_occasion_must_be_possible_too(in_house, facts, field, sentence):
    reasons = _refused(in_house.instructor, a_client(in_house.clerk), BASIC, **facts)
    assert set(reasons) == {field}
    assert sentence in reasons[field]


def test_nobody_is_measured_before_birth(in_house):
    client = a_client(in_house.clerk, born=timezone.localdate() - timedelta(days=30 * 366))
    reasons = _refused(
        in_house.instructor,
        client,
        BASIC,
        measured_at=timezone.now() - timedelta(days=31 * 366),
        guardian_present="X",
    )
    assert "was not born yet" in reasons["measured_at"]


def test_a_client_of_another_studio_is_not_here(house, other_house):
    with other_house.scope():
        theirs = a_client(other_house.clerk)
        row = measured(other_house.instructor, theirs, {"waist_girth": "76"})
        reading = row.readings.get()
    with house.scope():
        with pytest.raises(NotHere, match="no such client"):
            measured(house.instructor, theirs)
        with pytest.raises(NotHere, match="no such reading"):
            correct_reading(house.instructor, reading.pk, typed="77", reason="x")
        with pytest.raises(NotHere, match="no such measuring"):
            add_take(house.instructor, row.pk, measure_code="waist_girth", typed="77")


def test_an_erased_client_is_measured_no_more(in_house):
    client = a_client(in_house.clerk)
    clients.erase_client(in_house.owner, client.pk, reason="asked by letter")
    with pytest.raises(Conflict, match="was erased"):
        measured(in_house.instructor, client)


def test_sixty_readings_cost_no_more_queries_than_two(in_house):
    client = a_client(in_house.clerk)
    codes = [each for each in catalogue().measures.values() if each.unit == "mm"][:30]
    many = {each.code: ("%g mm" % (sum(each.adult) / 2),) * 2 for each in codes}
    with CaptureQueriesContext(connection) as two:
        measured(in_house.instructor, client, {"waist_girth": ("76", "77")})
    with CaptureQueriesContext(connection) as sixty:
        row = measured(in_house.instructor, client, many)
    assert row.readings.count() == 60
    # Lock, consent, the studio's own measures, 3 references checked, 2 inserts, savepoint, audit, and
    # whether the habit of the tape is to be learnt anew.
    assert len(sixty) == len(two) <= 11


def test_a_correction_supersedes_with_a_reason_and_the_old_reading_stays(in_house):
    row = measured(in_house.instructor, a_client(in_house.clerk), {"waist_girth": ("79", "97")})
    old = row.readings.get(take=1)
    new = correct_reading(in_house.owner, old.pk, typed="97,5 cm", reason=" 79 written  for 97 ")
    assert (new.supersedes_id, new.take, new.value, new.reason) == (
        old.pk,
        1,
        Decimal("975.0000"),
        "79 written for 97",
    )
    old.refresh_from_db()
    assert (old.value, old.typed) == (Decimal("790.0000"), "79")
    with pytest.raises(Conflict, match="corrected already"):
        correct_reading(in_house.instructor, old.pk, typed="98", reason="again")
    again = correct_reading(in_house.instructor, new.pk, typed="38 1/2", reason="in inches", unit="in")
    assert again.value == Decimal("977.9000")


@pytest.mark.parametrize(
    ("given", "fields"),
    [
        ({"typed": "98", "reason": " "}, {"reason"}),
        ({"typed": "980", "reason": ""}, {"typed", "reason"}),
        ({"typed": "76.0", "reason": "x"}, {"typed"}),
        ({"typed": "98", "reason": "x" * 201}, {"reason"}),
        ({"typed": "98", "reason": "x", "unit": "ell"}, {"unit"}),
    ],
)
def test_a_correction_is_checked_like_a_reading(in_house, given, fields):
    row = measured(in_house.instructor, a_client(in_house.clerk), {"waist_girth": "76"})
    with pytest.raises(Refused) as refused:
        correct_reading(in_house.instructor, row.readings.get().pk, **given)
    assert set(refused.value.reasons) == fields
    assert Reading.objects.count() == 1


def test_a_take_is_added_to_a_measure_that_was_taken(in_house):
    row = measured(in_house.instructor, a_client(in_house.clerk), {"waist_girth": ("76", "79")})
    third = add_take(in_house.instructor, row.pk, measure_code="waist_girth", typed="76.5")
    assert (third.take, third.value) == (3, Decimal("765.0000"))
    with pytest.raises(Refused, match="was not taken in this measuring"):
        add_take(in_house.instructor, row.pk, measure_code="hip_girth", typed="102")
    add_take(in_house.instructor, row.pk, measure_code="waist_girth", typed="76")
    add_take(in_house.instructor, row.pk, measure_code="waist_girth", typed="76")
    with pytest.raises(Refused, match="5 times already"):
        add_take(in_house.instructor, row.pk, measure_code="waist_girth", typed="76")
    with pytest.raises(NotAllowed):
        add_take(in_house.clerk, row.pk, measure_code="waist_girth", typed="76")


def test_readings_are_kept_as_written_whatever_the_way(in_house):
    row = measured(in_house.instructor, a_client(in_house.clerk), {"waist_girth": "76"})
    for sql in (
        "update studio_reading set value = 1",
        "delete from studio_reading",
        "update studio_measuring set notes = 'x'",
        "delete from studio_consent",
    ):
        with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(sql)
    assert row.readings.get().value == Decimal("760.0000")
    assert len(readings(BASIC)) == 12
