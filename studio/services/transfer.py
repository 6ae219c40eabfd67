"""Importing readings from a file: uploading, saying what its columns hold, a dry run, taking over all or nothing."""

import hashlib
import re
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import islice
from time import sleep
from typing import Any, BinaryIO, cast
from uuid import UUID

from django.core.files import File
from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.utils import timezone

from studio.calc.transfer import Layout, faults_of, find_heads, guess_layout
from studio.calc.transfer_files import LOOKED_AT, FileKind, look_into, rows_of
from studio.calc.transfer_rows import Totals, read_rows
from studio.calc.transfer_words import Words
from studio.models import Measuring, ReadingImport
from studio.platform.database.scope import current_studio_id
from studio.platform.errors import Conflict, JobFailed, NotAllowed, NotHere, Refused
from studio.platform.jobs import PROGRESS_EVERY_SECONDS
from studio.platform.models import Job, Member, StoredFile
from studio.platform.models.base import new_id
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.jobs import ask_for
from studio.platform.services.saving import lock_for_edit, save_new
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures
from studio.queries.transfer import bytes_there, kind_of, layout_of, words_for
from studio.services.transfer_intake import Found, examine, forget_tables
from studio.services.transfer_people import Wishes
from studio.services.transfer_spool import Spool
from studio.services.transfer_store import store_all

