"""Importing readings from a file: uploading, saying what its columns hold, a dry run, taking over all or nothing."""

import hashlib
import re
from collections.abc import Mapping
from datetime import timedelta
from itertools import islice
from typing import Any, BinaryIO
from uuid import UUID

from django.core.files import File
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone

from studio.calc.transfer import Layout, faults_of, find_heads, guess_layout
from studio.calc.transfer_files import LOOKED_AT, look_into, rows_of
from studio.models import Measuring, ReadingImport
from studio.platform.errors import Conflict, Refused
from studio.platform.models import Job, StoredFile
from studio.platform.models.base import new_id
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import storage_answers
from studio.platform.services.jobs import ask_for
from studio.platform.services.saving import lock_for_edit, save_new
from studio.queries.choices import known_measures
from studio.queries.transfer import bytes_there, layout_of, words_for

CHECK_JOB = "check_readings"
TAKE_OVER_JOB = "take_over_readings"
UNUSED_DAYS = 30  # how long an upload waits to be taken over before its bytes are deleted
_MEDIA_TYPES = {
    "csv": "text/csv",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


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
    row.remarks = []
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
    rows = ReadingImport.objects.select_related("file").defer("problems", "remarks")
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
    with storage_answers():
        row.key = default_storage.save(f"{row.studio_id}/{row.id}", File(content))
    try:
        row.save(force_insert=True)
    except Exception:
        default_storage.delete(row.key)
        raise
    return row


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


def _as_mapping(layout: Layout) -> dict[str, Any]:
    return {
        "fields": dict(layout.fields),
        "measures": {str(column): code for column, code in layout.measures.items()},
        "date_order": layout.date_order,
        "decimal_mark": layout.decimal_mark,
        "head_row": layout.head_row,
    }


def _file_name(name: str, kind: str) -> str:
    plain = "".join(sign if sign.isprintable() else " " for sign in re.split(r"[/\\]", name)[-1]).strip()
    return plain[-160:] or f"readings.{kind}"
