"""Which readings of a client should be taped again, judged beside her other readings and her own earlier ones."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from statistics import median
from uuid import UUID

from django.utils import timezone

from studio.calc.plausibility import Flag, check, limits
from studio.calc.plausibility_model import SEXES
from studio.calc.ranges import check_range
from studio.calc.slips import Suggestion
from studio.calc.units import format_length, format_weight, parse_length, parse_weight
from studio.models import Client, Reading
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures
from studio.queries.clients import client_get
from studio.queries.courses import StudentRow, day_begins
from studio.queries.measuring import MeasuringTaken, newest_before
from studio.queries.taping import Habit, habit_here

Earlier = Mapping[str, tuple[Decimal, float]]  # by measure: the value, and how many days it is ago
UNITS = ("cm", "in")
FRESH_DAYS = 365  # an adult's own reading that old still says something about her other measures


@dataclass(frozen=True)
class Meant:
    """What was probably meant: ``typed`` and ``unit`` as somebody would type it, ``value`` in mm (weight: kg).

    ``partner`` is what was meant in the other field, where two changed places.
    """

    measure: str
    value: float
    typed: str
    unit: str
    words: str
    partner: "Meant | None" = None

    @property
    def question(self) -> str:
        """The words of a button: what was meant, and why, without the request to tape again."""
        return self.words.removesuffix(" Please tape again.").removesuffix(" Please weigh again.")

    @property
    def as_pressed(self) -> str:
        """What a form's button says of it: "waist_girth=76.0 cm", both fields with a semicolon between."""
        own = f"{self.measure}={self.typed} {self.unit}"
        return own if self.partner is None else f"{own};{self.partner.as_pressed}"


@dataclass(frozen=True)
class TapeAgain:
    """A reading to tape again. ``low`` and ``high`` (mm, weight: kg): between them nothing would have been said.

    What is not ``possible`` lies outside what is read on anybody: it can't be kept.
    """

    code: str
    name: str
    z: float
    low: float
    high: float
    words: str
    suggestions: list[Meant]
    possible: bool = True


@dataclass(frozen=True)
class Judgement:
    """``limits`` (mm, weight: kg) by code: between which a reading passes beside those given; for a page that
    loses the network. A code is left out where there is nothing to compare. ``basis`` says what it rests on.
    """

    flags: list[TapeAgain]
    limits: dict[str, tuple[float, float]]
    basis: str


@dataclass(frozen=True)
class Yardstick:
    """What the readings of one body are judged by. ``sex`` None: both models must agree; ``compare`` False: none."""

    sex: str | None
    compare: bool
    child: bool
    habit: Habit

    @classmethod
    def for_client(cls, client: Client, habit: Habit, day: date) -> "Yardstick":
        """As it was said with the client; on ``day`` she may be a child, for whom there is no model."""
        said = client.body_model
        return cls(said if said in SEXES else None, said != "none", client.is_minor(day), habit)

    @property
    def own_people(self) -> int:
        """From how many of the studio's own people the models that apply were set right; 0 where they were not."""
        models = SEXES if self.sex is None else (self.sex,)
        if self.child or not self.compare:
            return 0
        return sum(self.habit.people.get(model, 0) for model in models)

    @property
    def basis(self) -> str:
        """In words what a reading is compared with."""
        if self.child:
            return "Under 18: compared with what a tape can read and with the own earlier figures."
        if not self.compare:
            return "The body model is left out: compared with what a tape can read and with the own earlier figures."
        if self.own_people:
            return (
                "Compared with the other readings, the own earlier figures, and how this studio tapes "
                f"({self.own_people} people)."
            )
        return "Compared with the other readings and the own earlier figures."

    def check(
        self, values: Mapping[str, Decimal], earlier: Earlier | None = None, *, suggest: bool = True
    ) -> list[Flag]:
        """The readings to take again, see studio.calc.plausibility.check."""
        return check(
            values, self.sex, earlier, compare=self.compare, child=self.child, suggest=suggest,
            offsets_by_sex=self.habit.shifts,
        )  # fmt: skip

    def limits(
        self, codes: Iterable[str], values: Mapping[str, Decimal], earlier: Earlier | None = None
    ) -> dict[str, tuple[float, float]]:
        """Between which values a reading passes, see studio.calc.plausibility.limits."""
        return limits(
            codes, values, self.sex, earlier, compare=self.compare, child=self.child,
            offsets_by_sex=self.habit.shifts,
        )  # fmt: skip


