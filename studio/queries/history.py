"""A body over time: every figure of a measure, what changed beyond the tape, and how a child grew."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from decimal import Decimal
from math import sqrt
from statistics import median
from uuid import UUID

from studio.calc.growth import Seen, YearlyRate, age_in_words, yearly_rates
from studio.models import Client, Reading
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right
from studio.queries.between import BetweenUsed, between_errors_for
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures
from studio.queries.clients import client_get
from studio.queries.measuring import BodyMeasure, MeasureChange, compare
from studio.queries.trust import ErrorUsed, technical_errors_for

NORMAL_95 = 1.96


@dataclass(frozen=True)
class Occasion:
    """One measure on one occasion. ``half_width`` is how far its figure can be trusted (95 %), mm or kg.

    ``change`` is against the time before, judged together with all other measures of that visit; None the
    first time. ``age`` is in words where the birthday is known. ``rate`` is a child's growth up to here.
    """

    figure: BodyMeasure
    on: date
    half_width: float
    change: MeasureChange | None
    age: str
    rate: YearlyRate | None


@dataclass(frozen=True)
class HistoryReading:
    """A reading with its occasion; ``stands`` is false once a later one replaced it."""

    reading: Reading
    stands: bool


@dataclass(frozen=True)
class MeasureHistory:
    """One measure, the oldest occasion first; ``readings`` has every reading, the newest occasion first."""

    measure: CatalogueMeasure
    error: ErrorUsed
    occasions: list[Occasion]
    readings: list[HistoryReading]

    @property
    def last(self) -> Occasion:
        return self.occasions[-1]


@dataclass(frozen=True)
class ClientHistory:
    """All measures of a client in the walk round the body; ``growing`` while she was under 18 at the first."""

    client: Client
    measures: dict[str, MeasureHistory]
    visits: int
    growing: bool


def history_of(actor: Actor, client_id: UUID) -> ClientHistory:
    """Every measure of a client over time. Five queries, however long the history. Raises NotHere."""
    actor.need(Right.READ_READINGS)
    client = client_get(actor, client_id)
    known = known_measures(actor)
    rows = list(
        Reading.objects.filter(client_id=client_id)
        .select_related("measuring__measured_by", "recorded_by")
        .order_by("measuring__measured_at", "measuring_id", "take", "recorded_at", "id")
    )
    errors = technical_errors_for(actor, known)
    return _history(client, rows, known, errors, between_errors_for(actor, known, errors), actor.zone)


def measure_history(actor: Actor, client_id: UUID, code: str) -> tuple[ClientHistory, MeasureHistory]:
    """One measure beside all the others (they are judged together). Raises NotHere where it was never taken."""
    found = history_of(actor, client_id)
    if code not in found.measures:
        raise NotHere("history of this measure")
    return found, found.measures[code]


def _history(
    client: Client,
    rows: Iterable[Reading],
    known: Mapping[str, CatalogueMeasure],
    errors: Mapping[str, ErrorUsed],
    between: Mapping[str, BetweenUsed],
    zone: tzinfo,
) -> ClientHistory:
    rows = [row for row in rows if row.measure in known]
    gone = {row.supersedes_id for row in rows if row.supersedes_id}
    visits: dict[UUID, dict[str, list[Reading]]] = defaultdict(lambda: defaultdict(list))
    readings: dict[str, list[HistoryReading]] = defaultdict(list)
    for row in rows:  # in the order of the occasions
        readings[row.measure].append(HistoryReading(row, row.pk not in gone))
        if row.pk not in gone:
            visits[row.measuring_id][row.measure].append(row)
    figures: dict[str, list[tuple[BodyMeasure, MeasureChange | None]]] = defaultdict(list)
    for taken in visits.values():
        now = {code: _figure(known[code], takes) for code, takes in taken.items()}
        pairs = {code: (figures[code][-1][0], figure) for code, figure in now.items() if figures[code]}
        changes = {change.code: change for change in compare(pairs, errors, between)}
        for code, figure in now.items():
            figures[code].append((figure, changes.get(code)))
    first = min((row.measuring.measured_at for row in rows), default=None)
    growing = first is not None and client.is_minor(first.astimezone(zone).date())
    return ClientHistory(
        client,
        {
            code: MeasureHistory(
                measure,
                errors[code],
                _occasions(figures[code], errors[code], client.born, zone, growing=growing),
                readings[code][::-1],
            )
            for code, measure in known.items()
            if figures[code]
        },
        len(visits),
        growing,
    )


def _figure(known: CatalogueMeasure, takes: list[Reading]) -> BodyMeasure:
    measuring = takes[0].measuring
    value: Decimal = median(take.value for take in takes)
    return BodyMeasure(
        code=known.code,
        name=known.name,
        value=value,
        takes=len(takes),
        measured_at=measuring.measured_at,
        measuring_id=measuring.pk,
        reading_ids=[take.pk for take in takes],
        measured_by=measuring.measurer,
        measured_by_id=measuring.measured_by_id,
        measurer_known=measuring.measurer_known,
        unit=known.unit,
        measure=known,
    )


def _occasions(
    figures: list[tuple[BodyMeasure, MeasureChange | None]],
    error: ErrorUsed,
    born: date | None,
    zone: tzinfo,
    *,
    growing: bool,
) -> list[Occasion]:
    # The median of three is hardly surer than the mean of two, so a third take is not counted.
    spreads = [error.value / sqrt(min(figure.takes, 2)) for figure, _ in figures]
    days = [_day(figure.measured_at, zone) for figure, _ in figures]
    rates: dict[date, YearlyRate] = {}
    if growing:
        seen = [
            Seen(on, float(figure.value), spread)
            for on, (figure, _), spread in zip(days, figures, spreads, strict=True)
        ]
        rates = {rate.until: rate for rate in yearly_rates(seen)}
    return [
        Occasion(
            figure=figure,
            on=on,
            half_width=NORMAL_95 * spread,
            change=change,
            age=age_in_words(born, on) if born is not None and born <= on else "",
            rate=rates.get(on),
        )
        for (figure, change), on, spread in zip(figures, days, spreads, strict=True)
    ]


def _day(at: datetime, zone: tzinfo) -> date:
    return at.astimezone(zone).date()
