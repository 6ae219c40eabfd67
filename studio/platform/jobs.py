"""Doing long work: claim, prepare in scope, work without a database, finish in scope.

A job may be delivered twice, its worker may be killed at any moment, a slow worker may wake up after another has
taken over. The row decides: a claim is a conditional update that takes a lease and a new attempt number; only the
holder of the current attempt may store a result, so one job gives one result.
"""

from collections.abc import Callable
from datetime import timedelta
from time import monotonic
from typing import Any
from uuid import UUID

import structlog
from django.conf import settings
from django.db import connections, transaction
from django.db.models import F, Q
from django.utils import timezone

from studio.platform.database.doors import jobs_due
from studio.platform.database.scope import StudioMoved, studio_scope
from studio.platform.errors import JobFailed, NotHere, Refused, StorageFailed
from studio.platform.metrics import count_due, count_job, count_wait
from studio.platform.models import Job
from studio.platform.queue import ring
from studio.platform.registries import JOB_KINDS, JobKind
from studio.platform.requests import set_request_id
from studio.platform.tracing import span

log = structlog.get_logger(__name__)

BACKOFF_SECONDS = (0, 2, 15, 60)
PROGRESS_EVERY_SECONDS = 1.0
SWEEP_LOCK = 7_290_411  # any number that is the same in every process


class Cancelled(Exception):
    """The job was cancelled, or another worker has taken it over, while this one was at it."""


def run_job(studio_id: UUID, job_id: UUID) -> str:
    """Do one job if it is still to be done; returns its state afterwards. Safe to call any number of times."""
    set_request_id(f"job-{job_id}")
    try:
        return _run(studio_id, job_id)
    except StudioMoved:
        return "moved"  # it went along, and is done where the studio is now


def _run(studio_id: UUID, job_id: UUID) -> str:
    claimed = _claim(studio_id, job_id)
    if claimed is None:
        return "nothing to do"
    kind_name, arguments, attempt = claimed
    kind = JOB_KINDS.get(kind_name)
    if kind is None:
        return _fail(studio_id, job_id, attempt, f"This version does not know work of the kind {kind_name}.")
    started = monotonic()
    with span(f"job {kind_name}") as traced:
        outcome = _do(studio_id, job_id, kind, arguments, attempt)
        if traced is not None:
            traced.set_attributes({"job.outcome": outcome, "job.attempt": attempt})
    count_job(kind_name, outcome, monotonic() - started)
    return outcome


def _do(studio_id: UUID, job_id: UUID, kind: JobKind, arguments: dict[str, Any], attempt: int) -> str:
    """The three steps of a claimed job; returns its state afterwards."""
    started = monotonic()
    try:
        with studio_scope(studio_id):
            snapshot = kind.prepare(arguments)
        output = kind.work(snapshot, _progress(studio_id, job_id, attempt))
        with studio_scope(studio_id):
            if kind.hold is not None:
                kind.hold(arguments)
            job = (
                Job.objects.select_for_update(no_key=True)
                .filter(pk=job_id, attempts=attempt, state=Job.State.WORKING)
                .first()
            )
            if job is None:
                raise Cancelled
            job.result = kind.finish(arguments, snapshot, output)
            job.state, job.progress, job.progress_words = Job.State.DONE, 100, ""
            job.ended_at, job.lease_until = timezone.now(), None
            job.save()
    except Cancelled:
        return "given up"
    except StudioMoved:
        raise
    except (JobFailed, Refused, NotHere) as exc:
        return _fail(studio_id, job_id, attempt, str(exc))
    except Exception as exc:
        log.exception("job failed", job=str(job_id), kind=kind.name, attempt=attempt)
        return _retry_later(studio_id, job_id, attempt, exc)
    log.info(
        "job done", job=str(job_id), kind=kind.name, attempt=attempt, seconds=round(monotonic() - started, 2)
    )
    return Job.State.DONE.value


def _lease_end() -> Any:
    return timezone.now() + timedelta(seconds=settings.JOB_LEASE_SECONDS)


