"""How long bringing in many trials takes: `python -m tests.bench.seam_library [trials]`.

A file of trials on 40 recipes and 30 cloths goes through the real upload, dry run and take-over (without a worker
process: the jobs are run in this one), every row checked and judged as one typed on its page; then the whole library is
taken out as CSV and as a workbook.
"""

import csv
import io
import os
import random
import sys
import tempfile
from decimal import Decimal
from time import perf_counter, time
from typing import Any

RECIPES, CLOTHS = 40, 30
HEADS = (
    "Recipe", "Cloth", "Machine", "Layers", "Length before (mm)", "Length after (mm)", "Smoothness (1 to 5)", "Balance",
    "Skipped stitches", "Needle damage", "Verdict", "Why other than proposed", "Sewn",
)  # fmt: skip


def as_file(trials: int) -> bytes:
    chance = random.Random(3)
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(HEADS)
    for number in range(trials):
        writer.writerow(
            [
                f"Seam {number % RECIPES}", f"Cloth {chance.randrange(CLOTHS)}", "Table three", 2, 200,
                round(200 + chance.uniform(-3, 3), 1), chance.choice(["4", "4.5", "5"]), "even", 0, "none", "passes",
                "Seen by daylight",
                f"2026-{1 + number % 10:02}-{1 + number // 400 % 28:02} {8 + number % 9:02}:{number % 60:02}",
            ]
        )  # fmt: skip
    return text.getvalue().encode()


def tell(line: str) -> None:
    sys.stdout.write(line + "\n")


def main(trials: int) -> None:
    from django.conf import settings

    from studio.config.embedded import running
    from studio.config.prepare import prepare_database

    with running(settings.DATABASE.embedded):
        prepare_database()
        _measure(trials)


def _measure(trials: int) -> None:
    from seamlab.models import SeamTrial
    from seamlab.services import transfer, transfer_export
    from tests.conftest import found_house
    from tests.seamlab import sewing_room

    house = found_house(f"Bench Library {os.getpid()} {int(time())}")
    with house.scope():
        shelf = sewing_room.room(house.instructor)
        for number in range(RECIPES):
            shelf.recipe(f"Seam {number}")
        for number in range(CLOTHS):
            sewing_room.cloth(house.instructor, f"Cloth {number}", weight_gsm=Decimal(100 + number))
    content = as_file(trials)
    tell(f"{trials:,} trials, {len(content) / 1e6:.1f} MB")
    started = perf_counter()
    with house.scope():
        found = transfer.upload_library(house.instructor, content=io.BytesIO(content), name="trials.csv")
    tell(f"   upload: {perf_counter() - started:6.2f} s")
    _run("dry run", house, found.check)
    with house.scope():
        taking = transfer.take_over_library(house.instructor, found.id).taking
    _run("take-over", house, taking)
    with house.scope():
        tell(f"{SeamTrial.objects.count():,} trials are kept")
    for what in ({"file_form": "csv", "table": "trials"}, {"file_form": "xlsx"}):
        with house.scope():
            job = transfer_export.export_library(house.instructor, **what)
        _run(f"as {what['file_form']}", house, job)


def _run(name: str, house: Any, job: Any) -> None:
    from studio.platform.jobs import run_job
    from studio.platform.models import Job

    started = perf_counter()
    state = run_job(house.studio_id, job.pk)
    tell(f"{name:>9}: {perf_counter() - started:6.2f} s")
    if state != "done":
        with house.scope():
            raise SystemExit(Job.objects.get(pk=job.pk).error)
    with house.scope():
        problems = Job.objects.get(pk=job.pk).result.get("problems")
    if problems:
        raise SystemExit(str(problems[:5]))


if __name__ == "__main__":
    os.environ["TEST_DATA"] = os.environ.get("TEST_DATA") or tempfile.mkdtemp(prefix="bench-")
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    import django

    django.setup()
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
