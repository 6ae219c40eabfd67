"""Where stored files lie: a folder, or a bucket that several machines share."""

from collections.abc import Mapping
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from studio.config import environment

SECONDS_TO_CONNECT, SECONDS_TO_READ, TRIES = (
    3,
    30,
    2,
)  # a request must not wait long for a storage that is away


def file_storage(env: Mapping[str, str], folder: Path) -> dict[str, Any]:
    """The entry of ``STORAGES``: the bucket in FILES_BUCKET, else ``folder``. Raises BadEnvironment.

    Any storage that speaks S3 will do; FILES_ENDPOINT is its address where it isn't Amazon's own. Keys and region come
    from the variables that every S3 client reads (AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY, AWS_DEFAULT_REGION).
    """
    bucket = environment.text(env, "FILES_BUCKET", "")
    if not bucket:
        return {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {
                "location": str(folder),
                "file_permissions_mode": 0o600,
                "directory_permissions_mode": 0o700,
            },
        }
    if find_spec("storages") is None or find_spec("boto3") is None:
        raise environment.BadEnvironment(
            "FILES_BUCKET is set, but its client is not installed: pip install '.[s3]'."
        )
    from botocore.config import Config

    return {
        "BACKEND": "storages.backends.s3.S3Storage",
        "OPTIONS": {
            "bucket_name": bucket,
            "endpoint_url": environment.text(env, "FILES_ENDPOINT", "") or None,
            "default_acl": None,  # the bucket's own rule; nothing here is for the public
            "file_overwrite": False,
            "client_config": Config(
                signature_version="s3v4",
                s3={"addressing_style": "path"},
                connect_timeout=SECONDS_TO_CONNECT,
                read_timeout=SECONDS_TO_READ,
                retries={"total_max_attempts": TRIES},
            ),
        },
    }
