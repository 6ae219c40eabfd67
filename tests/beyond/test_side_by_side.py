"""Two webs and two workers behind one address: nobody notices which one answered, and work is done once."""

import http.cookiejar
import itertools
import json
import os
import re
import socket
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage

from studio.platform.models import Job, StoredFile
from studio.platform.services.files import read_file
from studio.services.clients import record_client
from tests.conftest import PASSWORD, found_house, real_transactions
from tests.jobs.conftest import worker

pytestmark = [real_transactions, pytest.mark.slow]
ROOT = Path(__file__).resolve().parents[2]
COPIES = 6


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


@contextmanager
def web(port: int, environment: dict[str, str]) -> Iterator[None]:
    command = [
        sys.executable, "-m", "gunicorn", "studio.config.wsgi:application", "--bind", f"127.0.0.1:{port}",
        "--worker-class", "gthread", "--threads", "4", "--log-level", "warning", "--no-control-socket",
    ]  # fmt: skip
    process = subprocess.Popen(command, cwd=ROOT, env={**environment, "STUDIO_PROCESS": "web"})
    try:
        for _ in range(150):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/health/ready", timeout=2).close()
                break
            except OSError:
                time.sleep(0.2)
        yield
    finally:
        process.terminate()
        process.wait(20)


class OneAddress:
    """Hands each connection to the next of several ports, and counts."""

    def __init__(self, ports: list[int]) -> None:
        self.served: Counter[int] = Counter()
        self._next = itertools.cycle(ports)
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.address = f"http://127.0.0.1:{self._listener.getsockname()[1]}"
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listener.accept()
            except OSError:
                return
            port = next(self._next)
            self.served[port] += 1
            far = socket.create_connection(("127.0.0.1", port))
            threading.Thread(target=self._serve, args=(near, far), daemon=True).start()

    def _serve(self, near: socket.socket, far: socket.socket) -> None:
        with near, far:
            back = threading.Thread(target=self._pump, args=(far, near), daemon=True)
            back.start()
            self._pump(near, far)
            back.join()

    @staticmethod
    def _pump(source: socket.socket, target: socket.socket) -> None:
        try:
            while part := source.recv(65536):
                target.sendall(part)
            target.shutdown(socket.SHUT_WR)
        except OSError:
            pass

    def close(self) -> None:
        self._listener.close()


class Person:
    """A browser without scripts: cookies, forms, redirects."""

    def __init__(self, address: str) -> None:
        self.address = address
        jar = http.cookiejar.CookieJar()
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar))

    def get(self, path: str) -> str:
        with self.opener.open(self.address + path, timeout=30) as answer:
            return str(answer.read().decode())

    def post(self, path: str, page: str, **fields: str) -> str:
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)
        assert token
        body = urllib.parse.urlencode({"csrfmiddlewaretoken": token[1], **fields}).encode()
        with self.opener.open(self.address + path, body, timeout=30) as answer:
            return str(answer.read().decode())


def test_nobody_notices_which_machine_answered_and_each_work_is_done_once(
    transactional_db: Any, in_bucket: dict[str, str]
) -> None:
    house = found_house("Thimble Row")
    with house.scope():
        client = record_client(house.instructor, name="Leocadia Marchetti", consent_by="Leocadia Marchetti")
    environment = {
        **os.environ,
        **in_bucket,
        "DJANGO_SETTINGS_MODULE": "tests.settings",
        "ALLOWED_HOSTS": "127.0.0.1",
    }
    ports = [free_port(), free_port()]
    with ExitStack() as machines:
        for port in ports:
            machines.enter_context(web(port, environment))
        for _ in range(2):
            machines.enter_context(worker("", "reports", app="studio.config.celery:app", **in_bucket))
        door = OneAddress(ports)
        machines.callback(door.close)

        person = Person(door.address)
        page = person.get("/sign-in/")
        home = person.post("/sign-in/", page, email="owner@thimblerow.example", password=PASSWORD)
        assert "Thimble Row" in home
        kept = person.get(f"/clients/{client.pk}/kept/")
        for _ in range(COPIES):
            person.post(f"/clients/{client.pk}/copies/", kept)

        end = time.monotonic() + 90
        while time.monotonic() < end:
            with house.scope():
                jobs = list(Job.objects.filter(kind="copy_for_client"))
            if all(job.state == "done" for job in jobs):
                break
            time.sleep(0.3)
        assert [(job.state, job.attempts) for job in jobs] == [("done", 1)] * COPIES
        with house.scope():
            files = list(StoredFile.objects.filter(name__endswith=".zip"))
            assert {str(file.pk) for file in files} == {job.result["file"] for job in jobs}
            assert all(read_file(file)[:2] == b"PK" and default_storage.exists(file.key) for file in files)
        assert person.get(f"/clients/{client.pk}/kept/").count("Copy of") == COPIES
        assert min(door.served[port] for port in ports) >= 3, "both have answered the same person"
        assert json.loads(person.get("/health/ready"))["ready"]
