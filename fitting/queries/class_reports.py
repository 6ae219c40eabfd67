"""Fit reports of a whole class: whose garment is ready for one, what the others lack, and how far a batch is.

A batch is what was asked for in one act. It has no table of its own: its jobs bear its id in their key, so that asking
once more finds the same jobs.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import F, Prefetch, QuerySet

from fitting.models import FitReport, Garment, IssuedReport
from fitting.queries.fittings import SessionView, sessions_of
from fitting.queries.report_facts import nothing_to_report
from fitting.queries.reports import issued_of
from studio.models import Course
from studio.platform.errors import NotHere
from studio.platform.models import Job
from studio.platform.rights import Actor, Right
from studio.queries.courses import course_get, student_list
from studio.queries.retention import withdrawn_among, withdrawn_words

REPORT_JOB = "fit_report"
MOST_LISTED = 200
ERASED_SINCE = "Its client was erased on request; nothing of the report is left."


@dataclass(frozen=True)
class Candidate:
    """A garment that a report could be about. ``missing`` says why there can't be one now, "" where there can."""

    garment: Garment
    missing: str
    newest: FitReport | None  # with its issued file, if it was issued

    @property
    def issued(self) -> IssuedReport | None:
        return issued_of(self.newest) if self.newest else None

    @property
    def proposed(self) -> bool:
        """Ready, and without a report so far: ticked when the page opens."""
        return not self.missing and self.newest is None


@dataclass(frozen=True)
class Candidates:
    """The garments of a course, or of the bench where ``course`` is None; ``without`` are students without one."""

    course: Course | None
    rows: tuple[Candidate, ...]
    without: tuple[str, ...]

    @property
    def ready(self) -> int:
        return sum(not row.missing for row in self.rows)


@dataclass(frozen=True)
class BatchLine:
    """One report of a batch; ``report`` is None where its client was erased since."""

    job: Job
    report: FitReport | None

    @property
    def issued(self) -> IssuedReport | None:
        return issued_of(self.report) if self.report else None

    @property
    def amiss(self) -> str:
        """Why there is no report, in words; "" while it is made, and when it is there."""
        if self.report is None:
            return ERASED_SINCE
        if self.job.state == Job.State.FAILED:
            return self.job.error or "It could not be made."
        return "It was cancelled." if self.job.state == Job.State.CANCELLED else ""


@dataclass(frozen=True)
class Batch:
    """The reports that were asked for in one act, by the clients' names."""

    id: UUID
    lines: tuple[BatchLine, ...]

    @property
    def done(self) -> int:
        return sum(line.issued is not None for line in self.lines)

    @property
    def amiss(self) -> int:
        return sum(bool(line.amiss) for line in self.lines)

    @property
    def failed(self) -> int:
        """How many may be tried again."""
        again = {Job.State.FAILED, Job.State.CANCELLED}
        return sum(line.report is not None and line.job.state in again for line in self.lines)

    @property
    def ended(self) -> bool:
        return all(line.job.state in Job.ENDED for line in self.lines)


def batch_key(batch_id: UUID, garment_id: UUID) -> str:
    """The key of the job of one garment's report in a batch."""
    return f"{_prefix(batch_id)}{garment_id}"


def _prefix(batch_id: UUID) -> str:
    return f"batch:{batch_id}:"


def report_candidates(actor: Actor, course_id: UUID | None = None) -> Candidates:
    """What a report could be asked for, by the clients' names: garments of a course's students that were not given
    up, or those on the bench. Bought garments are left out. A constant number of queries. Raises NotHere.
    """
    actor.need(Right.ISSUE_REPORTS)
    course = None
    rows = Garment.objects.filter(client__erased_at=None, ready_made=False).select_related("client")
    students: dict[UUID, str] = {}
    if course_id is not None:
        course = course_get(actor, course_id)
        students = {place.client_id: place.client.name for place in student_list(actor, course_id)}
        rows = rows.filter(client_id__in=students).exclude(state=Garment.State.GIVEN_UP)
    else:
        rows = rows.filter(state=Garment.State.OPEN)
    garments = list(rows.order_by("client__name", F("due").asc(nulls_last=True), "id")[:MOST_LISTED])
    having = {garment.client_id for garment in garments}
    without = tuple(name for client_id, name in students.items() if client_id not in having)
    return Candidates(course, tuple(_judged(garments)), without)


def _judged(garments: list[Garment]) -> list[Candidate]:
    ids = [garment.pk for garment in garments]
    sessions: dict[UUID, list[SessionView]] = {pk: [] for pk in ids}
    for session in sessions_of(ids, with_notes=False):
        sessions[session.garment_id].append(session)
    withdrawn = withdrawn_among({garment.client_id for garment in garments})
    newest = {
        report.garment_id: report
        for report in _with_issues(FitReport.objects.filter(garment_id__in=ids)).order_by("number")
    }
    return [
        Candidate(
            garment,
            withdrawn_words(garment.client.name)
            if garment.client_id in withdrawn
            else nothing_to_report(garment, sessions[garment.pk]) or in_the_making(newest.get(garment.pk)),
            newest.get(garment.pk),
        )
        for garment in garments
    ]


def in_the_making(report: FitReport | None) -> str:
    """The sentence that nothing is asked for twice, where this report is still being made; else ""."""
    if report is None or report.job.state in Job.ENDED:
        return ""
    return f"Report {report.number} of this garment is being made already."


def _with_issues(reports: "QuerySet[FitReport]") -> "QuerySet[FitReport]":
    return (
        reports.select_related("job", "garment", "client")
        .defer("snapshot")
        .prefetch_related(Prefetch("issues", IssuedReport.objects.all()))
    )


def report_batch(actor: Actor, batch_id: UUID) -> Batch:
    """How far the reports of one act are; three queries however many there are. Raises NotHere."""
    actor.need(Right.ISSUE_REPORTS)
    jobs = list(_jobs_of(batch_id).select_related("asked_by").order_by("id"))
    if not jobs:
        raise NotHere("batch of fit reports")
    reports = {
        report.job_id: report
        for report in _with_issues(FitReport.objects.filter(job_id__in=[j.pk for j in jobs]))
    }
    lines = [BatchLine(job, reports.get(job.pk)) for job in jobs]
    lines.sort(key=lambda line: (line.report is None, line.report.client.name if line.report else ""))
    return Batch(batch_id, tuple(lines))


def clients_of_batch(batch_id: UUID) -> Iterable[UUID]:
    """Whom a batch shows."""
    return list(
        FitReport.objects.filter(job__in=_jobs_of(batch_id), client__erased_at=None).values_list(
            "client_id", flat=True
        )
    )


def failed_jobs(batch_id: UUID) -> list[UUID]:
    """The jobs of a batch that may be tried again, of clients who are still here."""
    again = _jobs_of(batch_id).filter(state__in=[Job.State.FAILED, Job.State.CANCELLED])
    return list(FitReport.objects.filter(job__in=again).order_by("job_id").values_list("job_id", flat=True))


def _jobs_of(batch_id: UUID) -> "QuerySet[Job]":
    return Job.objects.filter(kind=REPORT_JOB, idempotency_key__startswith=_prefix(batch_id))
