"""The copy for the client: everything to read, everything as data, her files; fetched for a week, then gone."""

import io
import json
import zipfile
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.utils import timezone
from pypdf import PdfReader

from studio.platform.errors import JobFailed, NotAllowed
from studio.platform.models import AuditEntry, Job, StoredFile
from studio.platform.registries import CLIENT_SECTIONS
from studio.queries import client_copy as copies
from studio.services import clients
from studio.services.client_copy import ask_copy, clear_old_copies, finish_copy, prepare_copy, work_copy
from tests.fitting.garment.conftest import Shop, fill
from tests.fitting.garment.test_export import live

pytestmark = pytest.mark.django_db


def made(shop: Shop) -> StoredFile:
    job = ask_copy(shop.house.owner, shop.client.pk)
    order = prepare_copy(job.arguments)
    result = finish_copy(job.arguments, order, work_copy(order, lambda percent, words: None))
    return StoredFile.objects.get(pk=result["file"])


def test_a_copy_holds_the_document_the_data_and_her_files(shop: Shop) -> None:
    live(shop, "Olia")
    bystander = fill(shop.house, "Noor Haddad")
    live(bystander, "Noor")
    with default_storage.open(made(shop).key, "rb") as stored:
        archive = zipfile.ZipFile(io.BytesIO(stored.read()))
    assert archive.testzip() is None
    data = json.loads(archive.read("data.json"))
    assert data["client_id"] == str(shop.client.pk)
    names = [name for name in archive.namelist() if name.startswith("files/")]
    stored_names = {row["name"] for row in data["studio"]["files"]}
    assert {name.split("-", 1)[1] for name in names} <= stored_names
    assert any(name.endswith(".jpg") for name in names)
    assert any(name.endswith(".pdf") for name in names)

    document = PdfReader(io.BytesIO(archive.read("what-we-keep.pdf")))
    text = " ".join(page.extract_text() for page in document.pages)
    text = " ".join(text.split())
    for words in (
        shop.client.name,
        "gapes at the back",
        "at the side seam",
        "likes deep pockets",
        "left pocket",
    ):
        assert words in text, words
    assert "Noor" not in text
    assert "Noor" not in json.dumps(data)
    assert document.trailer["/Root"]["/MarkInfo"]["/Marked"]


def test_every_section_fills_its_columns(shop: Shop) -> None:
    live(shop, "Olia")
    for _, of in CLIENT_SECTIONS:
        for section in of(shop.house.owner, shop.client.pk):
            assert section.rows, section.title
            assert {len(row) for row in section.rows} == {len(section.columns)}, section.title


def test_a_copy_is_for_the_owner_and_for_a_week(shop: Shop, page: Any, api: Any) -> None:
    with pytest.raises(NotAllowed):
        ask_copy(shop.house.instructor, shop.client.pk)
    file = made(shop)
    where = f"/clients/{shop.client.pk}/copies/{file.pk}/"
    assert page(shop.house.clerk).get(where).status_code == 403
    assert b"Copy of" in page(shop.house.owner).get(f"/clients/{shop.client.pk}/kept/").content
    answer = page(shop.house.owner).get(where)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/zip")
    fetched = b"".join(answer.streaming_content)
    assert fetched[:2] == b"PK"
    told = api(shop.house.owner).get(f"/api/v1/clients/{shop.client.pk}/copies/").json()
    assert [row["sha256"] for row in told] == [file.sha256]
    assert {"ask_copy", "export_client", "fetch_copy"} <= set(
        AuditEntry.objects.values_list("act", flat=True)
    )

    assert clear_old_copies() == 0
    later = timezone.now() + timedelta(days=copies.KEPT_DAYS + 1)
    with pytest.MonkeyPatch.context() as clock:
        clock.setattr(timezone, "now", lambda: later)
        assert copies.copies_of(shop.house.owner, shop.client.pk) == []
        assert clear_old_copies() == 1


def test_a_copy_goes_with_her_and_none_is_made_afterwards(
    shop: Shop, django_capture_on_commit_callbacks: Any
) -> None:
    file = made(shop)
    job = ask_copy(shop.house.owner, shop.client.pk)
    order = prepare_copy(job.arguments)
    with django_capture_on_commit_callbacks(execute=True):
        clients.erase_client(shop.house.owner, shop.client.pk, reason="asked by letter")
    assert not default_storage.exists(file.key)
    assert not StoredFile.objects.filter(pk=file.pk).exists()
    with pytest.raises(JobFailed, match="erased"):
        finish_copy({}, order, b"PK")
    with pytest.raises(JobFailed):
        prepare_copy(Job.objects.get(pk=job.pk).arguments)
