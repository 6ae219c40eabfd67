"""Garments, fittings and reports over the API: the whole way, roles both ways, refusals as problems."""

from typing import Any

import pytest

from fitting.models import FitNote, Garment
from fitting.services.reports import ask_report
from studio.platform.models.base import new_id
from tests.conftest import House
from tests.fitting.garment.conftest import Shop

V1 = "/api/v1"


def reasons(answer: Any) -> dict[str, str]:
    assert answer["Content-Type"] == "application/problem+json", answer.content
    return {row["field"]: row["reason"] for row in answer.json().get("errors", [])}


def test_the_whole_way(closed_shop: Shop, api: Any, run_jobs: Any) -> None:
    shop = closed_shop
    clerk, fitter = api(shop.house.clerk), api(shop.instructor)
    opened = clerk.post(
        f"{V1}/garments/", {"client": str(shop.client.pk), "kind": "trousers", "words": "teal trousers"}
    )
    assert opened.status_code == 201
    assert opened["ETag"] == '"1"'
    here = opened["Location"]
    assert clerk.get(here).json()["client"] == {"id": str(shop.client.pk), "name": "Olia Carvalho"}
    assert clerk.patch(here, {"words": "x"}).status_code == 428
    changed = fitter.patch(
        here, {"plan": str(shop.plan.pk), "cloth": str(shop.cloth.pk)}, HTTP_IF_MATCH=opened["ETag"]
    )
    assert changed.status_code == 200
    assert changed.json()["pattern"]["name"] == shop.pattern.name
    assert fitter.patch(here, {"words": "grey"}, HTTP_IF_MATCH='"1"').status_code == 412
    seam = fitter.post(f"{here}seams/", {"place": "side seams", "version": str(shop.version.pk)})
    assert (seam.status_code, seam.json()["proven_on"]) == (201, None)
    refused = fitter.post(f"{here}checkpoints/", {"checkpoint": "seams_proven", "answer": "done"})
    assert refused.status_code == 409
    assert "has no passing trial" in refused.json()["detail"]
    with shop.house.scope():
        shop.trial()
    assert fitter.get(f"{here}seams/").json()["results"][0]["newest_verdict"] == "passes"
    for checkpoint in ("body_measured", "paper_altered", "cloth_known", "lay_and_grain", "seams_proven"):
        answered = fitter.post(f"{here}checkpoints/", {"checkpoint": checkpoint, "answer": "done"})
        assert answered.status_code == 201, answered.content
    stops = {stop["before"]: stop for stop in answered.json()["stops"]}
    assert stops["cutting"]["clear"]
    assert stops["sewing"]["open"] == ["basted_and_fitted"]
    session = fitter.post(
        f"{here}sessions/", {"kind": "baste", "held_at": "2026-01-21T15:30:00Z", "worn": "low shoes"}
    )
    assert session.status_code == 201
    note = fitter.post(f"{session['Location']}notes/", {"place": "waist", "seen": "stands away"})
    assert (note.status_code, note.json()["decision"]) == (201, "open")
    assert fitter.post(f"{session['Location']}sign-off/", {"client_agreed": True}).status_code == 409
    decided = fitter.post(
        f"{V1}/fit-notes/{note.json()['id']}/decision/", {"decision": "take_in", "amount": "1/2 in"}
    )
    assert (decided.status_code, decided.json()["amount_mm"]) == (201, "12.7000")
    assert decided.json()["supersedes"] == note.json()["id"]
    signed = fitter.post(f"{session['Location']}sign-off/", {"client_agreed": True})
    assert (signed.status_code, signed.json()["sign_off"]["client_agreed"]) == (201, True)
    asked = fitter.post(f"{here}reports/", {})
    assert asked.status_code == 202
    report = asked["Location"]
    assert asked.json()["job_state"] == "waiting"
    assert fitter.get(f"{report}pdf/").status_code == 404
    assert run_jobs(shop.house) == ["done"]
    read = fitter.get(report).json()
    assert read["job_state"] == "done"
    pdf = fitter.get(f"{report}pdf/", HTTP_ACCEPT="application/pdf")
    assert (pdf.status_code, pdf["Content-Type"]) == (200, "application/pdf")
    assert pdf["ETag"] == f'"{read["issued"]["sha256"]}"'
    assert fitter.get(f"{report}pdf/", HTTP_IF_NONE_MATCH=pdf["ETag"]).status_code == 304
    link = clerk.post(f"{report}links/", {"days": 7})
    assert (link.status_code, link.json()["send_to"]) == (201, "Olia Carvalho")
    assert link.json()["address"].startswith("http://127.0.0.1:8000/fit/")
    assert clerk.delete(link["Location"]).status_code == 204
    assert clerk.delete(link["Location"]).status_code == 409
    assert fitter.get(report).json()["links"][0]["state"] == "revoked"
    assert fitter.get(f"{here}reports/").json()["results"][0]["number"] == 1
    found = clerk.get(f"{V1}/past-fits/", {"words": "olia teal"}).json()["results"]
    assert found[0]["garments"][0]["changes"][0]["words"] == "Take in 1.3 cm in all"
    assert found[0]["garments"][0]["sizes"][0] == {"zone": "Waist", "size": "40"}


