"""Files in a bucket: kept, read, handed out, cleared away, backed up; and a bucket that is away."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import boto3
import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone

from studio.config.archive import restore_archive, write_archive
from studio.config.environment import BadEnvironment
from studio.config.storage import file_storage
from studio.platform.errors import StorageFailed
from studio.platform.models import StoredFile
from studio.platform.services import tidy
from studio.platform.services.files import let_go, read_file, store_file
from studio.services.client_copy import ask_copy, finish_copy, prepare_copy, work_copy
from studio.services.clients import record_client
from tests.conftest import found_house, real_transactions


def keys_in(bucket: dict[str, str]) -> set[str]:
    client = boto3.client("s3", endpoint_url=bucket["FILES_ENDPOINT"])
    listed = client.list_objects_v2(Bucket=bucket["FILES_BUCKET"]).get("Contents", [])
    return {row["Key"] for row in listed}


@pytest.mark.django_db
def test_a_file_is_kept_read_handed_out_and_let_go(
    in_bucket: dict[str, str], house: Any, page: Any, django_capture_on_commit_callbacks: Any
) -> None:
    with house.scope():
        client = record_client(house.instructor, name="Leocadia Marchetti", consent_by="Leocadia Marchetti")
        job = ask_copy(house.owner, client.pk)
        order = prepare_copy(job.arguments)
        packed = work_copy(order, lambda percent, words: None)
        result = finish_copy(job.arguments, order, packed)
        row = StoredFile.objects.get(pk=result["file"])
        assert keys_in(in_bucket) == {row.key}
        assert read_file(row) == packed
    answer = page(house.owner).get(f"/clients/{client.pk}/copies/{row.pk}/")
    assert b"".join(answer.streaming_content) == packed
    with house.scope(), django_capture_on_commit_callbacks(execute=True):
        let_go(row.key)
    assert keys_in(in_bucket) == set()


@pytest.mark.django_db
def test_bytes_without_a_row_are_cleared_away_after_a_day(
    in_bucket: dict[str, str], house: Any, monkeypatch: Any
) -> None:
    with house.scope():
        kept = store_file(b"kept", name="a.pdf", media_type="application/pdf")
        default_storage.save(f"{house.studio_id}/stray", ContentFile(b"stray"))
        assert tidy.tidy()["files"] == 0
        later = timezone.now() + timedelta(days=2)
        monkeypatch.setattr(timezone, "now", lambda: later)
        assert tidy.tidy()["files"] == 1
    assert keys_in(in_bucket) == {kept.key}


@real_transactions
def test_a_backup_of_a_bucket_comes_back_into_it(
    in_bucket: dict[str, str], transactional_db: Any, tmp_path: Path
) -> None:
    house = found_house("Thimble Row")
    with house.scope():
        kept = store_file(b"%PDF a page", name="a.pdf", media_type="application/pdf")
    assert write_archive(tmp_path / "studio.tar").files == 1
    default_storage.delete(kept.key)
    restore_archive(tmp_path / "studio.tar", over=True)
    with house.scope():
        assert read_file(kept) == b"%PDF a page"


@pytest.mark.django_db
def test_a_bucket_that_is_away_is_told_in_a_sentence_and_nothing_is_half_saved(
    in_bucket: dict[str, str], house: Any, page: Any, api: Any, settings: Any
) -> None:
    away = {**in_bucket, "FILES_ENDPOINT": "http://127.0.0.1:9"}  # nobody listens there
    settings.STORAGES = {**settings.STORAGES, "default": file_storage(away, settings.FILES_DIR)}
    with house.scope():
        with pytest.raises(StorageFailed, match="Nothing was saved"), transaction.atomic():
            store_file(b"lost", name="a.pdf", media_type="application/pdf")
        assert not StoredFile.objects.exists()
    upload = {"file": ContentFile(b"name,measure,value\nOlia,waist,70\n", name="readings.csv"), "unit": "cm"}
    browser = page(house.owner)
    browser.raise_request_exception = False
    answer = browser.post("/transfer/", upload)
    assert answer.status_code == 503, answer.content[:300]
    assert "Nothing was saved" in answer.content.decode()
    upload = {"file": ContentFile(b"name,measure,value\nOlia,waist,70\n", name="readings.csv")}
    program = api(house.owner)
    program.raise_request_exception = False
    problem = program.post("/api/v1/reading-imports/", upload, format="multipart")
    assert (problem.status_code, problem["Content-Type"]) == (503, "application/problem+json")


def test_a_bucket_without_its_client_is_refused_at_the_start(monkeypatch: Any, tmp_path: Path) -> None:
    monkeypatch.setattr("studio.config.storage.find_spec", lambda name: None)
    with pytest.raises(BadEnvironment, match="not installed"):
        file_storage({"FILES_BUCKET": "x"}, tmp_path)
    assert "FileSystem" in file_storage({}, tmp_path)["BACKEND"]
