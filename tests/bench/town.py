"""A studio as large as a town, made by SQL: invented people, each with a measuring of 25 readings and what was sewn.

Names come from a list of syllables. The rows are written by the administrator with triggers off, so that millions
take minutes; what is measured afterwards runs as the app role.
"""

from typing import Any
from uuid import UUID

import psycopg

READINGS = 25  # of each client
SYLLABLES = [
    "na", "ri", "lo", "ve", "ta", "shi", "mu", "ka", "del", "or", "an", "be", "so", "wi", "fa", "lin", "tor", "mi",
    "ga", "es", "ru", "po", "ha", "yu", "ce", "di", "bra", "no", "ze", "il", "mar", "qui",
]  # fmt: skip
COLOURS = [
    "teal",
    "rust",
    "ivory",
    "slate",
    "plum",
    "ochre",
    "moss",
    "coral",
    "navy",
    "wine",
    "sand",
    "pearl",
]
KINDS = ("trousers", "skirt", "dress", "jacket", "shirt")

_NAME = """
    initcap(w[1 + {0} % {n}] || w[1 + {0} / {n} % {n}] || case when {0} % 3 = 0 then w[1 + {0} / 7 % {n}] else '' end)
    || ' ' ||
    initcap(w[1 + {0} * 13 / 5 % {n}] || w[1 + {0} / 11 % {n}] || w[1 + {0} / 331 % {n}])"""

FILL = """
create temporary table town on commit drop as
select i, uuidv7() as client_id, uuidv7() as measuring_id, uuidv7() as garment_id, uuidv7() as session_id,
       uuidv7() as plan_id, {name} as name, '0' || (5550000000 + i * 7919 %% 100000000) as telephone,
       (array[{colours}])[1 + i * 5 %% {ncolours}] || ' ' || (array[{kinds}])[1 + i * 3 %% {nkinds}] as words,
       (array[{kinds}])[1 + i * 3 %% {nkinds}] as kind,
       now() - make_interval(days => 30 + (i * 17 %% 2000)::integer) as at
from generate_series(%(start)s, %(end)s) as i, (select array[{syllables}] as w) as list;
insert into studio_client (id, studio_id, version, created_at, changed_at, name, telephone, email, born, unit,
    body_model, guardian_name, guardian_telephone, guardian_email, figures_in_report, notes)
select client_id, %(studio)s, 1, at, at, name, telephone, '', date '1950-01-01' + (i * 37 %% 18000)::integer, 'cm',
    'both', '', '', '', true, '' from town;
insert into studio_consent (id, studio_id, client_id, kind, given, given_by, by_guardian, recorded_by_id, at, note)
select uuidv7(), %(studio)s, client_id, 'measure', true, name, false, %(member)s, at, '' from town;
insert into studio_measuring (id, studio_id, client_id, measured_at, measured_by_id, measurer_known, measurer_told,
    over, shoes, posture, tape, guardian_present, notes, recorded_at)
select measuring_id, %(studio)s, client_id, at, %(member)s, true, '', 'close_clothing', false, 'standing, relaxed',
    '', '', '', at from town;
insert into studio_reading (id, studio_id, measuring_id, client_id, measure, take, value, typed, supersedes_id,
    reason, kept_because, recorded_by_id, recorded_at)
select uuidv7(), %(studio)s, measuring_id, client_id, m.code, 1,
    round((m.low + (m.high - m.low) * (0.35 + 0.3 * random()))::numeric, 1), 'x', null, '', '', %(member)s, at
from town cross join unnest(%(codes)s::text[], %(lows)s::float8[], %(highs)s::float8[]) as m (code, low, high);
insert into fitting_fitplan (id, studio_id, version, created_at, changed_at, number, inputs, result, state,
    approved_at, approved_by_id, client_id, planned_by_id, pattern_id)
select town.plan_id, %(studio)s, 1, at, at, 1, p.inputs, p.result, 'approved', at, %(member)s, town.client_id,
    %(member)s, p.pattern_id
from town, (select * from fitting_fitplan where id = %(plan)s) as p where i %% 4 = 0;
insert into fitting_garment (id, studio_id, version, created_at, changed_at, kind, words, for_child, ready_made, due,
    state, notes, client_id, cloth_id, plan_id, pattern_id)
select garment_id, %(studio)s, 1, at, at, kind, words, false, false, null, 'handed_over', '', client_id, %(cloth)s,
    case when i %% 4 = 0 then plan_id end, %(pattern)s from town;
insert into fitting_fittingsession (id, studio_id, garment_id, kind, held_at, fitted_by_id, worn, posture, recorded_at)
select session_id, %(studio)s, garment_id, 'baste', at, %(member)s, 'low shoes', '', at from town where i %% 2 = 0;
insert into fitting_fitnote (id, studio_id, session_id, place, side, seen, sign, direction, view, change, piece, seam,
    decision, amount_mm, decided, noted_by_id, noted_at)
select uuidv7(), %(studio)s, session_id, 'waist', 'both', 'the band stands away', '', '', '', '', '', '', 'take_in', 12,
    '', %(member)s, at from town where i %% 2 = 0;
insert into fitting_acceptedease (id, studio_id, client_id, garment_id, session_id, kind, zone, ease_mm, rule_low_mm,
    rule_high_mm, rule_source, at)
select uuidv7(), %(studio)s, client_id, garment_id, session_id, kind, zone, 25, 10, 60, 'Invented rule', at
from town cross join unnest(array['waist', 'hip']) as zone where i %% 2 = 0;
insert into studio_clientsearch (id, studio_id, client_id, source, source_id, words, folded, digits, at)
select uuidv7(), %(studio)s, client_id, 'client', client_id, name, fold_words(name), telephone, at from town
union all
select uuidv7(), %(studio)s, client_id, 'garment', garment_id, words, fold_words(words), '', at from town
"""


def fill(studio_id: UUID, member_id: UUID, shop: Any, start: int, end: int) -> None:
    """Add clients number ``start`` to ``end`` (inclusive) with all that is theirs; ``shop`` lends paper and cloth."""
    from django.conf import settings

    from studio.queries.catalogue import catalogue

    taped = [found for found in catalogue().measures.values() if found.unit == "mm"][:READINGS]

    def listed(words: Any) -> str:
        return ", ".join(f"'{word}'" for word in words)

    statement = FILL.format(
        name=_NAME.format("i", n=len(SYLLABLES)).replace("%", "%%"), syllables=listed(SYLLABLES),
        colours=listed(COLOURS),
        ncolours=len(COLOURS), kinds=listed(KINDS), nkinds=len(KINDS),
    )  # fmt: skip
    given = {
        "studio": studio_id, "member": member_id, "start": start, "end": end, "plan": shop.plan.pk,
        "cloth": shop.cloth.pk, "pattern": shop.pattern.pk, "codes": [found.code for found in taped],
        "lows": [found.adult[0] for found in taped], "highs": [found.adult[1] for found in taped],
    }  # fmt: skip
    with psycopg.ClientCursor(psycopg.connect(settings.DATABASE.administrator.conninfo())) as cursor:
        cursor.execute("set local session_replication_role = replica")
        cursor.execute("set local synchronous_commit = off")
        cursor.execute(statement, given)
        cursor.connection.commit()
        cursor.connection.autocommit = True
        # What the server does by itself within minutes of such a change, here before anything is measured.
        cursor.execute("vacuum analyze")
        cursor.connection.close()
