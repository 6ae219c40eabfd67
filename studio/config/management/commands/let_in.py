"""Help somebody into her account whom no owner can help: her password is forgotten, or her second step is lost."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from studio.config.opening import opened
from studio.platform.models import Session, User
from studio.platform.services.accounts import new_password_address
from studio.platform.services.second_step import forget_second_step, record_everywhere


class Command(BaseCommand):
    help = "Print a one-time link by which somebody chooses a new password (it works for two hours)."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email", help="the address with which she signs in")
        parser.add_argument(
            "--forget-second-step", action="store_true", help="she has lost app, passkey and recovery codes"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        with opened(prepare=False):
            user = User.objects.filter(email=User.objects.normalize_email(options["email"])).first()
            if user is None:
                raise CommandError(f"Nobody signs in with {options['email']}.")
            with transaction.atomic():
                if options["forget_second_step"]:
                    forget_second_step(user)
                    Session.objects.filter(user=user).delete()
                record_everywhere(user, "let_in", second_step_forgotten=options["forget_second_step"])
            self.stdout.write(new_password_address(user))
