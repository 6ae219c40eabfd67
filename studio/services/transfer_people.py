"""Whose readings a file holds: each way in which it names somebody becomes a client, a new client or a problem.

Works on the temporary tables of ``transfer_intake``.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any

from studio.models.client import ADULT_YEARS
from studio.platform.errors import JobFailed


@dataclass(frozen=True)
class Wishes:
    """What the one who imports has decided: may clients be made, and on whose word did they consent?"""

    new_clients: bool
    today: date


def match_people(cursor: Any, wishes: Wishes) -> None:
    """Each way in which the file names somebody becomes a person: a client of the studio, a new one, or a problem."""
    cursor.execute(
        """
        create temporary table said on commit drop as
        select *, dense_rank() over (
            order by client_ref collate "C", name_key collate "C", born collate "C", digits collate "C") as k
        from (select *, lower(normalize(client, nfkc)) as name_key,
                     regexp_replace(telephone, '[^0-9]', '', 'g') as digits from in_occasion) as each;
        create temporary table person on commit drop as
        select first.*, whole.guardian, whole.body_model, whole.occasions, null::uuid as client_id, false as is_new,
               null::integer as made_from, ''::text as problem
        from (select distinct on (k) k::integer, client_ref, client, name_key, nullif(born, '')::date as born,
                     telephone, digits, "row" as first_row, cid from said order by k, o) as first
        join (select k::integer, max(guardian) as guardian, max(body_model) as body_model,
                     count(*) as occasions from said group by k) as whole
          using (k);
        analyze person;
        create temporary table here on commit drop as
        select id, lower(normalize(name, nfkc)) as name_key, born,
               array(select regexp_replace(number, '[^0-9]', '', 'g')
                     from regexp_split_to_table(telephone, '[,;\\n]| / ') as number) as numbers
        from studio_client
        where erased_at is null
          and (lower(normalize(name, nfkc)) in (select name_key from person)
               or id in (select client_ref::uuid from person where client_ref <> ''));
        analyze here;

        update person p set client_id = h.id from here h
        where p.client_ref <> '' and h.id = p.client_ref::uuid and p.name_key in ('', h.name_key);
        update person p set problem = 'other_name' from here h
        where p.client_ref <> '' and p.client_id is null and h.id = p.client_ref::uuid;

        update person p set client_id = case when many = 1 then one end,
                            problem = case when many > 1 then 'several' else '' end
        from (select p.k, count(*) as many, (array_agg(h.id))[1] as one
              from person p join here h on h.name_key = p.name_key
               and (h.born = p.born
                    or p.digits <> '' and p.digits = any (h.numbers) and (h.born is null or p.born is null))
              where p.client_id is null and p.problem = '' and p.name_key <> '' group by p.k) as found
        where found.k = p.k;
        """
    )
    cursor.execute(
        """
        update person p set problem = case
            when name_key = '' or client_ref <> '' and born is null and digits = '' then 'unknown_id'
            when born is null and digits = '' then 'too_little'
            when exists (select from here h where h.name_key = p.name_key and (p.born is null or h.born is null))
                then 'perhaps'
            when not %(new)s then 'unknown'
            else '' end
        where client_id is null and problem = '';

        -- Two rows may say differently much of one new client; what could be two people is a problem.
        update person p set made_from = found.k
        from (select name_key, born, min(k) as k from person
              where client_id is null and problem = '' and born is not null group by name_key, born) as found
        where p.client_id is null and p.problem = '' and found.name_key = p.name_key and found.born = p.born;
        update person p set made_from = case when how_many = 1 and same then found.k end,
                            problem = case when how_many = 1 and same then '' else 'perhaps_new' end
        from (select p.k as of, count(distinct q.made_from) as how_many, min(q.made_from) as k,
                     bool_and(q.digits = p.digits) as same
              from person p join person q on q.name_key = p.name_key and q.made_from is not null
              where p.client_id is null and p.problem = '' and p.made_from is null group by p.k) as found
        where found.of = p.k;
        update person p set made_from = found.k
        from (select name_key, digits, min(k) as k from person
              where client_id is null and problem = '' and made_from is null group by name_key, digits) as found
        where p.client_id is null and p.problem = '' and p.made_from is null
          and found.name_key = p.name_key and found.digits = p.digits;
        create temporary table maker_says on commit drop as
        select m.k, m.cid, m.born, g.guardian, g.body_model
        from (select k, cid, born from person where made_from = k) as m
        join (select made_from, max(guardian) as guardian, max(body_model) as body_model from person
              where made_from is not null group by made_from) as g on g.made_from = m.k;
        analyze maker_says;
        analyze person;
        update person p set client_id = m.cid, is_new = true, born = m.born, guardian = m.guardian,
                            body_model = m.body_model
        from maker_says m where m.k = p.made_from;
        """,
        {"new": wishes.new_clients},
    )


def lock_people(cursor: Any) -> None:
    """Nobody withdraws a consent, erases or measures these clients until all is stored; in one order, so that two
    imports do not wait for each other in a circle.
    """
    cursor.execute(
        "select count(*) from (select id from studio_client where erased_at is null and id in "
        "(select client_id from person where not is_new and client_id is not null) "
        "order by id for no key update) as held"
    )
    held = cursor.fetchone()[0]
    cursor.execute("select count(distinct client_id) from person where not is_new and client_id is not null")
    if held != cursor.fetchone()[0]:
        raise JobFailed("A client of this file was erased in the meantime. Check the file again.")


def check_people(cursor: Any, wishes: Wishes) -> None:
    cursor.execute(
        """
        update person p set born = h.born from here h where h.id = p.client_id;
        update person set problem = 'new_without_guardian'
        where is_new and guardian = '' and born > %(grown)s::date;
        update person p set problem = case
            when c.given is null then 'no_consent'
            when not c.given then 'withdrawn'
            when p.born > %(grown)s::date and not c.by_guardian
                then 'not_by_guardian'
            else '' end
        from (select q.client_id, latest.given, latest.by_guardian
              from (select distinct client_id from person where client_id is not null and not is_new) as q
              left join (select distinct on (client_id) client_id, given, by_guardian from studio_consent
                         where kind = 'measure'
                           and client_id in (select client_id from person where client_id is not null)
                         order by client_id, at desc, id desc) as latest on latest.client_id = q.client_id) as c
        where c.client_id = p.client_id and p.problem = '' and not p.is_new;
        insert into trouble select first_row, case when problem in ('other_name', 'unknown_id') then 'client_id'
            when problem = 'new_without_guardian' then 'guardian' else 'client' end, 0, problem, occasions - 1
        from person where problem <> '' and problem <> all(%(of_rows)s);
        -- What a client has not allowed is told of each of her measurings.
        insert into trouble select s."row", 'client', 0, p.problem, 0
        from said s join person p on p.k = s.k where p.problem = any(%(of_rows)s);
        """,
        {"grown": _years_before(wishes.today), "of_rows": ["no_consent", "withdrawn", "not_by_guardian"]},
    )


def _years_before(today: date) -> date:
    """Whoever was born after this day is under age today."""
    try:
        return today.replace(year=today.year - ADULT_YEARS)
    except ValueError:  # the 29th of February
        return today.replace(year=today.year - ADULT_YEARS, day=28)
