"""Standardisation days: opening one, and keeping what was taped on it."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db import IntegrityError, transaction

from studio.calc.ranges import check_range
from studio.calc.repeats import slip_limit
from studio.calc.units import parse_length, parse_weight
from studio.models import StandardisationDay, StandardisationReading
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models import Member
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import save_new
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures
from studio.queries.standard_days import measurers

FEWEST_PEOPLE, MOST_PEOPLE = 2, 60
MOST_MEASURES = 20
LONGEST_LABEL = 40
LONGEST_REASON = 200
TAKES = (1, 2)
MOST_READINGS = 1000
UNITS = ("cm", "in")


@dataclass(frozen=True)
class DayReading:
    """One taping as it was typed: of volunteer ``person`` by member ``member_id``, take 1 or 2."""

    person: str
    member_id: UUID
    measure: str
    typed: str
    take: int = 1


def open_day(
    actor: Actor,
    *,
    name: str,
    held_on: date,
    measures: Sequence[str],
    people: Sequence[str],
    reference_member_id: UUID,
) -> StandardisationDay:
    """Open a day on which measurers tape the same volunteers (labels, not clients).

    Raises Refused (name, measures, people, reference_member) and Conflict for a name that is taken.
    """
    actor.need(Right.RECORD_MEASURING)
    reasons: dict[str, str] = {}
    name = " ".join(name.split())
    if not name:
        reasons["name"] = "Give the day a name, for example: autumn 2026."
    labels = [" ".join(label.split()) for label in people if label.strip()]
    if not FEWEST_PEOPLE <= len(labels) <= MOST_PEOPLE:
        reasons["people"] = (
            f"Name {FEWEST_PEOPLE} to {MOST_PEOPLE} volunteers (got {len(labels)}); letters do."
        )
    elif len({label.casefold() for label in labels}) < len(labels):
        reasons["people"] = "Two volunteers have the same label: give each her own."
    elif any(len(label) > LONGEST_LABEL for label in labels):
        reasons["people"] = f"A label has at most {LONGEST_LABEL} signs; letters do."
    known = known_measures(actor)
    chosen = list(dict.fromkeys(measures))
    unknown = [code for code in chosen if code not in known]
    if unknown:
        reasons["measures"] = f"There is no measure {unknown[0][:64]!r} in the catalogue."
    elif not 1 <= len(chosen) <= MOST_MEASURES:
        reasons["measures"] = f"Choose 1 to {MOST_MEASURES} measures (got {len(chosen)})."
    if reference_member_id not in {member.pk for member in measurers(actor)}:
        reasons["reference_member"] = "The reference is a member of this studio who may measure."
    if reasons:
        raise Refused(reasons)
    day = StandardisationDay(
        name=name,
        held_on=held_on,
        measures=[code for code in known if code in chosen],
        people=labels,
        reference_member_id=reference_member_id,
    )
    try:
        with transaction.atomic():
            save_new(day)
    except IntegrityError as exc:
        raise Conflict("There is a standardisation day of this name: choose another.") from exc
    record_act(actor, "open_day", day, people=len(labels), measures=day.measures)
    return day


def record_day_readings(
    actor: Actor,
    day_id: UUID,
    *,
    readings: Sequence[DayReading],
    unit: str | None = None,
    as_read: bool = False,
) -> list[StandardisationReading]:
    """Keep what was taped, all or nothing; nothing of it is ever changed, only superseded.

    Because it stays, two takes that differ like a slip of the pen are refused until ``as_read`` says that the
    tape read so. ``unit`` ("cm" or "in", by default the studio's) holds where a reading names none. Raises
    NotHere, Refused with fields such as ``readings.3.typed``, and Conflict where somebody else was first. A
    constant number of queries, however many readings.
    """
    actor.need(Right.RECORD_MEASURING)
    day = StandardisationDay.objects.filter(pk=day_id).first()
    if day is None:
        raise NotHere("standardisation day")
    unit = actor.unit if unit is None else unit
    if unit not in UNITS:
        raise Refused({"unit": f"Lengths are typed in cm or in (got {unit[:16]!r})."})
    if not 1 <= len(readings) <= MOST_READINGS:
        raise Refused({"readings": f"Give 1 to {MOST_READINGS} readings (got {len(readings)})."})
    known = known_measures(actor)
    members = {member.pk: member for member in measurers(actor)}
    kept = {
        (row.person, row.member_id, row.measure, row.take): row.value
        for row in StandardisationReading.objects.filter(day_id=day_id).order_by(
            "id"
        )  # a correction comes later
    }
    reasons: dict[str, str] = {}
    new: dict[tuple[str, UUID, str, int], tuple[int, Decimal]] = {}
    for number, reading in enumerate(readings):
        wrong = _place(day, reading, known, members)
        key = (reading.person, reading.member_id, reading.measure, reading.take)
        if wrong:
            reasons[f"readings.{number}.{wrong[0]}"] = wrong[1]
        elif key in kept or key in new:
            reasons[f"readings.{number}.typed"] = (
                f"{known[reading.measure].name} of {reading.person}, take {reading.take} by "
                f"{members[reading.member_id].name}, stands already: correct it, with a reason."
            )
        else:
            try:
                new[key] = (number, _value(known[reading.measure], reading.typed, unit))
            except ValueError as problem:
                reasons[f"readings.{number}.typed"] = str(problem)
    if not as_read:
        reasons |= _slips(new, kept, known, unit)
    if reasons:
        raise Refused(reasons)
    rows = [
        StandardisationReading(
            day_id=day.pk,
            person=reading.person,
            member_id=reading.member_id,
            measure=reading.measure,
            take=reading.take,
            value=new[reading.person, reading.member_id, reading.measure, reading.take][1],
            typed=reading.typed.strip(),
        )
        for reading in readings
    ]
    try:
        with transaction.atomic():
            StandardisationReading.objects.bulk_create(rows)
    except IntegrityError as exc:
        raise Conflict("Somebody else has just recorded one of these: look at the grid again.") from exc
    record_act(actor, "record_day_readings", day, readings=len(rows), as_read=as_read)
    return rows


def record_day_reading(
    actor: Actor,
    day_id: UUID,
    *,
    person: str,
    member_id: UUID,
    measure: str,
    typed: str,
    take: int = 1,
    unit: str | None = None,
    as_read: bool = False,
) -> StandardisationReading:
    """Keep one taping; as `record_day_readings`, with the fields' own names."""
    reading = DayReading(person, member_id, measure, typed, take)
    try:
        return record_day_readings(actor, day_id, readings=[reading], unit=unit, as_read=as_read)[0]
    except Refused as exc:
        raise Refused({field.removeprefix("readings.0."): why for field, why in exc.reasons.items()}) from exc


def correct_day_reading(
    actor: Actor, reading_id: UUID, *, typed: str, reason: str, unit: str | None = None
) -> StandardisationReading:
    """Supersede a taping of a standardisation day by a new one with a reason; both stay.

    Only where it clears a gross slip the new value counts for the errors, see studio.calc.repeats.as_first_read. Raises
    NotHere, Conflict where it was superseded already, Refused (``typed``, ``reason``, ``unit``).
    """
    actor.need(Right.RECORD_MEASURING)
    old = StandardisationReading.objects.select_related("day").filter(pk=reading_id).first()
    if old is None:
        raise NotHere("reading of a standardisation day")
    if StandardisationReading.objects.filter(supersedes_id=old.pk).exists():
        raise Conflict("This reading was corrected already: correct the one that replaced it.")
    unit = actor.unit if unit is None else unit
    if unit not in UNITS:
        raise Refused({"unit": f"Lengths are typed in cm or in (got {unit[:16]!r})."})
    known = known_measures(actor)[old.measure]
    reason = " ".join(reason.split())
    reasons: dict[str, str] = {}
    if not reason:
        reasons["reason"] = "Say why it is corrected, for example: 79 was written for 97."
    elif len(reason) > LONGEST_REASON:
        reasons["reason"] = f"The reason has at most {LONGEST_REASON} signs (got {len(reason)})."
    try:
        value = _value(known, typed, unit)
    except ValueError as problem:
        raise Refused(reasons | {"typed": str(problem)}) from problem
    if value == old.value:
        reasons["typed"] = f"{known.name} reads so already: nothing to correct."
    if reasons:
        raise Refused(reasons)
    new = StandardisationReading(
        day_id=old.day_id,
        person=old.person,
        member_id=old.member_id,
        measure=old.measure,
        take=old.take,
        value=value,
        typed=typed.strip(),
        supersedes_id=old.pk,
        reason=reason,
    )
    try:
        with transaction.atomic():
            new.save(force_insert=True)
    except IntegrityError as exc:
        raise Conflict("Somebody else has just corrected this reading: look at it again.") from exc
    record_act(actor, "correct_day_reading", old.day, supersedes=str(old.pk), measure=old.measure)
    return new


def _place(
    day: StandardisationDay,
    reading: DayReading,
    known: Mapping[str, CatalogueMeasure],
    members: Mapping[UUID, Member],
) -> tuple[str, str] | None:
    """The field and the reason where a reading has no place on this day."""
    if reading.person not in day.people:
        return "person", f"{reading.person[:40]!r} is not a volunteer of this day."
    if reading.measure not in day.measures or reading.measure not in known:
        return "measure", f"{reading.measure[:64]!r} is not measured on this day."
    if reading.member_id not in members:
        return "member", "The measurer is a member of this studio who may measure."
    if reading.take not in TAKES:
        return "take", f"{known[reading.measure].name}: on such a day each takes it once or twice."
    return None


def _value(measure: CatalogueMeasure, typed: str, unit: str) -> Decimal:
    """What was typed, in mm or kg; volunteers may be of any age."""
    typed_in = measure.typed_in(unit)
    try:
        if len(typed.strip()) > 32:
            raise ValueError("more than 32 signs were typed.")
        value = parse_weight(typed, typed_in) if measure.unit == "kg" else parse_length(typed, typed_in)
    except ValueError as problem:
        raise ValueError(f"{measure.name}: {problem}") from problem
    low, high = min(measure.child[0], measure.adult[0]), max(measure.child[1], measure.adult[1])
    check_range(measure.code, value, low, high, measure.name, unit=typed_in)
    return value


def _slips(
    new: Mapping[tuple[str, UUID, str, int], tuple[int, Decimal]],
    kept: Mapping[tuple[str, UUID, str, int], Decimal],
    known: Mapping[str, CatalogueMeasure],
    unit: str,
) -> dict[str, str]:
    """Readings whose other take lies further away than a taping explains."""
    pairs: dict[tuple[str, UUID, str], dict[int, Decimal]] = defaultdict(dict)
    for (person, member, code, take), value in kept.items():
        pairs[person, member, code][take] = value
    for (person, member, code, take), (_, value) in new.items():
        pairs[person, member, code][take] = value
    found: dict[str, str] = {}
    for (person, member, code, _), (number, _) in new.items():
        both = pairs[person, member, code]
        apart = max(both.values()) - min(both.values())
        if len(both) > 1 and float(apart) > slip_limit(known[code].technical_error):
            found[f"readings.{number}.typed"] = (
                f"{known[code].name} of {person}: the two takes lie {known[code].in_words(apart, unit)} apart. "
                "Look at it again before it is kept, or say that the tape read so."
            )
    return found
