"""How much measurers differ from one another: from the studio's standardisation days, else from the catalogue."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import connection

from studio.calc.repeats import ENOUGH_PAIRS, FINEST, between_measurers, slip_limit
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.trust import ErrorUsed

# One row a measure. Every taping counts as it was first read, unless its correction cleared a gross slip
# (studio.calc.repeats.as_first_read says the same in words). Between measurers: the first takes of one volunteer,
# around their mean, over all days, each with as many measurers as taped her. Within: the two takes of one measurer.
_DAYS = """
with limits(measure, own, other) as (
  select * from unnest(%(codes)s::text[], %(own)s::float8[], %(other)s::float8[])
),
slots as (
  select r.day_id, r.person, r.member_id, r.measure, r.take,
    max(r.value) filter (where r.supersedes_id is null) as read,
    (array_agg(r.value order by r.id desc) filter (where r.supersedes_id is not null))[1] as mended
  from studio_standardisationreading r
  where r.studio_id = %(studio)s and r.measure = any(%(codes)s::text[])
  group by r.day_id, r.person, r.member_id, r.measure, r.take
),
takes as (
  select s.*, limits.own, limits.other,
    case when abs(s.mended - s.read) > limits.own then s.mended else s.read end as value
  from slots s join limits on limits.measure = s.measure
),
firsts as (
  select measure, count(*) - 1 as free, var_samp(value) * (count(*) - 1) as scatter,
    max(value) - min(value) > max(other) as slip
  from takes where take = 1 group by day_id, person, measure having count(*) > 1
),
pairs as (
  select measure, max(value) filter (where take = 1) - max(value) filter (where take = 2) as apart, max(own) as own
  from takes group by day_id, person, member_id, measure having count(*) = 2
)
select limits.measure,
  (select coalesce(sum(scatter), 0)::float8 from firsts f where f.measure = limits.measure and not slip),
  (select coalesce(sum(free), 0)::int from firsts f where f.measure = limits.measure and not slip),
  (select coalesce(sum(apart * apart), 0)::float8 from pairs p where p.measure = limits.measure and abs(apart) <= own),
  (select count(*)::int from pairs p where p.measure = limits.measure and abs(apart) <= own)
from limits
"""


@dataclass(frozen=True)
class BetweenUsed:
    """The error between measurers that is reckoned with where two occasions had different ones, mm (weight: kg).

    Beside each measurer's own error, which it does not hold. ``comparisons`` are the studio's own degrees of freedom.
    """

    value: float
    source: str
    comparisons: int

    @property
    def own(self) -> bool:
        return self.comparisons >= ENOUGH_PAIRS


def between_errors_for(
    actor: Actor, measures: Mapping[str, CatalogueMeasure], errors: Mapping[str, ErrorUsed]
) -> dict[str, BetweenUsed]:
    """The error between measurers of these measures by code: the studio's own from 20 comparisons on. One query.

    A volunteer taped by K measurers gives K - 1 comparisons. The measurers' own error is taken out: that of the days,
    where there are pairs enough, else that of ``errors``.
    """
    actor.need(Right.READ_READINGS)
    facts: dict[str, Any] = {
        "studio": actor.studio_id,
        "codes": list(measures),
        "own": [slip_limit(found.technical_error) for found in measures.values()],
        "other": [slip_limit(found.technical_error, found.between_error) for found in measures.values()],
    }
    with connection.cursor() as cursor:
        cursor.execute(_DAYS, facts)
        days = {code: sums for code, *sums in cursor.fetchall()}
    return {
        code: _used(found, errors[code].value, *days.get(code, (0.0, 0, 0.0, 0)))
        for code, found in measures.items()
    }


def _used(
    measure: CatalogueMeasure, own: float, scatter: float, free: int, squares: float, pairs: int
) -> BetweenUsed:
    if free < ENOUGH_PAIRS:
        lacks = f"until there are {ENOUGH_PAIRS} comparisons on standardisation days ({free} so far)"
        source = f"{measure.technical_error_source.split(';')[0]}, {lacks}"
        return BetweenUsed(measure.between_error, source, free)
    within = own**2 if pairs < ENOUGH_PAIRS else squares / (2 * pairs)
    return BetweenUsed(
        max(between_measurers(scatter, free, within), FINEST[measure.unit]),
        f"the studio's own, from {free} comparisons on standardisation days",
        free,
    )
