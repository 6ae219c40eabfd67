"""Exporting readings of a client, a course or the studio, in the form that an import understands by itself."""

import csv
import io
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import IO, Any, BinaryIO, cast
from uuid import UUID

from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.utils import timezone

from studio.calc.transfer_words import escape_cell
from studio.models import Client, Course
from studio.platform.errors import JobFailed, NotHere, Refused
from studio.platform.models import Job, StoredFile
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.jobs import ask_for
from studio.queries.choices import known_measures
from studio.queries.transfer import EXPORT_JOB
from studio.services.transfer import store_stream
from studio.services.transfer_intake import prepare_transaction
from studio.services.transfer_work import acting_member

FORMS = ("csv", "xlsx")
KEPT_DAYS = 7  # how long an export can be fetched
MOST_IN_BOOK = 1_000_000  # rows that a sheet holds
MEDIA_TYPES = {
    "csv": "text/csv",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
HEADS = (
    "Client id", "Client", "Birthday", "Telephone", "Guardian", "Body model", "Occasion", "Date", "Measured by",
    "Over", "Shoes", "Posture", "Tape", "Guardian present", "Notes", "Measure", "Name of the measure", "Take", "Value",
    "Unit", "Typed", "Reading number", "Supersedes", "Reason", "Kept because",
)  # fmt: skip

# Only readings that correct or were corrected carry a number: the others need none.
_ROWS = """
    with numbered as materialized (
        select r.id, r.measuring_id, r.measure, r.take, r.value, r.typed, r.supersedes_id, r.reason, r.kept_because,
               row_number() over (order by r.measuring_id, r.measure, r.take, r.id) as number
        from studio_reading r where {which}
    )
    select c.id, c.name, c.born, c.telephone, c.guardian_name, c.body_model,
           dense_rank() over (order by c.name, c.id, m.measured_at, m.id) as occasion,
           m.measured_at at time zone 'UTC',
           case when m.measurer_known then who.name else m.measurer_told end,
           m.over, m.shoes, m.posture, m.tape, m.guardian_present, m.notes,
           n.measure, n.take, n.value, n.typed,
           case when old.id is not null or exists (select from numbered x where x.supersedes_id = n.id)
               then n.number end,
           old.number, n.reason, n.kept_because
    from numbered n
    join studio_measuring m on m.id = n.measuring_id
    join studio_client c on c.id = m.client_id
    join platform_member who on who.id = m.measured_by_id
    left join numbered old on old.id = n.supersedes_id
    order by occasion, n.measure, n.take, n.id
"""
_WHICH = {
    "studio": "true",
    "client": "r.client_id = %(id)s",
    "course": "r.client_id in (select client_id from studio_enrolment where course_id = %(id)s)",
}


@dataclass(frozen=True)
class ExportOrder:
    """``rows`` are the readings as COPY wrote them, on disk; the work turns them into the file that is wanted."""

    form: str
    name: str
    rows: IO[bytes]
    count: int
    names: Mapping[str, str]
    weights: frozenset[str]
    actor: Actor


def export_readings(
    actor: Actor, *, file_form: str = "csv", client_id: UUID | None = None, course_id: UUID | None = None
) -> Job:
    """Ask for a file with every reading of a client, of everybody who is or was in a course, or of the studio.

    ``file_form`` is "csv" or "xlsx". The job that is returned is the export; its result names the file. Raises
    NotHere and Refused (``form``, ``course``).
    """
    actor.need(Right.EXPORT_AND_ERASE)
    if file_form not in FORMS:
        raise Refused({"form": f"An export is one of {', '.join(FORMS)} (got {file_form[:16]!r})."})
    if client_id is not None and course_id is not None:
        raise Refused({"course": "Export a client or a course, not both."})
    arguments: dict[str, Any] = {
        "form": file_form,
        "of": "studio",
        "id": None,
        "member": str(actor.member_id),
    }
    if client_id is not None:
        if not Client.objects.filter(pk=client_id, erased_at=None).exists():
            raise NotHere("client")
        arguments |= {"of": "client", "id": str(client_id)}
    if course_id is not None:
        if not Course.objects.filter(pk=course_id).exists():
            raise NotHere("course")
        arguments |= {"of": "course", "id": str(course_id)}
    forget_exports(actor)
    job = ask_for(actor, EXPORT_JOB, arguments)
    record_act(actor, "export_readings", job, client_id=client_id, of=arguments["of"], form=file_form)
    return job


def tell_download(actor: Actor, job: Job, file: StoredFile) -> None:
    """Write down that an export was fetched."""
    actor.need(Right.EXPORT_AND_ERASE)
    record_act(actor, "fetch_export", job, client_id=file.client_id)


def forget_exports(actor: Actor) -> None:
    """Delete the bytes of exports after their days."""
    actor.need(Right.EXPORT_AND_ERASE)
    before = timezone.now() - timedelta(days=KEPT_DAYS)
    jobs = Job.objects.filter(kind=EXPORT_JOB, state=Job.State.DONE, ended_at__lt=before).order_by("-id")[
        :500
    ]
    ids = [job.result["file"] for job in jobs if "file" in job.result]
    for file in StoredFile.objects.filter(pk__in=ids):
        if default_storage.exists(file.key):
            transaction.on_commit(lambda key=file.key: default_storage.delete(key), robust=True)  # type: ignore[misc]


def prepare_export(arguments: Mapping[str, Any]) -> ExportOrder:
    """In scope: the readings, copied to disk as they are at this moment."""
    actor = acting_member(arguments)
    name = "studio"
    if arguments["of"] == "course":
        course = Course.objects.filter(pk=arguments["id"]).first()
        if course is None:
            raise JobFailed("This course is not there any more.")
        name = "course"
    if arguments["of"] == "client":
        if not Client.objects.filter(pk=arguments["id"], erased_at=None).exists():
            raise JobFailed("This client is not there any more.")
        name = "client"
    rows: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 - closed when the file is stored
    with connection.cursor() as cursor:
        prepare_transaction(cursor)
        query = _ROWS.format(which=_WHICH[arguments["of"]])
        statement = cursor.cursor.mogrify(query, {"id": arguments["id"]})
        with cursor.copy(f"copy ({statement}) to stdout with (format csv)") as copy:
            for part in copy:
                rows.write(part)
        count = cursor.rowcount
    if arguments["form"] == "xlsx" and count > MOST_IN_BOOK:
        raise JobFailed(f"{count:,} readings are more than a sheet holds: export them as CSV.")
    measures = known_measures(actor)
    return ExportOrder(
        arguments["form"],
        f"readings-of-{name}-{timezone.localdate():%Y-%m-%d}.{arguments['form']}",
        rows,
        count,
        {code: found.name for code, found in measures.items()},
        frozenset(code for code, found in measures.items() if found.unit == "kg"),
        actor,
    )


def write_export(order: ExportOrder, progress: Progress) -> IO[bytes]:
    """Without a database: the file, on disk."""
    made: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 - closed when the file is stored
    if order.form == "csv":
        _write_csv(order, made, progress)
    else:
        _write_book(order, made, progress)
    order.rows.close()
    return made


def finish_export(arguments: Mapping[str, Any], order: ExportOrder, made: IO[bytes]) -> dict[str, Any]:
    """In scope: keep the file. A client's own is hers to be erased with her."""
    client_id = UUID(arguments["id"]) if arguments["of"] == "client" else None
    if client_id and not Client.objects.filter(pk=client_id, erased_at=None).exists():
        raise JobFailed("This client is not there any more.")
    stored = store_stream(
        cast(BinaryIO, made), name=order.name, media_type=MEDIA_TYPES[order.form], client_id=client_id
    )
    made.close()
    return {"file": str(stored.pk), "readings": order.count}


def _write_csv(order: ExportOrder, made: IO[bytes], progress: Progress) -> None:
    # The mark at the start tells spreadsheets that the letters are UTF-8.
    text = io.TextIOWrapper(cast(BinaryIO, made), encoding="utf-8-sig", newline="")
    writer = csv.writer(text)
    writer.writerow(HEADS)
    for number, row in enumerate(_rows(order)):
        writer.writerow([escape_cell(cell) if isinstance(cell, str) else cell for cell in row])
        if number % 1000 == 0:
            progress(90 * number // max(order.count, 1), f"{number:,} of {order.count:,} readings written")
    text.flush()
    text.detach()


def _write_book(order: ExportOrder, made: IO[bytes], progress: Progress) -> None:
    import openpyxl
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    def kept(cell: Any) -> Any:
        # Signs that a workbook can't hold: nobody sees them.
        return escape_cell(ILLEGAL_CHARACTERS_RE.sub(" ", cell)) if isinstance(cell, str) else cell

    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Readings")
    sheet.append(HEADS)
    for number, row in enumerate(_rows(order)):
        sheet.append([kept(cell) for cell in row])
        if number % 1000 == 0:
            progress(90 * number // max(order.count, 1), f"{number:,} of {order.count:,} readings written")
    book.save(made)


def _rows(order: ExportOrder) -> Iterator[list[Any]]:
    """Each reading as its cells; numbers stay numbers for a sheet to count with."""
    order.rows.seek(0)
    text = io.TextIOWrapper(cast(BinaryIO, order.rows), encoding="utf-8", newline="")
    zone = order.actor.zone
    last_at, shown_at = "", ""
    for row in csv.reader(text):
        (client, name, born, telephone, guardian, model, occasion, at, by, over, shoes, posture, tape, present, notes,
         measure, take, value, typed, number, supersedes, reason, kept) = row  # fmt: skip
        if at != last_at:
            last_at, shown_at = at, datetime.fromisoformat(f"{at}+00:00").astimezone(zone).isoformat()
        weight = measure in order.weights
        amount = Decimal(value) if weight else Decimal(value) / 10
        yield [
            client, name, born, telephone, guardian, model, int(occasion), shown_at, by, over.replace("_", " "),
            "yes" if shoes == "t" else "no", posture, tape, present, notes, measure,
            order.names.get(measure, measure), int(take), Decimal(format(amount.normalize(), "f")),
            "kg" if weight else "cm", typed,
            int(number) if number else "", int(supersedes) if supersedes else "", reason, kept,
        ]  # fmt: skip
    text.detach()
