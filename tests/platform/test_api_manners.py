"""What every part of the API has in common, tried through its real routes."""

import json

import pytest
from django.test import Client
from structlog.testing import capture_logs

from studio.platform.models import StoredAnswer
from tests.conftest import PASSWORD

PROBLEM = "application/problem+json"


def problem(response, status):
    assert response.status_code == status, response.content
    assert response["Content-Type"] == PROBLEM
    body = response.json()
    assert body["status"] == status
    assert body["title"]
    assert body["detail"]
    assert body["type"].startswith("urn:studio-record:problem:")
    assert body["request_id"] == response["X-Request-Id"]
    return body


def new_client(**more):
    return {"name": "Wilhelmina Ostrander", "telephone": "+44 20 7946 0444", **more}


def test_nobody_gets_in_without_a_key(db, client):
    answer = client.get("/api/v1/clients/")
    problem(answer, 401)
    assert answer["WWW-Authenticate"] == "Bearer"


def test_a_dead_token_is_told_so(db, client):
    body = problem(client.get("/api/v1/me/", HTTP_AUTHORIZATION="Bearer nonsense"), 401)
    assert "opens nothing" in body["detail"]


def test_a_token_acts_as_its_member(house, api):
    me = api(house.instructor).get("/api/v1/me/").json()
    assert (me["role"], me["member"]) == ("instructor", str(house.instructor.member_id))
    assert "record body measurements" in me["rights"]
    assert "export or erase a client" not in me["rights"]


def test_a_session_needs_the_csrf_token_for_writing(house):
    browser = Client(enforce_csrf_checks=True)
    browser.get("/sign-in/")
    token = browser.cookies["csrftoken"].value
    signed_in = browser.post(
        "/sign-in/",
        {"email": "instructor@thimblerow.example", "password": PASSWORD, "csrfmiddlewaretoken": token},
        HTTP_REFERER="http://testserver/sign-in/",
    )
    assert signed_in.status_code == 302
    assert browser.get("/api/v1/me/").status_code == 200
    refused = browser.post("/api/v1/clients/", json.dumps(new_client()), content_type="application/json")
    assert "CSRF" in problem(refused, 403)["detail"]
    token = browser.cookies["csrftoken"].value
    made = browser.post(
        "/api/v1/clients/", json.dumps(new_client()), content_type="application/json", HTTP_X_CSRFTOKEN=token
    )
    assert made.status_code == 201


def test_a_refusal_names_field_and_reason(house, api):
    body = problem(api(house.instructor).post("/api/v1/clients/", {"name": ""}), 400)
    assert {error["field"] for error in body["errors"]} == {"name"}
    assert all(error["reason"] for error in body["errors"])


def test_what_is_not_json_is_refused(house, api):
    client = api(house.instructor)
    problem(client.generic("POST", "/api/v1/clients/", "{not json", content_type="application/json"), 400)
    problem(
        client.generic(
            "POST", "/api/v1/clients/", "name=x", content_type="application/x-www-form-urlencoded"
        ),
        415,
    )
    problem(client.put("/api/v1/clients/", {}), 405)


def test_a_role_without_the_right_is_told_which(house, api):
    body = problem(api(house.clerk).get("/api/v1/measurings/"), 403)
    assert body["detail"] == "A clerk may not read body measurements."


def test_somebody_else_s_looks_like_nobody_s(house, other_house, api):
    theirs = api(other_house.instructor).post("/api/v1/clients/", new_client()).json()["id"]
    mine = api(house.instructor)
    foreign = problem(mine.get(f"/api/v1/clients/{theirs}/"), 404)
    nobody = problem(mine.get("/api/v1/clients/0199d2a0-0000-7000-8000-000000000000/"), 404)
    assert {**foreign, "request_id": ""} == {**nobody, "request_id": ""}


def test_a_creating_request_sent_again_gives_the_same_answer(house, api):
    client = api(house.instructor)
    first = client.post("/api/v1/clients/", new_client(), HTTP_IDEMPOTENCY_KEY="visit-1")
    again = client.post("/api/v1/clients/", new_client(), HTTP_IDEMPOTENCY_KEY="visit-1")
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert again["Idempotency-Replayed"] == "true"
    assert again["Location"] == first["Location"]
    assert len(client.get("/api/v1/clients/").json()["results"]) == 1


def test_a_key_is_not_for_two_different_requests(house, api):
    client = api(house.instructor)
    client.post("/api/v1/clients/", new_client(), HTTP_IDEMPOTENCY_KEY="visit-1")
    problem(client.post("/api/v1/clients/", new_client(name="Other"), HTTP_IDEMPOTENCY_KEY="visit-1"), 422)


