"""Imports and exports as people and programs meet them: pages, roles, the API's manners."""

import io
from datetime import date
from urllib.parse import urlsplit

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from studio.models import Reading, ReadingImport
from studio.platform.jobs import run_job
from studio.platform.models import Job
from tests.studio.helpers import a_client, measured
from tests.studio.transfer.invented import LONG, as_csv, checked, mapped, new_clients, taken_over, uploaded

GOOD = [("Olia Duarte", "1990-02-03", "2026-05-04", "waist_girth", "76,4", "cm", 1)]
BAD = [("Olia Duarte", "1990-02-03", "03/04/2026", "=1+1", "76,4", "cm", 1)]


def last_job(house):
    with house.scope():
        job = Job.objects.order_by("-id").first()
    return run_job(house.studio_id, job.pk)


@pytest.fixture
def olia(house):
    with house.scope():
        return a_client(house.owner, born=date(1990, 2, 3))


def test_the_owner_goes_the_whole_way_on_pages(house, olia, page):
    browser = page(house.owner)
    home = browser.get(reverse("studio:transfer"))
    assert "No file was brought in yet" in home.content.decode()
    file = SimpleUploadedFile("readings.csv", as_csv(LONG, GOOD))
    columns = browser.post(reverse("studio:transfer"), {"file": file, "unit": "cm"}, follow=True)
    shown = columns.content.decode()
    assert columns.status_code == 200
    assert "76,4" in shown
    form = columns.context["form"]
    answers = {name: form[name].value() for name in form.fields}
    answers = {name: value for name, value in answers.items() if value not in (None, False)}
    assert answers["column_5"] == "value"
    address = columns.redirect_chain[-1][0]
    looked = browser.post(address, answers, follow=True)
    assert "hx-get" in looked.content.decode()
    progress = browser.get(looked.redirect_chain[-1][0], headers={"HX-Request": "true"})
    assert "Dry run of an import" in progress.content.decode()
    assert last_job(house) == "done"
    refresh = browser.get(looked.redirect_chain[-1][0], headers={"HX-Request": "true"})
    assert refresh["HX-Refresh"] == "true"
    result = browser.get(looked.redirect_chain[-1][0]).content.decode()
    assert "Take over 1 reading" in result
    browser.post(looked.redirect_chain[-1][0], {"take-over": "1"})
    assert last_job(house) == "done"
    assert "was deleted after the take-over" in browser.get(looked.redirect_chain[-1][0]).content.decode()
    with house.scope():
        assert Reading.objects.get().typed == "76,4"


def test_problems_are_listed_paged_and_fetched_as_a_table(house, olia, page):
    rows = [*BAD, *[("Olia Duarte", "1990-02-03", "", "waist_girth", str(n), "cm", 1) for n in range(70)]]
    row = checked(house, uploaded(house, as_csv(LONG, rows)))
    browser = page(house.owner)
    address = reverse("studio:transfer-import", args=[row.pk])
    first = browser.get(address).content.decode()
    assert "72 problems" in first
    assert "Rows after" in first
    assert "Take over" not in first
    last = browser.get(address + "?from=50").content.decode()
    assert "Rows before" in last
    table = (
        browser.get(reverse("studio:transfer-problems", args=[row.pk]))
        .content.decode("utf-8-sig")
        .splitlines()
    )
    assert table[0] == "Row,Column,Problem"
    assert len(table) == 73
    assert not [line for line in table if line[:1] in set("=+-@")]
    refused = browser.post(address, {"take-over": "1"})
    assert refused.status_code == 409


def test_a_mapping_that_can_not_be_is_told_beside_its_column(house, olia, page):
    row = uploaded(house, as_csv(("A", "B", "C"), [("x", "y", "1")]))
    browser = page(house.owner)
    address = reverse("studio:transfer-columns", args=[row.pk])
    facts = {"version": row.version, "unit": "cm", "over": "clothing"}
    answer = browser.post(address, {**facts, "column_1": "date", "column_2": "date"})
    assert answer.status_code == 400
    assert "Column 1 holds this already." in answer.content.decode()
    answer = browser.post(address, {**facts, "column_1": "client", "new_clients": "on"})
    shown = answer.content.decode()
    assert "Say which column holds the date" in shown
    assert "only with consent" in shown
    assert browser.post(address, {**facts, "version": 99, "column_1": "client"}).status_code == 400


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"PK\x03\x04 no archive", "damaged"),
        (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "password"),
        (b"a,b\n1,\0\n", "neither a CSV file nor"),
        (b"\xff\xfea\0,\0b\0", "UTF-16"),
        (b"a,b\n\x81,2\n", "letters"),
    ],
)
def test_what_is_no_table_is_refused_at_the_door(house, page, content, words):
    file = SimpleUploadedFile("readings.csv", content)
    answer = page(house.owner).post(reverse("studio:transfer"), {"file": file, "unit": "cm"})
    assert answer.status_code == 400
    assert words in answer.content.decode()
    with house.scope():
        assert ReadingImport.objects.count() == 0


