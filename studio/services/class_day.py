"""Filling the class grid: several instructors at once, each typing what she taped, none overwriting another."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from studio.models import Client, Course, Enrolment, Measuring, Reading
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import save_new
from studio.queries.choices import set_for
from studio.queries.courses import day_begins
from studio.services.clients import client_here
from studio.services.measuring import (
    MOST_TAKES,
    UNITS,
    TypedReading,
    about_consent,
    about_time,
    clean_reading,
    values_of,
)
from studio.services.taping import learn_when_due

NOON = time(12)  # when readings of an earlier day, typed from paper, are said to have been taken


@dataclass(frozen=True)
class TypedCell:
    """What was typed into one cell. ``seen`` is how many takes of the day the cell showed meanwhile; None: not
    known. ``kept_because`` is the word with which a flagged reading is kept.
    """

    measure: str
    typed: str
    seen: int | None = None
    kept_because: str = ""


@dataclass(frozen=True)
class Filled:
    """What became of the cells, by measure.

    ``first`` began the day's readings of a measure, ``further`` became the next take beside what was there
    already, ``there_before`` had been saved by this member when the same cells came before (a line that was
    sent twice).
    """

    measuring: Measuring | None
    first: tuple[str, ...]
    further: tuple[str, ...]
    there_before: tuple[str, ...]


def fill_cells(
    actor: Actor,
    course_id: UUID,
    client_id: UUID,
    *,
    cells: Sequence[TypedCell],
    day: date | None = None,
    unit: str | None = None,
    over: str = "close_clothing",
    guardian_present: str = "",
) -> Filled:
    """Record what one instructor typed into one student's line, all of it or nothing.

    A measure that nobody took on the day goes into this instructor's own measuring of the day (one is begun
    where she has none over the same clothing). One that was taken meanwhile, by whomever, is never touched:
    the new value becomes the next take of the measuring in which the others stand. The student's row is
    locked, so that two instructors at once come one after the other. ``day`` None is today; an earlier day is
    for readings that were written on paper. ``unit`` None is the studio's.

    Raises NotHere, Conflict, and Refused with ``cells.<measure>``, ``guardian_present``, ``unit``, ``over``,
    ``day`` or "". A constant number of queries.
    """
    actor.need(Right.RECORD_MEASURING)
    course = _course_of(course_id, client_id)
    client = client_here(client_id)
    today = timezone.localdate(timezone=actor.zone)
    day = day or today
    measured_at = timezone.now() if day == today else datetime.combine(day, NOON, tzinfo=actor.zone)
    unit = unit or actor.unit
    chosen, known = set_for(actor, course.measure_set)
    minor = client.is_minor(day)
    earlier = _readings_of_day(actor, client, day, [cell.measure for cell in cells])
    mine = _own_measuring(actor, client, day, over)
    guardian_present = guardian_present.strip() or (mine.guardian_present if mine else "")
    reasons = about_consent(client, minor=minor, guardian_present=guardian_present)
    for words in about_time(client, measured_at).values():
        reasons["day"] = words
    if unit not in UNITS:
        raise Refused(reasons | {"unit": f"Lengths are typed in cm or in (got {unit[:16]!r})."})
    values, wrong = values_of(
        [TypedReading(cell.measure, cell.typed) for cell in cells], unit, known, minor=minor
    )
    reasons |= _by_cell(wrong, cells)
    for cell in cells:
        if cell.measure in known and cell.measure not in chosen.measures:
            reasons[f"cells.{cell.measure}"] = f"{known[cell.measure].name} is not in this course's set."
    if reasons:
        raise Refused(reasons)
    first: list[Reading] = []
    further: list[Reading] = []
    there_before: list[str] = []
    for cell, value in zip(cells, values, strict=True):
        reading = _reading(actor, client, cell, value)
        there = earlier.get(cell.measure, [])
        if cell.seen is not None and any(
            take.recorded_by_id == actor.member_id and take.value == value for take in there[cell.seen :]
        ):
            there_before.append(cell.measure)
        elif there and there[0].measuring.over != over:
            worn = there[0].measuring.get_over_display().lower()
            reasons[f"cells.{cell.measure}"] = (
                f"{known[cell.measure].name} was taken over {worn} on this day: take it over the same."
            )
        elif there:
            reading.measuring_id, reading.take = there[0].measuring_id, there[-1].take + 1
            if reading.take > MOST_TAKES:
                reasons[f"cells.{cell.measure}"] = (
                    f"{known[cell.measure].name} was taken {MOST_TAKES} times on this day already."
                )
            further.append(reading)
        else:
            first.append(reading)
    if reasons:
        raise Refused(reasons)
    if first:
        mine = mine or save_new(
            Measuring(
                client_id=client.pk,
                measured_at=measured_at,
                measured_by_id=actor.member_id,
                over=over,
                guardian_present=guardian_present,
            )
        )
        for reading in first:
            reading.measuring_id = mine.pk
    if new := [*first, *further]:
        for reading in new:
            clean_reading(reading, f"cells.{reading.measure}.")
        Reading.objects.bulk_create(new)
        record_act(
            actor,
            "fill_cells",
            course,
            client_id=client.pk,
            measurings=sorted({str(reading.measuring_id) for reading in new}),
            readings=len(new),
        )
        learn_when_due(actor)
    return Filled(
        mine if first else None,
        tuple(reading.measure for reading in first),
        tuple(reading.measure for reading in further),
        tuple(there_before),
    )


def _reading(actor: Actor, client: Client, cell: TypedCell, value: Decimal) -> Reading:
    """The cell's reading, still without its measuring."""
    return Reading(
        client_id=client.pk,
        measure=cell.measure,
        value=value,
        typed=cell.typed.strip(),
        kept_because=" ".join(cell.kept_because.split()),
        recorded_by_id=actor.member_id,
    )


