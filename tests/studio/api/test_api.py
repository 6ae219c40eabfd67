"""The API of this wing: roles both ways, another studio's rows, problems that name field and reason."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from studio.models import Client, Measuring, Reading
from tests.studio.helpers import a_client, measured

NOBODY = "0199d2a0-0000-7000-8000-000000000000"


@pytest.fixture
def person(house):
    with house.scope():
        return a_client(house.clerk, telephone="0555 014 277")


def _measuring(client, **facts):
    return {
        "client": str(client.pk),
        "measured_at": (timezone.now() - timedelta(hours=1)).isoformat(),
        "readings": [
            {"measure": "waist_girth", "typed": "76", "take": 1},
            {"measure": "waist_girth", "typed": "79,5 cm", "take": 2},
            {"measure": "weight", "typed": "60.5"},
        ],
        **facts,
    }


ERRANDS = [
    ("get", "clients/", None, "owner instructor clerk"),
    ("post", "clients/", {"name": "Rosa Lind"}, "owner instructor clerk"),
    ("get", "clients/find/?words=olia", None, "owner instructor clerk"),
    ("get", "clients/{client}/", None, "owner instructor clerk"),
    ("get", "clients/{client}/consents/", None, "owner instructor clerk"),
    (
        "post",
        "clients/{client}/consents/",
        {"kind": "photograph", "given": True, "given_by": "Olia"},
        "owner instructor clerk",
    ),
    ("get", "clients/{client}/measurings/", None, "owner instructor"),
    ("get", "clients/{client}/body/", None, "owner instructor"),
    ("get", "clients/{client}/changes/", None, "owner instructor"),
    ("get", "measurings/", None, "owner instructor"),
    ("get", "measurings/{measuring}/", None, "owner instructor"),
    (
        "post",
        "measurings/{measuring}/readings/",
        {"measure": "waist_girth", "typed": "77"},
        "owner instructor",
    ),
    ("post", "readings/{reading}/correction/", {"typed": "77", "reason": "a slip"}, "owner instructor"),
    ("get", "measures/", None, "owner instructor clerk"),
    ("get", "measure-sets/", None, "owner instructor clerk"),
    ("get", "clients/{client}/export/", None, "owner"),
    ("post", "clients/{client}/erasure/", {"reason": "asked by letter"}, "owner"),
]


@pytest.fixture
def ids(house, person):
    with house.scope():
        row = measured(house.instructor, person, {"waist_girth": "76"})
        return {"client": person.pk, "measuring": row.pk, "reading": row.readings.get().pk}


@pytest.mark.parametrize("role", ["owner", "instructor", "clerk"])
@pytest.mark.parametrize(
    ("method", "path", "body", "roles"), ERRANDS, ids=[f"{e[0]} {e[1]}" for e in ERRANDS]
)
def test_each_role_gets_what_the_table_says(house, api, ids, method, path, body, roles, role):
    answer = getattr(api(getattr(house, role)), method)("/api/v1/" + path.format(**ids), body)
    if role in roles.split():
        assert answer.status_code == (200 if method == "get" else 201)
    else:
        assert answer.status_code == 403
        assert answer["Content-Type"] == "application/problem+json"
        assert "may not" in answer.json()["detail"]


@pytest.mark.parametrize(
    ("method", "path", "body", "roles"),
    [errand for errand in ERRANDS if "{" in errand[1]],
    ids=[f"{errand[0]} {errand[1]}" for errand in ERRANDS if "{" in errand[1]],
)
def test_another_studios_rows_are_not_there(other_house, api, ids, method, path, body, roles):
    answer = getattr(api(other_house.owner), method)("/api/v1/" + path.format(**ids), body)
    assert answer.status_code == 404
    assert answer.json()["type"] == "urn:studio-record:problem:not-here"


def test_nobody_gets_nothing(client):
    for method, path, body, _ in ERRANDS:
        address = "/api/v1/" + path.format(client=NOBODY, measuring=NOBODY, reading=NOBODY)
        assert getattr(client, method)(address, body).status_code == 401


def test_a_client_is_recorded_read_and_changed(house, api):
    clerk = api(house.clerk)
    made = clerk.post("/api/v1/clients/", {"name": "Olia Duarte", "consent_by": "Olia Duarte", "unit": "in"})
    assert made.status_code == 201
    address = made["Location"]
    assert made["ETag"] == '"1"'
    assert clerk.get(address).json() == made.json()
    assert clerk.patch(address, {"notes": "left-handed"}).status_code == 428
    changed = clerk.patch(address, {"notes": "left-handed"}, headers={"If-Match": '"1"'})
    assert (changed.status_code, changed["ETag"]) == (200, '"2"')
    assert changed.json()["unit"] == "in"
    late = clerk.patch(address, {"notes": "tall"}, headers={"If-Match": '"1"'})
    assert late.status_code == 412
    assert clerk.get(address).json()["notes"] == "left-handed"
    assert clerk.get(address + "consents/").json()["results"][0]["given"] is True


def test_a_minor_without_a_guardian_is_a_problem_that_names_fields(house, api):
    born = timezone.localdate().replace(year=timezone.localdate().year - 9, day=1).isoformat()
    answer = api(house.clerk).post("/api/v1/clients/", {"name": "Tomas", "born": born, "consent_by": "Tomas"})
    assert answer.status_code == 400
    assert {error["field"] for error in answer.json()["errors"]} == {"guardian_name", "consent_by_guardian"}
    with house.scope():
        assert not Client.objects.exists()


def test_a_measuring_is_recorded_and_read_back(house, api, person):
    instructor = api(house.instructor)
    made = instructor.post("/api/v1/measurings/", _measuring(person))
    assert made.status_code == 201, made.json()
    found = made.json()
    assert [(each["measure"], each["take"], each["value"], each["unit"]) for each in found["readings"]] == [
        ("weight", 1, "60.5000", "kg"),
        ("waist_girth", 1, "760.0000", "mm"),
        ("waist_girth", 2, "795.0000", "mm"),
    ]
    assert found["asks_again"] == ["waist_girth"]
    assert instructor.get(made["Location"]).json() == found
    third = instructor.post(made["Location"] + "readings/", {"measure": "waist_girth", "typed": "76.4"})
    assert (third.status_code, third.json()["take"]) == (201, 3)
    body = instructor.get(f"/api/v1/clients/{person.pk}/body/").json()
    assert [(each["code"], each["value"], each["takes"]) for each in body] == [
        ("weight", "60.5000", 1),
        ("waist_girth", "764.0000", 3),
    ]


def test_the_same_key_records_one_measuring(house, api, person):
    instructor = api(house.instructor)
    body = _measuring(person)
    answers = [
        instructor.post("/api/v1/measurings/", body, headers={"Idempotency-Key": "lesson-7"})
        for _ in range(2)
    ]
    assert answers[0].json() == answers[1].json()
    assert answers[1]["Idempotency-Replayed"] == "true"
    with house.scope():
        assert Measuring.objects.count() == 1


def test_slips_are_problems_that_name_field_and_measure_and_nothing_is_kept(house, api, person):
    body = _measuring(person)
    body["readings"][1]["typed"] = "790"
    body["readings"].append({"measure": "tail_length", "typed": "4"})
    answer = api(house.instructor).post("/api/v1/measurings/", body)
    assert answer.status_code == 400
    errors = {error["field"]: error["reason"] for error in answer.json()["errors"]}
    assert set(errors) == {"readings.1.typed", "readings.3.measure"}
    assert errors["readings.1.typed"].startswith("Waist girth of 790.0 cm is outside what a tape can read")
    with house.scope():
        assert not Reading.objects.exists()


@pytest.mark.parametrize(
    ("spoil", "field"),
    [
        (lambda body: body["readings"][0].pop("typed"), "readings.0.typed"),
        (lambda body: body["readings"][0].update(typed=True), "readings.0.typed"),
        (lambda body: body.update(readings=[]), "readings"),
        (lambda body: body.update(measured_at="yesterday"), "measured_at"),
        (lambda body: body.update(unit="ell"), "unit"),
        (lambda body: body.update(over="armour"), "over"),
    ],
)
def test_what_has_no_shape_is_a_problem_too(house, api, person, spoil, field):
    body = _measuring(person)
    spoil(body)
    answer = api(house.instructor).post("/api/v1/measurings/", body)
    assert answer.status_code == 400
    assert [error["field"] for error in answer.json()["errors"]] == [field]


def test_nan_is_no_number_of_json(house, api, person):
    reading = '{"measure": "waist_girth", "typed": NaN}'
    answer = api(house.instructor).post(
        "/api/v1/measurings/",
        f'{{"client": "{person.pk}", "measured_at": "2026-01-01T10:00:00Z", "readings": [{reading}]}}',
        content_type="application/json",
    )
    assert answer.status_code == 400
    with house.scope():
        assert not Measuring.objects.exists()


def test_a_client_of_another_studio_is_measured_by_nobody(house, other_house, api, person):
    answer = api(other_house.instructor).post("/api/v1/measurings/", _measuring(person))
    assert answer.status_code == 404
    assert answer.json()["detail"] == "There is no such client here."


def test_without_consent_the_problem_says_what_comes_first(house, api, person):
    clerk = api(house.clerk)
    clerk.post(
        f"/api/v1/clients/{person.pk}/consents/", {"kind": "measure", "given": False, "given_by": "Olia"}
    )
    answer = api(house.instructor).post("/api/v1/measurings/", _measuring(person))
    assert answer.status_code == 400
    assert "has withdrawn the consent" in answer.json()["detail"]


def test_a_correction_leaves_both_readings(house, api, ids):
    instructor = api(house.instructor)
    made = instructor.post(
        f"/api/v1/readings/{ids['reading']}/correction/", {"typed": "97,5 cm", "reason": "79 for 97"}
    )
    assert made.json()["supersedes"] == str(ids["reading"])
    found = {each["id"]: each["stands"] for each in instructor.get(made["Location"]).json()["readings"]}
    assert found == {made.json()["id"]: True, str(ids["reading"]): False}
    again = instructor.post(f"/api/v1/readings/{ids['reading']}/correction/", {"typed": "98", "reason": "x"})
    assert again.status_code == 409


def test_lists_are_pages_that_can_be_narrowed(house, api, person):
    with house.scope():
        other = a_client(house.clerk, "Inga Holm")
        for days in (40, 20, 10):
            measured(
                house.instructor, person, {"waist_girth": "76"}, measured_at=timezone.now() - timedelta(days)
            )
        measured(house.instructor, other, {"waist_girth": "76"})
    instructor = api(house.instructor)
    first = instructor.get("/api/v1/measurings/", {"page_size": 3}).json()
    second = instructor.get(first["next"]).json()
    assert (len(first["results"]), len(second["results"])) == (3, 1)
    mine = instructor.get("/api/v1/measurings/", {"client": str(person.pk)}).json()["results"]
    assert {each["client"] for each in mine} == {str(person.pk)}
    since = (timezone.now() - timedelta(days=15)).isoformat()
    assert len(instructor.get("/api/v1/measurings/", {"measured_after": since}).json()["results"]) == 2
    assert len(instructor.get(f"/api/v1/clients/{person.pk}/measurings/").json()["results"]) == 3
    assert instructor.get("/api/v1/measurings/", {"client": "x"}).status_code == 400
    assert [each["name"] for each in instructor.get("/api/v1/clients/?words=olai").json()["results"]] == [
        "Olia Duarte"
    ]


def test_changes_are_told_against_a_given_measuring(house, api, person):
    with house.scope():
        measured(house.instructor, person, {"waist_girth": "76"}, measured_at=timezone.now() - timedelta(40))
        row = measured(house.instructor, person, {"waist_girth": "80"})
    instructor = api(house.instructor)
    (change,) = instructor.get(f"/api/v1/clients/{person.pk}/changes/?measuring={row.pk}").json()
    assert (change["difference"], change["words"]) == ("40.0000", "beyond the tape")
    assert instructor.get(f"/api/v1/clients/{person.pk}/changes/?measuring={NOBODY}").status_code == 404
    assert instructor.get(f"/api/v1/clients/{person.pk}/changes/?measuring=x").status_code == 400


def test_the_catalogue_is_open_to_programs(house, api):
    found = api(house.clerk).get("/api/v1/measures/").json()
    waist = next(each for each in found if each["code"] == "waist_girth")
    assert (waist["technical_error"], waist["range_adult"]) == (8.0, [400.0, 2000.0])
    sets = api(house.clerk).get("/api/v1/measure-sets/").json()
    assert len(next(each for each in sets if each["code"] == "basic_twelve")["measures"]) == 12


def test_an_erased_client_is_gone_from_every_answer(house, api, ids):
    owner = api(house.owner)
    assert (
        owner.get(f"/api/v1/clients/{ids['client']}/export/").json()["studio"]["client"]["name"]
        == "Olia Duarte"
    )
    made = owner.post(f"/api/v1/clients/{ids['client']}/erasure/", {"reason": "asked by letter"})
    assert made.status_code == 201
    assert owner.get(f"/api/v1/clients/{ids['client']}/").json()["name"] == "Erased"
    assert owner.get("/api/v1/clients/find/?words=olia").json() == []
    assert owner.get("/api/v1/clients/").json()["results"] == []
    assert owner.get(f"/api/v1/clients/{ids['client']}/body/").json() == []
    assert owner.get(f"/api/v1/measurings/{ids['measuring']}/").status_code == 404


def test_lists_ask_the_same_for_two_rows_and_for_twenty(house, api, person, django_assert_num_queries):
    with house.scope():
        for hour in range(2):
            measured(house.instructor, person, measured_at=timezone.now() - timedelta(hours=hour + 1))
    instructor = api(house.instructor)
    addresses = ["/api/v1/clients/", "/api/v1/measurings/", f"/api/v1/clients/{person.pk}/consents/"]
    counts = []
    for address in addresses:
        with CaptureQueriesContext(connection) as counted:
            assert instructor.get(address).status_code == 200
        counts.append(len(counted))
    with house.scope():
        for number in range(18):
            a_client(house.clerk, f"Client {number}")
            measured(house.instructor, person, measured_at=timezone.now() - timedelta(hours=number + 3))
    for address, count in zip(addresses, counts, strict=True):
        with django_assert_num_queries(count):
            instructor.get(address)
