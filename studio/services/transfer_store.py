"""Writing what the intake found to be new, all in the transaction that holds its temporary tables."""

import tempfile
from typing import Any

from django.db import connection

from studio.platform.database.scope import current_studio_id
from studio.platform.models.base import new_id
from studio.platform.rights import Actor
from studio.services.transfer_intake import copy_in

BATCH = 100_000  # readings in one statement


def store_all(actor: Actor, *, unit: str, over: str, word: str) -> None:
    """Insert new clients with their consent, new measurings and new readings from the intake's tables.

    ``unit`` is the one in which new clients read lengths, ``over`` what was worn where the file does not say,
    ``word`` the note that stands with each consent that is given on the importing member's word.
    """
    facts = {
        "studio": current_studio_id(), "member": actor.member_id, "unit": unit, "over": over, "word": word[:400],
    }  # fmt: skip
    with connection.cursor() as cursor:
        _make_clients(cursor, facts)
        _make_measurings(cursor, facts)
        _make_readings(cursor, facts)


def _make_clients(cursor: Any, facts: dict[str, Any]) -> None:
    cursor.execute("select count(*) from person where is_new and made_from = k")
    many = cursor.fetchone()[0]
    if not many:
        return
    cursor.execute(
        "drop table if exists pg_temp.ids; "
        "create temporary table ids (i integer, consent uuid, found uuid, act uuid, act2 uuid) on commit drop"
    )
    with tempfile.TemporaryFile() as spooled:
        for number in range(1, many + 1):
            spooled.write(f"{number}\t{new_id()}\t{new_id()}\t{new_id()}\t{new_id()}\n".encode())
        copy_in(cursor, "ids", spooled)
    cursor.execute("analyze ids")
    cursor.execute(
        """
        drop table if exists pg_temp.maker;
        create temporary table maker on commit drop as
        select p.cid, p.client, p.born, p.guardian, coalesce(nullif(p.body_model, ''), 'both') as body_model, ids.*,
               coalesce(said.telephone, '') as telephone,
               coalesce(p.born > current_date - interval '18 years', false) as minor
        from (select *, row_number() over (order by k) as number from person where is_new and made_from = k) as p
        join ids on ids.i = p.number
        left join (select made_from, min(telephone) as telephone from person
                   where telephone <> '' and made_from is not null group by made_from) as said on said.made_from = p.k;
        analyze maker;
        insert into studio_client (id, studio_id, version, created_at, changed_at, name, telephone, email, born, unit,
            body_model, guardian_name, guardian_telephone, guardian_email, figures_in_report, notes)
        select cid, %(studio)s, 1, now(), now(), client, telephone, '', born, %(unit)s, body_model, guardian,
            '', '', true, ''
        from maker;
        insert into studio_consent (id, studio_id, client_id, kind, given, given_by, by_guardian,
            recorded_by_id, at, note)
        select consent, %(studio)s, cid, 'measure', true, case when minor then guardian else client end, minor,
               %(member)s, now(), %(word)s from maker;
        insert into studio_clientsearch (id, studio_id, client_id, source, source_id, words, folded, digits, at)
        select found, %(studio)s, cid, 'client', cid, shown, fold_words(shown),
               left(regexp_replace(telephone, '[^0-9]', '', 'g'), 60), now()
        from (select *, client || case when guardian = '' then '' else ' (guardian ' || guardian || ')' end as shown
              from maker) as each;
        insert into platform_auditentry (id, studio_id, at, member_id, request_id, act, noun, object_id,
            client_id, detail)
        select act, %(studio)s, now(), %(member)s, '', 'record_client', 'client', cid, cid, '{"imported": true}'::jsonb
        from maker
        union all
        select act2, %(studio)s, now(), %(member)s, '', 'record_consent', 'consent', consent, cid,
               '{"kind": "measure", "given": true}'::jsonb from maker
        """,
        facts,
    )


def _make_measurings(cursor: Any, facts: dict[str, Any]) -> None:
    cursor.execute(
        """
        insert into studio_measuring (id, studio_id, client_id, measured_at, measured_by_id, measurer_known,
            measurer_told, over, shoes, posture, tape, guardian_present, notes, recorded_at)
        select s.mid, %(studio)s, s.client_id, s.at, coalesce(m.id, %(member)s), m.id is not null,
               case when m.id is null then left(s.measured_by, 120) else '' end,
               coalesce(nullif(s."over", ''), %(over)s), s.shoes = 'yes',
               coalesce(nullif(s.posture, ''), 'standing, relaxed'), s.tape, s.guardian_present, s.notes, now()
        from sitting s
        left join (select lower(name) as name, (array_agg(id))[1] as id from platform_member
                   group by lower(name) having count(*) = 1) as m on m.name = lower(s.measured_by)
        where s.there is null and s.g in (select g from held where fresh > 0)
        order by s.mid
        """,
        facts,
    )


def _make_readings(cursor: Any, facts: dict[str, Any]) -> None:
    """In batches by the rows' numbers; corrections last, in one statement, since each needs what it supersedes."""
    cursor.execute("select coalesce(max(n), 0) from taken where state = 'new'")
    last = cursor.fetchone()[0]
    for start in range(0, last, BATCH):
        _insert_readings(cursor, {**facts, "corrections": False, "start": start, "end": start + BATCH})
    _insert_readings(cursor, {**facts, "corrections": True, "start": 0, "end": last})


def _insert_readings(cursor: Any, facts: dict[str, Any]) -> None:
    cursor.execute(
        """
        insert into studio_reading (id, studio_id, measuring_id, client_id, measure, take, value, typed, supersedes_id,
            reason, kept_because, recorded_by_id, recorded_at)
        select t.id, %(studio)s, coalesce(s.there, s.mid), s.client_id, t.measure, t.take, t.value, t.typed, t.parent,
               t.reason, t.kept_because, %(member)s, now()
        from taken t join sitting s on s.g = t.g
        where t.state = 'new' and (t.level > 0) = %(corrections)s and t.n > %(start)s and t.n <= %(end)s
        """,
        facts,
    )