def test_a_file_that_is_too_large_is_refused(house, page, monkeypatch):
    monkeypatch.setattr("studio.calc.transfer_files.MOST_BYTES", 1000)
    file = SimpleUploadedFile("readings.csv", b"a,b\n" * 500)
    answer = page(house.owner).post(reverse("studio:transfer"), {"file": file, "unit": "cm"})
    assert answer.status_code == 400


def test_an_upload_is_deleted_on_its_page(house, olia, page):
    row = uploaded(house, as_csv(LONG, GOOD))
    answer = page(house.owner).post(reverse("studio:transfer-import", args=[row.pk]), {"discard": "1"})
    assert answer.status_code == 302
    with house.scope():
        assert ReadingImport.objects.count() == 0


def test_an_export_is_made_and_fetched_on_pages(house, olia, page):
    with house.scope():
        measured(house.owner, olia)
    browser = page(house.owner)
    for wrong, status in (({"of": "nothing"}, 404), ({"of": "studio", "form": "pdf"}, 409)):
        assert browser.post(reverse("studio:transfer-export"), wrong).status_code == status
    for what in ({"of": "studio", "form": "csv"}, {"client": olia.pk, "form": "xlsx"}):
        answer = browser.post(reverse("studio:transfer-export"), what)
        assert answer.status_code == 302
        assert last_job(house) == "done"
    with house.scope():
        newest, first = Job.objects.filter(kind="export_readings").order_by("-id")
    table = browser.get(reverse("studio:export-file", args=[first.pk]))
    content = b"".join(table.streaming_content)
    assert content.decode("utf-8-sig").startswith("Client id,Client,")
    assert table["Cache-Control"] == "no-store"
    book = browser.get(reverse("studio:export-file", args=[newest.pk]))
    assert ".xlsx" in book["Content-Disposition"]
    assert "Fetch" in browser.get(reverse("studio:transfer")).content.decode()


def test_nobody_but_the_owner_opens_these_pages(house, olia, page, other_house):
    row = checked(house, uploaded(house, as_csv(LONG, GOOD)))
    addresses = [
        reverse("studio:transfer"),
        reverse("studio:transfer-export"),
        *(
            reverse(f"studio:{name}", args=[row.pk])
            for name in ("transfer-import", "transfer-columns", "transfer-problems", "export-file")
        ),
    ]
    for actor in (house.instructor, house.clerk):
        browser = page(actor)
        assert {browser.get(address).status_code for address in addresses} == {403}
        assert "Import and export" not in browser.get("/").content.decode()
    browser = page(house.owner)
    assert "Import and export" in browser.get("/").content.decode()
    assert [browser.get(address).status_code for address in addresses[:5]] == [200, 302, 200, 200, 200]
    stranger = page(other_house.owner)
    assert {stranger.get(address).status_code for address in addresses[2:]} == {404}


def test_lists_take_a_constant_number_of_queries(house, olia, page):
    def queries():
        browser = page(house.owner)
        with CaptureQueriesContext(connection) as captured:
            browser.get(reverse("studio:transfer"))
        return len(captured)

    for _ in range(2):
        uploaded(house, as_csv(LONG, GOOD))
    few = queries()
    for _ in range(6):
        uploaded(house, as_csv(LONG, GOOD))
    assert queries() == few


# --- the API --------------------------------------------------------------------------------------------------------


def test_a_program_goes_the_whole_way(house, olia, api):
    program = api(house.owner)
    content = as_csv(("A", "B", "C", "D", "E"), [GOOD[0][:5]])
    made = program.post("/api/v1/reading-imports/", {"file": io.BytesIO(content)}, format="multipart")
    assert made.status_code == 201, made.data
    address = made["Location"]
    assert made.data["state"] == "uploaded"
    assert program.post(address + "check/").status_code == 400
    fields = {"client": 1, "born": 2, "date": 3, "measure": 4, "value": 5}
    assert program.patch(address + "mapping/", {"fields": fields}).status_code == 428
    stale = program.patch(address + "mapping/", {"fields": fields}, headers={"If-Match": '"9"'})
    assert stale.status_code == 412
    refused = program.patch(
        address + "mapping/",
        {"fields": {**fields, "take": 40}, "date_order": "ymd"},
        headers={"If-Match": made["ETag"]},
    )
    assert refused.status_code == 400
    saved = program.patch(address + "mapping/", {"fields": fields}, headers={"If-Match": made["ETag"]})
    assert saved.status_code == 200, saved.data
    assert saved.data["mapping"]["fields"] == fields
    assert program.post(address + "take-over/").status_code == 409
    asked = program.post(address + "check/")
    assert (asked.status_code, asked.data["job"]["state"]) == (202, "waiting")
    assert program.post(address + "check/").status_code == 409
    assert last_job(house) == "done"
    assert program.get(address + "problems/").data == {
        "problems": [],
        "start": 0,
        "kept": 0,
        "count": 0,
        "remarks": [],
    }
    assert program.post(address + "take-over/").status_code == 202
    assert last_job(house) == "done"
    done = program.get(address)
    assert (done.data["state"], done.data["counts"]["new_readings"]) == ("taken_over", 1)
    assert program.delete(address).status_code == 409
    assert [row["id"] for row in program.get("/api/v1/reading-imports/").data["results"]] == [done.data["id"]]


