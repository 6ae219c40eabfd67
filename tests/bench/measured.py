"""Clocks, quantiles and the table of the speed benchmarks.

Wall time is what people wait; processor time (this process and the server process that works for it) is what the work
costs, and hardly moves when something else runs on the machine. Both are shown.
"""

import os
import platform
import statistics
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from time import perf_counter, process_time
from typing import Any


def tell(line: str) -> None:
    """Something that is not part of the table: what is being done, or why a figure is as it is."""
    sys.stderr.write(line + "\n")
    sys.stderr.flush()


def backend_seconds(pid: int) -> float:
    """Processor seconds that the server process ``pid`` has taken so far; 0 where it can't be looked at."""
    import psutil

    try:
        times = psutil.Process(pid).cpu_times()
    except psutil.Error:
        return 0.0
    return float(times.user + times.system)


@dataclass
class Spent:
    """Seconds of each repetition, by the wall and of the processors."""

    wall: list[float] = field(default_factory=list)
    processor: list[float] = field(default_factory=list)

    @property
    def median(self) -> float:
        return statistics.median(self.wall)

    @property
    def p95(self) -> float:
        return quantile(self.wall, 0.95)

    @property
    def processor_mean(self) -> float:
        """The mean, since the server's clock ticks a hundred times a second."""
        return statistics.fmean(self.processor)

    @contextmanager
    def once(self, backend: int) -> Iterator[None]:
        """Time the block; ``backend`` is the process id of the server's side, 0 for none."""
        there, here, at = backend_seconds(backend) if backend else 0.0, process_time(), perf_counter()
        yield
        self.wall.append(perf_counter() - at)
        now = backend_seconds(backend) if backend else 0.0
        self.processor.append(process_time() - here + now - there)


def quantile(values: Sequence[float], share: float) -> float:
    """The value below which ``share`` of the values lie, interpolated (type 7 of Hyndman & Fan 1996)."""
    ordered = sorted(values)
    place = (len(ordered) - 1) * share
    low = int(place)
    high = min(low + 1, len(ordered) - 1)
    return ordered[low] + (ordered[high] - ordered[low]) * (place - low)


def in_turns(rounds: int, ways: dict[str, Callable[[], Any]], backends: dict[str, int]) -> dict[str, Spent]:
    """Do each way once a round, by turns in either order, so that what disturbs one disturbs the other."""
    spent = {name: Spent() for name in ways}
    for number in range(rounds):
        for name in list(ways) if number % 2 else reversed(ways):
            with spent[name].once(backends.get(name, 0)):
                ways[name]()
    return spent


@dataclass(frozen=True)
class Row:
    """One line of the table. ``ratio`` is the figure over its floor, as ``aim`` means it."""

    what: str
    figure: str
    floor: str
    ratio: str
    aim: str


def ms(seconds: float) -> str:
    return f"{seconds * 1e3:.1f} ms" if seconds < 1 else f"{seconds:.2f} s"


def table(rows: Sequence[Row]) -> str:
    """The rows as a table of markdown."""
    heads = ("what", "figure", "floor, in the same run", "ratio", "aim")
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    lines += ["| " + " | ".join((row.what, row.figure, row.floor, row.ratio, row.aim)) + " |" for row in rows]
    return "\n".join(lines)


def about(size: str) -> str:
    """When and on what it was measured, with how busy the machine was."""
    import psutil

    memory = psutil.virtual_memory().total / 2**30
    load = ", ".join(f"{each:.1f}" for each in os.getloadavg())
    return (
        f"{datetime.now(UTC):%d %B %Y}, size {size}, {os.cpu_count()} cores, {memory:.0f} GiB, "
        f"Python {platform.python_version()}; load averages at the end {load}."
    )