def judge(
    actor: Actor, client_id: UUID, *, readings: Sequence[tuple[str, str]], unit: str | None = None
) -> Judgement:
    """Judge what was typed so far, as (code, typed), several of one code counting by their median.

    ``unit`` ("cm" or "in", by default the client's) holds where a reading names none. Under 18 only range and
    own history speak. Nothing is written. A constant number of queries. Raises NotHere, and Refused with fields such as
    ``readings.3.typed``.
    """
    client, yardstick, before = _known(actor, client_id)
    unit = client.unit if unit is None else unit
    if unit not in UNITS:
        raise Refused({"unit": f"Lengths are typed in cm or in (got {unit[:16]!r})."})
    known = known_measures(actor)
    values = _values(readings, unit, known)
    flags = in_words(yardstick.check(values, before), values, known, unit, child=yardstick.child)
    return Judgement(flags, yardstick.limits(known, values, before), yardstick.basis)


def limits_at_hand(actor: Actor, client_id: UUID) -> Judgement:
    """The limits by code before the first reading, without a flag.

    An adult's own figures of the last year stand in for the readings that are still to come.
    """
    _, yardstick, before = _known(actor, client_id)
    fresh = {
        code: value for code, (value, days) in before.items() if days <= FRESH_DAYS and not yardstick.child
    }
    return Judgement([], yardstick.limits(known_measures(actor), fresh, before), yardstick.basis)


def flags_of_measuring(actor: Actor, taken: MeasuringTaken) -> list[TapeAgain]:
    """Standing readings of a measuring that do not go together with the others, and were not kept with a word why.

    Judged as on its day, by the own figures before it. Two queries, and none where nothing was taken.
    """
    actor.need(Right.READ_READINGS)
    measuring = taken.measuring
    if not taken.measures:
        return []
    values = {found.measure.code: found.value for found in taken.measures}
    kept = {
        found.measure.code
        for found in taken.measures
        if any(take.reading.kept_because for take in found.takes)
    }
    day = measuring.measured_at.astimezone(actor.zone).date()
    yardstick = Yardstick.for_client(measuring.client, habit_here(), day)
    before = earlier_of([measuring.client_id], measuring.measured_at)[measuring.client_id]
    known = {found.measure.code: found.measure for found in taken.measures}
    flags = [flag for flag in yardstick.check(values, before) if flag.code not in kept]
    return in_words(flags, values, known, measuring.client.unit, child=yardstick.child)


def judge_line(
    actor: Actor, row: StudentRow, *, typed: Sequence[tuple[str, str]], unit: str, day: date
) -> list[TapeAgain]:
    """Which cells of a student's line, typed as (code, typed) and not saved yet, should be taped again.

    Judged beside the readings of the day and her own from before it. Two queries. What can't be read is left to the
    saving, and is not judged.
    """
    actor.need(Right.RECORD_MEASURING)
    known = {cell.measure.code: cell.measure for cell in row.cells}
    takes = {
        cell.measure.code: [take.value for take in cell.takes]
        for cell in row.cells
        if cell.takes and cell.on_the_day
    }
    asked: set[str] = set()
    for code, text in typed:
        try:
            read = _values([(code, text)], unit, known)
        except Refused:
            continue
        takes[code] = [*takes.get(code, []), read[code]]
        asked.add(code)
    yardstick = Yardstick.for_client(row.client, habit_here(), day)
    before = earlier_of([row.client.pk], day_begins(actor, day))[row.client.pk]
    values = {code: median(found) for code, found in takes.items()}
    flags = [flag for flag in yardstick.check(values, before) if flag.code in asked]
    return in_words(flags, values, known, unit, child=yardstick.child)


