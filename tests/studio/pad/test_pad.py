"""Judging while typing, the pad's page and its parts, and whose measuring a tablet may send."""

import json
import re
from datetime import date, timedelta
from uuid import UUID

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.models import Measuring, Reading
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused
from studio.platform.models import AuditEntry
from studio.queries.catalogue import catalogue
from studio.queries.plausibility import judge, limits_at_hand
from studio.services.clients import record_consent
from studio.services.measuring import TypedReading, record_measuring
from studio.services.pad import record_kept
from tests.studio.helpers import a_client

# Invented; they go together.
BODY = [
    ("height", "166"), ("neck_base_girth", "37.5"), ("chest_girth", "90"), ("bust_girth", "94"),
    ("hip_girth", "100"), ("inside_leg", "76"), ("upper_arm_girth", "28.5"), ("wrist_girth", "16"),
]  # fmt: skip


@pytest.fixture
def person(house):
    with house.scope():
        return a_client(house.clerk)


def of(flags):
    return {flag.code: flag for flag in flags}


# --- judging -----------------------------------------------------------------------------------------------------


def test_what_goes_together_is_not_flagged(house, person):
    with house.scope():
        assert judge(house.instructor, person.pk, readings=[*BODY, ("waist_girth", "76")]).flags == []


def test_a_slip_is_flagged_with_what_was_meant_in_the_unit_that_is_typed(house, person):
    with house.scope():
        flag = of(
            judge(house.instructor, person.pk, readings=[*BODY, ("waist_girth", "7,6 in")], unit="in").flags
        )
        assert "waist_girth" in flag
        found = judge(house.instructor, person.pk, readings=[*BODY, ("waist_girth", "176")])
    flags = of(found.flags)
    assert list(flags) == ["waist_girth"]
    waist = flags["waist_girth"]
    assert waist.low < 760 < waist.high < 1760
    assert waist.words.startswith("Please tape again. Beside the other readings")
    for meant in waist.suggestions:
        assert waist.low <= meant.value <= waist.high
        assert meant.unit == "cm"
        assert float(meant.typed) * 10 == pytest.approx(meant.value, abs=0.5)


def test_her_own_last_figure_speaks_louder_than_other_bodies(house, person):
    with house.scope():
        record_measuring(
            house.instructor,
            client_id=person.pk,
            measured_at=timezone.now() - timedelta(days=30),
            readings=[TypedReading("waist_girth", "79")],
        )
        found = judge(house.instructor, person.pk, readings=[*BODY, ("waist_girth", "97")])
        waist = of(found.flags)["waist_girth"]
        # 79 written for 97, or the reverse: the first is what is offered.
        assert any(meant.typed == "79.0" for meant in waist.suggestions)
        before = limits_at_hand(house.instructor, person.pk).limits
    low, high = before["waist_girth"]
    assert low < 790 < high < 970
    narrow, wide = before["hip_girth"], catalogue().measures["hip_girth"].adult
    assert narrow[0] >= wide[0]
    assert narrow[1] <= wide[1]


def test_two_tapings_count_by_their_middle(house, person):
    takes = [("waist_girth", "76"), ("waist_girth", "76.4"), ("waist_girth", "176")]
    with house.scope():
        assert judge(house.instructor, person.pk, readings=[*BODY, *takes]).flags == []


def test_a_child_is_judged_by_range_and_own_history_alone(house):
    with house.scope():
        child = a_client(
            house.clerk,
            name="Ivo Duarte",
            born=date(timezone.localdate().year - 8, 1, 1),
            guardian_name="Olia Duarte",
            guardian_telephone="0555 014 277",
            consent_by="Olia Duarte",
            consent_by_guardian=True,
        )
        found = judge(
            house.instructor,
            child.pk,
            readings=[("height", "128"), ("chest_girth", "64"), ("hip_girth", "68")],
        )
        assert found.flags == []
        for code in ("waist_girth", "hip_girth"):
            assert found.limits[code] == catalogue().measures[code].child


def test_what_cannot_be_read_is_named(house, person):
    readings = [("waist_girth", "wide"), ("tail_length", "30"), ("hip_girth", "0"), ("bust_girth", "94")]
    with house.scope():
        with pytest.raises(Refused) as refused:
            judge(house.instructor, person.pk, readings=readings)
        assert set(refused.value.reasons) == {"readings.0.typed", "readings.1.measure", "readings.2.typed"}
        assert refused.value.reasons["readings.0.typed"].startswith("Waist girth: ")
        with pytest.raises(Refused, match="cm or in"):
            judge(house.instructor, person.pk, readings=[], unit="ell")


def test_a_constant_number_of_queries(house, person):
    def count(readings):
        with (
            house.scope(),
            CaptureQueriesContext(
                connection,
            ) as queries,
        ):
            judge(house.instructor, person.pk, readings=readings)
        return len(queries)

    assert count(BODY[:2]) == count([*BODY, ("waist_girth", "176")])


def test_nobody_else_may_ask(house, other_house, person):
    with house.scope(), pytest.raises(NotAllowed):
        judge(house.clerk, person.pk, readings=BODY)
    with other_house.scope(), pytest.raises(NotHere):
        judge(other_house.instructor, person.pk, readings=BODY)


