"""Reading what was brought in and taken out: every import and export is the job that does it."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.db.models import QuerySet

from seamlab.queries.transfer_tables import by_code
from studio.platform.errors import NotHere
from studio.platform.models import Job, StoredFile
from studio.platform.rights import Actor, Right

CHECK_JOB = "check_seam_library"
TAKE_OVER_JOB = "take_over_seam_library"
EXPORT_JOB = "export_seam_library"


@dataclass(frozen=True)
class ImportView:
    """One file: the job that checked it, the newest job that took it over (or tried), and whether its bytes are kept.

    ``state`` is working, failed, checked or taken_over.
    """

    check: Job
    taking: Job | None
    is_kept: bool

    @property
    def id(self) -> UUID:
        found: UUID = self.check.pk
        return found

    @property
    def name(self) -> str:
        return str(self.check.arguments.get("name", ""))

    @property
    def newest(self) -> Job:
        return self.taking or self.check

    @property
    def state(self) -> str:
        if self.taking is not None and self.taking.state == Job.State.DONE:
            return "taken_over"
        if self.newest.state not in Job.ENDED:
            return "working"
        return "checked" if self.check.state == Job.State.DONE else "failed"

    @property
    def error(self) -> str:
        """Why the newest work on it came to nothing."""
        if self.newest.state == Job.State.CANCELLED:
            return "It was cancelled; nothing was kept."
        return str(self.newest.error) if self.newest.state == Job.State.FAILED else ""

    @property
    def tables(self) -> list[dict[str, Any]]:
        """[{"table", "title", "rows", "new", "there", "unknown"}] as the dry run found them."""
        return [
            {**each, "title": by_code()[each["table"]].title} for each in self.check.result.get("tables", [])
        ]

    @property
    def problem_count(self) -> int:
        return int(self.check.result.get("problem_count", 0))

    @property
    def problems(self) -> list[dict[str, Any]]:
        """[{"table", "title", "row", "column", "reason"}], at most a thousand."""
        return [
            {**each, "title": by_code()[each["table"]].title}
            for each in self.check.result.get("problems", [])
        ]

    @property
    def new(self) -> int:
        return sum(each["new"] for each in self.check.result.get("tables", []))

    @property
    def may_take_over(self) -> bool:
        return self.state == "checked" and not self.problem_count and self.new > 0 and self.is_kept


def import_list(actor: Actor, most: int = 20) -> list[ImportView]:
    """The newest imports; three queries."""
    actor.need(Right.KEEP_SEAMS)
    checks = list(Job.objects.filter(kind=CHECK_JOB).select_related("asked_by").order_by("-id")[:most])
    return _views(checks)


def import_get(actor: Actor, import_id: UUID) -> ImportView:
    """One import; raises NotHere."""
    actor.need(Right.KEEP_SEAMS)
    check = Job.objects.filter(kind=CHECK_JOB, pk=import_id).select_related("asked_by").first()
    if check is None:
        raise NotHere("import")
    return _views([check])[0]


def _views(checks: list[Job]) -> list[ImportView]:
    taking: dict[str, Job] = {}
    ids = [str(check.pk) for check in checks]
    for job in Job.objects.filter(kind=TAKE_OVER_JOB, arguments__import__in=ids).order_by("id"):
        taking[job.arguments["import"]] = job
    files = StoredFile.objects.filter(pk__in=[check.arguments["file"] for check in checks if check.arguments])
    kept = {str(file.pk) for file in files if default_storage.exists(file.key)}
    return [
        ImportView(check, taking.get(str(check.pk)), check.arguments.get("file", "") in kept)
        for check in checks
    ]


def export_list(actor: Actor) -> "QuerySet[Job]":
    """Exports, newest first: each is the job that makes it."""
    actor.need(Right.KEEP_SEAMS)
    return Job.objects.filter(kind=EXPORT_JOB).select_related("asked_by").order_by("-id")


def export_get(actor: Actor, export_id: UUID) -> Job:
    """One export; raises NotHere."""
    job: Job | None = export_list(actor).filter(pk=export_id).first()
    if job is None:
        raise NotHere("export")
    return job


def export_file(actor: Actor, export_id: UUID) -> StoredFile:
    """The file of a finished export; raises NotHere where it is not made yet, or is not kept any more."""
    found = files_of([export_get(actor, export_id)])
    if not found:
        raise NotHere("file of this export")
    return next(iter(found.values()))


def files_of(jobs: list[Job]) -> dict[UUID, StoredFile]:
    """The files of finished jobs by job, as far as their bytes are kept; one query."""
    ids = {str(job.result["file"]): job.pk for job in jobs if job.result.get("file")}
    return {
        ids[str(file.pk)]: file
        for file in StoredFile.objects.filter(pk__in=list(ids))
        if default_storage.exists(file.key)
    }
