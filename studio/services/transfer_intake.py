"""A file's readings against what the studio holds: whose they are, what is there already, what can't be.

COPY is refused on tables with policies, so the rows go into temporary tables of this transaction and are looked at
there, in the studio's scope, set by set: the number of statements does not grow with the rows. Nothing is written.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import IO, Any

from django.db import connection

from studio.calc.ranges import check_range
from studio.models.client import ADULT_YEARS
from studio.queries.catalogue import CatalogueMeasure
from studio.services.transfer_people import Wishes, check_people, lock_people, match_people
from studio.services.transfer_sentences import SENTENCES
from studio.services.transfer_spool import KEPT_PROBLEMS, Problem, Spool

LONGEST_CHAIN = 50  # corrections of corrections
MOST_IN_ONE = 300  # readings of one measuring
TABLES = (
    "in_occasion", "in_reading", "in_measure", "said", "here", "person", "maker_says", "placed", "sitting",
    "db_sitting", "crowded", "again", "kept", "taken", "held", "trouble",
)  # fmt: skip
_CHUNK = 1 << 20


@dataclass(frozen=True)
class Found:
    """What the look brought: problems in the order of rows (the first ones), how many, and what would be taken over."""

    problems: list[Problem]
    problem_count: int
    counts: dict[str, int]


def prepare_transaction(cursor: Any) -> None:
    """Long work may take longer than a page; sorting a million rows wants more memory than a look-up."""
    cursor.execute("set local statement_timeout = '20min'")
    cursor.execute("set local work_mem = '64MB'")
    cursor.execute("set local jit = off")


def forget_tables(cursor: Any) -> None:
    cursor.execute(f"drop table if exists {', '.join('pg_temp.' + name for name in TABLES)}")


def examine(
    spool: Spool, measures: Mapping[str, CatalogueMeasure], wishes: Wishes, *, lock: bool = False
) -> Found:
    """Fill the temporary tables from the spool and find every problem that only the database knows of.

    With ``lock`` the clients stay as they are until the transaction ends. The tables are left for
    ``transfer_store``. Raises JobFailed where a client was
    erased while the look was going on.
    """
    with connection.cursor() as cursor:
        prepare_transaction(cursor)
        forget_tables(cursor)
        _fill(cursor, spool, measures)
        match_people(cursor, wishes)
        if lock:
            lock_people(cursor)
        check_people(cursor, wishes)
        added_to = _form_sittings(cursor)
        _match_readings(cursor, spool, added_to=added_to)
        if spool.correction_count and _corrections_placed(cursor):
            _follow_corrections(cursor)
        _check_readings(cursor, spool, added_to=added_to)
        problems, count = _problems(cursor, spool, measures)
        return Found(problems, count, _counts(cursor))


def _fill(cursor: Any, spool: Spool, measures: Mapping[str, CatalogueMeasure]) -> None:
    cursor.execute(
        """
        create temporary table in_occasion (
            o integer, "row" integer, client_ref text, client text, born text, telephone text, guardian text,
            body_model text, token text, at timestamptz, on_day date, measured_by text, "over" text,
            shoes text, posture text, tape text, guardian_present text, notes text, mid uuid, cid uuid) on commit drop;
        create temporary table in_reading (
            n integer, "row" integer, col integer, o integer, id uuid, measure text, take smallint,
            value numeric(10, 4), typed text, typed_in text, far boolean, token text, supersedes text, reason text,
            kept_because text) on commit drop;
        create temporary table in_measure (
            code text, low_adult double precision, high_adult double precision, low_child double precision,
            high_child double precision) on commit drop;
        create temporary table trouble (
            "row" integer, name text, col integer, what text, more bigint default 0) on commit drop
        """
    )
    spool.finish()
    copy_in(cursor, "in_occasion", spool.occasions)
    copy_in(cursor, "in_reading", spool.readings)
    cursor.executemany(
        "insert into in_measure values (%s, %s, %s, %s, %s)",
        [(found.code, *found.adult, *found.child) for found in measures.values()],
    )
    cursor.execute("analyze in_occasion; analyze in_reading; analyze in_measure")


def copy_in(cursor: Any, table: str, spooled: IO[bytes]) -> None:
    """Send a spooled file into a temporary table."""
    spooled.flush()
    spooled.seek(0)
    with cursor.copy(f"copy {table} from stdin") as copy:
        while part := spooled.read(_CHUNK):
            copy.write(part)


def _form_sittings(cursor: Any) -> bool:
    """Rows of one client at one instant are one measuring; where the file numbers its measurings, each is its own.

    Returns whether one of them is here already.
    """
    cursor.execute(
        """
        create temporary table placed on commit drop as
        select s.*, p.client_id, p.born as client_born,
               dense_rank() over (order by p.client_id, s.at, s.token collate "C")::integer as g
        from said s join person p on p.k = s.k where p.client_id is not null;
        analyze placed;
        insert into trouble
        select "row", case when client_born > on_day then 'date' else 'guardian_present' end, 0,
               case when client_born > on_day then 'before_birth' else 'nobody_present' end
        from placed where client_born > on_day
            or client_born > on_day - make_interval(years => %(adult)s) and guardian_present = '';
        create temporary table sitting on commit drop as
        select first.*, whole."over", whole.shoes, whole.posture, whole.tape, whole.guardian_present,
               whole.measured_by, whole.notes,
               row_number() over (partition by client_id, at order by o) as i, null::uuid as there
        from (select distinct on (g) g, o, client_id, client_born, at, on_day, mid from placed order by g, o) as first
        join (select g, max("over") as "over", max(shoes) as shoes, max(posture) as posture, max(tape) as tape,
                     max(guardian_present) as guardian_present, max(measured_by) as measured_by,
                     coalesce(left(string_agg(distinct notes, E'\\n') filter (where notes <> ''), 2000), '') as notes
              from placed group by g) as whole using (g);
        analyze sitting;
        insert into trouble
        select max("row"), name, 0, 'two_facts' from placed cross join lateral (values
            ('over', "over"), ('shoes', shoes), ('posture', posture), ('tape', tape),
            ('guardian_present', guardian_present), ('measured_by', measured_by)) as fact (name, said)
        where said <> '' group by g, name having min(said) <> max(said);
        create temporary table db_sitting on commit drop as
        select m.id, m.client_id, m.measured_at as at,
               row_number() over (partition by m.client_id, m.measured_at order by m.id) as i
        from studio_measuring m
        join (select distinct client_id, at from sitting) as s on s.client_id = m.client_id and s.at = m.measured_at;
        analyze db_sitting;
        update sitting s set there = d.id from db_sitting d
        where d.client_id = s.client_id and d.at = s.at and d.i = s.i;
        """,
        {"adult": ADULT_YEARS},
    )
    cursor.execute("select exists (select from db_sitting)")
    return bool(cursor.fetchone()[0])


def _match_readings(cursor: Any, spool: Spool, *, added_to: bool) -> None:
    """Readings that are there already, or stand twice in the file, are skipped; another value in their place is a
    problem.

    A reading can only stand twice where several rows are one measuring, or one row names it twice: the others are not
    sorted for it. What is kept is asked for only where a measuring is here already.
    """
    cursor.execute(
        """
        create temporary table crowded on commit drop as
        select g from placed group by g having count(*) > 1 or %(repeats)s;
        create temporary table again on commit drop as
        select n, first_value, first_id from (
            select n, first_value(n) over same as first_n, first_value(value) over same as first_value,
                   first_value(id) over same as first_id
            from (select r.n, r.measure, r.take, r.supersedes, r.value, r.id, p.g
                  from in_reading r join placed p using (o) join crowded using (g)) as r
            window same as (partition by g, measure, take, supersedes order by n)) as each
        where first_n <> n;
        analyze again;
        create temporary table kept on commit drop as
        select r.id, r.measuring_id, d.client_id, d.at, r.measure, r.take, r.value, r.supersedes_id
        from studio_reading r join db_sitting d on d.id = r.measuring_id where %(added_to)s;
        analyze kept;
        -- state: new, there, twice, wrong, "" for corrections not followed yet;
        -- stands: the id of the reading that this one is or becomes
        create temporary table taken on commit drop as
        select r.*, s.g, s.there,
               case when supersedes <> '' then '' when k.stands is not null then 'there'
                    when d.first_value = r.value then 'twice' else 'new' end as state,
               case when supersedes <> '' then r.id when k.stands is not null then k.stands
                    when d.first_value = r.value then d.first_id else r.id end as stands,
               case when supersedes = '' then 0 end as level, null::uuid as parent
        from in_reading r join placed p using (o) join sitting s on s.g = p.g left join again d on d.n = r.n
        left join (select distinct on (client_id, at, measure, take, value)
                          id as stands, client_id, at, measure, take, value
                   from kept order by client_id, at, measure, take, value, supersedes_id nulls first, id) as k
          on r.supersedes = '' and k.client_id = s.client_id and k.at = s.at and k.measure = r.measure
         and k.take = r.take and k.value = r.value;
        analyze taken (n, g, state, there);
        insert into trouble select t."row", 'take', 0, 'take_twice' from taken t join again d using (n)
        where t.supersedes = '' and t.state = 'new' and d.first_value <> t.value
        """,
        {"repeats": spool.repeats, "added_to": added_to},
    )
    if added_to:
        cursor.execute(
            """
            insert into trouble select t."row", 'value', t.col, 'other_value' from taken t
            where t.supersedes = '' and t.state = 'new' and t.value is not null and exists (
                select from kept k where k.measuring_id = t.there and k.measure = t.measure and k.take = t.take
                    and k.supersedes_id is null)
            """
        )


def _corrections_placed(cursor: Any) -> bool:
    cursor.execute("select exists (select from taken where supersedes <> '')")
    return bool(cursor.fetchone()[0])


def _follow_corrections(cursor: Any) -> None:
    """From each reading to those that supersede it, one step of the chain after another."""
    cursor.execute(
        """
        create index on taken (token) where token <> '';
        create index on taken (supersedes) where supersedes <> '';
        analyze taken;
        insert into trouble select "row", 'reading', 0, 'number_twice' from (
            select "row", row_number() over (partition by token order by n) as i
            from taken where token <> '') as each
        where i > 1;
        insert into trouble select "row", 'supersedes', 0, 'superseded_twice' from (
            select "row", row_number() over (partition by supersedes order by n) as i
            from taken where supersedes <> '') as each
        where i > 1;
        insert into trouble select t."row", 'supersedes', 0, 'other_place' from taken t
        join taken p on p.token = t.supersedes
        where t.supersedes <> '' and (t.g, t.measure, t.take) is distinct from (p.g, p.measure, p.take);
        """
    )
    for level in range(1, LONGEST_CHAIN + 1):
        cursor.execute(
            """
            update taken t set level = %(level)s, parent = p.stands,
                state = case when k.id is null then 'new' when k.value = t.value then 'there' else 'wrong' end,
                stands = case when k.value = t.value then k.id else t.id end
            from taken p left join kept k on p.state = 'there' and k.supersedes_id = p.stands
            where t.supersedes <> '' and t.level is null and p.token = t.supersedes and p.level = %(level)s - 1
            """,
            {"level": level},
        )
        if not cursor.rowcount:
            break
    cursor.execute(
        """
        insert into trouble select "row", 'value', col, 'other_correction' from taken where state = 'wrong';
        insert into trouble select "row", 'supersedes', 0, 'no_such_reading' from taken where level is null;
        """
    )
    cursor.execute("analyze taken")


def _check_readings(cursor: Any, spool: Spool, *, added_to: bool) -> None:
    """Takes that are missing, measurings that hold too much; counts what each measuring holds."""
    if spool.most_takes > 1 or added_to:
        cursor.execute(
            """
            insert into trouble select min("row"), 'take', 0, 'take_missing' from (
                select g, measure, take, "row" from taken where level = 0
                union all
                select t.g, k.measure, k.take, null from kept k
                join (select distinct g, there, measure from taken where there is not null) as t
                  on t.there = k.measuring_id and t.measure = k.measure
                where k.supersedes_id is null) as each
            group by g, measure having max(take) > count(distinct take) and min("row") is not null
            """
        )
    cursor.execute(
        """
        create temporary table held on commit drop as
        select g, min("row") as first_row, count(*) as readings, count(*) filter (where state = 'new') as fresh,
               count(*) filter (where state = 'there') as there, count(*) filter (where state = 'twice') as twice,
               count(*) filter (where state = 'new' and supersedes <> '') as corrections
        from taken group by g;
        analyze held;
        insert into trouble select first_row, '', 0, 'too_many' from held where readings > %(most)s
        """,
        {"most": MOST_IN_ONE},
    )


def _problems(
    cursor: Any, spool: Spool, measures: Mapping[str, CatalogueMeasure]
) -> tuple[list[Problem], int]:
    """The first problems of all in the order of rows, and how many there are."""
    cursor.execute(
        'select "row", name, col, what, more from trouble order by "row", name limit %s', [KEPT_PROBLEMS]
    )
    problems = [*spool.problems, *(_in_words(*found) for found in cursor.fetchall())]
    cursor.execute("select count(*) from trouble")
    count = spool.problem_count + cursor.fetchone()[0]
    beyond, beyond_count = _beyond_range(cursor, measures)
    problems = sorted([*problems, *beyond], key=lambda found: (found["row"], found["column"]))
    return problems[:KEPT_PROBLEMS], count + beyond_count


def _in_words(row: int, name: str, column: int, what: str, more: int) -> Problem:
    reason = SENTENCES[what]
    if more:
        reason += f" The same holds {more} more time{'s' if more > 1 else ''} further down."
    return {"row": row, "field": name, "column": column, "reason": reason}


def _beyond_range(cursor: Any, measures: Mapping[str, CatalogueMeasure]) -> tuple[list[Problem], int]:
    """Values that no tape or scale reads on a person; a value that reads like the limit in its unit is the limit."""
    cursor.execute(
        """
        select "row", col, measure, value, typed_in, low, high from (
            select t.*, case when minor then m.low_child else m.low_adult end as low,
                   case when minor then m.high_child else m.high_adult end as high
            from taken t join in_measure m on m.code = t.measure
            join (select g, coalesce(client_born > on_day - make_interval(years => %(adult)s), false) as minor
                  from sitting) as s using (g)) as each
        where state = 'new' and far and (value < low or value > high) order by "row", col
        """,
        {"adult": ADULT_YEARS},
    )
    problems: list[Problem] = []
    count = 0
    while rows := cursor.fetchmany(2000):
        for row, column, code, value, unit, low, high in rows:
            if len(problems) >= KEPT_PROBLEMS:
                count += 1
                continue
            try:
                check_range(code, value, low, high, measures[code].name, unit=unit)
            except ValueError as exc:
                count += 1
                problems.append({"row": row, "field": "value", "column": column, "reason": str(exc)})
    return problems, count


def _counts(cursor: Any) -> dict[str, int]:
    """What would be taken over; also after problems, for people to see how far the file is understood."""
    cursor.execute(
        """
        with part as (
            select coalesce(sum(fresh), 0)::bigint as new_readings, coalesce(sum(there), 0)::bigint as there_already,
                   coalesce(sum(twice), 0)::bigint as twice_in_file,
                   coalesce(sum(corrections), 0)::bigint as corrections from held),
        occasion as (
            select count(*) filter (where s.there is null) as new_measurings,
                   count(*) filter (where s.there is not null) as added_to
            from sitting s join held h using (g) where h.fresh > 0),
        people as (
            select count(distinct client_id) filter (where not is_new) as clients_found,
                   count(distinct client_id) filter (where is_new) as clients_new from person),
        measurer as (
            select count(*) as measurer_unknown from sitting s join held h using (g)
            where s.there is null and h.fresh > 0
              and (select count(*) from platform_member m where lower(m.name) = lower(s.measured_by)) <> 1)
        select * from part, occasion, people, measurer
        """
    )
    names = [column.name for column in cursor.description]
    return dict(zip(names, cursor.fetchone(), strict=True))
