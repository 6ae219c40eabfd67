"""Taking cloths, supplies, recipes and trials out, in the form in which an import takes them in again."""

import csv
import io
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import IO, Any, BinaryIO, cast
from zoneinfo import ZoneInfo

from django.utils import timezone

from seamlab.calc.transfer_cells import Table
from seamlab.queries.transfer import EXPORT_JOB
from seamlab.queries.transfer_rows import rows_of
from seamlab.queries.transfer_tables import TABLES, by_code
from studio.calc.transfer_words import escape_cell
from studio.platform.errors import JobFailed, Refused
from studio.platform.models import Job
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.jobs import ask_for

FORMS = ("xlsx", "csv")
MEDIA_TYPES = {
    "csv": "text/csv",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
NUMBERS = frozenset({"number", "whole", "length"})
TELL_EVERY = 1000
WIDEST = 44


@dataclass(frozen=True)
class Spooled:
    """One table's rows on disk as they were at one moment, and how many there are."""

    table: Table
    rows: IO[bytes]
    count: int


@dataclass(frozen=True)
class ExportOrder:
    form: str
    name: str
    tables: tuple[Spooled, ...]


def export_library(actor: Actor, *, file_form: str = "xlsx", table: str = "") -> Job:
    """Ask for a workbook with everything (``table`` empty) or one table (its code) as XLSX or CSV.

    The job that is returned is the export; its result names the file. Raises Refused (form, table).
    """
    actor.need(Right.KEEP_SEAMS)
    reasons = {}
    if file_form not in FORMS:
        reasons["form"] = f"An export is one of {', '.join(FORMS)} (got {file_form[:16]!r})."
    if table and table not in by_code():
        reasons["table"] = f"There is no table {table[:32]!r}; choose one of {', '.join(by_code())}."
    if file_form == "csv" and not table:
        reasons["table"] = "A CSV file holds one table: say which, or take a workbook with all."
    if reasons:
        raise Refused(reasons)
    job = ask_for(actor, EXPORT_JOB, {"form": file_form, "table": table, "zone": actor.time_zone})
    record_act(actor, "export_library", job, form=file_form, table=table or "all")
    return job


def prepare_export(arguments: Mapping[str, Any]) -> ExportOrder:
    """In scope: the rows as text, on disk."""
    zone = ZoneInfo(arguments["zone"])
    tables = (by_code()[arguments["table"]],) if arguments["table"] else TABLES
    spooled = []
    for table in tables:
        rows: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 - closed when the file is written
        text = io.TextIOWrapper(cast(BinaryIO, rows), encoding="utf-8", newline="")
        writer = csv.writer(text)
        count = 0
        for values in rows_of(table.code):
            writer.writerow([cell_of(values.get(column.key), zone, column.kind) for column in table.columns])
            count += 1
        text.flush()
        text.detach()
        spooled.append(Spooled(table, rows, count))
    name = arguments["table"].replace("_", "-") or "cloth-and-seams"
    return ExportOrder(
        arguments["form"],
        f"{name}-{timezone.localdate(timezone=zone):%Y-%m-%d}.{arguments['form']}",
        tuple(spooled),
    )


def write_export(order: ExportOrder, progress: Progress) -> IO[bytes]:
    """Without a database: the file, on disk."""
    made: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 - closed when the file is stored
    if order.form == "csv":
        _write_csv(order.tables[0], made, progress)
    else:
        _write_book(order.tables, made, progress)
    for spooled in order.tables:
        spooled.rows.close()
    return made


def finish_export(arguments: Mapping[str, Any], order: ExportOrder, made: IO[bytes]) -> dict[str, Any]:
    """In scope: keep the file."""
    from studio.services.transfer import store_stream

    stored = store_stream(cast(BinaryIO, made), name=order.name, media_type=MEDIA_TYPES[order.form])
    made.close()
    return {
        "file": str(stored.pk),
        "name": order.name,
        "rows": sum(spooled.count for spooled in order.tables),
        "tables": [{"table": spooled.table.code, "rows": spooled.count} for spooled in order.tables],
    }


def cell_of(value: Any, zone: ZoneInfo | None = None, kind: str = "") -> str:
    """A value as its cell says it; an import reads the same value from it again."""
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    if isinstance(value, datetime):
        local = value.astimezone(zone) if zone else value
        exact = local.second or local.microsecond
        return local.isoformat(" ") if exact else local.isoformat(" ", "minutes")
    if isinstance(value, list):
        if value and isinstance(value[0], dict):
            return ", ".join(f"{_plain(part['percent'])} % {part['fibre']}" for part in value)
        return "; ".join(str(part) for part in value)
    if kind == "choice":
        return str(value).replace("_", " ")
    return str(value)


def _plain(value: Any) -> str:
    return format(Decimal(str(value)).normalize(), "f")


def _write_csv(spooled: Spooled, made: IO[bytes], progress: Progress) -> None:
    # The mark at the start tells spreadsheets that the letters are UTF-8.
    text = io.TextIOWrapper(cast(BinaryIO, made), encoding="utf-8-sig", newline="")
    writer = csv.writer(text)
    writer.writerow([column.head for column in spooled.table.columns])
    numeric = [column.kind in NUMBERS for column in spooled.table.columns]
    for number, row in enumerate(_rows(spooled)):
        writer.writerow(
            [cell if is_number else escape_cell(cell) for cell, is_number in zip(row, numeric, strict=True)]
        )
        _tell(progress, number, spooled)
    text.flush()
    text.detach()


def _write_book(tables: Sequence[Spooled], made: IO[bytes], progress: Progress) -> None:
    import openpyxl
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    most = max(spooled.count for spooled in tables)
    if most > 1_000_000:
        raise JobFailed(f"{most:,} rows are more than a sheet holds: export this table as CSV.")
    book = openpyxl.Workbook(write_only=True)
    for spooled in tables:
        sheet = book.create_sheet(spooled.table.title)
        sheet.freeze_panes = "B2"
        numeric = [column.kind in NUMBERS for column in spooled.table.columns]
        for index, column in enumerate(spooled.table.columns, 1):
            width = 12 if column.kind in NUMBERS else 24 if column.kind == "moment" else 18
            sheet.column_dimensions[get_column_letter(index)].width = max(
                width, min(len(column.head) + 2, WIDEST)
            )
        heads = []
        for column in spooled.table.columns:
            cell = WriteOnlyCell(sheet, value=column.head)
            cell.font = Font(bold=True)
            heads.append(cell)
        sheet.append(heads)
        for number, row in enumerate(_rows(spooled)):
            sheet.append(
                [
                    None if not cell else Decimal(cell) if is_number
                    # Signs that a workbook can't hold: nobody sees them.
                    else escape_cell(ILLEGAL_CHARACTERS_RE.sub(" ", cell))
                    for cell, is_number in zip(row, numeric, strict=True)
                ]
            )  # fmt: skip
            _tell(progress, number, spooled)
    book.save(made)


def _tell(progress: Progress, number: int, spooled: Spooled) -> None:
    if number % TELL_EVERY == 0:
        progress(
            90 * number // max(spooled.count, 1),
            f"{spooled.table.title}: {number:,} of {spooled.count:,} rows written",
        )


def _rows(spooled: Spooled) -> Iterator[list[str]]:
    spooled.rows.seek(0)
    text = io.TextIOWrapper(cast(BinaryIO, spooled.rows), encoding="utf-8", newline="")
    yield from csv.reader(text)
    text.detach()
