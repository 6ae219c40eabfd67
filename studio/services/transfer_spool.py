"""What the worker read from a file, kept on disk in the shape that COPY takes: no table is touched while it reads.

The files have no name in the file system: when the worker is killed, they are gone.
"""

import tempfile
from dataclasses import dataclass, field
from decimal import Decimal
from typing import IO, Any
from zoneinfo import ZoneInfo

from studio.calc.transfer import Occasion, Reading
from studio.platform.models.base import new_id

KEPT_PROBLEMS = 10_000
_ESCAPES = str.maketrans({"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"})

Problem = dict[str, Any]  # {"row", "field", "column", "reason"}


@dataclass
class Spool:
    """Takes occasions, readings and problems in the order of the rows (an ``Intake`` of the calculations)."""

    zone: ZoneInfo
    occasions: IO[bytes] = field(default_factory=tempfile.TemporaryFile)
    readings: IO[bytes] = field(default_factory=tempfile.TemporaryFile)
    problems: list[Problem] = field(default_factory=list)
    problem_count: int = 0
    occasion_count: int = 0
    reading_count: int = 0

    def occasion(self, row: int, occasion: Occasion) -> None:
        self.occasion_count += 1
        said = occasion
        self.occasions.write(
            _line(
                self.occasion_count,
                row,
                said.client_id,
                said.client,
                said.born,
                said.telephone,
                said.guardian,
                said.token,
                said.at.isoformat(),
                said.at.astimezone(self.zone).date().isoformat(),
                said.measured_by,
                said.over,
                said.shoes,
                said.posture,
                said.tape,
                said.guardian_present,
                said.notes,
                new_id(),
                new_id(),
            )
        )

    def reading(self, reading: Reading) -> None:
        self.reading_count += 1
        read = reading
        self.readings.write(
            _line(
                self.reading_count,
                read.row,
                read.column,
                self.occasion_count,
                new_id(),
                read.measure,
                read.take,
                read.value,
                read.typed,
                read.typed_in,
                read.token,
                read.supersedes,
                read.reason,
                read.kept_because,
            )
        )

    def problem(self, row: int, name: str, column: int, reason: str) -> None:
        self.problem_count += 1
        if len(self.problems) < KEPT_PROBLEMS:
            self.problems.append({"row": row, "field": name, "column": column, "reason": reason})

    def close(self) -> None:
        self.occasions.close()
        self.readings.close()


def _line(*values: Any) -> bytes:
    return ("\t".join([_cell(value) for value in values]) + "\n").encode()


def _cell(value: Any) -> str:
    if isinstance(value, str):
        return value if value.isalnum() else value.translate(_ESCAPES)
    if value is None:
        return "\\N"
    if isinstance(value, Decimal):
        return format(value, "f")
    return str(value)
