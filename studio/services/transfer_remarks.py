"""Readings of a file that do not go together with the others of their measuring: remarked, and never refused.

Works on the temporary tables of ``transfer_intake``, after its look.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from statistics import median
from typing import Any

from django.db import connection

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
_FETCHED = 5000  # rows


@dataclass
class Remarks:
    """Remarks in the order of rows; ``all_told`` is False where there may be more of them."""

    kept: list[Problem] = field(default_factory=list)
    all_told: bool = True


@dataclass
class _Sitting:
    """What one measuring of the file says, by measure: the takes of it."""

    g: int
    model: str
    takes: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))

    @property
    def values(self) -> dict[str, float]:
        return {code: median(found) for code, found in self.takes.items()}


def remark(cursor: Any, measures: Mapping[str, CatalogueMeasure], habit: Habit) -> Remarks:
    """Compare the readings of each new measuring of a grown-up beside each other, as the client's record says.

    Own earlier figures are not asked: a file brings many years at once. Whoever is left out of the body model is
    left out here.
    """
    found = Remarks()
    thorough = LOOKED_AT
    for some in _sittings(_AT_ONCE):
        by_model: dict[str, list[_Sitting]] = defaultdict(list)
        for sitting in some:
            by_model[sitting.model].append(sitting)
        for model, sittings in by_model.items():
            sex = model if model in SEXES else None
            sets = [sitting.values for sitting in sittings]
            for place in suspects(sets, sex, habit.shifts):
                if not thorough or len(found.kept) >= KEPT_REMARKS:
                    found.all_told = False
                    break
                thorough -= 1
                _look(cursor, sittings[place].g, sets[place], sex, habit, measures, found)
    found.kept.sort(key=lambda each: (each["row"], each["column"]))
    return found


def _look(
    cursor: Any,
    g: int,
    values: Mapping[str, float],
    sex: str | None,
    habit: Habit,
    measures: Mapping[str, CatalogueMeasure],
    found: Remarks,
) -> None:
    if not check(values, sex, suggest=False, offsets_by_sex=habit.shifts):
        return
    flags = check(values, sex, offsets_by_sex=habit.shifts)
    places = _places(cursor, g) if flags else {}
    for flag in flags:
        row, column, typed_in = places[flag.code]
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


# Of corrections the last; what no tape reads on anybody is a problem already.
_COMPARED = """t.state = 'new' and t.measure = any(%(codes)s) and t.value between m.low_adult and m.high_adult
          and not exists (select from taken n where n.parent = t.stands)"""


def _sittings(at_once: int) -> Iterator[list[_Sitting]]:
    """Readings within the range of a tape, of grown-ups' new measurings, so many measurings at a time.

    A cursor of the server's hands them over in their order: the table is walked once, and memory does not grow.
    """
    some: list[_Sitting] = []
    with connection.chunked_cursor() as rows:
        rows.execute(
            f"""
            select t.g, coalesce(c.body_model, nullif(p.body_model, ''), 'both'), t.measure, t.value::float8
            from taken t
            join sitting s on s.g = t.g
            join in_measure m on m.code = t.measure
            left join studio_client c on c.id = s.client_id
            left join (select client_id, max(body_model) as body_model from person group by client_id) as p
              on p.client_id = s.client_id
            where {_COMPARED} and s.there is null
              and (s.client_born is null or s.client_born <= s.on_day - make_interval(years => %(adult)s))
              and coalesce(c.body_model, nullif(p.body_model, ''), 'both') <> 'none'
            order by t.g, t.n
            """,  # noqa: S608 - the condition is ours
            {"codes": list(CODES), "adult": ADULT_YEARS},
        )
        while chunk := rows.fetchmany(_FETCHED):
            for g, model, code, value in chunk:
                if not some or some[-1].g != g:
                    if len(some) >= at_once:
                        yield some
                        some = []
                    some.append(_Sitting(g, model))
                some[-1].takes[code].append(value)
    if some:
        yield some


def _places(cursor: Any, g: int) -> dict[str, tuple[int, int, str]]:
    """Row, column and unit of each measure's first take in one measuring."""
    cursor.execute(
        f"""
        select distinct on (t.measure) t.measure, t."row", t.col, t.typed_in
        from taken t join in_measure m on m.code = t.measure
        where t.g = %(g)s and {_COMPARED} order by t.measure, t.n
        """,  # noqa: S608 - the condition is ours
        {"codes": list(CODES), "g": g},
    )
    return {code: (row, column, typed_in) for code, row, column, typed_in in cursor.fetchall()}
