"""What every start has in common: the machine can render, the database is up, prepared and safe to serve from."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connections

from studio.config.embedded import EmbeddedServerFailed, running
from studio.config.prepare import CannotPrepare, needs_preparing, prepare_database
from studio.platform.checks import pango_problem, role_problems


@contextmanager
def opened(*, prepare: bool = True) -> Iterator[bool]:
    """Keep the database up while the block runs; yields True where it had to be prepared first.

    Raises CommandError with one sentence where the studio can't or must not be opened.
    """
    problem = pango_problem()
    if problem:
        raise CommandError(problem)
    settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
    try:
        with running(settings.DATABASE.embedded):
            prepared = needs_preparing(settings.DATABASE)
            if prepared and not prepare:
                raise CommandError(
                    "The database is not prepared for this version: run  python manage.py prepare  first."
                )
            if prepared:
                prepare_database()
            refuse_unsafe_role()
            try:
                yield prepared
            finally:
                for connection in connections.all(initialized_only=True):
                    connection.close()
    except (EmbeddedServerFailed, CannotPrepare) as exc:
        raise CommandError(str(exc)) from exc


def refuse_unsafe_role() -> None:
    problems = role_problems()
    if problems:
        raise CommandError("Not served: " + " ".join(problems))
