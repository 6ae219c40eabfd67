"""What is told to whoever watches over an installation: figures, spans, logs; and what is never told."""

import io
import logging
import os
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.conf import settings
from django.test import Client as Browser

from studio.config import logs
from studio.platform import tracing
from studio.services.clients import record_client
from tests.conftest import found_house, real_transactions

ROOT = Path(__file__).resolve().parents[2]
NAMES = ["Leocadia", "Leocadia"]


def _free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


@real_transactions
def test_the_web_tells_its_figures_for_all_its_processes(transactional_db: Any, tmp_path: Path) -> None:
    house = found_house("Thimble Row")
    with house.scope():
        client = record_client(house.instructor, name="Leocadia Marchetti", consent_by="Leocadia Marchetti")
    port, figures = _free_port(), _free_port()
    from studio.config.processes import web

    part = web(f"127.0.0.1:{port}")
    environment = {
        **os.environ,
        **part.environment,
        "WEB_WORKERS": "2",
        "METRICS_LISTEN": f"127.0.0.1:{figures}",
        "PROMETHEUS_MULTIPROC_DIR": str(tmp_path / "figures"),
        "DJANGO_SETTINGS_MODULE": "tests.settings",
    }
    command = [word if word != "1" else "2" for word in part.command]
    process = subprocess.Popen(command, cwd=ROOT, env=environment, stderr=subprocess.DEVNULL)
    try:
        told = ""
        for _ in range(120):
            try:
                for path in ("/sign-in/", f"/clients/{client.pk}/?words=Leocadia", "/nowhere/Leocadia/"):
                    with urllib.request.urlopen(
                        urllib.request.Request(
                            f"http://127.0.0.1:{port}{path}", headers={"Host": "localhost"}
                        ),
                        timeout=5,
                    ):
                        pass
            except urllib.error.HTTPError:
                pass
            except OSError:
                time.sleep(0.5)
                continue
            with urllib.request.urlopen(f"http://127.0.0.1:{figures}/metrics", timeout=5) as answer:
                told = answer.read().decode()
            if "platform:sign-in" in told and 'state="open"' in told:
                break
            time.sleep(0.2)
    finally:
        process.terminate()
        process.wait(20)
    assert 'studio_requests_total{method="GET",route="platform:sign-in",status="200"}' in told
    assert 'studio_request_seconds_bucket{le="0.5",route="platform:sign-in"}' in told
    assert 'studio_database_connections{state="open"}' in told
    for secret in ("Leocadia", str(client.pk), str(house.studio_id), "Thimble"):
        assert secret not in told


@pytest.mark.django_db
def test_spans_bear_routes_and_kinds_and_nothing_of_a_person(monkeypatch: Any) -> None:
    from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter

    kept = InMemorySpanExporter()
    monkeypatch.setattr(tracing, "TRACERS", [])
    tracing.start(kept)
    Browser().get("/sign-in/?next=/clients/?words=Leocadia", headers={"X-Request-Id": "by-the-proxy-1"})
    with pytest.raises(ValueError, match="Leocadia"), tracing.span("job fit_report"):
        raise ValueError("Leocadia has nothing to report")
    request, job = kept.get_finished_spans()
    assert request.name == "GET platform:sign-in"
    assert dict(request.attributes or {}) == {
        "http.response.status_code": 200,
        "request.id": "by-the-proxy-1",
    }
    assert job.name == "job fit_report"
    assert "Leocadia" not in request.to_json() + job.to_json()


def test_without_a_word_in_the_environment_nothing_is_traced_or_counted(monkeypatch: Any) -> None:
    monkeypatch.delenv("OTEL_EXPORTER_OTLP_ENDPOINT", raising=False)
    monkeypatch.setattr(tracing, "TRACERS", [])
    tracing.start()
    with tracing.span("x") as nothing:
        assert nothing is None
    code = (
        "import sys; from studio.platform.metrics import count_request; count_request('a', 'GET', 200, 1.0); "
        "assert 'prometheus_client' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)


@pytest.fixture
def written(monkeypatch: Any) -> Any:
    """What the house's own handler writes, as JSON lines."""
    root = logging.getLogger()
    before = root.handlers[:], root.level
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    logs.configure({"level": "INFO", "json": True})
    yield stream
    root.handlers[:], root.level = before
    logs.configure(settings.LOGGING)


@pytest.mark.django_db
def test_logs_hold_ids_and_routes_but_no_names_paths_or_figures(house: Any, page: Any, written: Any) -> None:
    browser = page(house.owner)
    browser.raise_request_exception = False
    browser.get("/clients/?words=Leocadia")
    browser.get("/nowhere/Leocadia/")
    browser.post("/clients/new/", {"name": "Leocadia Marchetti", "telephone": "0555 014 277", "unit": "cm"})
    told = written.getvalue()
    assert '"route": "studio:clients"' in told
    assert '"request": "' in told
    for secret in ("Leocadia", "0555"):
        assert secret not in told, told


@pytest.mark.django_db
def test_a_refusal_of_the_database_is_logged_without_its_values(house: Any, written: Any) -> None:
    try:
        with psycopg.connect(settings.DATABASE.logins["owner"].conninfo()) as connection:
            connection.execute("create temporary table t (name text primary key)")
            connection.execute("insert into t values (%s), (%s)", NAMES)
    except psycopg.Error:
        logging.getLogger("somebody").exception("not saved")
        logs.structlog.get_logger("studio.somebody").exception("not saved either")
    told = written.getvalue()
    assert told.count("UniqueViolation") >= 2
    assert told.count("left out") == 2
    assert "Leocadia" not in told
