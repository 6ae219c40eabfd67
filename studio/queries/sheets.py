"""Class sheets that were asked for, and their files."""

from uuid import UUID

from django.core.files.storage import default_storage
from django.db.models import QuerySet

from studio.platform.errors import NotHere
from studio.platform.models import Job, StoredFile
from studio.platform.rights import Actor, Right
from studio.queries.courses import course_get

SHEET_JOB = "class_sheet"


def sheet_list(actor: Actor, course_id: UUID) -> "QuerySet[Job]":
    """The jobs that made, or make, the sheets of a course, the newest first. Raises NotHere."""
    actor.need(Right.RECORD_MEASURING)
    course_get(actor, course_id)
    found: QuerySet[Job] = (
        Job.objects.select_related("asked_by")
        .filter(kind=SHEET_JOB, arguments__course=str(course_id))
        .order_by("-id")
    )
    return found


def sheet_get(actor: Actor, course_id: UUID, job_id: UUID) -> Job:
    """One of them; raises NotHere."""
    job = sheet_list(actor, course_id).filter(pk=job_id).first()
    if job is None:
        raise NotHere("class sheet")
    return job


def sheet_file(actor: Actor, course_id: UUID, file_id: UUID) -> StoredFile:
    """The stored sheet; raises NotHere for a file that is no sheet of this course, or went with somebody erased."""
    made = sheet_list(actor, course_id).filter(state=Job.State.DONE, result__file=str(file_id))
    file = StoredFile.objects.filter(pk=file_id).first() if made.exists() else None
    if file is None or not default_storage.exists(file.key):
        raise NotHere("class sheet")
    return file


def sheet_keys_naming(client_id: UUID) -> list[str]:
    """Where the bytes lie of every sheet on which a client's name stands: they go when she is forgotten."""
    results = Job.objects.filter(
        kind=SHEET_JOB, state=Job.State.DONE, result__clients__contains=[str(client_id)]
    ).values_list("result", flat=True)
    files = [UUID(result["file"]) for result in results]
    return list(StoredFile.objects.filter(pk__in=files).values_list("key", flat=True))
