"""Which readings of a client should be taped again, judged beside her other readings and her own earlier ones."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median
from uuid import UUID

from django.utils import timezone

from studio.calc.plausibility import check, limits
from studio.calc.units import format_length, format_weight, parse_length, parse_weight
from studio.models import Client
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures
from studio.queries.clients import client_get
from studio.queries.measuring import BodyMeasure, body_of

UNITS = ("cm", "in")
FRESH_DAYS = 365  # an adult's own reading that old still says something about her other measures


@dataclass(frozen=True)
class Meant:
    """What was probably meant: ``typed`` and ``unit`` as somebody would type it, ``value`` in mm (weight: kg)."""

    value: float
    typed: str
    unit: str
    words: str


@dataclass(frozen=True)
class TapeAgain:
    """A reading to tape again. ``low`` and ``high`` (mm, weight: kg): between them nothing would have been said."""

    code: str
    name: str
    z: float
    low: float
    high: float
    words: str
    suggestions: list[Meant]


@dataclass(frozen=True)
class Judgement:
    """``limits`` (mm, weight: kg) by code: between which a reading passes beside those given; for a page that
    loses the network. A code is left out where there is nothing to compare.
    """

    flags: list[TapeAgain]
    limits: dict[str, tuple[float, float]]


def judge(
    actor: Actor, client_id: UUID, *, readings: Sequence[tuple[str, str]], unit: str | None = None
) -> Judgement:
    """Judge what was typed so far, as (code, typed), several of one code counting by their median.

    ``unit`` ("cm" or "in", by default the client's) holds where a reading names none. Under 18 only range and
    own history speak. Nothing is written. A constant number of queries. Raises NotHere, and Refused with fields such as
    ``readings.3.typed``.
    """
    client, earlier = _known(actor, client_id)
    unit = client.unit if unit is None else unit
    if unit not in UNITS:
        raise Refused({"unit": f"Lengths are typed in cm or in (got {unit[:16]!r})."})
    known = known_measures(actor)
    values = _values(readings, unit, known)
    child, before = client.is_minor(timezone.localdate()), _before(earlier)
    flags = [
        TapeAgain(
            code=flag.code,
            name=known[flag.code].name,
            z=flag.z,
            low=flag.low,
            high=flag.high,
            words=_words(known[flag.code], flag.low, flag.high, unit),
            suggestions=[
                Meant(each.value, *_as_typed(known[flag.code], each.value, unit), each.text)
                for each in flag.suggestions
            ],
        )
        for flag in check(values, None, before, child=child)
    ]
    return Judgement(flags, limits(known, values, None, before, child=child))


def limits_at_hand(actor: Actor, client_id: UUID) -> dict[str, tuple[float, float]]:
    """The limits by code (as in `Judgement`) before the first reading.

    An adult's own figures of the last year stand in for the readings that are still to come.
    """
    client, earlier = _known(actor, client_id)
    child, before = client.is_minor(timezone.localdate()), _before(earlier)
    fresh = {code: value for code, (value, days) in before.items() if days <= FRESH_DAYS and not child}
    return limits(known_measures(actor), fresh, None, before, child=child)


def _known(actor: Actor, client_id: UUID) -> tuple[Client, dict[str, BodyMeasure]]:
    actor.need(Right.RECORD_MEASURING)
    client = client_get(actor, client_id)
    if client.erased_at is not None:
        raise NotHere("client")
    return client, body_of(actor, client_id)


def _before(earlier: Mapping[str, BodyMeasure]) -> dict[str, tuple[Decimal, float]]:
    now = timezone.now()
    return {
        code: (found.value, max(0.0, (now - found.measured_at).total_seconds() / 86400))
        for code, found in earlier.items()
    }


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
