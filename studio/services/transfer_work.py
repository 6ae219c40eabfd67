"""The work of importing, in the jobs' three steps: gather in scope, read without a database, look or store in scope."""

import hashlib
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from time import sleep
from typing import Any, BinaryIO, cast
from uuid import UUID

from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.utils import timezone

from studio.calc.transfer import Layout
from studio.calc.transfer_files import FileKind, rows_of
from studio.calc.transfer_rows import Totals, read_rows
from studio.calc.transfer_words import Words
from studio.models import ReadingImport
from studio.platform.database.scope import current_studio_id
from studio.platform.errors import JobFailed, NotAllowed, NotHere
from studio.platform.jobs import PROGRESS_EVERY_SECONDS
from studio.platform.models import Member
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures
from studio.queries.taping import habit_here
from studio.queries.transfer import bytes_there, kind_of, layout_of, words_for
from studio.services.taping import learn_when_due
from studio.services.transfer_intake import Found, examine, forget_tables
from studio.services.transfer_people import Wishes
from studio.services.transfer_remarks import remark
from studio.services.transfer_spool import Spool
from studio.services.transfer_store import store_all

_ONE_AT_A_TIME = 51_770_303  # any number that is the same in every process
_EDGE = Decimal("0.001")  # mm or kg; the database keeps four decimals
_TELL_EVERY = 1000  # rows
_READ_PERCENT = 40  # of the whole, as measured by tests/bench/imports.py


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


def prepare_reading(arguments: Mapping[str, Any]) -> ReadingOrder:
    """In scope: all that reading the file needs. Raises JobFailed where there is nothing to read any more."""
    row = (
        ReadingImport.objects.select_related("file")
        .defer("problems", "remarks")
        .filter(pk=arguments["import"])
        .first()
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
    spool = Spool(order.actor.zone, _reaches(order.measures))
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
        with connection.cursor() as cursor:
            remarks = remark(cursor, order.measures, habit_here())
        row.remarks = remarks.kept
        found.counts.update(remarks=len(remarks.kept), more_remarks=int(not remarks.all_told))
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
        found.counts.update({name: row.counts.get(name, 0) for name in ("remarks", "more_remarks")})
        _write_down(row, order, found, totals, row.State.TAKEN_OVER)
    learn_when_due(order.actor)
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


def _measures(totals: Totals, order: ReadingOrder) -> list[dict[str, Any]]:
    """How the file's names for measures were understood, the most frequent first."""
    found = sorted(totals.measures.items(), key=lambda each: -each[1][1])
    return [
        {"written": written, "measure": code, "name": order.words.names[code], "readings": many}
        for written, (code, many) in found
    ]


def _reaches(measures: Mapping[str, CatalogueMeasure]) -> dict[str, tuple[Decimal, Decimal]]:
    """Within every range of a measure, a child's and a grown-up's, and off its edges: sure to be no problem."""
    return {
        found.code: (
            Decimal(max(found.adult[0], found.child[0])) + _EDGE,
            Decimal(min(found.adult[1], found.child[1])) - _EDGE,
        )
        for found in measures.values()
    }


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