def test_asking_over_the_api_keeps_nothing(house, other_house, person, api):
    body = {
        "unit": "cm",
        "readings": [{"measure": code, "typed": typed} for code, typed in [*BODY, ("waist_girth", "176")]],
    }
    address = f"/api/v1/clients/{person.pk}/plausibility/"
    answer = api(house.instructor).post(address, body)
    assert answer.status_code == 200
    found = answer.json()
    assert [flag["measure"] for flag in found["flags"]] == ["waist_girth"]
    limits = {each["measure"]: (each["low"], each["high"]) for each in found["limits"]}
    assert limits["bust_girth"][0] < 940 < limits["bust_girth"][1]
    with house.scope():
        assert not Reading.objects.exists()
        assert not AuditEntry.objects.filter(act="record_measuring").exists()
    assert api(house.clerk).post(address, body).status_code == 403
    assert api(other_house.instructor).post(address, body).status_code == 404
    wrong = api(house.instructor).post(address, {"readings": [{"measure": "waist_girth", "typed": "wide"}]})
    assert wrong.status_code == 400
    assert wrong.json()["errors"][0]["field"] == "readings.0.typed"
    many = {"readings": [{"measure": "waist_girth", "typed": "76"}] * 301}
    assert api(house.instructor).post(address, many).status_code == 400


# --- sending -----------------------------------------------------------------------------------------------------


def test_a_tablet_sends_only_what_its_own_member_measured(house, person):
    facts = {
        "client_id": person.pk,
        "measured_at": timezone.now() - timedelta(hours=3),
        "readings": [TypedReading("waist_girth", "176", kept_because="over a brace")],
    }
    with house.scope():
        with pytest.raises(Conflict, match="when she signs in again"):
            record_kept(house.owner, measured_by=house.instructor.member_id, **facts)
        assert not Measuring.objects.exists()
        with pytest.raises(NotAllowed):
            record_kept(house.clerk, measured_by=house.clerk.member_id, **facts)
        made = record_kept(house.instructor, measured_by=house.instructor.member_id, **facts)
        assert made.measured_by_id == house.instructor.member_id
        assert Reading.objects.get().kept_because == "over a brace"


def test_what_waited_is_recorded_once_at_the_time_when_it_was_taken(house, person, api):
    taken = (timezone.now() - timedelta(hours=5)).replace(microsecond=0)
    body = {
        "client": str(person.pk),
        "measured_at": taken.isoformat(),
        "measured_by": str(house.instructor.member_id),
        "unit": "cm",
        "readings": [
            {"measure": "waist_girth", "typed": "176 cm", "take": 1, "kept_because": "over a brace"}
        ],
    }
    tablet = api(house.instructor)
    first, again = (
        tablet.post("/api/v1/measurings/", body, headers={"Idempotency-Key": "a" * 32}) for _ in range(2)
    )
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert first.json()["readings"][0]["kept_because"] == "over a brace"
    with house.scope():
        assert Measuring.objects.get().measured_at == taken
    answer = api(house.owner).post("/api/v1/measurings/", body, headers={"Idempotency-Key": "a" * 32})
    assert answer.status_code == 409
    with house.scope():
        assert Measuring.objects.count() == 1


# --- the page and its parts --------------------------------------------------------------------------------------


def board_of(answer):
    found = re.search(
        r'<script id="pad-data" type="application/json">(.*?)</script>', answer.content.decode(), re.DOTALL
    )
    return json.loads(found[1]) if found else None


def test_the_page_has_all_on_board(house, person, page):
    answer = page(house.instructor).get(f"/clients/{person.pk}/pad/?set=trousers")
    assert answer.status_code == 200
    board = board_of(answer)
    assert board["member"] == str(house.instructor.member_id)
    assert board["sets"]["trousers"]["twice"][0] == "waist_girth"
    assert {code for each in board["sets"].values() for code in each["measures"]} <= set(board["measures"])
    assert board["measures"]["waist_girth"]["range"] == list(catalogue().measures["waist_girth"].adult)
    assert "no-store" in answer["Cache-Control"]
    assert answer["X-Pad-Member"] == str(house.instructor.member_id)
    assert "csrftoken" in answer.cookies
    assert '<option value="trousers" selected>' in answer.content.decode()


def test_earlier_figures_are_not_on_board(house, person, page):
    with house.scope():
        record_measuring(
            house.instructor,
            client_id=person.pk,
            measured_at=timezone.now() - timedelta(days=30),
            readings=[TypedReading("waist_girth", "73.7")],
        )
    answer = page(house.instructor).get(f"/clients/{person.pk}/pad/").content.decode()
    assert "737" not in answer
    assert "73.7" not in answer


def test_who_may_open_it(house, other_house, person, page):
    address = f"/clients/{person.pk}/pad/"
    assert page(house.owner).get(address).status_code == 200
    assert page(house.clerk).get(address).status_code == 403
    assert page(other_house.instructor).get(address).status_code == 404
    assert page(house.owner).get(address + "?set=sails").status_code == 404


def test_without_consent_there_is_nothing_to_type_on(house, person, page):
    with house.scope():
        record_consent(house.clerk, person.pk, kind="measure", given=False, given_by="Olia Duarte")
    answer = page(house.instructor).get(f"/clients/{person.pk}/pad/")
    assert answer.status_code == 200
    assert board_of(answer) is None
    assert "Record the consent" in answer.content.decode()


def test_every_figure_on_board_is_there(house, person, page):
    visitor = page(house.instructor)
    board = board_of(visitor.get(f"/clients/{person.pk}/pad/"))
    for code in board["sets"]["basic_twelve"]["measures"]:
        answer = visitor.get(board["measures"][code]["figure"])
        assert answer.status_code == 200
        assert answer["Content-Type"] == "image/svg+xml"
        assert answer.content.startswith(b"<svg")
    assert visitor.get("/pad/figures/adult/weight.svg").status_code == 404
    assert visitor.get("/pad/figures/giant/height.svg").status_code == 404


def test_the_worker_is_served_from_the_root(client):
    answer = client.get("/pad-worker.js")
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "no-cache"
    assert b"addEventListener" in answer.content


def test_a_client_who_was_never_here(house, page):
    assert page(house.instructor).get(f"/clients/{UUID(int=1)}/pad/").status_code == 404
