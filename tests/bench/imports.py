"""How long an import of readings takes: `python -m tests.bench import`.

Each round founds a studio and imports a file of new clients through the real upload, dry run and take-over (without a
worker process: the job is run in this one). Two floors: a bare COPY of as many rows into a plain table without
indexes, keys or policies, and what the real table takes for the same rows when nothing is left but to write them.
"""

import io
import os
import random
import resource
from time import time
from uuid import UUID

import psycopg

from tests.bench.measured import Row, Spent, ms, tell

PER_SITTING = 20
SITTINGS = 5


def heads_and_rows(readings: int, seed: int):
    """A file with one measuring a row; people are measured five times in twenty measures of the catalogue."""
    from studio.queries.catalogue import catalogue

    chance = random.Random(seed)
    measures = [found for found in catalogue().measures.values() if found.unit == "mm"][:PER_SITTING]
    yield ["Client", "Birthday", "Date", *(found.code for found in measures)]
    for number in range(-(-readings // PER_SITTING)):
        person = number // SITTINGS
        values = [
            f"{(found.adult[0] + chance.uniform(0.3, 0.7) * (found.adult[1] - found.adult[0])) / 10:.1f}"
            for found in measures
        ]
        day = f"{2021 + seed}-{1 + number % SITTINGS:02}-{1 + person % 28:02} 10:{person % 60:02}"
        yield [f"Person {person:06}", f"{1960 + person % 40}-03-14", day, *values]


def as_file(readings: int, seed: int, *, long: bool) -> bytes:
    import csv

    text = io.StringIO()
    writer = csv.writer(text)
    rows = heads_and_rows(readings, seed)
    heads = next(rows)
    writer.writerow(["Client", "Birthday", "Date", "Measure", "Value"] if long else heads)
    for row in rows:
        if long:
            writer.writerows([*row[:3], code, value] for code, value in zip(heads[3:], row[3:], strict=True))
        else:
            writer.writerow(row)
    return text.getvalue().encode()


PLAIN = (
    "create table bench_plain (id uuid, studio_id uuid, measuring_id uuid, client_id uuid, measure text, "
    "take smallint, value numeric(10, 4), typed text, supersedes_id uuid, reason text, kept_because text, "
    "recorded_by_id uuid, recorded_at timestamptz)"
)
COLUMNS = (
    "id, studio_id, measuring_id, client_id, measure, take, value, typed, supersedes_id, reason, kept_because, "
    "recorded_by_id, recorded_at"
)


def bare_copy(readings: int) -> Spent:
    """COPY of as many rows into a plain table: no index, no key, no policy."""
    from django.conf import settings

    from studio.platform.models.base import new_id

    rows = io.BytesIO()
    for _ in range(readings):
        rows.write(
            f"{new_id()}\t{new_id()}\t{new_id()}\t{new_id()}\twaist_girth\t1\t760.0000\t76\t\\N\t\t\t{new_id()}\t"
            "2026-05-04 10:00:00+00\n".encode()
        )
    spent = Spent()
    with psycopg.connect(settings.DATABASE.administrator.conninfo()) as admin, admin.cursor() as cursor:
        cursor.execute(PLAIN)
        with spent.once(admin.info.backend_pid), cursor.copy("copy bench_plain from stdin") as copy:
            copy.write(rows.getbuffer())
        admin.rollback()
    return spent


def kept_by_rules(studio_id: UUID) -> Spent:
    """INSERT ... SELECT of the studio's own readings into the real table, with its keys, indexes, checks and policy.

    What no import can go below as long as these rules hold: the rows wait in a temporary table with new ids for new
    measurings, so that nothing has to be read, matched or judged any more. It is undone again.
    """
    from django.conf import settings

    spent = Spent()
    with psycopg.connect(settings.DATABASE.logins["app"].conninfo()) as app, app.cursor() as cursor:
        cursor.execute("select set_config('app.studio', %s, true)", [str(studio_id)])
        cursor.execute("set local statement_timeout = '20min'")
        # Version 7 by hand: PostgreSQL 15 has no function for it, and random ids would scatter over the index.
        cursor.execute(
            """
            create temporary table fresh on commit drop as
            select r.*, lpad(to_hex(row_number() over (order by r.id)), 12, '0') as n from studio_reading r;
            create temporary table moved on commit drop as
            select m.id as old, ('01ffffff-' || substr(lpad(to_hex(row_number() over (order by m.id)), 12, '0'), 1, 4)
                   || '-7000-8000-' || lpad(to_hex(row_number() over (order by m.id)), 12, '0'))::uuid as new
            from studio_measuring m;
            insert into studio_measuring (id, studio_id, client_id, measured_at, measured_by_id, over, shoes, posture,
                tape, guardian_present, notes, recorded_at)
            select moved.new, m.studio_id, m.client_id, m.measured_at, m.measured_by_id, m.over, m.shoes, m.posture,
                m.tape, m.guardian_present, m.notes, m.recorded_at
            from moved join studio_measuring m on m.id = moved.old;
            create temporary table ready on commit drop as
            select ('01fffffe-0000-7000-8000-' || f.n)::uuid as id, f.studio_id, moved.new as measuring_id, f.client_id,
                   f.measure, f.take, f.value, f.typed, f.supersedes_id, f.reason, f.kept_because, f.recorded_by_id,
                   f.recorded_at
            from fresh f join moved on moved.old = f.measuring_id where f.supersedes_id is null order by f.n;
            analyze ready
            """
        )
        with spent.once(app.info.backend_pid):
            cursor.execute(f"insert into studio_reading ({COLUMNS}) select {COLUMNS} from ready")
            cursor.execute("set constraints all immediate")
        app.rollback()
    return spent


def rows(readings: int, rounds: int) -> list[Row]:
    """Import a new file of the same clients each round, through the real upload, dry run and take-over."""
    from django.db import connection

    from studio.calc.transfer_files import MOST_BYTES
    from studio.platform.jobs import run_job
    from studio.services import transfer
    from tests.conftest import found_house
    from tests.studio.transfer.invented import told

    taken = {"dry run": Spent(), "take-over": Spent()}
    floors = {"copy": Spent(), "rules": Spent()}
    for number in range(rounds):
        house = found_house(f"Bench Row {os.getpid()} {int(time())} {number}")
        content, form = as_file(readings, number, long=True), "one reading a row"
        if len(content) > MOST_BYTES:
            content, form = as_file(readings, number, long=False), "one measuring a row"
        with house.scope():
            row = transfer.upload_readings(house.owner, content=io.BytesIO(content), name="bench.csv")
        with house.scope():
            transfer.map_columns(
                house.owner, row.pk, expected_version=None, new_clients=True, consent_stated=True
            )
        for name, ask in (("dry run", transfer.check_readings), ("take-over", transfer.take_over_readings)):
            with house.scope():
                job = ask(house.owner, row.pk).job
                backend = connection.connection.info.backend_pid
            with taken[name].once(backend):
                done = run_job(house.studio_id, job.pk) == "done"
            if not done:
                raise SystemExit(told(house, job))
        for kind, once in (("copy", bare_copy(readings)), ("rules", kept_by_rules(house.studio_id))):
            floors[kind].wall += once.wall
            floors[kind].processor += once.processor
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    tell(f"import: {form}, {len(content) / 1e6:.1f} MB; most memory of this process {memory:.0f} MB")
    return [
        _row(f"import of {readings:,} readings, {name}", taken[name], floor, words, aim)
        for name, floor, words, aim in (
            ("dry run", floors["copy"], "COPY into a plain table", "-"),
            ("take-over", floors["copy"], "COPY into a plain table", "within 3"),
            ("take-over", floors["rules"], "INSERT ... SELECT into the real table, readings alone", "-"),
        )
    ]


def _row(what: str, ours: Spent, floor: Spent, words: str, aim: str) -> Row:
    return Row(
        what,
        f"{ms(ours.median)}, processor {ms(ours.processor_mean)}",
        f"{words}: {ms(floor.median)}, processor {ms(floor.processor_mean)}",
        f"{ours.median / floor.median:.1f}, processor {ours.processor_mean / floor.processor_mean:.1f}",
        aim,
    )
