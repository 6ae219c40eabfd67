"""How long an import of readings takes: `python -m tests.bench.imports 100000 [rounds]`.

Each round imports a new file of the same clients into the same studio, through the real upload, dry run and take-over
(without a worker process: the job is run in this one). Beside the median stands what a bare COPY of the same rows
takes, into a plain table without indexes, keys or policies: what the database could do at best.
"""

import io
import os
import random
import resource
import statistics
import sys
import tempfile
from time import perf_counter, time

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


def tell(line: str) -> None:
    sys.stdout.write(line + "\n")


def bare_copy(readings: int) -> float:
    """Seconds for COPY of as many rows into a plain table."""
    from django.db import connections

    from studio.platform.models.base import new_id

    rows = io.BytesIO()
    for _ in range(readings):
        rows.write(
            f"{new_id()}\t{new_id()}\t{new_id()}\t{new_id()}\twaist_girth\t1\t760.0000\t76\t\\N\t\t\t{new_id()}\t"
            "2026-05-04 10:00:00+00\n".encode()
        )
    with connections["owner"].cursor() as cursor:
        cursor.execute(
            "create table bench_plain (id uuid, studio_id uuid, measuring_id uuid, client_id uuid, measure text, "
            "take smallint, value numeric(10, 4), typed text, supersedes_id uuid, reason text, kept_because text, "
            "recorded_by_id uuid, recorded_at timestamptz)"
        )
        started = perf_counter()
        with cursor.copy("copy bench_plain from stdin") as copy:
            copy.write(rows.getvalue())
        taken = perf_counter() - started
        cursor.execute("drop table bench_plain")
    return taken


def main(readings: int, rounds: int) -> None:
    from django.conf import settings

    from studio.config.embedded import running
    from studio.config.prepare import prepare_database

    with running(settings.DATABASE.embedded):
        prepare_database()
        _measure(readings, rounds)


def _measure(readings: int, rounds: int) -> None:
    from studio.calc.transfer_files import MOST_BYTES
    from studio.platform.jobs import run_job
    from studio.services import transfer
    from tests.conftest import found_house
    from tests.studio.transfer.invented import told

    house = found_house(f"Bench Row {os.getpid()} {int(time())}")
    taken: dict[str, list[float]] = {"upload": [], "dry run": [], "take-over": []}
    for number in range(rounds):
        content = as_file(readings, number, long=True)
        form = "one reading a row"
        if len(content) > MOST_BYTES:
            content, form = as_file(readings, number, long=False), "one measuring a row"
        started = perf_counter()
        with house.scope():
            row = transfer.upload_readings(house.owner, content=io.BytesIO(content), name="bench.csv")
        taken["upload"].append(perf_counter() - started)
        with house.scope():
            transfer.map_columns(
                house.owner, row.pk, expected_version=None, new_clients=True, consent_stated=True
            )
        for name, ask in (("dry run", transfer.check_readings), ("take-over", transfer.take_over_readings)):
            with house.scope():
                job = ask(house.owner, row.pk).job
            started = perf_counter()
            if run_job(house.studio_id, job.pk) != "done":
                raise SystemExit(told(house, job))
            taken[name].append(perf_counter() - started)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    plain = statistics.median(bare_copy(readings) for _ in range(rounds))
    tell(
        f"{readings:,} readings, {form}, {len(content) / 1e6:.1f} MB, {rounds} rounds; the first makes the clients"
    )
    for name, seconds in taken.items():
        each = ", ".join(f"{one:.2f}" for one in seconds)
        tell(f"{name:>10}: median {statistics.median(seconds):7.2f} s   ({each})")
    ratio = statistics.median(taken["take-over"]) / plain
    tell(f" bare COPY: median {plain:7.2f} s; the take-over takes {ratio:.1f} times as long")
    tell(f"most memory of this process: {memory:.0f} MB")


if __name__ == "__main__":
    os.environ["TEST_DATA"] = os.environ.get("TEST_DATA") or tempfile.mkdtemp(prefix="bench-")
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    import django

    django.setup()
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000, int(sys.argv[2]) if len(sys.argv) > 2 else 3)
