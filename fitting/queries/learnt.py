"""What the studio has learnt: what a client and a pattern always need, and which ease rules lead to changes.

Only signed-off fittings count: nothing in them is open any more.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from fitting.calc.learnt import Habit, habit
from fitting.models import FitNote, Garment, SignOff
from fitting.queries.carried import carried_ids
from fitting.queries.fittings import GROWS, LENGTHS, MEASURED_DECISIONS, PLACES, WIDTHS, current_notes
from fitting.queries.paper_zones import paper_zones, zone_name
from fitting.queries.plan_text import say_signed
from fitting.queries.planned import read_plan
from studio.calc.units import format_length
from studio.platform.rights import Actor, Right

MOST_GARMENTS = 2000
FEWEST_PEOPLE = 3
"""A pattern or a rule is judged on so many different people at least."""


@dataclass(frozen=True)
class Learnt:
    """One thing that repeats itself: where, how often, how much."""

    place: str
    place_words: str
    habit: Habit
    words: str  # "lengthened by 2.0 cm in 4 of 4"


@dataclass(frozen=True)
class PatternLearnt:
    pattern_id: UUID
    pattern: str
    people: int
    learnt: tuple[Learnt, ...]


@dataclass(frozen=True)
class RuleLearnt:
    """An ease rule, and what the fittings made of it: the mean change of the sewn garment from what the rule asked."""

    kind: str
    kind_words: str
    zone_words: str
    source: str
    range_words: str
    people: int
    learnt: Learnt


@dataclass(frozen=True)
class StudioLearnt:
    fitted: int
    patterns: tuple[PatternLearnt, ...]
    rules: tuple[RuleLearnt, ...]


def client_learnt(actor: Actor, client_id: UUID, unit: str) -> list[Learnt]:
    """The changes that this client's garments always needed, paper and fitting together; three queries."""
    actor.need(Right.READ_FIT_HISTORY)
    garments = _fitted(Garment.objects.filter(client_id=client_id))
    carried = frozenset[str]().union(*(carried_ids(garment.plan) for garment in garments))
    noted = _changes([garment.pk for garment in garments], but=carried)
    changes: dict[str, list[float]] = defaultdict(list)
    for garment in garments:
        total: dict[str, float] = defaultdict(float)
        zones: set[str] = set()
        if garment.plan is not None:
            planned = read_plan(garment.plan)
            zones = {zone.zone for zone in planned.zones}
            for alteration in planned.alterations:
                total[alteration.zone] += alteration.total
        for place, amount in noted[garment.pk].items():
            total[place] += amount
        for place in zones | set(total):
            changes[place].append(total[place])
    return _told(changes, unit)


def studio_learnt(actor: Actor) -> StudioLearnt:
    """What patterns and ease rules always needed at a fitting, on at least three people; three queries."""
    actor.need(Right.READ_FIT_HISTORY)
    garments = _fitted(Garment.objects.filter(pattern__isnull=False))
    noted = _changes([garment.pk for garment in garments])
    return StudioLearnt(
        fitted=len(garments),
        patterns=tuple(_patterns(garments, noted, actor.unit)),
        rules=tuple(_rules(garments, noted, actor.unit)),
    )


def _fitted(garments: "QuerySet[Garment]") -> list[Garment]:
    """Those with a signed-off fitting, newest first, with plan and pattern."""
    signed = SignOff.objects.filter(session__garment=OuterRef("pk"))
    rows = garments.filter(Exists(signed)).select_related("plan", "pattern").order_by("-id")
    return list(rows[:MOST_GARMENTS])


def _changes(garment_ids: list[UUID], *, but: frozenset[str] = frozenset()) -> dict[UUID, dict[str, float]]:
    """What was decided at signed-off fittings, by garment and place, signed: one query. ``but`` stand in a plan."""
    signed = SignOff.objects.filter(session=OuterRef("session"))
    notes = (
        current_notes()
        .filter(Exists(signed), session__garment_id__in=garment_ids, decision__in=MEASURED_DECISIONS)
        .select_related("session")
    )
    found: dict[UUID, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for note in notes:
        if note.amount_mm is not None and str(note.pk) not in but and _counts(note):
            sign = 1 if note.decision in GROWS else -1
            found[note.session.garment_id][note.place] += sign * float(note.amount_mm)
    return found


def _counts(note: FitNote) -> bool:
    """A width is changed by taking in and letting out, a length by its own; at other places both count."""
    zone = paper_zones().get(note.place)
    if zone is None:
        return True
    return note.decision in (LENGTHS if zone.kind == "length" else WIDTHS)


def _told(changes: Mapping[str, list[float]], unit: str) -> list[Learnt]:
    found = []
    for place, amounts in changes.items():
        one = habit(amounts)
        if one is not None and one.always:
            found.append(Learnt(place, _place_words(place), one, _words(place, one, unit)))
    return sorted(found, key=lambda row: (-row.habit.times, -abs(row.habit.mean), row.place))


def _place_words(place: str) -> str:
    return PLACES.get(place) or zone_name(place)


def _words(place: str, one: Habit, unit: str) -> str:
    zone = paper_zones().get(place)
    if zone is not None and zone.kind == "length":
        done = "lengthened" if one.mean > 0 else "shortened"
    else:
        done = "let out" if one.mean > 0 else "taken in"
    return f"{done} by {format_length(abs(one.mean), unit)} in the mean, in {one.times} of {one.n}"


def _patterns(
    garments: list[Garment], noted: Mapping[UUID, Mapping[str, float]], unit: str
) -> Iterable[PatternLearnt]:
    of: dict[UUID, list[Garment]] = defaultdict(list)
    for garment in garments:
        if garment.pattern_id is not None:
            of[garment.pattern_id].append(garment)
    for pattern_id, rows in of.items():
        people = {garment.client_id for garment in rows}
        if len(people) < FEWEST_PEOPLE:
            continue
        places = {place for garment in rows for place in noted.get(garment.pk, {})}
        changes = {place: [noted.get(garment.pk, {}).get(place, 0.0) for garment in rows] for place in places}
        learnt = _told(changes, unit)
        if learnt:
            yield PatternLearnt(pattern_id, rows[0].pattern.name, len(people), tuple(learnt))


def _rules(
    garments: list[Garment], noted: Mapping[UUID, Mapping[str, float]], unit: str
) -> Iterable[RuleLearnt]:
    of: dict[tuple[str, str, str, float, float], list[tuple[Garment, float]]] = defaultdict(list)
    for garment in garments:
        if garment.plan is None:
            continue
        for zone in read_plan(garment.plan).zones:
            key = (garment.kind, zone.zone, zone.source, zone.low, zone.high)
            of[key].append((garment, noted.get(garment.pk, {}).get(zone.zone, 0.0)))
    for (kind, zone_code, source, low, high), rows in of.items():
        people = {garment.client_id for garment, _ in rows}
        one = habit([change for _, change in rows]) if len(people) >= FEWEST_PEOPLE else None
        if one is None or not (one.always or one.beyond_chance):
            continue
        words = f"{_words(zone_code, one, unit)}: the rule is off by about {say_signed(one.mean, unit)}"
        yield RuleLearnt(
            kind=kind,
            kind_words=rows[0][0].get_kind_display(),
            zone_words=zone_name(zone_code),
            source=source,
            range_words=f"{say_signed(low, unit)} to {say_signed(high, unit)}",
            people=len(people),
            learnt=Learnt(zone_code, zone_name(zone_code), one, words),
        )
