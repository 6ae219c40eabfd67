"""Move one studio, whole, to another database; or delete here what was moved."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import URLValidator

from studio.config.moving import CannotMove, forget_studio, move_studio
from studio.config.opening import opened


class Command(BaseCommand):
    help = (
        "Move one studio, whole, to another database. It is closed here first; whoever comes is sent to its new "
        "address. Both installations need the same version; with the same SECRET_KEY links that were sent out go on "
        "opening."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("studio", type=UUID, help="the studio's id")
        parser.add_argument(
            "--to", required=True, help="the other database, as its owner role: postgresql://..."
        )
        parser.add_argument("--address", default="", help="where the studio is found afterwards: https://...")
        parser.add_argument(
            "--files", type=Path, help="the other installation's folder of files; none where both share it"
        )
        parser.add_argument(
            "--wait", type=float, default=120, help="seconds to wait for work that is under way"
        )
        parser.add_argument(
            "--forget",
            action="store_true",
            help="after a move: delete the studio's rows here, and its files with --files",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        with opened(prepare=False):
            try:
                self._forget(options) if options["forget"] else self._move(options)
            except CannotMove as exc:
                raise CommandError(str(exc)) from exc

    def _move(self, options: dict[str, Any]) -> None:
        try:
            URLValidator(schemes=["http", "https"])(options["address"])
        except ValidationError as exc:
            raise CommandError(
                "Say with --address where the studio is found afterwards: https://..."
            ) from exc
        moved = move_studio(
            options["studio"],
            options["to"],
            options["address"],
            files=options["files"],
            wait_seconds=options["wait"],
            say=self.stdout.write,
        )
        self.stdout.write(
            f"Moved: {moved.rows} rows of {moved.tables} tables, {moved.people} accounts, {moved.files} files, "
            f"compared on both sides. Whoever comes here is sent to {options['address']}. When all is well there, "
            "give the command again with --forget."
        )

    def _forget(self, options: dict[str, Any]) -> None:
        rows = forget_studio(options["studio"], options["to"], delete_files=options["files"] is not None)
        self.stdout.write(f"{rows} rows were deleted here; a signpost stays.")
