"""Tables on pages and in the API: dry run, take-over, export, and who may not."""

import io
from typing import Any

import openpyxl
import pytest
from django.urls import reverse

from seamlab.models import Cloth
from studio.platform.jobs import run_job

TABLE = "Cloth,Structure,Weight (g/m²),Width (cm),Notes\nMoss poplin,woven,115,150,=HYPERLINK(1)\n"


def file(text: str) -> io.BytesIO:
    content = io.BytesIO(text.encode())
    content.name = "cloths.csv"
    return content


def test_a_file_goes_through_the_pages(house: Any, page: Any) -> None:
    browser = page(house.instructor)
    start = reverse("seamlab:transfer")
    assert browser.get(start).status_code == 200
    assert "No row was recognised" in browser.post(start, {"file": file("a,b\n1,2\n")}).content.decode()
    wrong = browser.post(start, {"file": file(TABLE.replace("woven", "netted"))}, follow=True)
    assert "1 problem" in wrong.content.decode()
    problems = browser.get(reverse("seamlab:transfer-problems", args=[wrong.context["found"].id]))
    assert "Cloths,2,Structure" in problems.content.decode()
    looked = browser.post(start, {"file": file(TABLE)}, follow=True)
    assert "Take over 1 new row" in looked.content.decode()
    taken = browser.post(looked.redirect_chain[-1][0], {"take-over": "1"}, follow=True)
    assert "taken over" in taken.content.decode()
    with house.scope():
        assert Cloth.objects.get().notes == "=HYPERLINK(1)"
    asked = browser.post(reverse("seamlab:transfer-export"), {"form": "csv", "table": "all"})
    assert "holds one table" in asked.content.decode()
    assert page(house.clerk).get(start).status_code == 403


def test_a_file_goes_through_the_api_and_comes_back_without_a_live_formula(
    house: Any, other_house: Any, api: Any
) -> None:
    caller = api(house.instructor)
    found = caller.post(reverse("api-seam-table-imports"), {"file": file(TABLE)}, format="multipart").json()
    assert (found["state"], found["problem_count"], found["new"]) == ("checked", 0, 1)
    assert caller.post(reverse("api-seam-table-take-over", args=[found["id"]])).status_code == 202
    again = caller.post(reverse("api-seam-table-take-over", args=[found["id"]]))
    assert (again.status_code, "already" in again.json()["detail"]) == (409, True)
    refused = caller.post(reverse("api-seam-table-exports"), {"form": "csv"}, format="json")
    assert (refused.status_code, refused.json()["errors"][0]["field"]) == (400, "table")
    export = caller.post(reverse("api-seam-table-exports"), {}, format="json").json()
    assert run_job(house.studio_id, export["id"]) == "done"
    address = reverse("api-seam-table-export-file", args=[export["id"]])
    book = openpyxl.load_workbook(io.BytesIO(b"".join(caller.get(address).streaming_content)))
    heads, row = list(book["Cloths"].iter_rows(values_only=True))
    assert row[heads.index("Notes")] == "'=HYPERLINK(1)"
    assert row[heads.index("Width (mm)")] == 1500
    stranger = api(other_house.instructor)
    assert stranger.get(address).status_code == 404
    assert stranger.get(reverse("api-seam-table-import", args=[found["id"]])).status_code == 404


@pytest.mark.parametrize("kind", ["page", "large"])
def test_a_large_file_is_looked_at_by_a_worker(house: Any, page: Any, kind: str, settings: Any) -> None:
    from seamlab.services import transfer

    rows = "".join(
        f"Poplin {number},woven,115,150,{'x' * 900}\n" for number in range(150 if kind == "large" else 2)
    )
    browser = page(house.instructor)
    shown = browser.post(
        reverse("seamlab:transfer"),
        {"file": file(TABLE.split("\n", maxsplit=1)[0] + "\n" + rows)},
        follow=True,
    )
    found = shown.context["found"]
    assert (found.state == "working") == (len(rows) > transfer.SMALL_BYTES)
    if kind == "large":
        assert run_job(house.studio_id, found.id) == "done"
        with house.scope():
            taking = transfer.take_over_library(house.instructor, found.id).taking
        assert run_job(house.studio_id, taking.pk) == "done"
        with house.scope():
            assert Cloth.objects.count() == 150
