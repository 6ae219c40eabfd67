"""Tickets over the API: problems that name the field, keys that double nothing, versions that overwrite nothing."""

from typing import Any

import pytest

from fitting.models import Ticket, TicketPayment
from tests.conftest import House
from tests.fitting.garment.conftest import Shop


@pytest.fixture
def program(closed_shop: Shop, api: Any) -> Any:
    return api(closed_shop.house.instructor)


def ticket_body(shop: Shop, **given: Any) -> dict[str, Any]:
    usual = {
        "client": str(shop.client.pk), "words": "rust corduroy trousers", "kind": "trousers",
        "jobs": [{"job": "let_out", "amount_mm": "32", "allowance_mm": "15", "keep_mm": "7", "edges": 4}],
        "deposit_minor": 500,
    }  # fmt: skip
    return usual | given


def test_a_tickets_whole_way(closed_shop: Shop, program: Any, run_jobs: Any) -> None:
    def post(path: str, body: Any = None, **headers: str) -> Any:
        return program.post(f"/api/v1/{path}", body or {}, format="json", headers=headers)

    assert program.get("/api/v1/counter/").json() == {"currency": ""}
    told = post("tickets/", ticket_body(closed_shop)).json()
    assert {error["field"] for error in told["errors"]} == {"currency"}
    assert program.put("/api/v1/counter/", {"currency": "EUR"}, format="json").json() == {"currency": "EUR"}
    price = post("prices/", {"job": "let_out", "minor": 2200})
    assert price.status_code == 201
    assert program.patch(price["Location"], {"minor": 2300}, format="json").status_code == 428
    assert program.patch(price["Location"], {"minor": 2300}, format="json", headers={"If-Match": '"1"'}).json()[
        "minor"
    ] == 2300  # fmt: skip

    short = ticket_body(closed_shop)
    short["jobs"][0]["amount_mm"] = "33"
    told = post("tickets/", short)
    assert told["Content-Type"] == "application/problem+json"
    (error,) = told.json()["errors"]
    assert error["field"] == "jobs.0.amount"
    assert "It does not reach" in error["reason"]

    key = {"Idempotency-Key": "counter-1"}
    first = post("tickets/", ticket_body(closed_shop), **key)
    again = post("tickets/", ticket_body(closed_shop), **key)
    assert first.status_code == again.status_code == 201
    assert first.json() == again.json()
    with closed_shop.house.scope():
        assert Ticket.objects.count() == TicketPayment.objects.count() == 1
    whole = first.json()
    assert (whole["owed_minor"], whole["jobs"][0]["most_mm"]) == (1800, 32.0)
    here = f"tickets/{whole['ticket']['id']}/"
    tag = first["ETag"]
    job = f"/api/v1/{here}jobs/{whole['jobs'][0]['id']}/"
    assert post(f"{here}state/", {"state": "ready"}, **{"If-Match": tag}).status_code == 409
    done = program.patch(job, {"state": "done"}, format="json", headers={"If-Match": tag})
    assert done.json()["ticket"]["state"] == "in_work"
    stale = program.patch(job, {"state": "to_do"}, format="json", headers={"If-Match": tag})
    assert stale.status_code == 412
    ready = post(f"{here}state/", {"state": "ready"}, **{"If-Match": done["ETag"]})
    assert post(f"{here}notices/", {"by": "pigeon"}).json()["errors"][0]["field"] == "by"
    assert post(f"{here}notices/", {"by": "email"}).json()["job"]
    paid = post(f"{here}payments/", {"minor": 1800, "way": "card"})
    wrong = paid.json()["payments"][-1]["id"]
    undone = post(f"{here}payments/{wrong}/correction/", {"note": "the card was refused"})
    assert undone.json()["owed_minor"] == 1800
    assert post(f"{here}hand-over/", {}, **{"If-Match": ready["ETag"]}).status_code == 412
    over = post(f"{here}hand-over/", {"paid_minor": 1800}, **{"If-Match": undone["ETag"]})
    assert over.json()["ticket"]["state"] == "handed_over"
    assert over.json()["may_become"] == ["ready"]
    slip = post(f"{here}slips/")
    run_jobs(closed_shop.house)
    assert program.get(slip["Location"]).content.startswith(b"%PDF")
    number = whole["ticket"]["number"]
    assert program.get("/api/v1/tickets/found/", {"words": number}).json()["id"] == whole["ticket"]["id"]
    listed = program.get(
        "/api/v1/tickets/", {"client": str(closed_shop.client.pk), "state": "handed_over"}
    ).json()
    assert [row["number"] for row in listed["results"]] == [number]
    assert program.get("/api/v1/tickets/", {"client": "x"}).status_code == 400
    assert "let_out" in {row["code"] for row in program.get("/api/v1/alteration-jobs/").json()}


def test_another_studio_finds_nothing(closed_shop: Shop, program: Any, api: Any, other_house: House) -> None:
    program.put("/api/v1/counter/", {"currency": "EUR"}, format="json")
    body = ticket_body(closed_shop)
    body["jobs"][0]["price_minor"] = 100
    body["deposit_minor"] = 0
    made = program.post("/api/v1/tickets/", body, format="json")
    stranger = api(other_house.owner)
    assert stranger.get(made["Location"]).status_code == 404
    assert stranger.get("/api/v1/tickets/").json()["results"] == []
    number = made.json()["ticket"]["number"]
    assert stranger.get("/api/v1/tickets/found/", {"words": number}).status_code == 404
