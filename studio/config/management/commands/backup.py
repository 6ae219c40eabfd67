"""Write everything into one archive, while the studio is open."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from studio.config.archive import BadArchive, write_archive


class Command(BaseCommand):
    help = "Write every table and stored file into one archive (a tar), while the studio is open."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "archive", type=Path, help="where to write it, for example /safe/place/studio.tar"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            done = write_archive(options["archive"])
        except (BadArchive, OSError) as exc:
            raise CommandError(str(exc)) from exc
        self.stdout.write(f"{done.tables} tables and {done.files} files are in {options['archive']}")
