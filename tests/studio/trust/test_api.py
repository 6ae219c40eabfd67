"""Trust and keeping in the API: roles both ways, another studio's rows, shapes and problems."""

from datetime import timedelta

import pytest
from django.utils import timezone

from studio.models import StandardisationReading
from studio.services.clients import record_consent
from studio.services.trust import open_day
from tests.studio.helpers import BASIC, a_client, measured
from tests.studio.trust.helpers import days_ago

ERRANDS = [
    ("get", "technical-errors/", None, "owner instructor"),
    ("get", "repeatability/", None, "owner instructor"),
    ("get", "repeatability/members/", None, "owner"),
    ("get", "standard-days/", None, "owner instructor"),
    (
        "post",
        "standard-days/",
        {
            "name": "Winter",
            "held_on": "2026-11-20",
            "measures": ["height"],
            "people": ["A", "B"],
            "reference_member": "{owner}",
        },
        "owner instructor",
    ),
    ("get", "standard-days/{day}/", None, "owner instructor"),
    ("get", "standard-days/{day}/readings/", None, "owner instructor"),
    (
        "post",
        "standard-days/{day}/readings/",
        {"readings": [{"person": "A", "member": "{owner}", "measure": "height", "typed": "160 cm"}]},
        "owner instructor",
    ),
    ("get", "clients/{client}/history/", None, "owner instructor"),
    ("get", "clients/{client}/history/waist_girth/", None, "owner instructor"),
    ("get", "clients/{client}/estimates/", None, "owner instructor"),
    ("get", "clients/{client}/standard-figure/", None, "owner instructor"),
    ("get", "keeping/", None, "owner"),
    ("put", "keeping/", {"months": 24}, "owner"),
    ("get", "keeping/clients/", None, "owner"),
    ("post", "clients/{client}/keep/", {"reason": "has a coat on order"}, "owner"),
]


@pytest.fixture
def ids(house):
    with house.scope():
        client = a_client(house.clerk)
        measured(house.instructor, client, measured_at=days_ago(200))
        measured(house.instructor, client, {**BASIC, "waist_girth": ("84", "84.4")})
        day = open_day(
            house.owner,
            name="Autumn",
            held_on=timezone.localdate(),
            measures=["height"],
            people=["A", "B"],
            reference_member_id=house.owner.member_id,
        )
    return {"client": client.pk, "day": day.pk, "owner": house.owner.member_id}


def filled(body, ids):
    if isinstance(body, dict):
        return {key: filled(value, ids) for key, value in body.items()}
    if isinstance(body, list):
        return [filled(each, ids) for each in body]
    return body.format(**ids) if isinstance(body, str) else body


def ask(api, member, method, path, body, ids):
    return getattr(api(member), method)(f"/api/v1/{path.format(**ids)}", filled(body, ids), format="json")


@pytest.mark.parametrize("role", ["owner", "instructor", "clerk"])
@pytest.mark.parametrize(("method", "path", "body", "roles"), ERRANDS)
def test_each_errand_is_for_whom_it_is(house, ids, api, role, method, path, body, roles):
    answer = ask(api, getattr(house, role), method, path, body, ids)
    wanted = (201 if method == "post" else 200) if role in roles.split() else 403
    assert answer.status_code == wanted, answer.content
    if method == "post" and wanted == 201:
        assert answer["Location"].startswith("/api/v1/")


@pytest.mark.parametrize(
    ("method", "path", "body"), [row[:3] for row in ERRANDS if "{client}" in row[1] or "{day}" in row[1]]
)
def test_another_studio_finds_nothing(other_house, ids, api, method, path, body):
    assert ask(api, other_house.owner, method, path, body, ids).status_code == 404


def test_errors_tell_their_source(house, ids, api):
    rows = {
        row["measure"]: row for row in ask(api, house.owner, "get", "technical-errors/", None, ids).json()
    }
    assert rows["waist_girth"]["value"] == 8
    assert rows["waist_girth"]["own"] is False
    assert rows["waist_girth"]["pairs"] == 1
    assert "common practice" in rows["waist_girth"]["error_source"]
    assert rows["weight"]["unit"] == "kg"


def test_somebody_elses_repeats_are_the_owners_to_see(house, ids, api):
    path = f"repeatability/?member={house.instructor.member_id}"
    found = ask(api, house.owner, "get", path, None, ids).json()
    (waist,) = found["measures"]
    assert (waist["measure"], waist["pairs"], waist["early"]) == ("waist_girth", 1, True)
    assert found["practise"] == []
    theirs = f"repeatability/?member={house.owner.member_id}"
    assert ask(api, house.instructor, "get", theirs, None, ids).status_code == 403
    assert ask(api, house.owner, "get", "repeatability/?member=x", None, ids).status_code == 400


def test_a_day_that_is_refused_keeps_nothing(house, ids, api):
    answer = ask(
        api,
        house.instructor,
        "post",
        "standard-days/{day}/readings/",
        {
            "readings": [
                {"person": "A", "member": "{owner}", "measure": "height", "typed": "160 cm"},
                {"person": "Z", "member": "{owner}", "measure": "height", "typed": "160 cm"},
            ]
        },
        ids,
    )
    assert answer.status_code == 400
    assert "readings.1.person" in answer.content.decode()
    with house.scope():
        assert not StandardisationReading.objects.exists()


def test_history_judges_and_keeps_all_readings(house, ids, api):
    found = ask(api, house.owner, "get", "clients/{client}/history/waist_girth/", None, ids).json()
    assert [occasion["change"] and occasion["change"]["words"] for occasion in found["occasions"]] == [
        None,
        "beyond the tape",
    ]
    assert len(found["readings"]) == 3
    assert found["technical_error"] == 8
    assert ask(api, house.owner, "get", "clients/{client}/history/nothing/", None, ids).status_code == 404


def test_estimates_and_figure(house, ids, api):
    found = ask(api, house.owner, "get", "clients/{client}/estimates/", None, ids).json()
    assert {"thigh_girth", "weight"} <= {each["measure"] for each in found["estimates"]}
    assert "An estimate is not a reading" in found["basis"]
    figure = ask(api, house.owner, "get", "clients/{client}/standard-figure/?size=12", None, ids).json()
    assert [part["part"] for part in figure["differences"]] == ["height", "torso", "hip depth", "cup"]
    assert (
        ask(api, house.owner, "get", "clients/{client}/standard-figure/?size=7", None, ids).status_code == 400
    )


def test_keeping_lists_whoever_is_to_be_decided_about(house, ids, api):
    with house.scope():
        rosa = a_client(house.clerk, "Rosa Lind")
        record_consent(house.clerk, rosa.pk, kind="measure", given=False, given_by="Rosa Lind")
    (row,) = ask(api, house.owner, "get", "keeping/clients/", None, ids).json()
    assert (row["client"], row["why"]) == (str(rosa.pk), "withdrawn")
    assert row["since"] > (timezone.now() - timedelta(minutes=5)).isoformat()
    for months in (0, 241):
        answer = ask(api, house.owner, "put", "keeping/", {"months": months}, ids)
        assert answer.status_code == 400
        assert "months" in answer.content.decode()
    assert ask(api, house.owner, "put", "keeping/", {"months": None}, ids).json() == {
        "months": None,
        "due_before": None,
    }
