"""Put an archive's rows and files in the place of what is here."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from studio.config.archive import BadArchive, restore_archive
from studio.config.archive_key import BadKey
from studio.config.prepare import prepare_database


class Command(BaseCommand):
    help = "Put an archive's rows and files in the place of what is here (stop the studio first)."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("archive", type=Path)
        parser.add_argument(
            "--over", action="store_true", help="even though this database holds a studio already"
        )
        parser.add_argument("--key", type=Path, help="file with an age key: the archive is encrypted")

    def handle(self, *args: Any, **options: Any) -> None:
        prepare_database()
        try:
            done = restore_archive(options["archive"], over=options["over"], key=options["key"])
        except (BadArchive, BadKey, OSError) as exc:
            raise CommandError(str(exc)) from exc
        self.stdout.write(
            f"{done.tables} tables and {done.files} files restored; {done.erased_again} people erased again."
        )