def earlier_of(client_ids: Iterable[UUID], before: datetime) -> dict[UUID, dict[str, tuple[Decimal, float]]]:
    """By client each measure's newest figure before a moment, and how many days it is ago. One query."""
    takes: dict[tuple[UUID, str], list[Reading]] = defaultdict(list)
    for reading in newest_before(client_ids, before):
        takes[reading.client_id, reading.measure].append(reading)
    found: dict[UUID, dict[str, tuple[Decimal, float]]] = defaultdict(dict)
    for (client_id, code), readings in takes.items():
        ago = (before - readings[0].measuring.measured_at).total_seconds() / 86400
        found[client_id][code] = median(each.value for each in readings), max(0.0, ago)
    return found


def in_words(
    flags: Iterable[Flag],
    values: Mapping[str, Decimal],
    known: Mapping[str, CatalogueMeasure],
    unit: str,
    *,
    child: bool,
) -> list[TapeAgain]:
    """Flags on ``values`` as a page says them, in the unit in which is typed."""
    told: list[TapeAgain] = []
    for flag in flags:
        found = known[flag.code]
        outside = _outside(found, values[flag.code], unit, child=child)
        told.append(
            TapeAgain(
                code=flag.code,
                name=found.name,
                z=flag.z,
                low=flag.low,
                high=flag.high,
                words=outside or _words(found, flag.low, flag.high, unit),
                suggestions=[_meant(known, flag.code, each, unit) for each in flag.suggestions],
                possible=not outside,
            )
        )
    return told


def _outside(found: CatalogueMeasure, value: Decimal, unit: str, *, child: bool) -> str:
    """The sentence for a value that is read on nobody, else ""."""
    try:
        check_range(found.code, value, *found.range_for(minor=child), found.name, unit=found.typed_in(unit))
    except ValueError as problem:
        return str(problem)
    return ""


def _meant(known: Mapping[str, CatalogueMeasure], code: str, each: Suggestion, unit: str) -> Meant:
    partner = None
    if each.partner is not None and each.partner_value is not None:
        other = known[each.partner]
        partner = Meant(
            other.code, each.partner_value, *_as_typed(other, each.partner_value, unit), words=each.text
        )
    return Meant(code, each.value, *_as_typed(known[code], each.value, unit), each.text, partner)


def _known(actor: Actor, client_id: UUID) -> tuple[Client, Yardstick, dict[str, tuple[Decimal, float]]]:
    actor.need(Right.RECORD_MEASURING)
    client = client_get(actor, client_id)
    if client.erased_at is not None:
        raise NotHere("client")
    yardstick = Yardstick.for_client(client, habit_here(), timezone.localdate())
    return client, yardstick, earlier_of([client_id], timezone.now())[client_id]


def _values(
    readings: Sequence[tuple[str, str]], unit: str, known: Mapping[str, CatalogueMeasure]
) -> dict[str, Decimal]:
    takes: dict[str, list[Decimal]] = defaultdict(list)
    reasons: dict[str, str] = {}
    for number, (code, typed) in enumerate(readings):
        found = known.get(code)
        if found is None:
            reasons[f"readings.{number}.measure"] = f"There is no measure {code[:64]!r} here."
            continue
        read = parse_weight if found.unit == "kg" else parse_length
        try:
            value = read(typed, found.typed_in(unit))
            if value <= 0:
                raise ValueError("type a number above 0.")
            takes[code].append(value)
        except ValueError as problem:
            reasons[f"readings.{number}.typed"] = f"{found.name}: {problem}"
    if reasons:
        raise Refused(reasons)
    return {code: median(values) for code, values in takes.items()}


def _words(found: CatalogueMeasure, low: float, high: float, unit: str) -> str:
    again = "weigh" if found.unit == "kg" else "tape"
    return (
        f"Please {again} again. Beside the other readings it would lie between "
        f"{found.in_words(low, unit)} and {found.in_words(high, unit)}."
    )


def _as_typed(found: CatalogueMeasure, value: float, unit: str) -> tuple[str, str]:
    shown = found.typed_in(unit)
    text = format_weight(value, shown) if found.unit == "kg" else format_length(value, shown)
    return text.removesuffix(shown).strip(), shown
