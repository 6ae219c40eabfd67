"""Write everything into one archive, while the studio is open."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from studio.config.archive import BadArchive, verify_archive, write_archive
from studio.config.archive_key import BadKey, make_key


class Command(BaseCommand):
    help = "Write every table and stored file into one archive (a tar), while the studio is open."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "archive", type=Path, help="where to write it, for example /safe/place/studio.tar"
        )
        act = parser.add_mutually_exclusive_group()
        act.add_argument("--new-key", action="store_true", help="write a new key into the file named instead")
        act.add_argument(
            "--verify", action="store_true", help="read the archive named and compare its checksums"
        )
        parser.add_argument("--key", type=Path, help="file with an age key: the archive is encrypted")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if options["new_key"]:
                self.stdout.write(f"{options['archive']} holds the secret key; its public key is")
                self.stdout.write(make_key(options["archive"]))
                return
            if options["verify"]:
                done = verify_archive(options["archive"], options["key"])
                self.stdout.write(f"{done.tables} tables and {done.files} files are as they were written.")
                return
            done = write_archive(options["archive"], options["key"])
        except (BadArchive, BadKey, OSError) as exc:
            raise CommandError(str(exc)) from exc
        self.stdout.write(f"{done.tables} tables and {done.files} files are in {options['archive']}")
