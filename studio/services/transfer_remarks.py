"""Readings of a file that do not go together with the others of their measuring: remarked, and never refused.

Works on the temporary tables of ``transfer_intake``, after its look.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from statistics import median
from typing import Any

from studio.calc.plausibility import Flag, check, suspects
from studio.calc.plausibility_model import CODES, SEXES
from studio.models.client import ADULT_YEARS
from studio.queries.catalogue import CatalogueMeasure
from studio.queries.taping import Habit
from studio.services.transfer_spool import Problem

# A file that is understood has few remarks; a column taken for another has thousands, and then these tell enough.
KEPT_REMARKS = 200
LOOKED_AT = 2000  # measurings that the quick look leaves to the thorough one; each costs some milliseconds
_AT_ONCE = 5000  # measurings whose readings are in memory at a time


@dataclass
class Remarks:
    """Remarks in the order of rows; ``all_told`` is False where there may be more of them."""

    kept: list[Problem] = field(default_factory=list)
    all_told: bool = True


@dataclass
class _Sitting:
    """What one measuring of the file says, by measure: the takes, and the first one's row, column and unit."""

    model: str
    takes: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    places: dict[str, tuple[int, int, str]] = field(default_factory=dict)

    @property
    def values(self) -> dict[str, float]:
        return {code: median(found) for code, found in self.takes.items()}


def remark(cursor: Any, measures: Mapping[str, CatalogueMeasure], habit: Habit) -> Remarks:
    """Compare the readings of each new measuring of a grown-up beside each other, as the client's record says.

    Own earlier figures are not asked: a file brings many years at once. Whoever is left out of the body model is
    left out here.
    """
    found = Remarks()
    cursor.execute("select coalesce(max(g), 0) from taken where state = 'new'")
    last = cursor.fetchone()[0]
    thorough = LOOKED_AT
    for start in range(0, last + 1, _AT_ONCE):
        by_model: dict[str, list[_Sitting]] = defaultdict(list)
        for sitting in _sittings(cursor, start, start + _AT_ONCE):
            by_model[sitting.model].append(sitting)
        for model, sittings in by_model.items():
            sex = model if model in SEXES else None
            sets = [sitting.values for sitting in sittings]
            for place in suspects(sets, sex, habit.shifts):
                if not thorough or len(found.kept) >= KEPT_REMARKS:
                    found.all_told = False
                    break
                thorough -= 1
                _look(sittings[place], sets[place], sex, habit, measures, found)
    found.kept.sort(key=lambda each: (each["row"], each["column"]))
    return found


def _look(
    sitting: _Sitting,
    values: Mapping[str, float],
    sex: str | None,
    habit: Habit,
    measures: Mapping[str, CatalogueMeasure],
    found: Remarks,
) -> None:
    if not check(values, sex, suggest=False, offsets_by_sex=habit.shifts):
        return
    for flag in check(values, sex, offsets_by_sex=habit.shifts):
        row, column, typed_in = sitting.places[flag.code]
        reason = _words(flag, measures[flag.code], "in" if typed_in in ("in", "lb") else "cm")
        found.kept.append({"row": row, "field": "value", "column": column, "reason": reason})


def _words(flag: Flag, measure: CatalogueMeasure, unit: str) -> str:
    words = (
        f"{measure.name} does not go together with the other readings of this measuring, beside which it would lie "
        f"between {measure.in_words(flag.low, unit)} and {measure.in_words(flag.high, unit)}."
    )
    if flag.suggestions:
        words += f" Perhaps {measure.in_words(flag.suggestions[0].value, unit)} was meant."
    return words


def _sittings(cursor: Any, start: int, end: int) -> list[_Sitting]:
    """Readings within the range of a tape, of grown-ups' new measurings; of corrections the last."""
    cursor.execute(
        """
        select t.g, coalesce(c.body_model, nullif(p.body_model, ''), 'both'), t.measure, t.value, t."row", t.col,
               t.typed_in
        from taken t
        join sitting s on s.g = t.g
        join in_measure m on m.code = t.measure
        left join studio_client c on c.id = s.client_id
        left join (select client_id, max(body_model) as body_model from person group by client_id) as p
          on p.client_id = s.client_id
        where t.g > %(start)s and t.g <= %(end)s and s.there is null and t.state = 'new'
          and t.measure = any(%(codes)s) and t.value between m.low_adult and m.high_adult
          and (s.client_born is null or s.client_born <= s.on_day - make_interval(years => %(adult)s))
          and coalesce(c.body_model, nullif(p.body_model, ''), 'both') <> 'none'
          and not exists (select from taken n where n.parent = t.stands)
        order by t.g, t.n
        """,
        {"start": start, "end": end, "codes": list(CODES), "adult": ADULT_YEARS},
    )
    sittings: dict[int, _Sitting] = {}
    for g, model, code, value, row, column, typed_in in cursor.fetchall():
        sitting = sittings.setdefault(g, _Sitting(model))
        sitting.takes[code].append(float(value))
        sitting.places.setdefault(code, (row, column, typed_in))
    return list(sittings.values())
