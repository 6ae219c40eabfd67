"""Django's migrate, as the owner role: the app role may not change tables."""

from typing import Any

from django.core.management.commands.migrate import Command as DjangoMigrate


class Command(DjangoMigrate):
    def add_arguments(self, parser: Any) -> None:
        super().add_arguments(parser)
        parser.set_defaults(database="owner")