@pytest.mark.parametrize(
    ("body", "field", "words"),
    [
        ({"client": str(new_id()), "kind": "trousers", "words": "x"}, "client", "no such client"),
        ({"client": "somebody", "kind": "trousers", "words": "x"}, "client", "UUID"),
        ({"kind": "trousers", "words": "x"}, "client", "required"),
    ],
)
def test_refusals_name_field_and_reason(
    closed_shop: Shop, api: Any, body: Any, field: str, words: str
) -> None:
    answer = api(closed_shop.house.clerk).post(f"{V1}/garments/", body)
    assert answer.status_code == 400
    assert words in reasons(answer)[field]
    with closed_shop.house.scope():
        assert not Garment.objects.exists()


def test_a_note_is_refused_and_nothing_kept(closed_shop: Shop, api: Any) -> None:
    with closed_shop.house.scope():
        session = closed_shop.baste(closed_shop.full_garment())
    fitter = api(closed_shop.instructor)
    where = f"{V1}/fitting-sessions/{session.pk}/notes/"
    base = {"place": "waist", "seen": "gapes", "decision": "take_in"}
    assert "needs an amount" in reasons(fitter.post(where, base))["amount"]
    for typed in ("NaN", "-1 cm", "1,234", "soon", "5 furlongs"):
        assert reasons(fitter.post(where, {**base, "amount": typed}))["amount"], typed
    assert "not a place" in reasons(fitter.post(where, {**base, "place": "moon", "amount": "1 cm"}))["place"]
    with closed_shop.house.scope():
        assert not FitNote.objects.exists()


def test_nothing_to_report_is_a_problem_of_the_garment(closed_shop: Shop, api: Any) -> None:
    with closed_shop.house.scope():
        garment = closed_shop.garment()
    answer = api(closed_shop.instructor).post(f"{V1}/garments/{garment.pk}/reports/", {})
    assert answer.status_code == 400
    assert reasons(answer)["garment"].startswith("There is nothing to report for this garment yet: ")


def test_the_lookup_says_what_it_needs(closed_shop: Shop, api: Any) -> None:
    clerk = api(closed_shop.house.clerk)
    assert "letters of a name" in reasons(clerk.get(f"{V1}/past-fits/"))["words"]
    assert "not a year" in reasons(clerk.get(f"{V1}/past-fits/?words=olia&year=soon"))["year"]


def test_lists_are_filtered_and_paged(closed_shop: Shop, api: Any) -> None:
    with closed_shop.house.scope():
        for number in range(3):
            closed_shop.garment(words=f"trousers {number}")
        closed_shop.garment(words="skirt", kind="skirt")
    clerk = api(closed_shop.house.clerk)
    page = clerk.get(f"{V1}/garments/?kind=trousers&page_size=2").json()
    assert [row["words"] for row in page["results"]] == ["trousers 2", "trousers 1"]
    assert [row["words"] for row in clerk.get(page["next"]).json()["results"]] == ["trousers 0"]
    assert clerk.get(f"{V1}/garments/?state=handed_over").json()["results"] == []


