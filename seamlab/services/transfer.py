"""Bringing a file of cloths, supplies, recipes or trials in: a dry run first, then all of it or nothing.

What is small is done at once, in the request; what is large by a worker. Either way a job keeps what was found.
"""

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, BinaryIO, cast
from uuid import UUID

from django.core.files.storage import default_storage
from django.db import connection
from django.utils import timezone

from seamlab.calc.transfer_cells import Reading
from seamlab.queries.transfer import CHECK_JOB, EXPORT_JOB, TAKE_OVER_JOB, ImportView, import_get
from seamlab.queries.transfer_tables import by_code
from seamlab.services.transfer_intake import Outcome, Read, read_file, take_in
from studio.calc.transfer_files import FileKind, look_into
from studio.platform.database.scope import current_studio_id
from studio.platform.errors import Conflict, JobFailed, NotAllowed, Refused
from studio.platform.models import Job, Member, StoredFile
from studio.platform.registries import JOB_KINDS, Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import let_go
from studio.platform.services.jobs import ask_for
from studio.queries.transfer import import_words
from studio.services.transfer import store_stream

SMALL_BYTES = 100_000  # some hundred rows: done within the request
KEPT_DAYS = 30  # how long an upload waits to be taken over before its bytes are deleted
_ONE_AT_A_TIME = 51_770_304  # any number that is the same in every process
_MEDIA_TYPES = {
    "csv": "text/csv",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@dataclass(frozen=True)
class ReadOrder:
    """All that reading the file needs, gathered in scope."""

    key: str
    sha256: str
    kind: FileKind
    table: str
    how: Reading
    actor: Actor


def upload_library(actor: Actor, *, content: BinaryIO, name: str, table: str = "") -> ImportView:
    """Keep a CSV or XLSX file and look for problems: a dry run that changes nothing else.

    ``table`` (a code of ``queries.transfer_tables``) says what a CSV file holds, where its heads leave it open. What
    the file is, its content decides. Raises Refused (file, table).
    """
    actor.need(Right.KEEP_SEAMS)
    if table and table not in by_code():
        raise Refused({"table": f"There is no table {table[:32]!r}; choose one of {', '.join(by_code())}."})
    try:
        kind = look_into(content)
    except ValueError as exc:
        raise Refused({"file": str(exc)}) from exc
    forget_unused(actor)
    shown = _file_name(name, kind.kind)
    file = store_stream(content, name=shown, media_type=_MEDIA_TYPES[kind.kind])
    arguments = {
        "file": str(file.pk), "name": shown, "table": table, "member": str(actor.member_id), "how": {
            "kind": kind.kind, "encoding": kind.encoding, "delimiter": kind.delimiter, "sheet": kind.sheet,
        },
    }  # fmt: skip
    job = ask_for(actor, CHECK_JOB, arguments)
    job.arguments = {**arguments, "import": str(job.pk)}  # so that its result leads to its page
    job.save(update_fields=["arguments"])
    record_act(actor, "upload_library", job, size=file.size)
    if file.size <= SMALL_BYTES:
        try:
            _do_now(job)
        except JobFailed as exc:
            # The rollback takes the row; the bytes go with it.
            default_storage.delete(file.key)
            raise Refused({"file": str(exc)}) from exc
    return import_get(actor, job.pk)


def take_over_library(actor: Actor, import_id: UUID) -> ImportView:
    """Take a checked file over, all of it or nothing. Raises NotHere, Conflict."""
    actor.need(Right.KEEP_SEAMS)
    Job.objects.select_for_update(no_key=True).filter(pk=import_id, kind=CHECK_JOB).first()
    found = import_get(actor, import_id)
    _need_open(found)
    if found.check.state != Job.State.DONE:
        raise Conflict("The file was not looked at to its end: upload it again.")
    if found.problem_count:
        raise Conflict(
            f"The check found {found.problem_count} problems: nothing is taken over until there are none."
        )
    if not found.new:
        raise Conflict("Everything in this file is here already.")
    arguments = {**found.check.arguments, "import": str(import_id), "member": str(actor.member_id)}
    job = ask_for(actor, TAKE_OVER_JOB, arguments)
    if found.check.result.get("size", SMALL_BYTES + 1) <= SMALL_BYTES:
        try:
            _do_now(job)
        except JobFailed as exc:
            raise Conflict(str(exc)) from exc
    return import_get(actor, import_id)


def discard_import(actor: Actor, import_id: UUID) -> None:
    """Delete the bytes of an upload that is not wanted. What was taken over stays. Raises NotHere, Conflict."""
    actor.need(Right.KEEP_SEAMS)
    found = import_get(actor, import_id)
    _need_open(found)
    file = StoredFile.objects.get(pk=found.check.arguments["file"])
    record_act(actor, "discard_library", found.check)
    let_go(file.key)


def forget_unused(actor: Actor) -> None:
    """Delete the bytes of uploads and exports after a month."""
    actor.need(Right.KEEP_SEAMS)
    before = timezone.now() - timedelta(days=KEPT_DAYS)
    kinds = [CHECK_JOB, EXPORT_JOB]
    old = Job.objects.filter(kind__in=kinds, asked_at__lt=before).order_by("-id")[:200]
    ids = [job.arguments.get("file") or job.result.get("file") for job in old]
    for file in StoredFile.objects.filter(pk__in=[each for each in ids if each]):
        if default_storage.exists(file.key):
            let_go(file.key)


# --- the work, in the jobs' three steps ---


def prepare_reading(arguments: Mapping[str, Any]) -> ReadOrder:
    """In scope: all that reading needs. Raises JobFailed where there is nothing to read any more."""
    file = StoredFile.objects.filter(pk=arguments["file"]).first()
    if file is None or not default_storage.exists(file.key):
        raise JobFailed("The file's bytes are not kept any more: upload it again.")
    actor = _acting_member(arguments)
    words = import_words()
    return ReadOrder(
        file.key,
        file.sha256,
        FileKind(**arguments["how"]),
        arguments["table"],
        Reading(words["units"], words["months"], actor.zone),
        actor,
    )


def read_whole(order: ReadOrder, progress: Progress) -> Read:
    """Without a database: every row, typed. Raises JobFailed where it holds no table of ours."""
    with default_storage.open(order.key, "rb") as stored:
        content = cast(BinaryIO, stored)
        if _sha256(content) != order.sha256:
            raise JobFailed("The stored file is not what was uploaded: upload it again.")
        try:
            return read_file(
                content,
                order.kind,
                order.how,
                order.table,
                lambda count: progress(20, f"{count:,} rows read"),
            )
        except ValueError as exc:
            raise JobFailed(str(exc)) from exc


def finish_check(arguments: Mapping[str, Any], order: ReadOrder, read: Read) -> dict[str, Any]:
    """In scope: try everything, undo it, and say what was found."""
    outcome = _take_in(order, read, keep=False)
    file = StoredFile.objects.get(pk=arguments["file"])
    return {
        "import": arguments["import"],
        "rows": read.count,
        "size": file.size,
        "tables": [{**each, "unknown": read.unknown.get(each["table"], [])[:20]} for each in outcome.tables],
        "problems": outcome.problems.in_order(),
        "problem_count": outcome.problems.count,
    }


def finish_take_over(arguments: Mapping[str, Any], order: ReadOrder, read: Read) -> dict[str, Any]:
    """In scope, one transaction: all of it or nothing. Raises JobFailed where a problem came up since the check."""
    outcome = _take_in(order, read, keep=True)
    if outcome.problems.count:
        raise JobFailed(
            f"{outcome.problems.count} problems have come up since the check; nothing was taken over. "
            "Upload the file again to see them."
        )
    check = Job.objects.get(pk=arguments["import"])
    record_act(
        order.actor,
        "take_over_library",
        check,
        name=arguments["name"],
        **{each["table"]: each["new"] for each in outcome.tables},
    )
    file = StoredFile.objects.get(pk=arguments["file"])
    let_go(file.key)
    return {"import": arguments["import"], "tables": outcome.tables, "new": outcome.new}


def _take_in(order: ReadOrder, read: Read, *, keep: bool) -> Outcome:
    with connection.cursor() as cursor:
        # Long work may take longer than a page; two files with one new cloth must not meet half way.
        cursor.execute("set local statement_timeout = '20min'")
        cursor.execute(
            "select pg_advisory_xact_lock(%s, hashtext(%s))", [_ONE_AT_A_TIME, str(current_studio_id())]
        )
    return take_in(order.actor, read, keep=keep)


def _do_now(job: Job) -> None:
    """Do a job within the request that asks for it; the worker that is rung for finds it done."""
    kind = JOB_KINDS[job.kind]
    snapshot = kind.prepare(job.arguments)
    output = kind.work(snapshot, lambda percent, words: None)
    job.result = kind.finish(job.arguments, snapshot, output)
    job.state, job.progress, job.ended_at = Job.State.DONE, 100, timezone.now()
    job.save()


def _need_open(found: ImportView) -> None:
    if found.state == "taken_over":
        raise Conflict("This file was taken over already.")
    if found.state == "working":
        raise Conflict("This file is being worked on: wait, or cancel that work first.")
    if not found.is_kept:
        raise Conflict("The file's bytes are not kept any more: upload it again.")


def _acting_member(arguments: Mapping[str, Any]) -> Actor:
    """The member who asked, with the rights that she has now. Raises JobFailed."""
    member = Member.objects.select_related("studio").filter(pk=arguments["member"], active=True).first()
    if member is None:
        raise JobFailed("The member who asked for this does not work here any more.")
    studio = member.studio
    actor = Actor(
        studio.pk, member.pk, member.user_id, member.role, member.name, studio.time_zone, studio.unit
    )
    try:
        actor.need(Right.KEEP_SEAMS)
    except NotAllowed as exc:
        raise JobFailed(str(exc)) from exc
    return actor


def _sha256(content: BinaryIO) -> str:
    digest = hashlib.sha256()
    content.seek(0)
    while part := content.read(1 << 20):
        digest.update(part)
    return digest.hexdigest()


def _file_name(name: str, kind: str) -> str:
    plain = "".join(sign if sign.isprintable() else " " for sign in re.split(r"[/\\]", name)[-1]).strip()
    return plain[-160:] or f"table.{kind}"
