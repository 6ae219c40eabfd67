"""The second start of `serve` until its pages answer, beside the start of the embedded server alone."""

import os
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import urllib.error
import urllib.request
from pathlib import Path
from time import monotonic, perf_counter, sleep

from tests.bench.measured import Row, ms, tell

ROOT = Path(__file__).resolve().parents[2]
LONGEST = 300  # seconds until a start counts as failed


def rows(*, rounds: int) -> list[Row]:
    from studio.config.embedded import running

    with tempfile.TemporaryDirectory(prefix="bench-start-") as kept:
        Path(kept).chmod(0o711)  # as root, the server's own system user has to pass through
        serve_once(Path(kept))  # the first start prepares the database
        ours: list[float] = []
        alone: list[float] = []
        for _ in range(rounds):
            started = perf_counter()
            with running(Path(kept) / "postgres"):
                alone.append(perf_counter() - started)
            ours.append(serve_once(Path(kept)))
    tell(f"start: {rounds} times each")
    more = statistics.median(ours) - statistics.median(alone)
    return [
        Row(
            f"start of serve, from the second time on, until a page answers, {rounds} times",
            f"median {ms(statistics.median(ours))}",
            f"embedded server alone: median {ms(statistics.median(alone))}",
            f"{more:.1f} s longer",
            "within 3 s",
        )
    ]


def serve_once(folder: Path) -> float:
    """Seconds from the command until a health page answers; everything is stopped again."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{free.getsockname()[1]}"
    env = {name: value for name, value in os.environ.items() if name != "PUBLIC_URL"}
    started = perf_counter()
    child = subprocess.Popen(
        [sys.executable, str(ROOT / "manage.py"), "serve", "--address", address],
        env={**env, "STUDIO_DATA": str(folder)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        end = monotonic() + LONGEST
        while monotonic() < end:
            try:
                with urllib.request.urlopen(f"http://{address}/health/ready", timeout=5):
                    return perf_counter() - started
            except (urllib.error.URLError, OSError):
                sleep(0.05)
        raise SystemExit("serve did not answer.")
    finally:
        child.send_signal(signal.SIGTERM)
        child.wait(60)