def test_sending_the_same_thing_twice_opens_one_garment(closed_shop: Shop, api: Any) -> None:
    clerk = api(closed_shop.house.clerk)
    body = {"client": str(closed_shop.client.pk), "kind": "skirt", "words": "red skirt"}
    first = clerk.post(f"{V1}/garments/", body, HTTP_IDEMPOTENCY_KEY="red-1")
    again = clerk.post(f"{V1}/garments/", body, HTTP_IDEMPOTENCY_KEY="red-1")
    assert first.json() == again.json()
    with closed_shop.house.scope():
        assert Garment.objects.count() == 1


# (method, path, who may); {g} garment, {s} session, {n} note, {r} report, {l} link
TABLE = [
    ("get", "/garments/", "oic"),
    ("post", "/garments/", "oic"),
    ("get", "/garments/{g}/", "oic"),
    ("patch", "/garments/{g}/", "oic"),
    ("get", "/garments/{g}/seams/", "oic"),
    ("post", "/garments/{g}/seams/", "oic"),
    ("get", "/garments/{g}/checkpoints/", "oic"),
    ("get", "/garments/{g}/sessions/", "oi"),
    ("post", "/garments/{g}/sessions/", "oi"),
    ("get", "/garments/{g}/reports/", "oi"),
    ("post", "/garments/{g}/reports/", "oi"),
    ("get", "/garments/{g}/report-preview/", "oi"),
    ("get", "/fitting-sessions/{s}/", "oi"),
    ("post", "/fitting-sessions/{s}/notes/", "oi"),
    ("post", "/fitting-sessions/{s}/sign-off/", "oi"),
    ("post", "/fit-notes/{n}/decision/", "oi"),
    ("get", "/fit-reports/{r}/", "oi"),
    ("get", "/fit-reports/{r}/pdf/", "oi"),
    ("post", "/fit-reports/{r}/links/", "oic"),
    ("delete", "/report-links/{l}/", "oic"),
    ("get", "/past-fits/?words=olia", "oic"),
]


@pytest.mark.parametrize(("method", "path", "who"), TABLE, ids=[f"{row[0]} {row[1]}" for row in TABLE])
def test_each_address_by_role_and_for_strangers(
    closed_shop: Shop, other_house: House, api: Any, method: str, path: str, who: str
) -> None:
    from fitting.services.reports import make_link

    with closed_shop.house.scope():
        garment = closed_shop.signed_garment()
        report = ask_report(closed_shop.instructor, garment.pk)
        note = FitNote.objects.get()
        link = make_link(closed_shop.instructor, report.pk).link
    path = V1 + path.format(g=garment.pk, s=note.session_id, n=note.pk, r=report.pk, l=link.pk)
    for letter, actor in {
        "o": closed_shop.house.owner,
        "i": closed_shop.instructor,
        "c": closed_shop.house.clerk,
    }.items():
        answer = getattr(api(actor), method)(path)
        assert (answer.status_code != 403) == (letter in who), (letter, answer.content)
        if letter not in who:
            assert "A clerk may not" in answer.json()["detail"]
    stranger = getattr(api(other_house.owner), method)(path)
    if "{" in TABLE[[row[1] for row in TABLE].index(path_of(path, garment, note, report, link))][1]:
        assert stranger.status_code in {400, 404, 428}, stranger.content
        assert b"Olia" not in stranger.content
    elif method == "get":
        assert stranger.json()["results"] == []
    from rest_framework.test import APIClient

    assert getattr(APIClient(), method)(path).status_code == 401


def path_of(path: str, garment: Any, note: Any, report: Any, link: Any) -> str:
    """The path as the table writes it."""
    found = path.removeprefix(V1)
    for letter, pk in {
        "g": garment.pk,
        "s": note.session_id,
        "n": note.pk,
        "r": report.pk,
        "l": link.pk,
    }.items():
        found = found.replace(str(pk), f"{{{letter}}}")
    return found
