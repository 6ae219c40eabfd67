"""Courses, their students, and the class grid: who has been measured, by whom, and who still lacks what."""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from statistics import median
from uuid import UUID

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Window
from django.db.models.functions import DenseRank
from django.utils import timezone

from studio.calc.error import needs_third_reading
from studio.models import Client, Consent, Course, Enrolment, Measuring, Reading
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import CatalogueMeasure, MeasureSet
from studio.queries.choices import set_for
from studio.queries.trust import technical_errors_for


@dataclass(frozen=True)
class CellTake:
    """One reading in a cell, with the member who took it."""

    reading_id: UUID
    measuring_id: UUID
    take: int
    value: Decimal
    by: str
    by_id: UUID
    measured_at: datetime


@dataclass(frozen=True)
class Cell:
    """One measure of one student: the takes of the newest occasion within the course.

    ``on_the_day`` tells whether that occasion was the grid's day; a further reading then is its next take,
    otherwise it begins a new occasion.
    """

    measure: CatalogueMeasure
    twice: bool
    takes: tuple[CellTake, ...]
    on_the_day: bool
    error: float  # the technical error that the studio reckons with, mm (weight: kg)

    @property
    def value(self) -> Decimal | None:
        return median(take.value for take in self.takes) if self.takes else None

    @property
    def seen(self) -> int:
        """How many takes of the day it shows: what a form that was made from it has seen."""
        return len(self.takes) if self.on_the_day else 0

    @property
    def apart(self) -> bool:
        """Do two takes differ by more than the tape explains?"""
        return len(self.takes) == 2 and needs_third_reading(
            self.takes[0].value, self.takes[1].value, self.error
        )

    @property
    def wants(self) -> str:
        """What is still to be taken: "first", "second" (the set asks for two), "third" (two differ), or ""."""
        if not self.takes:
            return "first"
        if self.apart:
            return "third"
        return "second" if self.twice and len(self.takes) == 1 else ""

    @property
    def open(self) -> bool:
        """Is a reading asked for, or would it begin a new occasion?"""
        return bool(self.wants) or not self.on_the_day


@dataclass(frozen=True)
class StudentRow:
    """A student's line of the grid. ``guardian_present`` is who was noted on the day, "" where nobody was."""

    client: Client
    minor: bool
    may_be_measured: bool  # consent is given, for a minor by a guardian
    withdrawn: bool  # the newest answer is no
    guardian_present: str
    cells: tuple[Cell, ...]

    @property
    def taken(self) -> int:
        """How many measures have a reading."""
        return sum(bool(cell.takes) for cell in self.cells)

    @property
    def lacks(self) -> list[CatalogueMeasure]:
        return [cell.measure for cell in self.cells if not cell.takes]

    @property
    def asks_again(self) -> list[CatalogueMeasure]:
        return [cell.measure for cell in self.cells if cell.wants in ("second", "third")]

    @property
    def mark(self) -> str:
        """Changes whenever something in this line does: a page sends back what it has."""
        parts = [self.client.pk, self.client.name, self.may_be_measured, self.guardian_present]
        parts += [take.reading_id for cell in self.cells for take in cell.takes]
        return hashlib.sha256("|".join(map(str, parts)).encode()).hexdigest()[:12]


@dataclass(frozen=True)
class ClassGrid:
    """A course on one day: students by name, the measures of its set in walking order."""

    course: Course
    chosen: MeasureSet
    measures: tuple[CatalogueMeasure, ...]
    rows: tuple[StudentRow, ...]
    day: date

    @property
    def roster_mark(self) -> str:
        """Changes when somebody comes or leaves, or another set is measured."""
        parts = [*self.chosen.measures, *(row.client.pk for row in self.rows)]
        return hashlib.sha256("|".join(map(str, parts)).encode()).hexdigest()[:12]

    def row_of(self, client_id: UUID) -> StudentRow:
        """The line of one student; raises NotHere."""
        for row in self.rows:
            if row.client.pk == client_id:
                return row
        raise NotHere("student")


def course_list(actor: Actor) -> "QuerySet[Course]":
    """Courses, the latest to start first, with ``students`` counted. One query."""
    actor.need(Right.FIND_CLIENTS)
    here = Count("enrolments", filter=Q(enrolments__left_at=None, enrolments__client__erased_at=None))
    found: QuerySet[Course] = Course.objects.annotate(students=here).order_by(
        F("starts").desc(nulls_first=True), "-id"
    )
    return found


def course_get(actor: Actor, course_id: UUID) -> Course:
    """One course with ``students`` counted; raises NotHere."""
    course: Course | None = course_list(actor).filter(pk=course_id).first()
    if course is None:
        raise NotHere("course")
    return course


def student_list(actor: Actor, course_id: UUID) -> "QuerySet[Enrolment]":
    """Places in a course that are taken, by the students' names. Raises NotHere."""
    course_get(actor, course_id)
    return places_of(course_id)


