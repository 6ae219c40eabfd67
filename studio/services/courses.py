"""Courses and who is in them."""

from datetime import date
from typing import TypedDict, Unpack
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from studio.models import Course, Enrolment
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new
from studio.queries.choices import measures_for
from studio.services.clients import client_here

TAKEN = "There is a course of this name already."


class CourseFacts(TypedDict, total=False):
    """What can be changed of a course; what is left out stays as it is."""

    name: str
    measure_set: str
    starts: date | None
    ends: date | None
    notes: str


def open_course(
    actor: Actor,
    *,
    name: str,
    measure_set: str,
    starts: date | None = None,
    ends: date | None = None,
    notes: str = "",
) -> Course:
    """Open a course; ``measure_set`` is the code of the set that its students are measured for.

    Raises Refused naming each field.
    """
    actor.need(Right.KEEP_CLIENTS)
    course = Course(
        name=" ".join(name.split()),
        measure_set=measure_set,
        starts=starts,
        ends=ends,
        notes=notes.strip(),
    )
    reasons = _dates_wrong(starts, ends) | _set_wrong(actor, measure_set) | _name_wrong(course)
    if reasons:
        raise Refused(reasons)
    try:
        with transaction.atomic():
            save_new(course)
    except IntegrityError as exc:
        raise Refused({"name": TAKEN}) from exc
    record_act(actor, "open_course", course)
    return course


def change_course(
    actor: Actor, course_id: UUID, *, expected_version: int | None = None, **facts: Unpack[CourseFacts]
) -> Course:
    """Change what is given and nothing else. Raises NotHere, Stale, Refused naming each field."""
    actor.need(Right.KEEP_CLIENTS)
    course = lock_for_edit(Course, course_id, expected_version)
    changes = dict(facts)
    if "name" in facts:
        changes["name"] = " ".join(facts["name"].split())
    if "notes" in facts:
        changes["notes"] = facts["notes"].strip()
    reasons = _dates_wrong(facts.get("starts", course.starts), facts.get("ends", course.ends))
    if facts.get("measure_set", course.measure_set) != course.measure_set:
        reasons |= _set_wrong(actor, facts["measure_set"])
    if changes.get("name", course.name) != course.name:
        reasons |= _name_wrong(Course(id=course.pk, name=str(changes["name"])))
    if reasons:
        raise Refused(reasons)
    try:
        with transaction.atomic():
            changed = save_edit(course, changes)
    except IntegrityError as exc:
        raise Refused({"name": TAKEN}) from exc
    if changed:
        told = {field: [str(old), str(new)] for field, (old, new) in changed.items()}
        record_act(actor, "change_course", course, changed=told)
    return course


def enrol(actor: Actor, course_id: UUID, *, client_id: UUID) -> Enrolment:
    """Give a client a place in a course; somebody who left comes back to the place she had.

    Raises NotHere, and Conflict where she has a place or was erased.
    """
    actor.need(Right.KEEP_CLIENTS)
    course = _course(course_id)
    client = client_here(client_id)
    place = Enrolment.objects.filter(course_id=course.pk, client_id=client.pk).first()
    if place is not None and place.left_at is None:
        raise Conflict(f"{client.name} is in this course already.")
    if place is None:
        place = save_new(Enrolment(course_id=course.pk, client_id=client.pk))
    else:
        place.left_at = None
        place.save(update_fields=["left_at"])
    record_act(actor, "enrol", place, client_id=client.pk, course=str(course.pk))
    return place


def leave(actor: Actor, course_id: UUID, *, client_id: UUID) -> Enrolment:
    """End a client's place; what was measured stays. Raises NotHere where she has none."""
    actor.need(Right.KEEP_CLIENTS)
    course = _course(course_id)
    place = (
        Enrolment.objects.select_for_update(no_key=True)
        .filter(course_id=course.pk, client_id=client_id, left_at=None)
        .first()
    )
    if place is None:
        raise NotHere("student")
    place.left_at = timezone.now()
    place.save(update_fields=["left_at"])
    record_act(actor, "leave", place, client_id=client_id, course=str(course.pk))
    return place


def _course(course_id: UUID) -> Course:
    course: Course | None = Course.objects.filter(pk=course_id).first()
    if course is None:
        raise NotHere("course")
    return course


def _dates_wrong(starts: date | None, ends: date | None) -> dict[str, str]:
    if starts and ends and ends < starts:
        return {"ends": "The course would end before it starts."}
    return {}


def _set_wrong(actor: Actor, code: str) -> dict[str, str]:
    if code not in measures_for(actor).sets:
        return {"measure_set": f"There is no set of measures {code[:64]!r} here."}
    return {}


def _name_wrong(course: Course) -> dict[str, str]:
    if Course.objects.filter(name=course.name).exclude(pk=course.pk).exists():
        return {"name": TAKEN}
    return {}
