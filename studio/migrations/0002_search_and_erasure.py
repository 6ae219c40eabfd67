"""The door for finding clients across an index that policies forbid, and the function that erases a person."""

from django.db import migrations

from studio.platform.database.functions import make_function
from studio.platform.database.roles import role

# Compatibility forms, accents, capitals, apostrophes and punctuation are not what people remember of a name.
FOLD = r"""
    select btrim(regexp_replace(
        translate(lower(unaccent(normalize(coalesce(words, ''), NFKC))), $$'’‘`´$$, ''),
        '[[:space:][:punct:]]+', ' ', 'g'))
"""

# The table is owned by role door and its policy is not forced, so the door itself keeps to the studio in scope.
# Each word typed is looked up by itself (its trigrams come from the index), a stretch of at least three figures in
# the telephone numbers too. A row's score is the mean, over the words typed, of how near its nearest words come.
# The planner takes the trigram operator for a cheap one and would compare every row with every word: hence "offset 0"
# (a word is looked up, not joined), and the function runs with enable_seqscan off.
FIND = r"""
    with stretches as (
        select found[1] as stretch
        from regexp_matches(left(wanted, 200), '([0-9](?:[ ()./-]*[0-9]){2,})', 'g') as found
    ),
    typed as (
        select fold_words(stretch) as word, ltrim(regexp_replace(stretch, '[^0-9]', '', 'g'), '0') as figures
        from stretches
        union all
        select word, ''
        from unnest(string_to_array(fold_words(
            regexp_replace(left(wanted, 200), '[0-9](?:[ ()./-]*[0-9]){2,}', ' ', 'g')), ' ')) as word
    ),
    numbered as (
        select row_number() over () as n, word, figures from typed where word <> '' limit 8
    ),
    hits as (
        select t.n, s.id, word_similarity(t.word, s.folded) as near
        from numbered t cross join lateral (
            select id, studio_id, folded from studio_clientsearch where folded %> t.word offset 0
        ) s
        where s.studio_id = nullif(current_setting('app.studio', true), '')::uuid
        union all
        select t.n, s.id, 1.0
        from numbered t cross join lateral (
            select id, studio_id from studio_clientsearch where digits like '%' || t.figures || '%' offset 0
        ) s
        where length(t.figures) >= 3 and s.studio_id = nullif(current_setting('app.studio', true), '')::uuid
    ),
    nearest as (select id, n, max(near) as near from hits group by id, n),
    scored as (
        select id, (sum(near) / (select count(*) from numbered))::real as score from nearest group by id
    )
    select s.client_id, s.source::text, s.source_id, s.words::text, s.folded::text, scored.score
    from scored join studio_clientsearch s using (id)
    order by scored.score desc, s.at desc, s.id
    limit least(greatest(how_many, 1), 500)
"""

# "olai" for "olia" shares 4 of 10 trigrams: PostgreSQL's own threshold of 0.6 would not forgive two letters swapped.
WORD_THRESHOLD = "0.35"

# Runs under the policies of the studio in scope: another studio's client is not found. Names can't be searched in
# jobs and audit details without hitting others (a short name is part of many words), so these go by ids, and what a
# failed job said in words by the name as well.
ERASE = """
declare
  person studio_client%rowtype;
  ids text[];
  names text[];
begin
  select * into person from studio_client where id = who for update;
  if not found then
    raise exception 'There is no such client here.' using errcode = 'no_data_found';
  end if;
  ids := array[who::text]
    || array(select id::text from studio_measuring where client_id = who)
    || array(select id::text from studio_reading where client_id = who)
    || array(select id::text from studio_consent where client_id = who);
  names := array(
    select btrim(to_jsonb(given)::text, '"')
    from unnest(array[person.name, person.telephone, person.email,
                      person.guardian_name, person.guardian_telephone, person.guardian_email]) as given
    where given <> '');

  delete from studio_clientsearch where client_id = who;
  delete from studio_reading where client_id = who;
  delete from studio_measuring where client_id = who;
  delete from studio_consent where client_id = who;

  delete from platform_storedanswer a
  where exists (select from unnest(ids || names) as mention
                where strpos(coalesce(a.body, 'null'::jsonb)::text || a.headers::text, mention) > 0);
  update platform_job j set error = '', progress_words = ''
  where exists (select from unnest(ids || names) as mention where strpos(j.error || j.progress_words, mention) > 0);
  update platform_job j
  set arguments = '{}', result = '{}', idempotency_key = null, lease_until = null,
      state = case when j.state in ('waiting', 'working') then 'cancelled' else j.state end,
      ended_at = coalesce(j.ended_at, now())
  where exists (select from unnest(ids) as mention
                where strpos(j.arguments::text || j.result::text || coalesce(j.idempotency_key, ''), mention) > 0);
  update platform_auditentry e set detail = '{}'
  where e.detail <> '{}'
    and (e.client_id = who or e.object_id::text = any (ids)
         or exists (select from unnest(ids) as mention where strpos(e.detail::text, mention) > 0));
  delete from platform_storedfile where client_id = who;

  update studio_client
  set name = 'Erased', telephone = '', email = '', born = null, guardian_name = '', guardian_telephone = '',
      guardian_email = '', figures_in_report = false, notes = '', erased_at = now(), changed_at = now(),
      version = version + 1
  where id = who;
end
"""


def make_search(apps, schema_editor):
    make_function(schema_editor, "door", "fold_words(words text)", "text", FOLD)
    for statement in (
        f"set local role {role('door')}",
        "create index clientsearch_words on studio_clientsearch using gin (folded gin_trgm_ops)",
        "create index clientsearch_digits on studio_clientsearch using gin (digits gin_trgm_ops)",
        "create index clientsearch_of_client on studio_clientsearch (studio_id, client_id)",
        "reset role",
    ):
        schema_editor.execute(statement, None)
    make_function(
        schema_editor,
        "door",
        "find_clients(wanted text, how_many integer)",
        "table (client_id uuid, source text, source_id uuid, words text, folded text, score real)",
        FIND,
    )
    for statement in (
        f"set local role {role('door')}",
        f"alter function find_clients(text, integer) set pg_trgm.word_similarity_threshold = {WORD_THRESHOLD}",
        "alter function find_clients(text, integer) set enable_seqscan = off",
        "reset role",
    ):
        schema_editor.execute(statement, None)


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "studio_erase_client(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):
    dependencies = [("studio", "0001_initial"), ("platform", "0002_doors")]

    operations = [
        migrations.RunPython(make_search, migrations.RunPython.noop),
        migrations.RunPython(make_eraser, migrations.RunPython.noop),
    ]
