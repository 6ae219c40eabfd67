"""Reading jobs for pages and the API."""

from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from studio.platform.errors import NotHere
from studio.platform.models import Job
from studio.platform.registries import JOB_KINDS
from studio.platform.rights import Actor, Right


@dataclass(frozen=True)
class JobView:
    """A job as a person reads it."""

    job: Job
    words: str
    link: str | None

    @property
    def ended(self) -> bool:
        return self.job.state in Job.ENDED


def job_list(actor: Actor) -> "QuerySet[Job]":
    actor.need(Right.SEE_JOBS)
    return Job.objects.select_related("asked_by").order_by("-id")


def job_get(actor: Actor, job_id: UUID) -> Job:
    job: Job | None = job_list(actor).filter(pk=job_id).first()
    if job is None:
        raise NotHere("job")
    return job


def as_read(job: Job) -> JobView:
    kind = JOB_KINDS.get(job.kind)
    link = kind.link(job.result) if kind and kind.link and job.state == Job.State.DONE else None
    return JobView(job, kind.words if kind else job.kind, link)
