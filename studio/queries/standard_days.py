"""Standardisation days: who taped whom, and how well the measurers agree with themselves and one another."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from statistics import fmean, stdev
from uuid import UUID

from django.db.models import Count, QuerySet

from studio.calc.error import (
    Agreement,
    agreement,
    relative_technical_error,
    reliability,
    technical_error,
    total_technical_error,
)
from studio.calc.repeats import as_first_read, slip_limit, without_slips
from studio.models import StandardisationDay, StandardisationReading
from studio.platform.errors import NotHere
from studio.platform.models import Member
from studio.platform.rights import RIGHTS, Actor, Right
from studio.queries.between import BetweenUsed, between_errors_for
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures
from studio.queries.trust import technical_errors_for

AGREES = "agrees with the reference"
PRACTISE = "tape a few more together with the reference"
NO_LIMIT = "no limit is published for this measure"
TOO_FEW = "at least 2 people taped by both are needed"


@dataclass(frozen=True)
class MeasurerResult:
    """One measurer at one measure; mm (weight: kg).

    ``own_error`` is her technical error against herself from ``pairs`` of her two takes; ``set_aside`` pairs
    held a gross slip. ``mean_error`` and ``sd`` are her figures less the reference's over ``people``;
    ``judged`` is the ISO 20685 rule on them. None where it can't be told; ``words`` say why.
    """

    member_id: UUID
    name: str
    reference: bool
    pairs: int
    set_aside: int
    own_error: float | None
    people: int
    mean_error: float | None
    sd: float | None
    judged: Agreement | None
    words: str


@dataclass(frozen=True)
class DayMeasureResult:
    """One measure of a day; mm (weight: kg).

    ``between_error`` is the technical error of the first takes of all measurers (K columns) over ``people``
    taped by every one of them; ``reliability`` uses the spread of all those readings, ``reliability_people``
    that of the people's means. ``set_aside`` names people with a gross slip among the first takes. ``between_used`` is
    what changes between two measurers are reckoned with, from all days together.
    """

    measure: CatalogueMeasure
    measurers: list[MeasurerResult]
    columns: int
    people: int
    set_aside: list[str]
    between_error: float | None
    between_percent: float | None
    total_error: float | None
    reliability: float | None
    reliability_people: float | None
    between_used: BetweenUsed


@dataclass(frozen=True)
class DayResult:
    day: StandardisationDay
    measures: list[DayMeasureResult]
    readings: int


@dataclass(frozen=True)
class GridCell:
    """One take of one volunteer by one measurer; ``reading`` is None while it is to be typed.

    ``replaced`` are those that it superseded, the newest first.
    """

    person: str
    member: Member
    take: int
    reading: StandardisationReading | None
    replaced: list[StandardisationReading] = field(default_factory=list)


@dataclass(frozen=True)
class DayGrid:
    """Volunteers (rows) by measurers (columns) by two takes, for one measure of a day."""

    day: StandardisationDay
    measure: CatalogueMeasure
    members: list[Member]
    rows: list[tuple[str, list[GridCell]]] = field(default_factory=list)


def day_list(actor: Actor) -> "QuerySet[StandardisationDay]":
    """Days, the newest first, with ``readings_taken`` counted."""
    actor.need(Right.RECORD_MEASURING)
    days: QuerySet[StandardisationDay] = (
        StandardisationDay.objects.select_related("reference_member")
        .annotate(readings_taken=Count("readings"))
        .order_by("-held_on", "-id")
    )
    return days


def day_get(actor: Actor, day_id: UUID) -> StandardisationDay:
    """One day; raises NotHere."""
    actor.need(Right.RECORD_MEASURING)
    day: StandardisationDay | None = (
        StandardisationDay.objects.select_related("reference_member").filter(pk=day_id).first()
    )
    if day is None:
        raise NotHere("standardisation day")
    return day


def day_readings(actor: Actor, day_id: UUID) -> "QuerySet[StandardisationReading]":
    """Everything that was taped on a day, the last recorded first; raises NotHere."""
    day_get(actor, day_id)
    readings: QuerySet[StandardisationReading] = (
        StandardisationReading.objects.filter(day_id=day_id).select_related("member").order_by("-id")
    )
    return readings


def day_reading_get(actor: Actor, reading_id: UUID) -> StandardisationReading:
    """One taping of a day, with its day and measurer; raises NotHere."""
    actor.need(Right.RECORD_MEASURING)
    row: StandardisationReading | None = (
        StandardisationReading.objects.select_related("day", "member").filter(pk=reading_id).first()
    )
    if row is None:
        raise NotHere("reading of a standardisation day")
    return row


def measurers(actor: Actor) -> list[Member]:
    """The members who may measure, by name. One query."""
    actor.need(Right.RECORD_MEASURING)
    roles = [role for role, rights in RIGHTS.items() if Right.RECORD_MEASURING in rights]
    return list(Member.objects.filter(active=True, role__in=roles).order_by("name", "id"))


def day_grid(actor: Actor, day_id: UUID, code: str) -> DayGrid:
    """The grid of one measure with what was typed so far. Four queries. Raises NotHere.

    Somebody who has left the studio keeps her column where she has taped.
    """
    day = day_get(actor, day_id)
    known = known_measures(actor)
    if code not in day.measures or code not in known:
        raise NotHere("measure of this day")
    rows = list(
        StandardisationReading.objects.filter(day_id=day_id, measure=code)
        .select_related("member")
        .order_by("-id")  # a correction comes before what it supersedes
    )
    taken: dict[tuple[str, UUID, int], list[StandardisationReading]] = defaultdict(list)
    for row in rows:
        taken[row.person, row.member_id, row.take].append(row)
    columns = {member.pk: member for member in (*measurers(actor), *(row.member for row in rows))}
    first = [columns[day.reference_member_id]] if day.reference_member_id in columns else []
    rest = sorted(
        (member for member in columns.values() if member not in first),
        key=lambda member: (member.name, member.pk),
    )
    members = first + rest
    return DayGrid(
        day,
        known[code],
        members,
        [
            (
                person,
                [
                    GridCell(person, member, take, next(iter(slot), None), slot[1:])
                    for member in members
                    for take in (1, 2)
                    for slot in (taken[person, member.pk, take],)
                ],
            )
            for person in day.people
        ],
    )


def day_result(actor: Actor, day_id: UUID) -> DayResult:
    """How well the measurers agreed, measure by measure. Five queries. Raises NotHere."""
    day = day_get(actor, day_id)
    known = known_measures(actor)
    by_measure: dict[str, list[StandardisationReading]] = defaultdict(list)
    for row in StandardisationReading.objects.filter(day_id=day_id).select_related("member").order_by("id"):
        by_measure[row.measure].append(row)
    taped = {code: known[code] for code in day.measures if code in known}
    used = between_errors_for(actor, taped, technical_errors_for(actor, taped))
    return DayResult(
        day,
        [_measure_result(day, found, by_measure[code], used[code]) for code, found in taped.items()],
        sum(len(rows) for rows in by_measure.values()),
    )


def _measure_result(
    day: StandardisationDay,
    measure: CatalogueMeasure,
    rows: Sequence[StandardisationReading],
    used: BetweenUsed,
) -> DayMeasureResult:
    slots: dict[tuple[UUID, str, int], list[Decimal]] = defaultdict(list)
    names: dict[UUID, str] = {}
    for row in rows:  # in the order of time: a correction comes after what it supersedes
        slots[row.member_id, row.person, row.take].append(row.value)
        names[row.member_id] = row.member.name
    takes: dict[UUID, dict[str, dict[int, Decimal]]] = defaultdict(lambda: defaultdict(dict))
    limit = slip_limit(measure.technical_error)
    for (member_id, person, take), (first, *mended) in slots.items():
        cleared = as_first_read(first, mended[-1] if mended else None, limit)
        takes[member_id][person][take] = first if cleared == first else mended[-1]
    order = sorted(names, key=lambda pk: (pk != day.reference_member_id, names[pk], pk))
    own = {pk: _own(takes[pk], day.people, measure) for pk in order}
    reference = own.get(day.reference_member_id, _Own())
    results = [
        _measurer(pk, names[pk], own[pk], reference, measure, reference=pk == day.reference_member_id)
        for pk in order
    ]
    everybody = [
        person for person in day.people if order and all(1 in takes[pk].get(person, {}) for pk in order)
    ]
    table, aside = without_slips(
        [[takes[pk][person][1] for pk in order] for person in everybody],
        slip_limit(measure.technical_error, measure.between_error),
    )
    enough = len(order) > 1 and bool(table)
    spread = enough and len(table) > 1 and len({value for row in table for value in row}) > 1
    between = technical_error(table) if enough else None
    within = [found.own_error for found in results if found.own_error is not None]
    return DayMeasureResult(
        measure=measure,
        measurers=results,
        columns=len(order),
        people=len(table),
        set_aside=[everybody[place] for place in aside],
        between_error=between,
        between_percent=relative_technical_error(table) if enough else None,
        total_error=total_technical_error(within, between) if within and between is not None else None,
        reliability=reliability(table) if spread else None,
        reliability_people=_by_people(table) if spread else None,
        between_used=used,
    )


def _by_people(table: Sequence[Sequence[float]]) -> float | None:
    try:
        return reliability(table, "people")
    except ValueError:  # the people's means are all alike
        return None


@dataclass(frozen=True)
class _Own:
    """One measurer's takes without gross slips: pairs, and the figure of each person."""

    pairs: list[list[float]] = field(default_factory=list)
    set_aside: int = 0
    figures: Mapping[str, float] = field(default_factory=dict)


