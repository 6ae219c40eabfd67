"""Recording a measuring with its readings, and correcting a reading by a new one."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from studio.calc.days import check_not_too_early
from studio.calc.ranges import check_range
from studio.calc.units import parse_length, parse_weight
from studio.models import Client, Consent, Measuring, Reading
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import save_new
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures
from studio.services.clients import client_here
from studio.services.taping import learn_when_due

MOST_TAKES = 5
MOST_READINGS = 300
LONGEST_TYPED = 32  # the column's width
CLOCKS_APART = timedelta(minutes=2)  # a tablet's clock may be a little fast
UNITS = ("cm", "in")


@dataclass(frozen=True)
class TypedReading:
    """One reading as it was typed: ``measure`` is a code of the catalogue or the studio's own, ``take`` counts
    from 1.
    """

    measure: str
    typed: str
    take: int = 1
    kept_because: str = ""


def record_measuring(
    actor: Actor,
    *,
    client_id: UUID,
    measured_at: datetime,
    readings: Sequence[TypedReading],
    unit: str | None = None,
    over: str = "close_clothing",
    shoes: bool = False,
    posture: str = "standing, relaxed",
    tape: str = "",
    guardian_present: str = "",
    notes: str = "",
) -> Measuring:
    """Record one occasion with all its readings, or nothing. The measurer is the actor.

    ``unit`` ("cm" or "in", by default the client's) holds where a reading names none; a weight then is in kg
    or lb. The client must have consented (under 18: by a guardian, one of whom is present). Raises NotHere,
    Conflict for an erased client, and Refused with fields such as ``readings.3.typed`` and sentences that
    name the measure. A constant number of queries, however many readings there are.
    """
    actor.need(Right.RECORD_MEASURING)
    client = client_here(client_id)
    untimely = about_time(client, measured_at)
    # The first and the last days of all calendars can't be told in another zone, so the time is looked at first.
    minor = client.is_minor(timezone.localdate() if untimely else timezone.localdate(measured_at))
    reasons = about_consent(client, minor=minor, guardian_present=guardian_present) | untimely
    unit = client.unit if unit is None else unit
    if unit not in UNITS:
        raise Refused(reasons | {"unit": f"Lengths are typed in cm or in (got {unit[:16]!r})."})
    values, wrong = values_of(readings, unit, known_measures(actor), minor=minor)
    reasons |= wrong
    if reasons:
        raise Refused(reasons)
    measuring = save_new(
        Measuring(
            client_id=client.pk,
            measured_at=measured_at,
            measured_by_id=actor.member_id,
            over=over,
            shoes=shoes,
            posture=posture.strip(),
            tape=tape.strip(),
            guardian_present=guardian_present.strip(),
            notes=notes.strip(),
        ),
        looked_up=("id", "studio", "client", "measured_by"),
    )
    rows = [
        Reading(
            measuring_id=measuring.pk,
            client_id=client.pk,
            measure=typed.measure,
            take=typed.take,
            value=value,
            typed=typed.typed.strip(),
            kept_because=typed.kept_because.strip(),
            recorded_by_id=actor.member_id,
        )
        for typed, value in zip(readings, values, strict=True)
    ]
    for number, row in enumerate(rows):
        clean_reading(row, f"readings.{number}.")
    Reading.objects.bulk_create(rows)
    record_act(actor, "record_measuring", measuring, client_id=client.pk, readings=len(rows))
    learn_when_due(actor)
    return measuring


def add_take(
    actor: Actor, measuring_id: UUID, *, measure_code: str, typed: str, unit: str | None = None
) -> Reading:
    """Tape a measure of this measuring once more, as its next take; the third settles two that differ.

    Raises NotHere, Conflict, Refused (``typed``, ``measure``, ``unit``).
    """
    actor.need(Right.RECORD_MEASURING)
    measuring = Measuring.objects.filter(pk=measuring_id).first()
    if measuring is None:
        raise NotHere("measuring")
    client = client_here(measuring.client_id)
    minor = client.is_minor(timezone.localdate(measuring.measured_at))
    reasons = about_consent(client, minor=minor, guardian_present=measuring.guardian_present)
    if reasons:
        raise Refused(reasons)
    known = known_measures(actor)
    earlier = Reading.objects.filter(measuring_id=measuring.pk, measure=measure_code, supersedes=None)
    last = earlier.order_by("-take").values_list("take", flat=True).first()
    if last is None:
        raise Refused({"measure": "This measure was not taken in this measuring."})
    if last >= MOST_TAKES:
        raise Refused({"measure": f"{known[measure_code].name} was taken {last} times already."})
    value = _one_value(client, known[measure_code], typed, unit, minor=minor)
    reading = Reading(
        measuring_id=measuring.pk,
        client_id=client.pk,
        measure=measure_code,
        take=last + 1,
        value=value,
        typed=typed.strip(),
        recorded_by_id=actor.member_id,
    )
    _insert(reading, "Somebody else has just added this take: look at it again.")
    record_act(actor, "add_take", reading, client_id=client.pk, measure=measure_code)
    return reading


def correct_reading(
    actor: Actor, reading_id: UUID, *, typed: str, reason: str, unit: str | None = None
) -> Reading:
    """Supersede a reading by a new one with a reason; the old one stays beside it, untouched.

    Raises NotHere, Conflict where it was superseded already, Refused (``typed``, ``reason``, ``unit``).
    """
    actor.need(Right.RECORD_MEASURING)
    old = Reading.objects.select_related("measuring").filter(pk=reading_id).first()
    if old is None:
        raise NotHere("reading")
    client = client_here(old.client_id)
    if Reading.objects.filter(supersedes_id=old.pk).exists():
        raise Conflict("This reading was corrected already: correct the one that replaced it.")
    reasons: dict[str, str] = {}
    if not reason.strip():
        reasons["reason"] = "Say why it is corrected, for example: read the wrong end of the tape."
    known = known_measures(actor)[old.measure]
    minor = client.is_minor(timezone.localdate(old.measuring.measured_at))
    try:
        value = _one_value(client, known, typed, unit, minor=minor)
    except Refused as exc:
        raise Refused(exc.reasons | reasons) from exc
    if value == old.value:
        reasons["typed"] = f"{known.name} reads so already: nothing to correct."
    if reasons:
        raise Refused(reasons)
    new = Reading(
        measuring_id=old.measuring_id,
        client_id=old.client_id,
        measure=old.measure,
        take=old.take,
        value=value,
        typed=typed.strip(),
        supersedes_id=old.pk,
        reason=" ".join(reason.split()),
        recorded_by_id=actor.member_id,
    )
    _insert(new, "Somebody else has just corrected this reading: look at it again.")
    record_act(actor, "correct_reading", new, client_id=client.pk, supersedes=str(old.pk))
    return new


def about_consent(client: Client, *, minor: bool, guardian_present: str) -> dict[str, str]:
    latest = (
        Consent.objects.filter(client_id=client.pk, kind=Consent.Kind.MEASURE).order_by("-at", "-id").first()
    )
    if latest is None or not latest.given:
        what = "has not consented" if latest is None else "has withdrawn the consent"
        return {"": f"{client.name} {what} to being measured: record the consent first."}
    reasons: dict[str, str] = {}
    if minor and not latest.by_guardian:
        reasons[""] = (
            f"{client.name} is under 18, and the consent is not a guardian's: record the guardian's first."
        )
    if minor and not guardian_present.strip():
        reasons["guardian_present"] = f"{client.name} is under 18: say which guardian is present."
    return reasons


def about_time(client: Client, measured_at: datetime) -> dict[str, str]:
    if timezone.is_naive(measured_at):
        return {
            "measured_at": "The time of the measuring needs its time zone, as in 2026-05-04T10:30:00+01:00."
        }
    if measured_at > timezone.now() + CLOCKS_APART:
        return {"measured_at": "The time of the measuring lies in the future."}
    try:
        check_not_too_early(measured_at)
    except ValueError as problem:
        return {"measured_at": str(problem)}
    if client.born and timezone.localdate(measured_at) < client.born:
        return {
            "measured_at": f"On that day {client.name} was not born yet: check the date, or the birthday."
        }
    return {}


def values_of(
    readings: Sequence[TypedReading], unit: str, known: Mapping[str, CatalogueMeasure], *, minor: bool
) -> tuple[list[Decimal], dict[str, str]]:
    """The readings' values in their order (mm, weight: kg), and what is wrong with them by field."""
    if not readings:
        return [], {"readings": "No reading was given: take at least one measure."}
    if len(readings) > MOST_READINGS:
        return [], {
            "readings": f"{len(readings)} readings in one measuring are too many; {MOST_READINGS} are allowed."
        }
    values: list[Decimal] = []
    reasons: dict[str, str] = {}
    seen = Counter((typed.measure, typed.take) for typed in readings)
    told: set[tuple[str, int]] = set()
    for number, typed in enumerate(readings):
        found = known.get(typed.measure)
        if found is None:
            reasons[f"readings.{number}.measure"] = (
                f"There is no measure {typed.measure[:64]!r} in the catalogue."
            )
            continue
        key = (typed.measure, typed.take)
        if not 1 <= typed.take <= MOST_TAKES:
            reasons[f"readings.{number}.take"] = f"{found.name}: takes are counted from 1 to {MOST_TAKES}."
        elif seen[key] > 1 and key in told:
            reasons[f"readings.{number}.take"] = f"{found.name}: take {typed.take} is given twice."
        elif typed.take > 1 and not seen[typed.measure, typed.take - 1]:
            reasons[f"readings.{number}.take"] = (
                f"{found.name}: take {typed.take} is given without take {typed.take - 1}."
            )
        told.add(key)
        try:
            values.append(_value(found, typed.typed, unit, minor=minor))
        except ValueError as problem:
            reasons[f"readings.{number}.typed"] = str(problem)
    return values, reasons


def _one_value(
    client: Client, known: CatalogueMeasure, typed: str, unit: str | None, *, minor: bool
) -> Decimal:
    unit = client.unit if unit is None else unit
    if unit not in UNITS:
        raise Refused({"unit": f"Lengths are typed in cm or in (got {unit[:16]!r})."})
    try:
        return _value(known, typed, unit, minor=minor)
    except ValueError as problem:
        raise Refused({"typed": str(problem)}) from problem


def _value(found: CatalogueMeasure, typed: str, unit: str, *, minor: bool) -> Decimal:
    """What was typed, in mm or kg; raises ValueError in a sentence that names the measure."""
    if len(typed.strip()) > LONGEST_TYPED:
        raise ValueError(f"{found.name}: more than {LONGEST_TYPED} signs were typed.")
    typed_in = found.typed_in(unit)
    try:
        value = parse_weight(typed, typed_in) if found.unit == "kg" else parse_length(typed, typed_in)
    except ValueError as problem:
        raise ValueError(f"{found.name}: {problem}") from problem
    low, high = found.range_for(minor=minor)
    check_range(found.code, value, low, high, found.name, unit=typed_in)
    return value


def clean_reading(row: Reading, path: str = "") -> None:
    """The columns' own limits; references are ours and need no query."""
    try:
        row.clean_fields(exclude={"studio", "measuring", "client", "supersedes", "recorded_by"})
    except ValidationError as exc:
        raise Refused(
            {f"{path}{field}": " ".join(words) for field, words in exc.message_dict.items()}
        ) from exc


def _insert(row: Reading, when_late: str) -> None:
    clean_reading(row)
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError as exc:
        raise Conflict(when_late) from exc
