"""Reading bodies: what stands now, what changed beyond the tape, one measuring with all that was ever said in
it.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from statistics import median
from uuid import UUID

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Window
from django.db.models.functions import DenseRank

from studio.calc.error import BEYOND, WITHIN, changed, needs_third_reading, smallest_real_change
from studio.models import Measuring, Reading
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right
from studio.queries.between import BetweenUsed, between_errors_for
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures
from studio.queries.clients import client_get
from studio.queries.trust import ErrorUsed, technical_errors_for


@dataclass(frozen=True)
class BodyMeasure:
    """The figure that stands for one measure: from the newest occasion on which it was taken.

    ``value`` (mm, weight: kg) is the middle of the takes that were not superseded: of two their mean, of
    three the median, which a single slip can't move.
    """

    code: str
    name: str
    value: Decimal
    takes: int
    measured_at: datetime
    measuring_id: UUID
    reading_ids: list[UUID]
    measured_by: str
    measured_by_id: UUID
    unit: str
    measure: CatalogueMeasure
    measurer_known: bool = True  # False: brought in from a hand unknown here, whoever answers for it

    def same_hand(self, other: "BodyMeasure") -> bool:
        """Did the same member tape both, as far as is known?"""
        return self.measurer_known and other.measurer_known and self.measured_by_id == other.measured_by_id


@dataclass(frozen=True)
class MeasureChange:
    """One measure of an occasion against the last occasion before it on which it was taken; mm (weight: kg).

    ``threshold`` is the smallest difference that would have counted; ``words`` are "beyond the tape" or
    "within the tape": the tape is all they speak of.
    """

    code: str
    name: str
    before: Decimal
    after: Decimal
    difference: Decimal
    beyond: bool
    words: str
    threshold: float
    before_at: datetime
    after_at: datetime
    other_measurer: bool
    unit: str
    error_source: str = ""  # where the technical error is from: the studio's own repeats, or a default
    between_source: str = ""  # where that between measurers is from; "" where the same hand taped both


@dataclass(frozen=True)
class Take:
    """One take of a measure: the reading that stands, and those that it replaced (the newest first)."""

    number: int
    reading: Reading
    replaced: list[Reading]


@dataclass(frozen=True)
class MeasureTaken:
    """One measure of a measuring. ``apart`` is the takes' difference where they should be taken again, else
    None.
    """

    measure: CatalogueMeasure
    takes: list[Take]
    value: Decimal
    apart: Decimal | None
    allowed: float  # the difference that two takes may have (2.77 TEM)
    error: ErrorUsed  # the technical error that this is reckoned with

    @property
    def next_take(self) -> int:
        return max(take.number for take in self.takes) + 1


@dataclass(frozen=True)
class MeasuringTaken:
    measuring: Measuring
    measures: list[MeasureTaken]

    @property
    def asks_again(self) -> list[MeasureTaken]:
        return [taken for taken in self.measures if taken.apart is not None]


def body_of(actor: Actor, client_id: UUID) -> dict[str, BodyMeasure]:
    """The newest figure of every measure that was ever taken of a client, by code, in the walk round the body.

    Three queries, however long the history is. Raises NotHere and NotAllowed.
    """
    actor.need(Right.READ_READINGS)
    client_get(actor, client_id)
    by_code = _occasions(_ranked(client_id, 1), known_measures(actor))
    return {code: found[0] for code, found in by_code.items()}


def changes_of(actor: Actor, client_id: UUID, measuring_id: UUID | None = None) -> list[MeasureChange]:
    """What changed at a measuring (None: the newest) against the last occasion before it, measure by measure.

    A measure that was taken for the first time is left out; no measure in common gives an empty list. The
    verdict is Holm's over all measures compared (see studio.calc.error.changed), with the studio's own
    technical errors where it has them (see studio.queries.trust), and the error between measurers
    (studio.queries.between) where the two occasions had different ones.
    """
    actor.need(Right.READ_READINGS)
    client_get(actor, client_id)
    occasions = Measuring.objects.filter(client_id=client_id)
    if measuring_id is not None:
        occasions = occasions.filter(pk=measuring_id)
    latest = occasions.order_by("-measured_at", "-id").first()
    if latest is None:
        if measuring_id is not None:
            raise NotHere("measuring")
        return []
    until = Q(measuring__measured_at__lt=latest.measured_at) | Q(
        measuring__measured_at=latest.measured_at, measuring_id__lte=latest.pk
    )
    known = known_measures(actor)
    pairs = {
        code: (found[1], found[0])
        for code, found in _occasions(_ranked(client_id, 2, until), known).items()
        if len(found) == 2 and found[0].measuring_id == latest.pk
    }
    if not pairs:
        return []
    compared = {code: known[code] for code in pairs}
    errors = technical_errors_for(actor, compared)
    return compare(pairs, errors, between_errors_for(actor, compared, errors))


def compare(
    pairs: Mapping[str, tuple[BodyMeasure, BodyMeasure]],
    errors: Mapping[str, ErrorUsed],
    between: Mapping[str, BetweenUsed],
) -> list[MeasureChange]:
    """All measures of one comparison, (before, after) by code, judged together."""
    if not pairs:
        return []
    known = {code: after.measure for code, (_, after) in pairs.items()}
    verdicts = changed(
        {code: before.value for code, (before, _) in pairs.items()},
        {code: after.value for code, (_, after) in pairs.items()},
        {code: errors[code].value for code in pairs},
        # The median of three is hardly surer than the mean of two, so a third take is not counted.
        repeats={
            code: (min(before.takes, 2), min(after.takes, 2)) for code, (before, after) in pairs.items()
        },
        between_errors={
            code: between[code].value
            for code, (before, after) in pairs.items()
            if not before.same_hand(after)
        },
    )
    found: list[MeasureChange] = []
    for verdict in verdicts:
        before, after = pairs[verdict.code]
        found.append(
            MeasureChange(
                code=verdict.code,
                name=known[verdict.code].name,
                before=before.value,
                after=after.value,
                difference=after.value - before.value,
                beyond=verdict.beyond,
                words=BEYOND if verdict.beyond else WITHIN,
                threshold=verdict.threshold,
                before_at=before.measured_at,
                after_at=after.measured_at,
                other_measurer=not before.same_hand(after),
                unit=known[verdict.code].unit,
                error_source=errors[verdict.code].source,
                between_source="" if before.same_hand(after) else between[verdict.code].source,
            )
        )
    return found


def measuring_list(actor: Actor, *, client_id: UUID | None = None) -> "QuerySet[Measuring]":
    """Measurings, the newest occasion first, each with ``measures_taken`` (how many measures) counted."""
    actor.need(Right.READ_READINGS)
    measurings = Measuring.objects.select_related("client", "measured_by").annotate(
        measures_taken=Count("readings__measure", distinct=True)
    )
    if client_id is not None:
        measurings = measurings.filter(client_id=client_id)
    ordered: QuerySet[Measuring] = measurings.order_by("-measured_at", "-id")
    return ordered


def measuring_get(actor: Actor, measuring_id: UUID) -> MeasuringTaken:
    """One measuring with all its readings, superseded ones beside what replaced them. Four queries.
    Raises NotHere.
    """
    actor.need(Right.READ_READINGS)
    measuring = Measuring.objects.select_related("client", "measured_by").filter(pk=measuring_id).first()
    if measuring is None:
        raise NotHere("measuring")
    return _taken(actor, [measuring])[0]


def measurings_get(actor: Actor, measurings: Iterable[Measuring]) -> list[MeasuringTaken]:
    """Measurings that were read already, with their readings. Three queries."""
    actor.need(Right.READ_READINGS)
    return _taken(actor, list(measurings))


def reading_get(actor: Actor, reading_id: UUID) -> Reading:
    """One reading with its measuring and client; raises NotHere."""
    actor.need(Right.READ_READINGS)
    reading: Reading | None = (
        Reading.objects.select_related("measuring__client", "measuring__measured_by")
        .filter(pk=reading_id)
        .first()
    )
    if reading is None:
        raise NotHere("reading")
    return reading


def recently_measured(actor: Actor, limit: int = 6) -> list[Measuring]:
    """The newest measurings of the studio, with client and measurer. One query."""
    return list(measuring_list(actor)[:limit])


def _valid() -> "QuerySet[Reading]":
    """Readings that nobody has superseded."""
    return Reading.objects.filter(~Exists(Reading.objects.filter(supersedes_id=OuterRef("pk"))))


def _ranked(client_id: UUID, occasions: int, until: Q | None = None) -> "Iterable[Reading]":
    """Valid readings of the newest occasions of each measure, with ``turn``: 1 for the newest, 2 for the one
    before.
    """
    readings = _valid().filter(client_id=client_id)
    if until is not None:
        readings = readings.filter(until)
    turn = Window(
        DenseRank(),
        partition_by=F("measure"),
        order_by=[F("measuring__measured_at").desc(), F("measuring_id").desc()],
    )
    return readings.select_related("measuring__measured_by").annotate(turn=turn).filter(turn__lte=occasions)


def newest_before(client_ids: Iterable[UUID], before: datetime) -> "Iterable[Reading]":
    """Valid readings of each client's newest occasion of each measure before a moment. One query."""
    turn = Window(
        DenseRank(),
        partition_by=[F("client_id"), F("measure")],
        order_by=[F("measuring__measured_at").desc(), F("measuring_id").desc()],
    )
    readings = _valid().filter(client_id__in=list(client_ids), measuring__measured_at__lt=before)
    return readings.select_related("measuring").annotate(turn=turn).filter(turn=1)