def class_grid(actor: Actor, course_id: UUID, *, day: date | None = None) -> ClassGrid:
    """The grid of a course on a day (None: today), as it stood at that day's end.

    A reading counts for the course if it was taken since the course began. Eight queries, however many
    students there are. Raises NotHere, and Conflict where the set's measures are all hidden.
    """
    actor.need(Right.READ_READINGS)
    course = course_get(actor, course_id)
    chosen, known = set_for(actor, course.measure_set)
    day = day or timezone.localdate(timezone=actor.zone)
    clients = [place.client for place in places_of(course.pk)]
    ids = [client.pk for client in clients]
    since = min(course.starts or timezone.localdate(course.created_at, timezone=actor.zone), day)
    begins, ends = day_begins(actor, since), day_begins(actor, day + timedelta(days=1))
    taken = _newest(ids, chosen.measures, begins, ends)
    consents = consents_of(ids)
    measures = {code: known[code] for code in chosen.measures}
    errors = technical_errors_for(actor, measures)
    present = _guardians(ids, day_begins(actor, day), ends)
    today = day_begins(actor, day)
    rows: list[StudentRow] = []
    for client in clients:
        minor = client.is_minor(day)
        rows.append(
            StudentRow(
                client=client,
                minor=minor,
                may_be_measured=may_be_measured(consents.get(client.pk), minor=minor),
                withdrawn=client.pk in consents and not consents[client.pk].given,
                guardian_present=present.get(client.pk, ""),
                cells=tuple(
                    _cell(
                        known[code],
                        code in chosen.repeat,
                        taken.get((client.pk, code), []),
                        today,
                        errors[code].value,
                    )
                    for code in chosen.measures
                ),
            )
        )
    return ClassGrid(course, chosen, tuple(known[code] for code in chosen.measures), tuple(rows), day)


def may_be_measured(consent: Consent | None, *, minor: bool) -> bool:
    """Is there consent, for a minor a guardian's?"""
    return consent is not None and consent.given and (consent.by_guardian or not minor)


def day_begins(actor: Actor, day: date) -> datetime:
    """Midnight at the studio."""
    return datetime.combine(day, time.min, tzinfo=actor.zone)


def places_of(course_id: UUID) -> "QuerySet[Enrolment]":
    """Who is in a course of the studio in scope, by name."""
    found: QuerySet[Enrolment] = (
        Enrolment.objects.select_related("client")
        .filter(course_id=course_id, left_at=None, client__erased_at=None)
        .order_by("client__name", "id")
    )
    return found


def _newest(
    client_ids: Iterable[UUID], codes: Iterable[str], begins: datetime, ends: datetime
) -> Mapping[tuple[UUID, str], list[Reading]]:
    """Valid readings of each client's newest occasion of each measure within the time."""
    turn = Window(
        DenseRank(),
        partition_by=[F("client_id"), F("measure")],
        order_by=[F("measuring__measured_at").desc(), F("measuring_id").desc()],
    )
    rows = (
        Reading.objects.filter(~Exists(Reading.objects.filter(supersedes_id=OuterRef("pk"))))
        .filter(
            client_id__in=list(client_ids),
            measure__in=list(codes),
            measuring__measured_at__gte=begins,
            measuring__measured_at__lt=ends,
        )
        .select_related("measuring", "recorded_by")
        .annotate(turn=turn)
        .filter(turn=1)
        .order_by("take")
    )
    found: dict[tuple[UUID, str], list[Reading]] = defaultdict(list)
    for reading in rows:
        found[reading.client_id, reading.measure].append(reading)
    return found


def _cell(
    measure: CatalogueMeasure, twice: bool, readings: list[Reading], today: datetime, error: float
) -> Cell:
    takes = tuple(
        CellTake(
            reading_id=reading.pk,
            measuring_id=reading.measuring_id,
            take=reading.take,
            value=reading.value,
            by=reading.recorded_by.name,
            by_id=reading.recorded_by_id,
            measured_at=reading.measuring.measured_at,
        )
        for reading in readings
    )
    return Cell(measure, twice, takes, bool(takes) and takes[0].measured_at >= today, error)


def consents_of(client_ids: Iterable[UUID]) -> dict[UUID, Consent]:
    """The newest answer of each of these clients about being measured."""
    rows = (
        Consent.objects.filter(client_id__in=list(client_ids), kind=Consent.Kind.MEASURE)
        .order_by("client_id", "-at", "-id")
        .distinct("client_id")
    )
    return {row.client_id: row for row in rows}


def _guardians(client_ids: Iterable[UUID], begins: datetime, ends: datetime) -> dict[UUID, str]:
    """Who was noted as present on the day, by client; the newest note counts."""
    rows = (
        Measuring.objects.filter(
            client_id__in=list(client_ids), measured_at__gte=begins, measured_at__lt=ends
        )
        .exclude(guardian_present="")
        .order_by("measured_at", "id")
        .values_list("client_id", "guardian_present")
    )
    return dict(rows)