def test_a_key_of_a_refused_request_may_be_used_again(house, api):
    client = api(house.instructor)
    problem(client.post("/api/v1/clients/", {"name": ""}, HTTP_IDEMPOTENCY_KEY="visit-1"), 400)
    with house.scope():
        assert StoredAnswer.objects.count() == 0
    assert client.post("/api/v1/clients/", new_client(), HTTP_IDEMPOTENCY_KEY="visit-1").status_code == 201


def test_nobody_s_change_is_overwritten(house, api):
    client = api(house.instructor)
    made = client.post("/api/v1/clients/", new_client())
    address = made["Location"]
    etag = client.get(address)["ETag"]
    problem(client.patch(address, {"notes": "no etag"}), 428)
    changed = client.patch(address, {"notes": "first"}, HTTP_IF_MATCH=etag)
    assert changed.status_code == 200
    assert changed["ETag"] != etag
    problem(client.patch(address, {"notes": "second"}, HTTP_IF_MATCH=etag), 412)
    assert client.get(address).json()["notes"] == "first"


def test_lists_come_in_pages_that_neither_skip_nor_repeat(house, api):
    client = api(house.instructor)
    names = [f"Client {number:02}" for number in range(7)]
    for name in names:
        client.post("/api/v1/clients/", new_client(name=name))
    seen, address = [], "/api/v1/clients/?page_size=3"
    while address:
        page = client.get(address).json()
        seen += [row["name"] for row in page["results"]]
        address = page["next"]
    assert sorted(seen) == names


def test_too_many_requests_are_told_when_to_come_back(house, api, settings):
    settings.THROTTLE_SIGNED_IN = 2
    client = api(house.instructor)
    assert [client.get("/api/v1/me/").status_code for _ in range(2)] == [200, 200]
    answer = client.get("/api/v1/me/")
    problem(answer, 429)
    assert int(answer["Retry-After"]) > 0


@pytest.mark.parametrize("headers", [{}, {"HTTP_AUTHORIZATION": "Bearer nonsense"}])
def test_strangers_are_counted_too(db, client, settings, headers):
    settings.THROTTLE_ANONYMOUS = 2
    assert [client.get("/api/v1/me/", **headers).status_code for _ in range(3)] == [401, 401, 429]


def test_nul_and_endless_nesting_are_refused(house, api):
    client = api(house.instructor)
    problem(client.get("/api/v1/clients/?words=%00"), 400)
    problem(client.post("/api/v1/clients/", {"name": "A\x00B"}), 400)
    problem(client.generic("POST", "/api/v1/clients/", "[" * 100_000, content_type="application/json"), 400)


def test_an_unknown_address_is_a_problem_too(db, client):
    problem(client.get("/api/v1/nothing/"), 404)


def test_the_openapi_document_is_whole(tmp_path):
    """drf-spectacular validates against the OpenAPI 3 schema; a warning is a failure."""
    from django.core.management import call_command

    target = tmp_path / "openapi.yaml"
    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(target))
    import yaml

    document = yaml.safe_load(target.read_text())
    assert document["openapi"].startswith("3.")
    for address, operations in document["paths"].items():
        for method, operation in operations.items():
            assert "default" in operation["responses"], f"{method} {address} does not tell of problems"
            assert operation["operationId"]


def test_the_document_and_its_description_are_served_from_here(db, client):
    assert client.get("/api/v1/openapi.yaml").status_code == 200
    page = client.get("/api/v1/docs/")
    assert page.status_code == 200
    assert b"https://" not in page.content, "nothing comes from elsewhere"


@pytest.mark.parametrize("address", ["/health/live", "/health/ready"])
def test_health_needs_no_key(db, client, address):
    assert client.get(address).status_code == 200


def test_a_program_is_not_led_to_https_but_told(house, api, settings):
    settings.HTTPS = settings.SECURE_SSL_REDIRECT = True
    client = api(house.owner)
    body = problem(client.get("/api/v1/me/"), 403)
    assert "Use https" in body["detail"]
    assert client.get("/api/v1/me/", secure=True).status_code == 200
    assert client.get("/members/").headers["Location"].startswith("https://")


def test_the_log_tells_who_was_refused_by_ids_alone(house, api):
    with capture_logs() as lines:
        api(house.clerk).get("/api/v1/measurings/?words=Wilhelmina")
    (line,) = [line for line in lines if line["event"] == "request"]
    assert (line["status"], line["route"]) == (403, "api-measurings")
    assert (line["member"], line["studio"]) == (str(house.clerk.member_id), str(house.studio_id))
    assert "Wilhelmina" not in str(line)
