"""How long past fits take in a large studio: `python -m tests.bench.past_fits [garments] [rounds]`.

Invents so many garments (200,000 without a figure), each with a fitting and a decided change, of half as many clients,
then asks as the clerk does: letters of a name, a slip of typing, words of a garment, with kind and year; and for the
years of the filter. Prints the middle time of each, and how the database finds the years. A server and a folder of its
own, thrown away afterwards.
"""

import os
import random
import statistics
import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import partial
from time import perf_counter, time
from typing import Any

SEED, BATCH = 20261125, 10_000
KINDS = ("skirt", "trousers", "bodice", "dress", "jacket")
COLOURS = ("teal", "grey", "black", "russet", "navy", "cream", "olive", "plum")
CLOTHS = ("wool", "linen", "cotton", "silk", "velvet", "crepe")
SOUNDS = (
    "ba",
    "do",
    "ri",
    "la",
    "me",
    "nu",
    "so",
    "ti",
    "ka",
    "lo",
    "vi",
    "re",
    "na",
    "mo",
    "sa",
    "li",
    "o",
    "a",
)
ASKED: tuple[tuple[str, str, int | None], ...] = (
    ("salo", "", None),
    ("oila", "", None),
    ("teal wool trousres", "", None),
    ("salo", "trousers", 2021),
    ("navy", "skirt", 2019),
)

OPENED = """
    update fitting_garment g set created_at = s.held_at - interval '20 days'
    from fitting_fittingsession s where s.garment_id = g.id
"""
INDEXED = """
    insert into studio_clientsearch (id, studio_id, client_id, source, source_id, words, folded, digits, at)
    select gen_random_uuid(), studio_id, id, 'client', id, name, fold_words(name), '', now() from studio_client
    union all
    select gen_random_uuid(), g.studio_id, g.client_id, 'garment', g.id, g.words,
           fold_words(g.words || ' ' || c.name), '', now()
    from fitting_garment g join studio_client c on c.id = g.client_id
"""


def tell(line: str) -> None:
    sys.stdout.write(line + "\n")


def fill(actor: Any, garments: int, chance: random.Random) -> None:
    """So many garments of half as many clients, each fitted once at which a change was decided."""
    from fitting.models import FitNote, FittingSession, Garment
    from studio.models import Client

    begin = datetime(2017, 1, 9, 10, tzinfo=UTC)
    clients = Client.objects.bulk_create(
        Client(name=" ".join("".join(chance.choices(SOUNDS, k=3)).capitalize() for _ in range(2)))
        for _ in range(max(1, garments // 2))
    )
    made = Garment.objects.bulk_create(
        Garment(
            client=clients[n % len(clients)],
            kind=(kind := chance.choice(KINDS)),
            words=f"{chance.choice(COLOURS)} {chance.choice(CLOTHS)} {kind}",
        )
        for n in range(garments)
    )
    sessions = FittingSession.objects.bulk_create(
        FittingSession(
            garment=garment,
            kind="baste",
            held_at=begin + timedelta(days=chance.randrange(3600)),
            fitted_by_id=actor.member_id,
        )
        for garment in made
    )
    FitNote.objects.bulk_create(
        FitNote(
            session=session, place="waist", seen="gapes", decision="take_in", amount_mm=Decimal(8),
            noted_by_id=actor.member_id,
        )
        for session in sessions
    )  # fmt: skip


def index() -> None:
    """Let the garments be opened before their fittings, and be found."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(OPENED)
        cursor.execute(INDEXED)


def ask(what: Callable[[], Any], rounds: int) -> tuple[float, Any]:
    """The median of some rounds in ms, after one that warms, and what came back."""
    taken = []
    for number in range(rounds + 1):
        before = perf_counter()
        found = what()
        if number:
            taken.append((perf_counter() - before) * 1e3)
    return statistics.median(taken), found


def _analyze() -> None:
    from django.db import connections

    with connections["owner"].cursor() as cursor:
        cursor.execute("analyze")


def main(garments: int, rounds: int) -> None:
    from django.conf import settings

    from studio.config.embedded import running
    from studio.config.prepare import prepare_database

    with running(settings.DATABASE.embedded):
        prepare_database()
        _measure(garments, rounds)


def _measure(garments: int, rounds: int) -> None:
    from django.db import connection

    from fitting.queries.past_fits import YEARS, past_fits, years_of
    from tests.conftest import found_house

    house = found_house(f"Bench Past Fits {os.getpid()} {int(time())}")
    started = perf_counter()
    chance = random.Random(SEED)
    for start in range(0, garments, BATCH):
        with house.scope():
            fill(house.instructor, min(BATCH, garments - start), chance)
        _analyze()  # the checks of references look at what the server knows of the tables
    with house.scope():
        index()
    _analyze()
    tell(f"{garments:,} garments filled in {perf_counter() - started:.0f} s")
    with house.scope():
        for words, kind, year in ASKED:
            middle, found = ask(partial(past_fits, house.clerk, words, kind, year), rounds)
            tell(f"{words!r:24} {kind:9} {year or '':>4}  {middle:6.1f} ms, {len(found)} clients")
        middle, years = ask(partial(years_of, house.clerk), rounds)
        tell(f"years of the filter: {middle:.1f} ms, {years[-1]} to {years[0]}")
        with connection.cursor() as cursor:
            cursor.execute("explain (analyze, costs off, timing off) " + YEARS, {"zone": "UTC"})
            for (line,) in cursor.fetchall():
                tell(f"    {line}")


if __name__ == "__main__":
    os.environ["TEST_DATA"] = os.environ.get("TEST_DATA") or tempfile.mkdtemp(prefix="bench-")
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    import django

    django.setup()
    given = [int(text) for text in sys.argv[1:3]]
    main(*given, *(200_000, 15)[len(given) :])