def _own(
    taken: Mapping[str, Mapping[int, Decimal]], people: Sequence[str], measure: CatalogueMeasure
) -> _Own:
    limit = slip_limit(measure.technical_error)
    pairs: list[list[float]] = []
    figures: dict[str, float] = {}
    slips = 0
    for person in people:
        values = [float(value) for _, value in sorted(taken.get(person, {}).items())]
        if len(values) > 1:
            kept, aside = without_slips([values], limit)
            slips += len(aside)
            pairs += kept
            if aside:
                continue
        if values:
            figures[person] = fmean(values)
    return _Own(pairs, slips, figures)


def _measurer(
    pk: UUID, name: str, own: _Own, reference_own: _Own, measure: CatalogueMeasure, *, reference: bool
) -> MeasurerResult:
    own_error = technical_error(own.pairs) if own.pairs else None
    errors = [
        value - reference_own.figures[person]
        for person, value in own.figures.items()
        if person in reference_own.figures
    ]
    judged: Agreement | None = None
    words = ""
    if not reference:
        if len(errors) < 2:
            words = TOO_FEW
        elif measure.iso_20685_limit_mm is None:
            words = NO_LIMIT
        else:
            judged = agreement(fmean(errors), stdev(errors), len(errors), measure.iso_20685_limit_mm)
            words = AGREES if judged.within else PRACTISE
    compared = not reference and bool(errors)
    return MeasurerResult(
        member_id=pk,
        name=name,
        reference=reference,
        pairs=len(own.pairs),
        set_aside=own.set_aside,
        own_error=own_error,
        people=len(errors) if not reference else len(own.figures),
        mean_error=fmean(errors) if compared else None,
        sd=stdev(errors) if compared and len(errors) > 1 else None,
        judged=judged,
        words=words,
    )
