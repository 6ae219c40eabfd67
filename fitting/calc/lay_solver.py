"""The packer in a process of its own: asked, listened to, and ended.

Irregular strip packing by the library `spyrrow`; its process is `lay_child.py`. Whatever happens there (a panic,
a kill, no answer in time) comes back here as one sentence, and nothing of it is left running.
"""

from __future__ import annotations

import contextlib
import json
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Tell = Callable[[float, float | None], None]
"""Told about once a second: the share of the time that is gone (0 to 1), and the best length so far (mm)."""

CHILD = Path(__file__).with_name("lay_child.py")
GRACE_SECONDS = 20.0  # beyond the time given, before a silent solver is ended
TELL_EVERY_SECONDS = 0.5


class NoLay(Exception):
    """No lay was found although the pieces are in order; the sentence is for whoever asked."""


@dataclass(frozen=True)
class SolverItem:
    """A shape to be packed `count` times, turned by one of `turns` degrees about (0, 0)."""

    key: str
    shape: Sequence[tuple[float, float]]
    count: int
    turns: Sequence[float]


@dataclass(frozen=True)
class Packed:
    """The best packing that was told: its length, and (key, x, y, turn) of every shape."""

    length: float
    placed: tuple[tuple[str, float, float, float], ...]


@dataclass(frozen=True)
class Task:
    """What to pack into a strip of `width`, by how many threads.

    `patience` (0 to 19) is the niceness of its process: the search that decides goes before one beside it.
    """

    items: Sequence[SolverItem]
    width: float
    workers: int
    patience: int = 0


class Packing:
    """One solver at work. Use as a context: leaving it ends the process, however it is left."""

    def __init__(self, task: Task, *, seconds: int, seed: int, early: bool) -> None:
        self.best: Packed | None = None
        self.ended = False
        self._lines: queue.Queue[str | None] = queue.Queue()
        self._process = subprocess.Popen(  # noqa: S603 - our own file, by the interpreter that runs us
            [sys.executable, "-I", str(CHILD)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        told = {
            "width": task.width,
            "seconds": seconds,
            "seed": seed,
            "workers": task.workers,
            "early": early,
            "patience": task.patience,
            "items": [
                {"id": item.key, "shape": list(item.shape), "count": item.count, "turns": list(item.turns)}
                for item in task.items
            ],
        }
        threading.Thread(target=self._listen, daemon=True).start()
        try:
            assert self._process.stdin is not None
            self._process.stdin.write(json.dumps(told) + "\n")
            self._process.stdin.flush()
        except OSError:
            pass  # it has died already; the listener finds its end

    def __enter__(self) -> Packing:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()

    def _listen(self) -> None:
        assert self._process.stdout is not None
        try:
            for line in self._process.stdout:
                self._lines.put(line)
        except ValueError:
            pass  # closed while we read
        self._lines.put(None)

    def hear(self, seconds: float) -> None:
        """Take in what was told within the next `seconds`."""
        until = time.monotonic() + seconds
        while not self.ended:
            try:
                line = self._lines.get(timeout=max(0.0, until - time.monotonic()))
            except queue.Empty:
                return
            self._take(line)

    def _take(self, line: str | None) -> None:
        if line is None:
            self.ended = True
            return
        message: dict[str, Any] = json.loads(line)
        if "done" in message:
            self.ended = True
        else:
            placed = tuple((str(k), float(x), float(y), float(t)) for k, x, y, t in message["placed"])
            self.best = Packed(float(message["length"]), placed)


def pack(tasks: Sequence[Task], *, seconds: int, seed: int, early: bool, tell: Tell | None) -> list[Packed]:
    """Pack every task side by side, each in a process of its own.

    Raises NoLay where one gives no answer; whatever `tell` raises ends all of them and goes on up.
    """
    started = time.monotonic()
    running: list[Packing] = []
    try:
        for task in tasks:
            running.append(Packing(task, seconds=seconds, seed=seed, early=early))
        for _ in _beats(running, started + seconds + GRACE_SECONDS):
            if tell is not None:
                gone = min(1.0, (time.monotonic() - started) / max(1, seconds))
                lengths = [one.best.length for one in running if one.best]
                tell(gone, min(lengths) if lengths else None)
    finally:
        for one in running:
            one.__exit__()
    found = [one.best for one in running if one.best is not None]
    if len(found) != len(running):
        raise NoLay(
            "The search for a lay stopped without an answer. Give it more time; if it persists, lay one piece "
            "less to find out which one it can't place."
        )
    return found


def _beats(running: Sequence[Packing], until: float) -> Iterator[None]:
    while any(not one.ended for one in running) and time.monotonic() < until:
        yield
        for one in running:
            one.hear(TELL_EVERY_SECONDS / len(running))
