"""What the worker read from a file, kept on disk in the shape that COPY takes: no table is touched while it reads.

The files have no name in the file system: when the worker is killed, they are gone.
"""

import tempfile
from dataclasses import dataclass, field
from typing import IO, Any
from zoneinfo import ZoneInfo

from uuid_utils import uuid7

from studio.calc.transfer import Occasion, Reading

KEPT_PROBLEMS = 10_000
_NULL = "\\N"
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
        texts = (
            said.client_id, said.client, said.born, said.telephone, said.guardian, said.body_model,
            said.token, said.at.isoformat(), said.at.astimezone(self.zone).date().isoformat(), said.measured_by,
            said.over, said.shoes, said.posture, said.tape, said.guardian_present, said.notes,
        )  # fmt: skip
        cells = "\t".join([text.translate(_ESCAPES) for text in texts])
        self.occasions.write(f"{self.occasion_count}\t{row}\t{cells}\t{uuid7()}\t{uuid7()}\n".encode())

    def reading(self, reading: Reading) -> None:
        self.reading_count += 1
        row, column, measure, take, value, typed, typed_in, *rest = reading
        said = "\t".join([text.translate(_ESCAPES) if text else "" for text in rest])
        self.readings.write(
            f"{self.reading_count}\t{row}\t{column}\t{self.occasion_count}\t{uuid7()}\t{measure}\t{take}\t"
            f"{_NULL if value is None else value}\t{typed.translate(_ESCAPES)}\t{typed_in}\t{said}\n".encode()
        )

    def problem(self, row: int, name: str, column: int, reason: str) -> None:
        self.problem_count += 1
        if len(self.problems) < KEPT_PROBLEMS:
            self.problems.append({"row": row, "field": name, "column": column, "reason": reason})

    def close(self) -> None:
        self.occasions.close()
        self.readings.close()
