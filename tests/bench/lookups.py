"""The clerk's look-up of past fits in a studio of 200,000 clients and 5,000,000 readings.

Beside it the same rows by psycopg alone as plain tuples: the search without policies by the table's own index, then
one statement for the garments and one for each kind of thing that hangs on them. It runs as the administrator, whom
no policy holds. What is measured ranks, groups and words what it found; the floor does not.
"""

import random
from collections.abc import Iterator
from functools import partial
from typing import Any

import psycopg

from tests.bench.measured import Row, Spent, in_turns, ms, tell
from tests.bench.town import COLOURS, KINDS, fill

SMALL, LARGE = 20_000, 200_000
MOST = 20

# The door's own search (studio/migrations/0002) is the best that we know; here without the door and its policies.
SEARCH = """
    with numbered as (select row_number() over () as n, word
                      from unnest(string_to_array(fold_words(%(words)s), ' ')) as word where word <> ''),
    hits as (select t.n, s.id, word_similarity(t.word, s.folded) as near
             from numbered t cross join lateral (
                 select id, studio_id, folded from studio_clientsearch where folded %%> t.word offset 0) s
             where s.studio_id = %(studio)s),
    nearest as (select id, n, max(near) as near from hits group by id, n),
    scored as (select id, sum(near) / (select count(*) from numbered) as score from nearest group by id)
    select s.client_id, s.source, s.source_id, s.words, s.folded, scored.score
    from scored join studio_clientsearch s using (id) order by scored.score desc, s.at desc, s.id limit 300
"""
CLIENTS = (
    "select id, name, telephone, unit from studio_client where studio_id = %(studio)s and id = any(%(ids)s)"
)
GARMENTS = """
    select g.id, g.client_id, g.kind, g.words, g.state, g.due, g.created_at, p.name, c.name, l.inputs, l.result
    from fitting_garment g left join fitting_pattern p on p.id = g.pattern_id
    left join seamlab_cloth c on c.id = g.cloth_id left join fitting_fitplan l on l.id = g.plan_id
    where g.studio_id = %(studio)s and g.client_id = any(%(ids)s) order by g.id desc
"""
EASE = """
    select garment_id, zone, ease_mm, rule_low_mm, rule_high_mm from fitting_acceptedease
    where studio_id = %(studio)s and garment_id = any(%(ids)s) order by id
"""
NOTES = """
    select s.garment_id, s.held_at, n.place, n.side, n.decision, n.amount_mm from fitting_fittingsession s
    left join fitting_fitnote n on n.session_id = s.id
    where s.studio_id = %(studio)s and s.garment_id = any(%(ids)s) order by s.held_at, n.id
"""


def bare(cursor: Any, studio_id: Any, words: str) -> int:
    """The rows of one look-up as tuples; returns how many garments."""
    cursor.execute(SEARCH, {"studio": studio_id, "words": words})
    # The best ones' clients, each once, as the answer shows them.
    ids = list(dict.fromkeys(row[0] for row in cursor.fetchall()))[:MOST]
    cursor.execute(CLIENTS, {"studio": studio_id, "ids": ids})
    cursor.fetchall()
    cursor.execute(GARMENTS, {"studio": studio_id, "ids": ids})
    garments = [row[0] for row in cursor.fetchall()]
    for statement in (EASE, NOTES):
        cursor.execute(statement, {"studio": studio_id, "ids": garments})
        cursor.fetchall()
    return len(garments)


def asked(studio_id: Any, members: int, rounds: int) -> list[str]:
    """What clerks type: half a name with a slip in it, a surname, a garment beside a name."""
    from django.conf import settings

    with psycopg.connect(settings.DATABASE.administrator.conninfo()) as admin:
        names = [
            row[0]
            for row in admin.execute(
                "select name from (select name, row_number() over (order by id) as n from studio_client "
                "where studio_id = %s) as each where n %% %s = 0",
                [studio_id, max(1, members // rounds)],
            )
        ]
    chance = random.Random(20261125)
    words: list[str] = []
    for number, name in enumerate(names[:rounds]):
        place = chance.randrange(1, len(name) - 1)
        slip = name[: place - 1] + name[place] + name[place - 1] + name[place + 1 :]
        words.append(
            [slip, name, f"{name.split()[1]} {chance.choice(COLOURS)} {chance.choice(KINDS)}"][number % 3]
        )
    return words


def rows(house: Any, shop: Any, *, small: bool, rounds: int) -> list[Row]:
    """Look up in the studio when it is small, let it grow tenfold, look up again."""
    from django.conf import settings
    from django.db import connection

    found: list[Row] = []
    before: Spent | None = None
    sizes = (SMALL // 10, LARGE // 10) if small else (SMALL, LARGE)
    start = 1
    for size in sizes:
        fill(house.studio_id, house.instructor.member_id, shop, start, size)
        start = size + 1
        words = asked(house.studio_id, size, rounds)
        tell(f"past fits: {size:,} clients, {25 * size:,} readings filled; {len(words)} look-ups")
        with psycopg.connect(settings.DATABASE.administrator.conninfo(), autocommit=True) as admin:
            admin.execute("set pg_trgm.word_similarity_threshold = 0.35")
            admin.execute(
                "set enable_seqscan = off"
            )  # the planner takes the trigram operator for a cheap one
            queues = {name: iter(words + words[:1]) for name in ("ask", "bare")}
            ask = partial(_ask, house, queues["ask"])
            fetch = partial(_fetch, admin.cursor(), house.studio_id, queues["bare"])
            ask()
            fetch()
            with house.scope():
                pid = connection.connection.info.backend_pid
            spent = in_turns(
                len(words), {"bare": fetch, "ask": ask}, {"ask": pid, "bare": admin.info.backend_pid}
            )
        ours, floor = spent["ask"], spent["bare"]
        found.append(
            Row(
                f"past-fits look-up, {size:,} clients, {25 * size:,} readings, {len(words)} look-ups in words",
                f"median {ms(ours.median)}, p95 {ms(ours.p95)}, processor {ms(ours.processor_mean)}",
                f"bare SQL, no policies: median {ms(floor.median)}, p95 {ms(floor.p95)}, "
                f"processor {ms(floor.processor_mean)}",
                f"p95 {ours.p95 / floor.p95:.2f}, median {ours.median / floor.median:.2f}, "
                f"processor {ours.processor_mean / floor.processor_mean:.2f}",
                "p95 within 2",
            )
        )
        if before is not None:
            found.append(
                Row(
                    f"the same, grown from {sizes[0]:,} to {sizes[1]:,} clients",
                    f"p95 {ms(ours.p95)}",
                    f"p95 {ms(before.p95)}",
                    f"p95 {ours.p95 / before.p95:.2f}, median {ours.median / before.median:.2f}",
                    "within 1.3",
                )
            )
        before = ours
    return found


def _ask(house: Any, queue: Iterator[str]) -> None:
    from fitting.queries.past_fits import past_fits

    with house.scope():
        past_fits(house.clerk, next(queue))


def _fetch(cursor: Any, studio_id: Any, queue: Iterator[str]) -> None:
    bare(cursor, studio_id, next(queue))