def _occasions(
    readings: Iterable[Reading], measures: Mapping[str, CatalogueMeasure]
) -> dict[str, list[BodyMeasure]]:
    """Readings with their turns -> by code the occasions' figures, the newest first; unknown codes are left
    out.
    """
    grouped: dict[str, dict[int, list[Reading]]] = defaultdict(lambda: defaultdict(list))
    for reading in readings:
        grouped[reading.measure][reading.turn].append(reading)  # type: ignore[attr-defined]
    return {
        code: [_figure(known, grouped[code][turn]) for turn in sorted(grouped[code])]
        for code, known in measures.items()
        if code in grouped
    }


def _figure(known: CatalogueMeasure, takes: list[Reading]) -> BodyMeasure:
    takes = sorted(takes, key=lambda reading: reading.take)
    measuring = takes[0].measuring
    return BodyMeasure(
        code=known.code,
        name=known.name,
        value=median(reading.value for reading in takes),
        takes=len(takes),
        measured_at=measuring.measured_at,
        measuring_id=measuring.pk,
        reading_ids=[reading.pk for reading in takes],
        measured_by=measuring.measurer,
        measured_by_id=measuring.measured_by_id,
        measurer_known=measuring.measurer_known,
        unit=known.unit,
        measure=known,
    )


def _taken(actor: Actor, measurings: list[Measuring]) -> list[MeasuringTaken]:
    known = known_measures(actor)
    rows: dict[UUID, list[Reading]] = defaultdict(list)
    readings = Reading.objects.filter(measuring_id__in=[measuring.pk for measuring in measurings])
    for reading in readings.select_related("recorded_by").order_by("recorded_at", "id"):
        rows[reading.measuring_id].append(reading)
    codes = {reading.measure for readings in rows.values() for reading in readings}
    errors = technical_errors_for(actor, {code: found for code, found in known.items() if code in codes})
    return [
        MeasuringTaken(measuring, _measures_taken(rows[measuring.pk], known, errors))
        for measuring in measurings
    ]


