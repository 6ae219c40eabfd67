"""How far this studio's tape can be trusted: the technical error from its own repeats, by measure and measurer."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from django.db import connection

from studio.calc.repeats import ENOUGH_PAIRS, FINEST, error_of_pairs, relative_to_expected, slip_limit
from studio.platform.errors import NotHere
from studio.platform.models import Member
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures

FEW_PAIRS = 5  # below this nothing is said of one person's own error: common practice, no source
MOST_TO_PRACTISE = 5

# One row a measure and measurer: pairs that count, the sum of their squared differences, pairs set aside.
# Both takes must have been read by the same hand. A take counts as it was first read; its correction counts
# only where it cleared a gross slip, that is moved the reading by more than the limit
# (studio.calc.repeats.as_first_read says the same in words). The measurer is who wrote both down and is
# named as the measuring's; where those differ (an import, a helper) the pair is the studio's alone. What was brought
# in from a hand unknown here says nothing of this studio's tape and is left out.
# It groups and joins nothing large (the measurings come in as rows of their own): so it stays quick right after a
# large import, when the database has no statistics yet and would join one by one. Ids are ordered by time, so the
# last correction has the largest.
_PAIRS = """
with limits(measure, most) as (select * from unnest(%(codes)s::text[], %(limits)s::float8[])),
entries as (
  select r.measuring_id, r.measure, r.take, r.value, r.id, r.supersedes_id, r.recorded_by_id::text as by_whom,
    null::text as measurer
  from studio_reading r
  where r.studio_id = %(studio)s and r.take in (1, 2) and r.measure = any(%(codes)s::text[])
  union all
  select m.id, null, null, null, m.id, null, null, m.measured_by_id::text
  from studio_measuring m where m.studio_id = %(studio)s and m.measurer_known
),
named as (select e.*, max(e.measurer) over (partition by e.measuring_id) as measured_by from entries e),
takes as (
  select n.measure, n.measured_by,
    max(n.value) filter (where n.take = 1 and n.supersedes_id is null) as a,
    max(n.value) filter (where n.take = 2 and n.supersedes_id is null) as b,
    min(n.by_whom) filter (where n.supersedes_id is null) as by_one,
    max(n.by_whom) filter (where n.supersedes_id is null) as by_other,
    (array_agg(n.value order by n.id desc) filter (where n.take = 1 and n.supersedes_id is not null))[1] as new_a,
    (array_agg(n.value order by n.id desc) filter (where n.take = 2 and n.supersedes_id is not null))[1] as new_b
  from named n
  where n.measure is not null
  group by n.measuring_id, n.measured_by, n.measure
),
pairs as (
  select t.measure, limits.most, case when t.by_one = t.measured_by then t.by_one::uuid end as member_id,
    case when abs(t.new_a - t.a) > limits.most then t.new_a else t.a end
    - case when abs(t.new_b - t.b) > limits.most then t.new_b else t.b end as apart
  from takes t join limits on limits.measure = t.measure
  where t.a is not null and t.b is not null and t.by_one = t.by_other and t.measured_by is not null
)
select measure, member_id, count(*) filter (where abs(apart) <= most),
  coalesce(sum(apart * apart) filter (where abs(apart) <= most), 0)::float8,
  count(*) filter (where abs(apart) > most)
from pairs group by measure, member_id
"""


@dataclass(frozen=True)
class Repeats:
    """Pairs of first two takes that count, the sum of their squared differences, and pairs with a gross slip."""

    pairs: int = 0
    sum_of_squares: float = 0.0
    set_aside: int = 0

    def __add__(self, other: "Repeats") -> "Repeats":
        return Repeats(
            self.pairs + other.pairs,
            self.sum_of_squares + other.sum_of_squares,
            self.set_aside + other.set_aside,
        )

    @property
    def error(self) -> float | None:
        """The technical error, mm (weight: kg); None without a pair."""
        return error_of_pairs(self.sum_of_squares, self.pairs) if self.pairs else None


@dataclass(frozen=True)
class ErrorUsed:
    """The technical error that the studio reckons with for one measure, mm (weight: kg), and where it is from."""

    value: float
    source: str
    pairs: int

    @property
    def own(self) -> bool:
        return self.pairs >= ENOUGH_PAIRS


@dataclass(frozen=True)
class MeasureRepeats:
    """One measurer's repeats of one measure beside the studio's and the working default; mm (weight: kg).

    ``early`` until there are enough pairs to quote the figure; ``over`` is how many times her error is what
    the catalogue reckons with, None without a pair.
    """

    measure: CatalogueMeasure
    own: Repeats
    studio: Repeats
    used: ErrorUsed

    @property
    def default(self) -> float:
        return self.measure.technical_error

    @property
    def early(self) -> bool:
        return self.own.pairs < ENOUGH_PAIRS

    @property
    def over(self) -> float | None:
        return None if self.own.error is None else self.own.error / self.default


@dataclass(frozen=True)
class Repeatability:
    """One member's repeatability: measures in the walk round the body, and those to practise, the most first."""

    member_id: UUID
    name: str
    measures: list[MeasureRepeats]
    practise: list[MeasureRepeats]

    @property
    def pairs(self) -> int:
        return sum(each.own.pairs for each in self.measures)

    @property
    def set_aside(self) -> int:
        return sum(each.own.set_aside for each in self.measures)


