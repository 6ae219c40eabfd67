"""How long "which seam for this cloth?" takes: `python -m tests.bench.seams [recipes] [trials] [rounds]`.

A studio with 5,000 recipes and 100,000 trials is asked for cloth, purpose and machine, in turns with the bare SQL that
fetches the same rows: the newest version of every recipe that serves, with its threads' and needle's figures, and every
trial of all versions of those recipes, with its cloth's figures, by psycopg alone and as plain tuples. What is answered
is sifted, ranked and explained; what the bare SQL gives is raw. Both in one open scope, under the same policies. The
answer may be quicker than the bare rows: it asks for the trials as whole numbers, not as ids and moments.
"""

import os
import random
import statistics
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from time import perf_counter, time
from typing import Any

CLOTHS, MACHINES, THREADS = 80, 8, 12
PURPOSES = {"join": 9, "topstitch": 4, "hem": 4, "edge": 3, "elastic": 2, "buttonhole": 2, "baste": 1}
SEED = 20261125

# The best that we know of for the same rows: two statements, each by an index, joined by the database.
VERSIONS = """
    select distinct on (v.recipe_id) v.id, v.recipe_id, r.name, r.seam_class, r.layers_low, r.layers_high, r.origin,
           r.written_for, v.stitch_type, v.stitch_length_mm, v.stitch_width_mm, v.passes, v.needle_thread_ends, t.tex,
           t.extension_percent, v.under_thread_id, u.extension_percent, n.metric, n.point
    from seamlab_seamrecipe r
    join seamlab_seamrecipeversion v on v.recipe_id = r.id
    join seamlab_thread t on t.id = v.needle_thread_id
    left join seamlab_thread u on u.id = v.under_thread_id
    left join seamlab_needle n on n.id = v.needle_id
    where r.purpose = %(purpose)s and r.structure = %(structure)s and r.layers_low <= 2 and r.layers_high >= 2
          and not r.is_hidden
    order by v.recipe_id, v.number desc
"""
TRIALS = """
    select v.recipe_id, s.version_id, v.number, s.machine_id, s.verdict, s.sewn_at, s.cloth_id
    from seamlab_seamrecipe r
    join seamlab_seamrecipeversion v on v.recipe_id = r.id
    join seamlab_seamtrial s on s.version_id = v.id
    where r.purpose = %(purpose)s and r.structure = %(structure)s and r.layers_low <= 2 and r.layers_high >= 2
          and not r.is_hidden and not exists (select from seamlab_trialwithdrawal w where w.trial_id = s.id)
"""
CLOTH_FIGURES = """
    select c.id, c.name, c.structure, c.weight_gsm, c.thickness_mm,
           (select percent from seamlab_clothtest x
            where x.cloth_id = c.id and x.kind = 'stretch' and x.way = 'lengthwise'
            order by x.tested_at desc limit 1),
           (select percent from seamlab_clothtest x
            where x.cloth_id = c.id and x.kind = 'stretch' and x.way = 'crosswise'
            order by x.tested_at desc limit 1)
    from seamlab_cloth c
"""


def tell(line: str) -> None:
    sys.stdout.write(line + "\n")