def _claim(studio_id: UUID, job_id: UUID) -> tuple[str, dict[str, Any], int] | None:
    now = timezone.now()
    with studio_scope(studio_id):
        claimable = Q(state=Job.State.WAITING, not_before__lte=now) | Q(
            state=Job.State.WORKING, lease_until__lt=now
        )
        taken = Job.objects.filter(claimable, pk=job_id, attempts__lt=F("attempts_allowed")).update(
            state=Job.State.WORKING, attempts=F("attempts") + 1, lease_until=_lease_end(), error=""
        )
        if not taken:
            return None
        job = Job.objects.get(pk=job_id)
        count_wait(job.kind, (now - job.not_before).total_seconds())
        return job.kind, job.arguments, job.attempts


def _progress(studio_id: UUID, job_id: UUID, attempt: int) -> Callable[[int, str], None]:
    """Progress is written in its own scope (seen while the work runs), at most once a second; it extends the lease."""
    last = 0.0

    def tell(percent: int, words: str) -> None:
        nonlocal last
        if monotonic() - last < PROGRESS_EVERY_SECONDS and percent < 100:
            return
        last = monotonic()
        with studio_scope(studio_id):
            mine = Job.objects.filter(pk=job_id, attempts=attempt, state=Job.State.WORKING).update(
                progress=min(max(percent, 0), 100), progress_words=words[:120], lease_until=_lease_end()
            )
        if not mine:
            raise Cancelled

    return tell


def _fail(studio_id: UUID, job_id: UUID, attempt: int, sentence: str) -> str:
    with studio_scope(studio_id):
        Job.objects.filter(pk=job_id, attempts=attempt, state=Job.State.WORKING).update(
            state=Job.State.FAILED, error=sentence, ended_at=timezone.now(), lease_until=None
        )
    return Job.State.FAILED.value


def _retry_later(studio_id: UUID, job_id: UUID, attempt: int, exc: Exception) -> str:
    with studio_scope(studio_id):
        last = Job.objects.filter(pk=job_id, attempts_allowed__lte=attempt).exists()
    if last:
        return _fail(
            studio_id,
            job_id,
            attempt,
            f"{_what_went_wrong(exc)} and {attempt} tries did not help. "
            f"Try it again; if it persists, tell whoever runs this server the number {job_id}.",
        )
    wait = BACKOFF_SECONDS[min(attempt, len(BACKOFF_SECONDS) - 1)]
    with studio_scope(studio_id):
        Job.objects.filter(pk=job_id, attempts=attempt, state=Job.State.WORKING).update(
            state=Job.State.WAITING,
            lease_until=None,
            not_before=timezone.now() + timedelta(seconds=wait),
            rung_at=None,
            error=f"{_what_went_wrong(exc)}: attempt {attempt} failed, and it will be tried again.",
        )
    return Job.State.WAITING.value


def _what_went_wrong(exc: Exception) -> str:
    """The one fault that whoever runs the server can mend by herself is named; others by their kind alone."""
    if isinstance(exc, StorageFailed):
        return "The file storage does not answer, or is full"
    return f"Something went wrong on our side ({type(exc).__name__})"


def sweep(ringer: Callable[[UUID, UUID, str], bool] = ring) -> int:
    """Ring again for every job that waits unheard or whose worker is gone; returns how many were rung for.

    One sweeper at a time (an advisory lock); each job is looked at in its own studio's scope.
    """
    with transaction.atomic(), connections["default"].cursor() as cursor:
        cursor.execute("select pg_try_advisory_xact_lock(%s)", [SWEEP_LOCK])
        if not cursor.fetchone()[0]:
            return 0
        due = jobs_due(settings.JOB_RESEND_SECONDS)
    count_due(len(due))
    rung = 0
    for studio_id, job_id in due:
        with studio_scope(studio_id):
            job = Job.objects.select_for_update(no_key=True, skip_locked=True).filter(pk=job_id).first()
            if job is None or job.state in Job.ENDED:
                continue
            if job.state == Job.State.WORKING and (
                job.lease_until is None or job.lease_until > timezone.now()
            ):
                continue  # its worker has told of itself since the door was asked
            if job.state == Job.State.WORKING and job.attempts >= job.attempts_allowed:
                job.state, job.ended_at, job.lease_until = Job.State.FAILED, timezone.now(), None
                job.error = f"Its worker stopped {job.attempts} times before it was done."
                job.save()
                continue
            job.rung_at = timezone.now()
            job.save(update_fields=["rung_at"])
            queue = job.queue
        rung += ringer(studio_id, job_id, queue)
    return rung
