"""Make the database, its roles, tables and grants ready for this version."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from studio.config.embedded import EmbeddedServerFailed, running
from studio.config.prepare import CannotPrepare, prepare_database


class Command(BaseCommand):
    help = "Make the database, its roles, tables and grants ready for this version (safe to run again)."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with running(settings.DATABASE.embedded):
                prepare_database(verbosity=options["verbosity"])
        except (EmbeddedServerFailed, CannotPrepare) as exc:
            raise CommandError(str(exc)) from exc
        self.stdout.write("The database is ready.")
