"""Invented files of readings, and the way through an import as a person takes it."""

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

from studio.platform.jobs import run_job
from studio.queries import transfer as queries
from studio.services import transfer

LONG = ("Client", "Birthday", "Date", "Measure", "Value", "Unit", "Take")


def as_csv(
    heads: Sequence[str], rows: Sequence[Sequence[Any]], delimiter: str = ",", encoding: str = "utf-8"
) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, delimiter=delimiter)
    writer.writerow(heads)
    writer.writerows(rows)
    return text.getvalue().encode(encoding)


def as_book(heads: Sequence[str], rows: Sequence[Sequence[Any]]) -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(list(heads))
    for row in rows:
        sheet.append(list(row))
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def uploaded(house: Any, content: bytes, name: str = "readings.csv", **facts: Any) -> Any:
    with house.scope():
        return transfer.upload_readings(house.owner, content=io.BytesIO(content), name=name, **facts)


def mapped(house: Any, row: Any, **facts: Any) -> Any:
    with house.scope():
        return transfer.map_columns(house.owner, row.pk, expected_version=None, **facts)


def checked(house: Any, row: Any) -> Any:
    """The import after its dry run."""
    with house.scope():
        job = transfer.check_readings(house.owner, row.pk).job
    assert run_job(house.studio_id, job.pk) == "done", told(house, job)
    return seen(house, row)


def taken_over(house: Any, row: Any) -> Any:
    with house.scope():
        job = transfer.take_over_readings(house.owner, row.pk).job
    assert run_job(house.studio_id, job.pk) == "done", told(house, job)
    return seen(house, row)


def told(house: Any, job: Any) -> str:
    with house.scope():
        job.refresh_from_db()
        return str(job.error)


def seen(house: Any, row: Any) -> Any:
    with house.scope():
        return queries.import_get(house.owner, row.pk)


def problems(house: Any, row: Any) -> list[tuple[int, str, str]]:
    with house.scope():
        found = queries.problems_of(house.owner, row.pk, count=10_000).problems
    return [(each["row"], each["field"], each["reason"]) for each in found]


def whole_way(house: Any, content: bytes, name: str = "readings.csv", **mapping: Any) -> Any:
    """Upload, map, check without problems, take over."""
    row = uploaded(house, content, name)
    if mapping:
        mapped(house, row, **mapping)
    row = checked(house, row)
    assert problems(house, row) == []
    return taken_over(house, row)


def readings_of(house: Any) -> list[tuple[Any, ...]]:
    """Everything that a round trip must keep, in a stable order."""
    from studio.models import Reading

    with house.scope():
        rows = Reading.objects.select_related("measuring__measured_by", "client", "supersedes").order_by(
            "client__name", "measure", "take", "id"
        )
        return [
            (
                row.client.name, row.measuring.measured_at, row.measure, row.take, row.value, row.typed, row.reason,
                row.kept_because, row.supersedes.value if row.supersedes else None, row.measuring.over,
                row.measuring.shoes, row.measuring.posture, row.measuring.notes, row.measuring.measurer,
            )
            for row in rows
        ]  # fmt: skip


def new_clients() -> Mapping[str, Any]:
    return {"new_clients": True, "consent_stated": True}
