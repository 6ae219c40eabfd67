"""How long pages take while a class of 30 reports is made by one report worker:
`python -m tests.bench.class_reports [--reports 30] [--idle 40]`.

An installation of its own is served as in real use; a signed-in browser asks for a client's page, the bench and the
past fits by turns, first while nothing else is done, then while the reports are made. Printed, never asserted.
"""

import argparse
import json
import os
import shutil
import signal
import socket
import sys
import tempfile
import threading
from http.client import HTTPConnection
from pathlib import Path
from time import perf_counter, sleep
from typing import Any

from tests.bench.measured import Row, about, ms, quantile, table, tell

LONGEST = 900  # seconds until a batch counts as stuck
PAUSE = 0.1  # seconds between two pages


def set_up(reports: int) -> tuple[str, str, str, list[str]]:
    """A studio with ``reports`` students, each with a garment and its plan: (email, token, client, garments)."""
    from django.db import connections

    from studio.config.opening import opened
    from studio.platform.services.people import make_token
    from tests.conftest import found_house
    from tests.fitting.garment.conftest import fill

    with opened():
        house = found_house("Bench Class")
        with house.scope():
            shops = [fill(house, f"Student {number:02d}") for number in range(reports)]
            garments = [str(shop.signed_garment().pk) for shop in shops]
            token = make_token(house.instructor, name="class reports")[1]
        connections.close_all()
    return "instructor@benchclass.example", token, str(shops[0].client.pk), garments


def ask(address: str, token: str, method: str, path: str, body: Any = None) -> Any:
    """One request of a program; SystemExit where it is refused."""
    connection = HTTPConnection(address, timeout=60)
    headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
    connection.request(method, path, json.dumps(body) if body is not None else None, headers)
    answer = connection.getresponse()
    read = answer.read()
    connection.close()
    if answer.status >= 300:
        raise SystemExit(f"{path}: {answer.status} {read[:300]!r}")
    return json.loads(read)


def run(data: Path, *, reports: int, idle: int) -> list[Row]:
    from tests.conftest import PASSWORD
    from tests.faults.installation import Installation
    from tests.faults.programs import Ledger, Reader

    class Browser(Reader):
        def sign_in(self) -> None:
            if self._sign_in() != 302:
                raise SystemExit("Nobody could sign in.")

        def look(self, path: str) -> float:
            started = perf_counter()
            status = self._get("GET", path)[0]
            if status != 200:
                raise SystemExit(f"{path}: {status}")
            return perf_counter() - started

    email, token, client, garments = set_up(reports)
    pages = {
        "client": f"/clients/{client}/",
        "bench": "/bench/",
        "past fits": "/past-fits/?words=student",
    }
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    house = Installation(data, port)
    try:
        house.start()
        if not house.answers(180):
            raise SystemExit("serve did not answer.")
        browser = Browser(house.address, email, PASSWORD, Ledger(), threading.Event())
        browser.sign_in()
        quiet: dict[str, list[float]] = {name: [] for name in pages}
        loaded: dict[str, list[float]] = {name: [] for name in pages}
        for path in pages.values():
            browser.look(path)
        tell(f"{idle} looks at each page while nothing else is done")
        for _ in range(idle):
            for name, path in pages.items():
                quiet[name].append(browser.look(path))
                sleep(PAUSE)
        started = perf_counter()
        batch = ask(house.address, token, "POST", "/api/v1/report-batches/", {"garments": garments})
        asked = perf_counter() - started
        tell(f"{reports} reports asked for in {ms(asked)}")
        while True:
            for name, path in pages.items():
                loaded[name].append(browser.look(path))
                sleep(PAUSE)
            far = ask(house.address, token, "GET", f"/api/v1/report-batches/{batch['id']}/")
            if far["ended"]:
                break
            if perf_counter() - started > LONGEST:
                raise SystemExit(f"{far['done']} of {reports} after {LONGEST} s.")
        whole = perf_counter() - started
    finally:
        house.stop()
    tell(f"{far['done']} of {reports} made in {ms(whole)}")
    return [
        Row(
            f"{reports} reports by one worker",
            f"{ms(whole)}, {far['done']} made",
            "",
            ms(whole / reports),
            "-",
        ),
        *(
            Row(
                f"page {name} meanwhile, {len(loaded[name])} looks",
                f"p50 {ms(quantile(loaded[name], 0.5))}, p95 {ms(quantile(loaded[name], 0.95))}",
                f"idle: p50 {ms(quantile(quiet[name], 0.5))}, p95 {ms(quantile(quiet[name], 0.95))}",
                f"p95 {quantile(loaded[name], 0.95) / quantile(quiet[name], 0.95):.1f}",
                "-",
            )
            for name in pages
        ),
        Row(f"asking for {reports} reports in one request", ms(asked), "", ms(asked / reports), "-"),
    ]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.class_reports", description=__doc__)
    parser.add_argument("--reports", type=int, default=30, help="at most 60")
    parser.add_argument("--idle", type=int, default=40, help="looks at each page before")
    given = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="bench-class-"))
    folder.chmod(0o711)  # as root, the database runs as a system user of its own, who has to pass through
    for name in [n for n in os.environ if n.startswith(("DATABASE_", "STUDIO_", "CELERY_", "SECRET_KEY"))]:
        del os.environ[name]  # an installation of its own
    os.environ |= {"STUDIO_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "studio.config.settings"}
    os.environ["LOG_LEVEL"] = "ERROR"
    import django

    django.setup()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))  # what was started is stopped
    try:
        rows = run(folder, reports=given.reports, idle=given.idle)
        sys.stdout.write(table(rows) + "\n\n" + about(f"{given.reports} reports") + "\n")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
