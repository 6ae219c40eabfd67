"""A bucket of our own on this machine, spoken to as any S3-compatible storage is."""

from collections.abc import Iterator
from typing import Any

import boto3
import pytest
from moto.server import ThreadedMotoServer

KEYS = {
    "AWS_ACCESS_KEY_ID": "nobody",
    "AWS_SECRET_ACCESS_KEY": "nothing",
    "AWS_DEFAULT_REGION": "us-east-1",
}


@pytest.fixture
def bucket(monkeypatch: pytest.MonkeyPatch) -> Iterator[dict[str, str]]:
    """The environment that an installation with a bucket has; the bucket is empty."""
    for name, value in KEYS.items():
        monkeypatch.setenv(name, value)
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    address = f"http://{host}:{port}"
    boto3.client("s3", endpoint_url=address).create_bucket(Bucket="studio-files")
    yield {**KEYS, "FILES_BUCKET": "studio-files", "FILES_ENDPOINT": address}
    server.stop()


@pytest.fixture
def in_bucket(bucket: dict[str, str], settings: Any) -> dict[str, str]:
    """This process keeps its files in the bucket."""
    from studio.config.storage import file_storage

    settings.STORAGES = {**settings.STORAGES, "default": file_storage(bucket, settings.FILES_DIR)}
    return bucket
