"""Kinds of work that exist for tests only: registered by importing this module, in the test and in its worker."""

import os
import time
from typing import Any

from studio.platform.errors import JobFailed
from studio.platform.registries import JobKind, Progress, register_job
from studio.platform.rights import Right
from studio.platform.services.files import store_file

SECONDS = float(os.environ.get("TEST_JOB_SECONDS", "0"))


def _prepare(arguments: dict[str, Any]) -> dict[str, Any]:
    return {"text": arguments["text"], "trouble": arguments.get("trouble", "")}


def _work(snapshot: dict[str, Any], tell: Progress) -> bytes:
    if snapshot["trouble"] == "refused":
        raise JobFailed("The sample was cut too short to be measured.")
    if snapshot["trouble"] == "broken":
        raise RuntimeError("a fault of ours")
    end = time.monotonic() + SECONDS
    while time.monotonic() < end:
        time.sleep(0.1)
        tell(50, "half way")
    return snapshot["text"].encode()


def _finish(arguments: dict[str, Any], snapshot: dict[str, Any], output: bytes) -> dict[str, Any]:
    return {"file": str(store_file(output, name="note.txt", media_type="text/plain").pk)}


register_job(JobKind("test_note", "Test note", "general", _prepare, _work, _finish, right=Right.FIT))