def test_a_program_reads_problems_and_maps_measures_to_columns(house, olia, api):
    program = api(house.owner)
    heads = ("Who", "Born on", "Day", "X", "Y")
    rows = [("Olia Duarte", "1990-02-03", "2026-05-04", "76", "nothing")]
    address = program.post(
        "/api/v1/reading-imports/",
        {"file": io.BytesIO(as_csv(heads, rows)), "unit": "cm"},
        format="multipart",
    )["Location"]
    etag = program.get(address)["ETag"]
    wrong = program.patch(
        address + "mapping/", {"measures": {"x": "waist_girth"}}, headers={"If-Match": etag}
    )
    assert wrong.status_code == 400
    saved = program.patch(
        address + "mapping/", {"measures": {"4": "waist_girth", "5": "hip_girth"}}, headers={"If-Match": etag}
    )
    assert saved.status_code == 200, saved.data
    program.post(address + "check/")
    last_job(house)
    found = program.get(address + "problems/?start=0&count=5").data
    assert found["count"] == 1
    assert (found["problems"][0]["row"], found["problems"][0]["column"], found["problems"][0]["field"]) == (
        2,
        5,
        "value",
    )
    assert program.get(address + "problems/?start=-1").status_code == 400
    assert program.delete(address).status_code == 204
    assert program.get(address).status_code == 404


def test_the_same_upload_with_a_key_is_one_import(house, api):
    program = api(house.owner)
    head = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\n'
    answers = [
        program.post(
            "/api/v1/reading-imports/",
            head + as_csv(LONG, GOOD) + b"\r\n--x--\r\n",
            content_type="multipart/form-data; boundary=x",
            headers={"Idempotency-Key": "once"},
        )
        for _ in range(2)
    ]  # fmt: skip
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0]["Location"] == answers[1]["Location"]
    with house.scope():
        assert ReadingImport.objects.count() == 1


def test_a_large_upload_with_a_key_is_refused_in_words(house, api, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    answer = api(house.owner).post(
        "/api/v1/reading-imports/",
        {"file": io.BytesIO(b"a,b\n" * 2000)},
        format="multipart",
        headers={"Idempotency-Key": "large"},
    )
    assert answer.status_code == 413
    assert answer.headers["Content-Type"].startswith("application/problem+json")


def test_a_program_exports(house, olia, api):
    with house.scope():
        measured(house.owner, olia)
    program = api(house.owner)
    made = program.post("/api/v1/reading-exports/", {"form": "csv", "client": str(olia.pk)})
    assert made.status_code == 201
    address = urlsplit(made["Location"]).path
    assert program.get(address + "file/").status_code == 404
    last_job(house)
    assert program.get(address).data["state"] == "done"
    file = program.get(address + "file/")
    assert b"waist_girth" in b"".join(file.streaming_content)
    assert len(program.get("/api/v1/reading-exports/").data["results"]) == 1
    assert program.post("/api/v1/reading-exports/", {"form": "pdf"}).status_code == 400


def test_only_the_owner_s_programs_may(house, olia, api):
    row = uploaded(house, as_csv(LONG, GOOD))
    address = f"/api/v1/reading-imports/{row.pk}/"
    for actor in (house.instructor, house.clerk):
        program = api(actor)
        answers = [
            program.get("/api/v1/reading-imports/"),
            program.post("/api/v1/reading-imports/", {"file": io.BytesIO(b"a,b\n1,2\n")}, format="multipart"),
            program.get(address),
            program.delete(address),
            program.patch(address + "mapping/", {}, headers={"If-Match": '"1"'}),
            program.post(address + "check/"),
            program.post(address + "take-over/"),
            program.get(address + "problems/"),
            program.get("/api/v1/reading-exports/"),
            program.post("/api/v1/reading-exports/", {}),
        ]
        assert {answer.status_code for answer in answers} == {403}


def test_a_wide_file_is_mapped_and_taken_over_by_hand(house):
    heads = ("Person", "Birth", "On", "W")
    row = uploaded(house, as_csv(heads, [("Eva Reis", "1960-01-01", "2026-05-04", "76")]))
    mapped(
        house, row, fields={"client": 1, "born": 2, "date": 3}, measures={4: "waist_girth"}, **new_clients()
    )
    assert taken_over(house, checked(house, row)).counts["clients_new"] == 1