CHECK_JOB = "check_readings"
TAKE_OVER_JOB = "take_over_readings"
UNUSED_DAYS = 30  # how long an upload waits to be taken over before its bytes are deleted
_ONE_AT_A_TIME = 51_770_303  # any number that is the same in every process
_TELL_EVERY = 1000  # rows
_READ_PERCENT = 40  # of the whole, as measured by tests/bench/imports.py
_MEDIA_TYPES = {
    "csv": "text/csv",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@dataclass(frozen=True)
class ReadingOrder:
    """All that reading the file needs, gathered in scope; the work itself touches no database."""

    import_id: UUID
    key: str
    sha256: str
    kind: FileKind
    layout: Layout
    words: Words
    measures: Mapping[str, CatalogueMeasure]
    actor: Actor
    now: datetime


def upload_readings(actor: Actor, *, content: BinaryIO, name: str, unit: str | None = None) -> ReadingImport:
    """Keep a CSV or XLSX file and guess what its columns hold; nothing is checked or taken over yet.

    ``unit`` ("cm", "in", "mm"; by default the studio's) holds where the file names none. The content decides
    what the file is. Raises Refused (``file``, ``unit``).
    """
    actor.need(Right.EXPORT_AND_ERASE)
    unit = unit or actor.unit
    words = words_for(known_measures(actor))
    try:
        kind = look_into(content)
        first = list(islice(rows_of(content, kind), LOOKED_AT))
    except ValueError as exc:
        raise Refused({"file": str(exc)}) from exc
    head_row, heads = find_heads(first, words)
    if not heads:
        raise Refused({"file": "The file holds no table: no row with text was found."})
    layout = guess_layout(heads, head_row, words, unit)
    if "unit" in faults_of(layout, words):
        raise Refused({"unit": faults_of(layout, words)["unit"]})
    forget_unused(actor)
    shown = _file_name(name, kind.kind)
    row = save_new(
        ReadingImport(
            file_id=store_stream(content, name=shown, media_type=_MEDIA_TYPES[kind.kind]).pk,
            name=shown,
            columns=list(heads),
            mapping={
                "file": {
                    "kind": kind.kind,
                    "encoding": kind.encoding,
                    "delimiter": kind.delimiter,
                    "sheet": kind.sheet,
                },
                **_as_mapping(layout),
                "over": Measuring.Over.CLOSE_CLOTHING.value,
                "new_clients": False,
                "consent_stated": False,
            },
            unit=unit,
            uploaded_by_id=actor.member_id,
        )
    )
    record_act(actor, "upload_readings", row, size=row.file.size)
    return row


def map_columns(
    actor: Actor,
    import_id: UUID,
    *,
    expected_version: int | None,
    fields: Mapping[str, int] | None = None,
    measures: Mapping[int, str] | None = None,
    unit: str | None = None,
    date_order: str | None = None,
    decimal_mark: str | None = None,
    over: str | None = None,
    new_clients: bool | None = None,
    consent_stated: bool | None = None,
) -> ReadingImport:
    """Say which column (from 1) holds what and how the file is meant; what is left out stays as it was.

    ``fields``: our field -> column; ``measures``: column -> code of a measure, for files with one measuring a
    row. ``new_clients`` makes clients who are not here yet, which needs ``consent_stated``: the importing
    member's word that each of them has consented to the measuring. What was checked before has to be checked
    again. Raises NotHere, Stale, Conflict and Refused (``fields.date``, ``measures.5``, ``unit`` ...).
    """
    actor.need(Right.EXPORT_AND_ERASE)
    row = _open_import(import_id, expected_version)
    old = layout_of(row)
    layout = Layout(
        fields=old.fields if fields is None else dict(fields),
        measures=old.measures if measures is None else dict(measures),
        unit=old.unit if unit is None else unit,
        date_order=old.date_order if date_order is None else date_order,
        decimal_mark=old.decimal_mark if decimal_mark is None else decimal_mark,
        head_row=old.head_row,
        heads=old.heads,
    )
    mapping = {**row.mapping, **_as_mapping(layout)}
    for name, value in (("over", over), ("new_clients", new_clients), ("consent_stated", consent_stated)):
        if value is not None:
            mapping[name] = value
    reasons = faults_of(layout, words_for(known_measures(actor)))
    if mapping["over"] not in Measuring.Over.values:
        reasons["over"] = f"What was worn is one of {', '.join(Measuring.Over.values)}."
    if mapping["new_clients"] and not mapping["consent_stated"]:
        reasons["consent_stated"] = (
            "New clients are made only with consent: state that each of them has consented to the measuring."
        )
    if reasons:
        raise Refused(reasons)
    row.mapping, row.unit = mapping, layout.unit
    row.state, row.rows, row.problems, row.problem_count, row.counts = row.State.UPLOADED, 0, [], 0, {}
    row.version += 1
    row.save()
    record_act(actor, "map_columns", row)
    return row


def check_readings(actor: Actor, import_id: UUID) -> ReadingImport:
    """Ask for a dry run: every problem by row and field, and what would be taken over. It changes nothing else.

    Raises NotHere, Conflict, and Refused where the columns are not said yet.
    """
    actor.need(Right.EXPORT_AND_ERASE)
    row = _open_import(import_id, None)
    reasons = faults_of(layout_of(row), words_for(known_measures(actor)))
    if reasons:
        raise Refused(reasons)
    return _hand_over(actor, row, CHECK_JOB)


def take_over_readings(actor: Actor, import_id: UUID) -> ReadingImport:
    """Ask for a checked file to be taken over, all of it or nothing. Raises NotHere, Conflict."""
    actor.need(Right.EXPORT_AND_ERASE)
    row = _open_import(import_id, None)
    if row.state != ReadingImport.State.CHECKED:
        raise Conflict("Check the file first: only what was checked is taken over.")
    if row.problem_count:
        raise Conflict(
            f"The check found {row.problem_count} problems: nothing is taken over until there are none."
        )
    return _hand_over(actor, row, TAKE_OVER_JOB)


def discard_import(actor: Actor, import_id: UUID) -> None:
    """Delete an upload that is not wanted, with its bytes. What was taken over stays. Raises NotHere, Conflict."""
    actor.need(Right.EXPORT_AND_ERASE)
    row = lock_for_edit(ReadingImport, import_id, None)
    _need_no_job(row)
    if row.state == ReadingImport.State.TAKEN_OVER:
        raise Conflict(
            "This file was taken over: its readings stay, and its line tells where they came from."
        )
    record_act(actor, "discard_import", row)
    key = row.file.key
    row.delete()
    transaction.on_commit(lambda: default_storage.delete(key), robust=True)


def forget_unused(actor: Actor) -> None:
    """Delete the bytes of uploads that are no longer needed: taken over, or left lying for a month."""
    actor.need(Right.EXPORT_AND_ERASE)
    before = timezone.now() - timedelta(days=UNUSED_DAYS)
    rows = ReadingImport.objects.select_related("file").defer("problems")
    for row in rows.filter(changed_at__lt=before)[:200]:
        if default_storage.exists(row.file.key):
            transaction.on_commit(lambda key=row.file.key: default_storage.delete(key), robust=True)  # type: ignore[misc]
    # A worker that was stopped between its commit and the deletion leaves bytes behind.
    for row in rows.filter(state=ReadingImport.State.TAKEN_OVER).order_by("-id")[:20]:
        if default_storage.exists(row.file.key):
            transaction.on_commit(lambda key=row.file.key: default_storage.delete(key), robust=True)  # type: ignore[misc]


def store_stream(
    content: BinaryIO, *, name: str, media_type: str, client_id: UUID | None = None
) -> StoredFile:
    """Keep a file of any size without holding it in memory: the bytes first, then the row."""
    content.seek(0)
    digest, size = hashlib.sha256(), 0
    while part := content.read(1 << 20):
        digest.update(part)
        size += len(part)
    content.seek(0)
    row = StoredFile(
        id=new_id(),
        name=name,
        media_type=media_type,
        size=size,
        sha256=digest.hexdigest(),
        client_id=client_id,
    )
    row.key = default_storage.save(f"{row.studio_id}/{row.id}", File(content))
    try:
        row.save(force_insert=True)
    except Exception:
        default_storage.delete(row.key)
        raise
    return row


# --- the jobs' three steps ------------------------------------------------------------------------------------------


def prepare_reading(arguments: Mapping[str, Any]) -> ReadingOrder:
    """In scope: all that reading the file needs. Raises JobFailed where there is nothing to read any more."""
    row = (
        ReadingImport.objects.select_related("file").defer("problems").filter(pk=arguments["import"]).first()
    )
    if row is None:
        raise JobFailed("This import is not there any more.")
    if row.state == ReadingImport.State.TAKEN_OVER:
        raise JobFailed("This file was taken over already.")
    if not bytes_there(row):
        raise JobFailed("The file's bytes are not kept any more: upload it again.")
    actor = acting_member(arguments)
    measures = known_measures(actor)
    return ReadingOrder(
        row.pk, row.file.key, row.file.sha256, kind_of(row), layout_of(row), words_for(measures), measures, actor,
        timezone.now(),
    )  # fmt: skip


def read_into_spool(order: ReadingOrder, progress: Progress) -> dict[str, Any]:
    """Without a database: the file's rows, parsed, in a spool on disk, and the totals."""
    spool = Spool(order.actor.zone)
    with default_storage.open(order.key, "rb") as stored:
        content = cast(BinaryIO, stored)
        if _sha256(content) != order.sha256:
            raise JobFailed("The stored file is not what was uploaded: upload it again.")
        totals = read_rows(
            rows_of(content, order.kind), order.layout, order.words, order.actor.zone, order.now, spool,
            _teller(content, progress),
        )  # fmt: skip
    if totals.rows > _TELL_EVERY:
        sleep(PROGRESS_EVERY_SECONDS)  # or the last words would be dropped, and they stand the longest
    progress(_READ_PERCENT, f"{totals.readings:,} readings read; now laid beside what is kept")
    return {"spool": spool, "totals": totals}


def finish_check(
    arguments: Mapping[str, Any], order: ReadingOrder, output: Mapping[str, Any]
) -> dict[str, Any]:
    """In scope: look at the readings beside what is there, and write down what was found; nothing else changes."""
    totals = output["totals"]
    with closing(output["spool"]) as spool:
        row = _still_open(order)
        found = examine(spool, order.measures, _wishes(order, row))
        _write_down(row, order, found, totals, row.State.CHECKED)
        return {"import": str(row.pk), "problems": row.problem_count}


def finish_take_over(
    arguments: Mapping[str, Any], order: ReadingOrder, output: Mapping[str, Any]
) -> dict[str, Any]:
    """In scope, one transaction: all of it or nothing. Raises JobFailed where a problem came up since the check."""
    totals = output["totals"]
    with closing(output["spool"]) as spool:
        _wait_for_others()
        row = _still_open(order)
        found = examine(spool, order.measures, _wishes(order, row), lock=True)
        if found.problem_count:
            raise JobFailed(
                f"{found.problem_count} problems have come up since the check; nothing was taken over. "
                "Look for problems again."
            )
        store_all(
            order.actor,
            unit=row.unit if row.unit in ("cm", "in") else "cm",
            over=row.mapping["over"],
            word=f"Stated by {order.actor.name} when importing {row.name}",
        )
        _write_down(row, order, found, totals, row.State.TAKEN_OVER)
    record_act(order.actor, "take_over_readings", row, client_id=None, **found.counts)
    key = row.file.key
    transaction.on_commit(lambda: default_storage.delete(key), robust=True)
    return {"import": str(row.pk), "readings": found.counts["new_readings"]}


def _wait_for_others() -> None:
    """One take-over of a studio at a time: two files with the same new client must not make her twice."""
    with connection.cursor() as cursor:
        cursor.execute(
            "select pg_advisory_xact_lock(%s, hashtext(%s))", [_ONE_AT_A_TIME, str(current_studio_id())]
        )


def _write_down(row: ReadingImport, order: ReadingOrder, found: Found, totals: Totals, state: str) -> None:
    row.state, row.rows = state, totals.rows
    row.problems, row.problem_count = found.problems, found.problem_count
    row.counts = {**found.counts, "readings": totals.readings, "measures": _measures(totals, order)}
    row.version += 1
    row.save()
    with connection.cursor() as cursor:
        forget_tables(cursor)


def acting_member(arguments: Mapping[str, Any]) -> Actor:
    """The member who asked for a job, with the rights that she has now. Raises JobFailed."""
    member = Member.objects.select_related("studio").filter(pk=arguments["member"], active=True).first()
    if member is None:
        raise JobFailed("The member who asked for this does not work here any more.")
    studio = member.studio
    actor = Actor(
        studio.pk, member.pk, member.user_id, member.role, member.name, studio.time_zone, studio.unit
    )
    try:
        actor.need(Right.EXPORT_AND_ERASE)
    except NotAllowed as exc:
        raise JobFailed(str(exc)) from exc
    return actor


# --- helpers --------------------------------------------------------------------------------------------------------


def _open_import(import_id: UUID, expected_version: int | None) -> ReadingImport:
    row = lock_for_edit(ReadingImport, import_id, expected_version)
    if row.state == ReadingImport.State.TAKEN_OVER:
        raise Conflict("This file was taken over already.")
    if not bytes_there(row):
        raise Conflict("The file's bytes are not kept any more: upload it again.")
    _need_no_job(row)
    return row


def _need_no_job(row: ReadingImport) -> None:
    if row.job is not None and row.job.state not in Job.ENDED:
        raise Conflict("This file is being worked on: wait, or cancel that work first.")


def _hand_over(actor: Actor, row: ReadingImport, kind: str) -> ReadingImport:
    row.job = ask_for(actor, kind, {"import": str(row.pk), "member": str(actor.member_id)})
    row.save(update_fields=["job", "changed_at"])
    record_act(actor, f"ask_{kind}", row, job=str(row.job.pk))
    return row


def _still_open(order: ReadingOrder) -> ReadingImport:
    try:
        row = lock_for_edit(ReadingImport, order.import_id, None)
    except NotHere as exc:
        raise JobFailed("This import is not there any more.") from exc
    if row.state == ReadingImport.State.TAKEN_OVER:
        raise JobFailed("This file was taken over already.")
    return row


def _wishes(order: ReadingOrder, row: ReadingImport) -> Wishes:
    may = bool(row.mapping.get("new_clients") and row.mapping.get("consent_stated"))
    return Wishes(new_clients=may, today=order.now.astimezone(order.actor.zone).date())


def _as_mapping(layout: Layout) -> dict[str, Any]:
    return {
        "fields": dict(layout.fields),
        "measures": {str(column): code for column, code in layout.measures.items()},
        "date_order": layout.date_order,
        "decimal_mark": layout.decimal_mark,
        "head_row": layout.head_row,
    }


def _measures(totals: Totals, order: ReadingOrder) -> list[dict[str, Any]]:
    """How the file's names for measures were understood, the most frequent first."""
    found = sorted(totals.measures.items(), key=lambda each: -each[1][1])
    return [
        {"written": written, "measure": code, "name": order.words.names[code], "readings": many}
        for written, (code, many) in found
    ]


def _teller(content: BinaryIO, progress: Progress) -> Callable[[int], None]:
    """Tell now and then how much of the file is read, by its bytes."""
    size = max(content.seek(0, 2), 1)
    content.seek(0)

    def tell(row: int) -> None:
        if row % _TELL_EVERY == 0:
            progress(min(_READ_PERCENT * content.tell() // size, _READ_PERCENT), f"{row:,} rows read")

    return tell


def _sha256(content: BinaryIO) -> str:
    digest = hashlib.sha256()
    content.seek(0)
    while part := content.read(1 << 20):
        digest.update(part)
    return digest.hexdigest()


def _file_name(name: str, kind: str) -> str:
    plain = "".join(sign if sign.isprintable() else " " for sign in re.split(r"[/\\]", name)[-1]).strip()
    return plain[-160:] or f"readings.{kind}"
