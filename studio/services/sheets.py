"""The blank class sheet: asked for, drawn in the background, kept as a file until its people are forgotten."""

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils import timezone

from studio.models import Client, Course
from studio.platform.database.scope import current_studio_id
from studio.platform.errors import Conflict, JobFailed, Refused
from studio.platform.models import Job, Studio
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import store_file
from studio.platform.services.jobs import ask_for
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import set_in_scope
from studio.queries.courses import consents_of, course_get, may_be_measured, places_of
from studio.queries.sheets import SHEET_JOB
from studio.reports.pdf import CannotRender
from studio.reports.sheet import LAYOUTS, SHAPE, Sheet, render_sheet


def ask_sheet(actor: Actor, course_id: UUID, *, layout: str = "pages") -> Job:
    """Ask for the blank sheet of a course: ``layout`` "pages" (one for each student) or "table".

    Raises NotHere, and Refused where the course has no student or there is no such layout.
    """
    actor.need(Right.RECORD_MEASURING)
    course = course_get(actor, course_id)
    reasons: dict[str, str] = {}
    if layout not in LAYOUTS:
        reasons["layout"] = f"There is no layout {layout[:32]!r}; allowed are {', '.join(LAYOUTS)}."
    if not places_of(course.pk).exists():
        reasons[""] = "Nobody is in this course yet: enrol its students first."
    if reasons:
        raise Refused(reasons)
    job = ask_for(actor, SHEET_JOB, {"course": str(course.pk), "layout": layout})
    record_act(actor, "ask_sheet", course, job=str(job.pk), layout=layout)
    return job


def prepare_sheet(arguments: dict[str, Any]) -> dict[str, Any]:
    """In scope: what the sheet shows, as plain data."""
    course = Course.objects.filter(pk=UUID(arguments["course"])).first()
    if course is None:
        raise JobFailed("This course is not there any more.")
    try:
        chosen, known = set_in_scope(course.measure_set)
    except Conflict as exc:  # nothing of the set is left: trying again would not help
        raise JobFailed(str(exc)) from exc
    studio = Studio.objects.get(pk=current_studio_id())
    now = timezone.now()
    today = timezone.localdate(now, timezone=ZoneInfo(studio.time_zone))
    clients = [place.client for place in places_of(course.pk)]
    consents = consents_of([client.pk for client in clients])
    students = [(client, client.is_minor(today)) for client in clients]
    return {
        "shape": SHAPE,
        "layout": arguments["layout"],
        "studio": studio.name,
        "studio_colour": studio.colour,
        "course": course.name,
        "set": chosen.name,
        "made_at": now.isoformat(),
        "made_on": f"{today.day} {today:%B %Y}",
        "measures": [_measure_fact(known[code], twice=code in chosen.repeat) for code in chosen.measures],
        "students": [
            {
                "id": str(client.pk),
                "name": client.name,
                "minor": minor,
                "guardian": client.guardian_name if minor else "",
                "consent": may_be_measured(consents.get(client.pk), minor=minor),
            }
            for client, minor in students
        ],
    }


def _measure_fact(measure: CatalogueMeasure, *, twice: bool) -> dict[str, Any]:
    return {
        "code": measure.code,
        "name": measure.name,
        "instruction": measure.instruction,
        "note": measure.note,
        "side": measure.side,
        "figure": dict(measure.figure) if measure.figure else None,
        "weighed": measure.unit == "kg",
        "twice": twice,
    }


def work_sheet(snapshot: dict[str, Any], progress: Progress) -> Sheet:
    """Without a database: the PDF."""
    try:
        return render_sheet(snapshot, progress)
    except CannotRender as exc:
        raise JobFailed(str(exc)) from exc


def finish_sheet(arguments: dict[str, Any], snapshot: dict[str, Any], output: Sheet) -> dict[str, Any]:
    """In scope: keep the PDF, and whose names stand in it, so that it goes when one of them is forgotten.

    The students are locked: an erasure comes before this, and is seen, or after it, and finds the file.
    """
    ids = [row["id"] for row in snapshot["students"]]
    students = Client.objects.select_for_update(no_key=True).filter(pk__in=ids).order_by("pk")
    if any(client.erased_at is not None for client in students):
        raise JobFailed("A student was erased on request meanwhile: ask for the sheet again.")
    file = store_file(output.pdf, name="class-sheet.pdf", media_type="application/pdf")
    return {
        "file": str(file.pk),
        "course": arguments["course"],
        "pages": output.pages,
        "clients": ids,
    }