@dataclass(frozen=True)
class MemberRepeats:
    """One member at a glance: ``relative`` is her error over all measures, 1 being what is reckoned with."""

    member_id: UUID
    name: str
    pairs: int
    measures: int
    relative: float | None


def technical_errors_for(
    actor: Actor, measures: Mapping[str, CatalogueMeasure] | None = None
) -> dict[str, ErrorUsed]:
    """The technical error of every measure by code: the studio's own figure from 20 pairs on.

    Pooled over all measurers from the first two takes of every measuring. One query where ``measures`` are
    given (those that were read already), else two.
    """
    actor.need(Right.READ_READINGS)
    known = known_measures(actor) if measures is None else measures
    studio: dict[str, Repeats] = defaultdict(Repeats)
    for code, _, repeats in _pairs(actor, known):
        studio[code] += repeats
    return {code: _used(measure, studio[code]) for code, measure in known.items()}


def repeatability_of(actor: Actor, member_id: UUID | None = None) -> Repeatability:
    """A member's own repeatability (None: the actor's) against the studio's and the defaults. Three queries.

    Somebody else's is the owner's to see. Raises NotHere, NotAllowed.
    """
    actor.need(Right.RECORD_MEASURING)
    wanted = actor.member_id if member_id is None else member_id
    if wanted != actor.member_id:
        actor.need(Right.KEEP_MEMBERS)
    member = Member.objects.filter(pk=wanted).first()
    if member is None:
        raise NotHere("member")
    known = known_measures(actor)
    own: dict[str, Repeats] = defaultdict(Repeats)
    studio: dict[str, Repeats] = defaultdict(Repeats)
    for code, by, repeats in _pairs(actor, known):
        studio[code] += repeats
        if by == wanted:
            own[code] += repeats
    rows = [
        MeasureRepeats(measure, own[code], studio[code], _used(measure, studio[code]))
        for code, measure in known.items()
        if studio[code].pairs or studio[code].set_aside
    ]
    practise = sorted(
        (row for row in rows if row.own.pairs >= FEW_PAIRS and row.over is not None and row.over > 1),
        key=lambda row: -(row.over or 0),
    )
    return Repeatability(wanted, member.name, rows, practise[:MOST_TO_PRACTISE])


def members_repeatability(actor: Actor) -> list[MemberRepeats]:
    """All who have repeats, by name, for the owner. Three queries, however many measure."""
    actor.need(Right.KEEP_MEMBERS, Right.READ_READINGS)
    known = known_measures(actor)
    parts: dict[UUID, list[tuple[float, int, float]]] = defaultdict(list)
    for code, by, repeats in _pairs(actor, known):
        if by is not None and repeats.pairs:
            parts[by].append((repeats.sum_of_squares, repeats.pairs, known[code].technical_error))
    members = Member.objects.filter(pk__in=list(parts)).order_by("name", "id")
    return [
        MemberRepeats(
            member.pk,
            member.name,
            sum(pairs for _, pairs, _ in parts[member.pk]),
            len(parts[member.pk]),
            relative_to_expected(parts[member.pk]),
        )
        for member in members
    ]


def _pairs(actor: Actor, known: Mapping[str, CatalogueMeasure]) -> list[tuple[str, UUID | None, Repeats]]:
    with connection.cursor() as cursor:
        cursor.execute(
            _PAIRS,
            {
                "studio": actor.studio_id,
                "codes": list(known),
                "limits": [slip_limit(measure.technical_error) for measure in known.values()],
            },
        )
        return [
            (code, member_id, Repeats(pairs, total, aside))
            for code, member_id, pairs, total, aside in cursor.fetchall()
        ]


def _used(measure: CatalogueMeasure, repeats: Repeats) -> ErrorUsed:
    own = repeats.error
    if own is not None and repeats.pairs >= ENOUGH_PAIRS:
        return ErrorUsed(
            max(own, FINEST[measure.unit]),
            f"the studio's own, from the first two takes of {repeats.pairs} pairs",
            repeats.pairs,
        )
    lacks = f"until there are {ENOUGH_PAIRS} pairs of the studio's own ({repeats.pairs} so far)"
    return ErrorUsed(
        measure.technical_error, f"{measure.technical_error_source.split(';')[0]}, {lacks}", repeats.pairs
    )
