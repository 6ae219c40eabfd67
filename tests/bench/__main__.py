"""Speed beside its floor, as a table: `python -m tests.bench [row ...] [--small] [--data FOLDER]`.

Rows: past-fits, saving, reports, import, start; without a name all of them. Each figure stands beside a floor that
is measured in the same run: what the database, the renderer or the server takes for the same by itself. The figures are
printed, never asserted: a busy machine is no fault. Data is invented and made by SQL, in a data folder of its own that
is deleted afterwards (`--data` names one that is kept).
"""

import argparse
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

NAMES = ("past-fits", "saving", "reports", "import", "start")


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument(
        "names", nargs="*", metavar="row", help=f"one of {', '.join(NAMES)}; all without a name"
    )
    parser.add_argument("--small", action="store_true", help="a tenth of the size: some minutes in all")
    parser.add_argument(
        "--rounds", type=int, default=0, help="how often each is repeated (by default its own)"
    )
    parser.add_argument(
        "--reports", type=int, default=0, help="make so many reports: shows whether memory grows"
    )
    parser.add_argument("--data", type=Path, help="a data folder to keep")
    given = parser.parse_args()
    unknown = set(given.names) - set(NAMES)
    if unknown:
        parser.error(f"there is no row {', '.join(sorted(unknown))}; there are {', '.join(NAMES)}")
    return given


def main(given: argparse.Namespace) -> None:
    from django.conf import settings

    from studio.config.embedded import running
    from studio.config.prepare import prepare_database
    from tests.bench import imports, lookups, opening, reports, saving
    from tests.bench.measured import about, table, tell
    from tests.conftest import found_house
    from tests.fitting.garment.conftest import fill

    names = given.names or list(NAMES)
    found: list[Any] = []
    if "start" in names:
        found += opening.rows(rounds=given.rounds or 5)
    with running(settings.DATABASE.embedded):
        settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
        prepare_database()
        house = found_house(f"Bench Row {os.getpid()}")
        with house.scope():
            shop = fill(house)
        if "past-fits" in names:
            found += lookups.rows(house, shop, small=given.small, rounds=given.rounds or 150)
        if "saving" in names:
            found += saving.rows(house, shop.client.pk, rounds=given.rounds or 150)
        if "import" in names:
            found += imports.rows(
                100_000 if given.small else 1_000_000, given.rounds or (3 if given.small else 1)
            )
        if "reports" in names:
            found += reports.rows(shop, rounds=given.reports or given.rounds or (10 if given.small else 40))
    tell("")
    sys.stdout.write(table(found) + "\n\n" + about("small" if given.small else "full") + "\n")


if __name__ == "__main__":
    options = arguments()
    folder = options.data or Path(tempfile.mkdtemp(prefix="bench-"))
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o711)  # as root, the server runs as a system user of its own, who has to pass through
    os.environ["STUDIO_DATA"] = str(folder)
    os.environ["DJANGO_SETTINGS_MODULE"] = "studio.config.settings"
    os.environ.setdefault("LOG_LEVEL", "ERROR")
    os.environ.setdefault("THROTTLE_SIGNED_IN", "1000000/min")  # fair use is not what is measured
    os.environ.setdefault("PUBLIC_URL", "http://127.0.0.1:8199")
    import django

    django.setup()
    try:
        main(options)
    finally:
        if options.data is None:
            shutil.rmtree(folder, ignore_errors=True)