def _measures_taken(
    readings: list[Reading], measures: Mapping[str, CatalogueMeasure], errors: Mapping[str, ErrorUsed]
) -> list[MeasureTaken]:
    by_id = {reading.pk: reading for reading in readings}
    gone = {reading.supersedes_id for reading in readings if reading.supersedes_id}
    takes: dict[str, list[Take]] = defaultdict(list)
    for reading in readings:
        if reading.pk in gone:
            continue
        replaced: list[Reading] = []
        older = by_id.get(reading.supersedes_id) if reading.supersedes_id else None
        while older is not None:
            replaced.append(older)
            older = by_id.get(older.supersedes_id) if older.supersedes_id else None
        takes[reading.measure].append(Take(reading.take, reading, replaced))
    return [
        _measure_taken(known, sorted(takes[code], key=lambda take: take.number), errors[code])
        for code, known in measures.items()
        if code in takes
    ]


def _measure_taken(known: CatalogueMeasure, takes: list[Take], error: ErrorUsed) -> MeasureTaken:
    values = [take.reading.value for take in takes]
    apart: Decimal | None = None
    if len(values) == 2 and needs_third_reading(values[0], values[1], error.value):
        apart = abs(values[0] - values[1])
    return MeasureTaken(known, takes, median(values), apart, smallest_real_change(error.value), error)