def fill(actor: Any, recipes: int, trials: int) -> tuple[list[Any], list[Any]]:
    """Invent a large sewing room; returns its cloths and machines."""
    from seamlab import models as rows

    chance = random.Random(SEED)
    now = datetime.now(UTC)

    def make(model: Any, facts: list[dict[str, Any]]) -> list[Any]:
        made = [model(**each) for each in facts]
        model.objects.bulk_create(made, batch_size=2000)
        return made

    threads = make(
        rows.Thread,
        [
            {
                "name": f"Thread {i}", "fibre": "polyester", "tex": Decimal(chance.choice([18, 24, 27, 40])),
                "extension_percent": Decimal(16), "strength_n": Decimal(10),
            }
            for i in range(THREADS)
        ],
    )  # fmt: skip
    points = rows.Needle.Point.values
    needles = make(rows.Needle, [{"metric": size, "point": p} for size in (70, 80, 90) for p in points])
    machines = make(
        rows.Machine,
        [
            {"name": f"Table {i}", "stitch_types": ["301", "304"], "largest_width_mm": Decimal(7)}
            for i in range(MACHINES)
        ],
    )
    cloths = make(
        rows.Cloth,
        [
            {
                "name": f"Cloth {i}", "structure": "knit" if i % 5 < 2 else "woven",
                "weight_gsm": Decimal(chance.randrange(80, 420)), "thickness_mm": Decimal(chance.randrange(2, 16)) / 10,
                "width_mm": Decimal(1500), "usable_width_mm": Decimal(1460),
            }
            for i in range(CLOTHS)
        ],
    )  # fmt: skip
    make(
        rows.ClothTest,
        [
            {
                "cloth": cloth, "kind": "stretch", "way": way, "before_mm": Decimal(100),
                "after_mm": Decimal(100 + pull), "percent": Decimal(pull),
                "tested_by_id": actor.member_id, "tested_at": now - timedelta(days=day),
            }
            for cloth in cloths
            for way in ("lengthwise", "crosswise")
            for day in (20, 200)
            for pull in [chance.randrange(0, 60 if cloth.structure == "knit" else 6)]
        ],
    )  # fmt: skip
    purposes = chance.choices(list(PURPOSES), list(PURPOSES.values()), k=recipes)
    heads = make(
        rows.SeamRecipe,
        [
            {
                "name": f"Seam {i}", "purpose": purpose, "seam_class": "1",
                "structure": "knit" if chance.random() < 0.4 else "woven",
                "layers_low": 2, "layers_high": chance.choice([2, 2, 3, 4]),
            }
            for i, purpose in enumerate(purposes)
        ],
    )  # fmt: skip
    versions = make(
        rows.SeamRecipeVersion,
        [
            {
                "recipe": recipe, "number": number, "stitch_type": "304" if recipe.structure == "knit" else "301",
                "stitch_length_mm": Decimal(chance.randrange(15, 40)) / 10,
                "stitch_width_mm": Decimal(chance.randrange(5, 50)) / 10 if recipe.structure == "knit" else Decimal(0),
                "needle_thread": chance.choice(threads), "under_thread": chance.choice([None, *threads]),
                "needle": chance.choice(needles), "tension": "4", "foot": "all-purpose",
                "written_by_id": actor.member_id,
            }
            for recipe in heads
            for number in range(1, chance.choice([1, 1, 1, 1, 2, 3]) + 1)
        ],
    )  # fmt: skip
    mine = {kind: [cloth for cloth in cloths if cloth.structure == kind] for kind in ("knit", "woven")}
    make(
        rows.SeamTrial,
        [
            {
                "version": version, "cloth": chance.choice(mine[version.recipe.structure]),
                "machine": chance.choice(machines), "smoothness": Decimal(4), "skipped_stitches": 0,
                "proposed": verdict, "verdict": verdict,
                "reasons": [{"check": "smoothness", "verdict": verdict, "text": "-"}],
                "sewn_by_id": actor.member_id, "sewn_at": now - timedelta(minutes=chance.randrange(1, 2_000_000)),
            }
            for version in chance.choices(versions, k=trials)
            for verdict in chance.choices(["passes", "fails", "look_again"], [7, 2, 1])
        ],
    )  # fmt: skip
    return cloths, machines


def bare(purpose: str, structure: str) -> int:
    """Fetch the rows by psycopg; returns how many."""
    from django.db import connection

    count = 0
    with connection.cursor() as cursor:
        raw = cursor.cursor  # Django's own wrapping is left out of it
        for query in (VERSIONS, TRIALS, CLOTH_FIGURES):
            raw.execute(query, {"purpose": purpose, "structure": structure})
            count += len(raw.fetchall())
    return count


def main(recipes: int, trials: int, rounds: int) -> None:
    from django.conf import settings

    from studio.config.embedded import running
    from studio.config.prepare import prepare_database

    with running(settings.DATABASE.embedded):
        prepare_database()
        _measure(recipes, trials, rounds)


def _measure(recipes: int, trials: int, rounds: int) -> None:
    from django.db import connections

    from seamlab.queries.seams import proven_for
    from tests.conftest import found_house

    house = found_house(f"Bench Seams {os.getpid()} {int(time())}")
    started = perf_counter()
    with house.scope():
        cloths, machines = fill(house.instructor, recipes, trials)
    with connections["owner"].cursor() as cursor:
        cursor.execute("analyze")
    tell(f"{recipes:,} recipes and {trials:,} trials filled in {perf_counter() - started:.0f} s")
    chance = random.Random(SEED + 1)
    for purpose in ("join", "hem", "baste"):
        taken: dict[str, list[float]] = {"answer": [], "bare SQL": []}
        rows = answers = 0
        for number in range(rounds + 1):
            cloth, machine = chance.choice(cloths), chance.choice(machines)
            with house.scope():
                bits: dict[str, float] = {}
                for name in ("bare SQL", "answer") if number % 2 else ("answer", "bare SQL"):
                    before = perf_counter()
                    if name == "answer":
                        answers = len(
                            proven_for(house.instructor, cloth.pk, purpose=purpose, machine_id=machine.pk)
                        )
                    else:
                        rows = bare(purpose, cloth.structure)
                    bits[name] = perf_counter() - before
            if number:  # the first round warms both
                for name, seconds in bits.items():
                    taken[name].append(seconds)
        tell(f"{purpose}: {rows:,} rows, {answers:,} answers, {rounds} rounds")
        for name, seconds in taken.items():
            p95 = statistics.quantiles(seconds, n=20)[-1]
            tell(f"{name:>10}: median {statistics.median(seconds) * 1e3:7.1f} ms, p95 {p95 * 1e3:7.1f} ms")
        ratio = statistics.median(taken["answer"]) / statistics.median(taken["bare SQL"])
        tell(f"     ratio: {ratio:.2f} (aim: 3 or less)")


if __name__ == "__main__":
    os.environ["TEST_DATA"] = os.environ.get("TEST_DATA") or tempfile.mkdtemp(prefix="bench-")
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    import django

    django.setup()
    given = [int(text) for text in sys.argv[1:4]]
    main(*given, *(5_000, 100_000, 20)[len(given) :])
