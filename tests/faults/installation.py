"""An installation of its own: made once, served by ``manage.py serve``, killed piece by piece."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO
from urllib.error import URLError
from urllib.request import urlopen

import psutil

ROOT = Path(__file__).resolve().parents[2]
QUICK = {
    "JOB_LEASE_SECONDS": "10",  # what a killed worker had in hand is taken up again soon
    "JOB_RESEND_SECONDS": "5",
    "JOB_SWEEP_SECONDS": "3",
    "THROTTLE_SIGNED_IN": "100000/min",
    "THROTTLE_ANONYMOUS": "100000/min",
    "LOG_LEVEL": "WARNING",
}
"""A shorter patience than the product's own, so that 200 kills fit into half an hour; nothing else differs."""


@dataclass
class Installation:
    """One data folder and the ``serve`` that runs on it; whoever kills ``serve`` gets another."""

    data: Path
    port: int
    process: subprocess.Popen[bytes] | None = None
    starts: int = 0
    log: IO[bytes] | None = None
    _gate: threading.Lock = field(default_factory=threading.Lock)

    @property
    def address(self) -> str:
        return f"127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start ``serve``; it goes on by itself."""
        if self.log is None:
            self.log = (self.data / "serve.log").open("ab")
        self.starts += 1
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--address", self.address],
            cwd=ROOT,
            env={**os.environ, **QUICK, "STUDIO_DATA": str(self.data), "PYTHONUNBUFFERED": "1"},
            stdout=self.log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )

    def keep_up(self) -> None:
        """What a service manager does: start ``serve`` again where it has ended."""
        with self._gate:
            if self.process is not None and self.process.poll() is not None:
                self.start()

    def answers(self, seconds: float) -> bool:
        """Whether the pages answer with the database behind them within ``seconds``."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self.keep_up()
            with (
                suppress(URLError, OSError),
                urlopen(f"http://{self.address}/health/ready", timeout=3) as found,
            ):
                if found.status == 200:
                    return True
            time.sleep(0.2)
        return False

    def stop(self) -> None:
        """Stop it as Ctrl-C does, and see to it that nothing is left."""
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
            with suppress(subprocess.TimeoutExpired):
                self.process.wait(40)
        for one in [*self.parts(), *self.database()]:
            kill(one)
        if self.log is not None:
            self.log.close()

    # --- who runs ---------------------------------------------------------------------------------------------

    def parts(self) -> list[psutil.Process]:
        """Every process of this installation but the database: known by the data folder in its environment."""
        return [one for one in _processes() if _of(one, self.data)]

    def postmaster(self) -> psutil.Process | None:
        try:
            pid = int((self.data / "postgres" / "postmaster.pid").read_text().splitlines()[0])
            found = psutil.Process(pid)
        except (OSError, ValueError, IndexError, psutil.Error):
            return None
        return found if found.name().startswith("postgres") and _lives(found) else None

    def database(self) -> list[psutil.Process]:
        postmaster = self.postmaster()
        return [] if postmaster is None else [*_children(postmaster), postmaster]


def kill(process: psutil.Process) -> bool:
    """SIGKILL; False where it has ended already."""
    try:
        process.kill()
    except psutil.Error:
        return False
    return True


def _lives(process: psutil.Process) -> bool:
    try:
        return bool(process.status() != psutil.STATUS_ZOMBIE)
    except psutil.Error:
        return False


def _children(process: psutil.Process) -> list[psutil.Process]:
    try:
        return list(process.children(recursive=True))
    except psutil.Error:
        return []


def _processes() -> Iterator[psutil.Process]:
    for one in psutil.process_iter():
        if one.pid != os.getpid() and _lives(one):
            yield one


def _of(process: psutil.Process, data: Path) -> bool:
    try:
        return process.environ().get("STUDIO_DATA") == str(data)
    except (psutil.Error, OSError):
        return False


def words_of(process: psutil.Process) -> str:
    try:
        return " ".join(process.cmdline())
    except psutil.Error:
        return ""
