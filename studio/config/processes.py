"""The parts of a running studio (web, workers, scheduler) as child processes that start and stop together."""

import ctypes
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from types import FrameType

from django.conf import settings

from studio.config.metrics import environment_for

STOP_SECONDS = 20.0
RESTART_PAUSE_SECONDS = 2.0
LEFT_BEHIND_SECONDS = 5.0  # for requests in hand of a web process whose parent was killed
PR_SET_PDEATHSIG = 1
CELERY = (
    sys.executable, "-W", "ignore:You're running the worker", "-m", "celery",
    "--quiet", "-A", "studio.config.celery:app",
)  # fmt: skip


@dataclass(frozen=True)
class Part:
    """One process: what it is called, how it is started, what it is told."""

    name: str
    command: Sequence[str]
    process: str  # becomes STUDIO_PROCESS
    place: int = 0  # added to the port at which figures are read

    @property
    def environment(self) -> dict[str, str]:
        """What the part finds in its environment beside what is there already."""
        figures = {}
        if self.process != "scheduler":
            figures = environment_for(settings.METRICS_ADDRESS, settings.DATA_DIR, self.name, self.place)
        return {"STUDIO_PROCESS": self.process, **figures}


def web(address: str) -> Part:
    return Part(
        "web",
        [
            sys.executable, "-m", "gunicorn", "studio.config.wsgi:application",
            "--bind", address, "--workers", str(settings.WEB_WORKERS), "--worker-class", "gthread", "--threads", "8",
            "--timeout", "60", "--graceful-timeout", "15", "--log-level", "warning", "--no-control-socket",
            "--config", "python:studio.config.gunicorn",
        ],
        "web",
    )  # fmt: skip


def worker(queue: str) -> Part:
    """A worker for one queue; reports have one of their own, whose child is replaced now and then."""
    return Part(
        f"worker for {queue}",
        [
            *CELERY, "worker", "--queues", queue, "--concurrency", str(settings.WORKER_CONCURRENCY),
            "--hostname", f"{queue}@%h", "--without-gossip", "--without-mingle", "--without-heartbeat",
            "--loglevel", "WARNING",
        ],
        "worker",
        1 + settings.QUEUES.index(queue),
    )  # fmt: skip


def scheduler() -> Part:
    return Part(
        "scheduler",
        [
            *CELERY, "beat",
            "--schedule", str(settings.DATA_DIR / "schedule"), "--pidfile=", "--loglevel", "WARNING",
        ],
        "scheduler",
    )  # fmt: skip


def port_problem(address: str) -> str | None:
    """A sentence if nobody can listen on this address, else None."""
    host, _, port = address.rpartition(":")
    try:
        number = int(port)
    except ValueError:
        return f"{address!r} is not an address: write it like 127.0.0.1:8000."
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host.strip("[]"), number))
        except OSError as exc:
            return f"Nobody can listen on {address} ({exc.strerror}): stop what is using it, or choose --address."
    return None


def wait_for_web(address: str, seconds: float = 30.0) -> bool:
    """True once the web process accepts connections."""
    host, _, port = address.rpartition(":")
    everywhere = host in {"0.0.0.0", ""}  # noqa: S104 - compared, not bound
    host = "127.0.0.1" if everywhere else host.strip("[]")
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        try:
            socket.create_connection((host, int(port)), timeout=1).close()
            return True
        except OSError:
            time.sleep(0.1)
    return False


def _die_with_parent() -> None:
    """Runs in the child: if the one who started us is killed, we are told to stop as well."""
    ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
    os.setpgid(0, 0)  # Ctrl-C reaches the parent alone, which then stops the parts in order


def _end_group(leader: int) -> None:
    """End what a part that was killed has left behind: a child of it would keep the port, or a task, to itself."""
    end = time.monotonic() + LEFT_BEHIND_SECONDS
    with suppress(ProcessLookupError):
        os.killpg(leader, signal.SIGTERM)
        while time.monotonic() < end:
            time.sleep(0.1)
            os.killpg(leader, 0)
        os.killpg(leader, signal.SIGKILL)


@dataclass
class Running:
    """Started parts; ``stop`` ends them in the order web, workers, scheduler."""

    say: Callable[[str], None]
    children: dict[str, tuple[Part, subprocess.Popen[bytes]]] = field(default_factory=dict)

    def start(self, part: Part) -> None:
        self.children[part.name] = (
            part,
            subprocess.Popen(  # noqa: S603 - our own command lines
                list(part.command),
                cwd=settings.BASE_DIR,
                env={**os.environ, **part.environment},
                preexec_fn=_die_with_parent,  # noqa: PLW1509 - one prctl call before exec, no threads yet
            ),
        )

    def watch(self, before: Callable[[], None] = lambda: None) -> None:
        """Start again what has ended by itself, after ``before``; runs until a signal raises KeyboardInterrupt."""
        while True:
            time.sleep(0.5)
            before()
            for part, child in list(self.children.values()):
                if child.poll() is not None:
                    self.say(
                        f"The {part.name} ended by itself (code {child.returncode}); it is started again."
                    )
                    _end_group(child.pid)
                    time.sleep(RESTART_PAUSE_SECONDS)
                    self.start(part)

    def stop(self) -> None:
        for _, child in self.children.values():
            if child.poll() is None:
                child.terminate()
        end = time.monotonic() + STOP_SECONDS
        for part, child in self.children.values():
            try:
                child.wait(max(0.1, end - time.monotonic()))
            except subprocess.TimeoutExpired:
                self.say(f"The {part.name} did not stop within {STOP_SECONDS:.0f} s and was killed.")
                os.killpg(child.pid, signal.SIGKILL)
                child.wait()
        self.children.clear()


def stop_on_signals() -> None:
    """Let SIGTERM end the program the way Ctrl-C does."""

    def interrupt(signum: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, interrupt)
    signal.signal(signal.SIGINT, interrupt)
