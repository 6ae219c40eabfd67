"""Asking for long work, cancelling it, trying it again."""

from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from studio.platform.errors import Conflict, NotHere
from studio.platform.models import Job
from studio.platform.queue import ring
from studio.platform.registries import JOB_KINDS
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act

ATTEMPTS = 4


def ask_for(actor: Actor, kind: str, arguments: dict[str, Any], *, key: str | None = None) -> Job:
    """Write a job into the current transaction and ring the broker once it is committed.

    With ``key`` the same request asked twice gives the same job. Guaranteed: the job is there if and only if the
    request's own rows are.
    """
    found = JOB_KINDS[kind]
    if key:
        earlier: Job | None = Job.objects.filter(kind=kind, idempotency_key=key).first()
        if earlier:
            return earlier
    now = timezone.now()
    job = Job.objects.create(
        kind=kind,
        queue=found.queue,
        arguments=arguments,
        not_before=now,
        rung_at=now,
        asked_by_id=actor.member_id,
        idempotency_key=key,
    )
    transaction.on_commit(lambda: ring(actor.studio_id, job.pk, job.queue))
    return job


def _locked(actor: Actor, job_id: UUID) -> Job:
    actor.need(Right.SEE_JOBS)
    job = Job.objects.select_for_update(no_key=True, of=("self",)).filter(pk=job_id).first()
    if job is None:
        raise NotHere("job")
    kind = JOB_KINDS.get(job.kind)
    if kind is not None:
        actor.need(kind.right)
    return job


def cancel_job(actor: Actor, job_id: UUID) -> Job:
    """Stop a job that has not ended; work in hand is dropped when it tries to store its result."""
    job = _locked(actor, job_id)
    if job.state in Job.ENDED:
        raise Conflict("This job has ended already.")
    job.state, job.ended_at, job.lease_until = Job.State.CANCELLED, timezone.now(), None
    job.save(update_fields=["state", "ended_at", "lease_until"])
    record_act(actor, "cancel_job", job)
    return job


def retry_job(actor: Actor, job_id: UUID) -> Job:
    """Start a failed or cancelled job afresh with the arguments it had."""
    job = _locked(actor, job_id)
    if job.state not in {Job.State.FAILED, Job.State.CANCELLED}:
        raise Conflict("Only a failed or cancelled job can be tried again.")
    now = timezone.now()
    job.state, job.error = Job.State.WAITING, ""
    job.attempts_allowed = job.attempts + ATTEMPTS
    job.progress, job.progress_words = 0, ""
    job.not_before = job.rung_at = now
    job.ended_at = None
    job.save()
    record_act(actor, "retry_job", job)
    transaction.on_commit(lambda: ring(actor.studio_id, job.pk, job.queue))
    return job