def _course_of(course_id: UUID, client_id: UUID) -> Course:
    place = (
        Enrolment.objects.select_related("course")
        .filter(course_id=course_id, client_id=client_id, left_at=None)
        .first()
    )
    if place is None:
        raise NotHere("student")
    course: Course = place.course
    return course


def _readings_of_day(
    actor: Actor, client: Client, day: date, codes: Sequence[str]
) -> Mapping[str, list[Reading]]:
    """By measure the valid readings of the day's newest occasion, by take. Asked under the client's lock."""
    rows = list(
        Reading.objects.filter(
            client_id=client.pk,
            measure__in=list(codes),
            measuring__measured_at__gte=day_begins(actor, day),
            measuring__measured_at__lt=day_begins(actor, day + timedelta(days=1)),
        )
        .select_related("measuring")
        .order_by("measuring__measured_at", "measuring_id", "take")
    )
    replaced = {row.supersedes_id for row in rows}
    by_measure: dict[str, list[Reading]] = defaultdict(list)
    for row in rows:
        there = by_measure[row.measure]
        if row.pk in replaced:
            continue
        if there and there[0].measuring_id != row.measuring_id:
            there.clear()
        there.append(row)
    return by_measure


def _own_measuring(actor: Actor, client: Client, day: date, over: str) -> Measuring | None:
    """This member's measuring of the student on the day, over the same clothing and without shoes."""
    found: Measuring | None = (
        Measuring.objects.filter(
            client_id=client.pk,
            measured_by_id=actor.member_id,
            measured_at__gte=day_begins(actor, day),
            measured_at__lt=day_begins(actor, day + timedelta(days=1)),
            over=over,
            shoes=False,
        )
        .order_by("-measured_at", "-id")
        .first()
    )
    return found


def _by_cell(wrong: Mapping[str, str], cells: Sequence[TypedCell]) -> dict[str, str]:
    """``readings.3.typed`` of the general check, under the name of the cell."""
    found: dict[str, str] = {}
    for field, words in wrong.items():
        number = field.split(".")[1] if field.startswith("readings.") else ""
        found[f"cells.{cells[int(number)].measure}" if number else ""] = words
    return found
