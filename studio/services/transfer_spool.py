"""What the worker read from a file, kept on disk in the shape that COPY takes: no table is touched while it reads.

The files have no name in the file system: when the worker is killed, they are gone.
"""

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import IO, Any
from zoneinfo import ZoneInfo

from uuid_utils import uuid7

from studio.calc.transfer import Occasion, Reading

KEPT_PROBLEMS = 10_000
_AT_ONCE = 1000  # readings that are written together
_NULL = "\\N"
_ESCAPES = str.maketrans({"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"})

Problem = dict[str, Any]  # {"row", "field", "column", "reason"}


@dataclass
class Spool:
    """Takes occasions, readings and problems in the order of the rows (an ``Intake`` of the calculations).

    ``limits``: measure -> the range (mm or kg) that is within every reach of a tape; what lies outside is marked, so
    that the database looks at these alone. A measure that is not named is always marked.
    """

    zone: ZoneInfo
    limits: Mapping[str, tuple[Decimal, Decimal]] = field(default_factory=dict)
    occasions: IO[bytes] = field(default_factory=tempfile.TemporaryFile)
    readings: IO[bytes] = field(default_factory=tempfile.TemporaryFile)
    problems: list[Problem] = field(default_factory=list)
    problem_count: int = 0
    occasion_count: int = 0
    reading_count: int = 0
    correction_count: int = 0
    most_takes: int = 0
    repeats: bool = False  # one occasion names a measure's take twice
    _named: set[tuple[str, int, str]] = field(default_factory=set)
    _lines: list[str] = field(default_factory=list)

    def occasion(self, row: int, occasion: Occasion) -> None:
        self.occasion_count += 1
        self._named.clear()
        said = occasion
        texts = (
            said.client_id, said.client, said.born, said.telephone, said.guardian, said.body_model,
            said.token, said.at.isoformat(), said.at.astimezone(self.zone).date().isoformat(), said.measured_by,
            said.over, said.shoes, said.posture, said.tape, said.guardian_present, said.notes,
        )  # fmt: skip
        cells = "\t".join([text.translate(_ESCAPES) for text in texts])
        self.occasions.write(f"{self.occasion_count}\t{row}\t{cells}\t{uuid7()}\t{uuid7()}\n".encode())

    def reading(self, reading: Reading) -> None:
        self.reading_count += 1
        row, column, measure, take, value, typed, typed_in, token, supersedes, reason, kept = reading
        self.most_takes = max(self.most_takes, take)
        key = (measure, take, supersedes)
        if key in self._named:
            self.repeats = True
        else:
            self._named.add(key)
        said = "\t\t\t"
        if token or supersedes or reason or kept:
            self.correction_count += bool(supersedes)
            said = "\t".join([text.translate(_ESCAPES) for text in (token, supersedes, reason, kept)])
        if not typed.isalnum():
            typed = typed.translate(_ESCAPES)
        near = value is None
        if value is not None and measure in self.limits:
            low, high = self.limits[measure]
            near = low <= value <= high
        self._lines.append(
            f"{self.reading_count}\t{row}\t{column}\t{self.occasion_count}\t{uuid7()}\t{measure}\t{take}\t"
            f"{_NULL if value is None else value}\t{typed}\t{typed_in}\t{'f' if near else 't'}\t{said}\n"
        )
        if len(self._lines) >= _AT_ONCE:
            self._write()

    def _write(self) -> None:
        self.readings.write("".join(self._lines).encode())
        self._lines.clear()

    def finish(self) -> None:
        """All is written; the files can be read from their beginnings."""
        self._write()

    def problem(self, row: int, name: str, column: int, reason: str) -> None:
        self.problem_count += 1
        if len(self.problems) < KEPT_PROBLEMS:
            self.problems.append({"row": row, "field": name, "column": column, "reason": reason})

    def close(self) -> None:
        self.occasions.close()
        self.readings.close()
