"""How this studio tapes beside the people of the body model: what is learnt from, and what was learnt."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from statistics import median
from typing import Any

from django.db import connection
from django.db.models import Count

from studio.calc.plausibility_model import CODES, SEXES
from studio.models import Client, Measuring, TapingHabit
from studio.models.client import ADULT_YEARS
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.choices import known_measures

FEWEST_PEOPLE = 10  # from about ten on the shifts are useful, see studio.calc.plausibility.learn_offsets
MOST_PEOPLE = 200  # the newest; more would hardly change a shift
FEWEST_MEASURES = 5  # a set with fewer of the modelled measures says little about where one tapes

# One occasion a person: the newest with enough measures, over nothing that adds to a girth, of a grown-up who has
# consented and of whom it is said which model goes with her.
_SETS = """
with grown as (
  select c.id, c.body_model, c.born from studio_client c
  where c.erased_at is null and c.body_model = any(%(sexes)s)
    and (select k.given from studio_consent k where k.client_id = c.id and k.kind = 'measure'
         order by k.at desc, k.id desc limit 1)
),
full_sets as (
  select r.measuring_id from studio_reading r join grown g on g.id = r.client_id
  where r.measure = any(%(codes)s) group by r.measuring_id having count(distinct r.measure) >= %(fewest)s
),
newest as (
  select distinct on (m.client_id) m.id, m.client_id, g.body_model, m.measured_at
  from studio_measuring m join full_sets f on f.measuring_id = m.id join grown g on g.id = m.client_id
  where m.over <> 'clothing' and not m.shoes
    and (g.born is null or g.born + make_interval(years => %(adult)s) <= m.measured_at)
  order by m.client_id, m.measured_at desc, m.id desc
),
chosen as (
  select *, row_number() over (partition by body_model order by measured_at desc, id desc) as place from newest
)
select c.body_model, c.client_id, r.measure, r.value
from chosen c join studio_reading r on r.measuring_id = c.id
where c.place <= %(most)s and r.measure = any(%(codes)s)
  and not exists (select from studio_reading n where n.supersedes_id = r.id)
order by c.body_model, c.measured_at desc, c.id
"""


@dataclass(frozen=True)
class Habit:
    """What was learnt: mm (weight: kg) by model and measure, and from how many people each; empty until then."""

    shifts: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    people: Mapping[str, int] = field(default_factory=dict)
    learnt_at: datetime | None = None


def habit_here() -> Habit:
    """The habit of the studio in scope. One query."""
    row = TapingHabit.objects.first()
    return Habit() if row is None else Habit(row.shifts, row.people, row.learnt_at)


@dataclass(frozen=True)
class Shift:
    """How much larger the studio tapes one measure than the people of a model were taped, mm (weight: kg).

    ``cells`` are the same in the order of the habit's models, None where one was not learnt.
    """

    measure: CatalogueMeasure
    by_model: Mapping[str, float]
    cells: tuple[float | None, ...]

    @property
    def largest(self) -> float:
        return max(abs(shift) for shift in self.by_model.values())


@dataclass(frozen=True)
class HabitShown:
    """What was learnt, the largest shift first; ``lacks`` says how many people are still wanted, by model."""

    habit: Habit
    shifts: list[Shift]
    lacks: Mapping[str, int]


def habit_of(actor: Actor) -> HabitShown:
    """How this studio tapes, for the page that explains it. Three queries."""
    actor.need(Right.READ_READINGS)
    habit, known = habit_here(), known_measures(actor)
    counts = dict(
        Client.objects.filter(erased_at=None, body_model__in=SEXES)
        .values_list("body_model")
        .annotate(many=Count("id"))
    )
    shifts = [
        Shift(
            known[code],
            {sex: found[code] for sex, found in habit.shifts.items() if code in found},
            tuple(habit.shifts.get(sex, {}).get(code) for sex in habit.people),
        )
        for code in CODES
        if any(code in found for found in habit.shifts.values())
    ]
    lacks = {sex: max(FEWEST_PEOPLE - counts.get(sex, 0), 0) for sex in SEXES if sex not in habit.people}
    return HabitShown(habit, sorted(shifts, key=lambda each: -each.largest), lacks)


def newest_sets() -> dict[str, list[dict[str, float]]]:
    """By model the newest full set of each person of the studio in scope, readings by code in mm (kg). One query.

    Of several takes the middle one counts.
    """
    facts: dict[str, Any] = {
        "sexes": list(SEXES), "codes": list(CODES), "fewest": FEWEST_MEASURES, "most": MOST_PEOPLE,
        "adult": ADULT_YEARS,
    }  # fmt: skip
    takes: dict[str, dict[object, dict[str, list[float]]]] = {
        sex: defaultdict(lambda: defaultdict(list)) for sex in SEXES
    }
    with connection.cursor() as cursor:
        cursor.execute(_SETS, facts)
        for sex, client_id, code, value in cursor.fetchall():
            takes[sex][client_id][code].append(float(value))
    return {
        sex: [{code: median(values) for code, values in person.items()} for person in people.values()]
        for sex, people in takes.items()
    }


def newest_measuring() -> object:
    """The id of the last recorded measuring of the studio in scope; None without any."""
    return Measuring.objects.order_by("-pk").values_list("pk", flat=True).first()
