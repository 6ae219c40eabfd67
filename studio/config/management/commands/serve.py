"""Open the studio for real use: database, queue, workers, scheduler and pages, stopped together by Ctrl-C."""

import os
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.urls import reverse

from studio.config.embedded import EmbeddedServerFailed, start_again_if_killed
from studio.config.opening import opened
from studio.config.processes import (
    Part,
    Running,
    port_problem,
    scheduler,
    stop_on_signals,
    wait_for_web,
    web,
    worker,
)
from studio.platform.database.doors import studio_count
from studio.platform.services.people import make_setup_link

DEFAULT_ADDRESS = "127.0.0.1:8000"


class Command(BaseCommand):
    help = "Open the studio for real use (no demo data). The first start prints a link to make the owner's account."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--address", default=DEFAULT_ADDRESS, help=f"where to listen (default {DEFAULT_ADDRESS})"
        )
        parser.add_argument(
            "--part",
            choices=["web", "worker", "scheduler"],
            help="only this part, in the foreground, against a database that is prepared (for several machines)",
        )
        parser.add_argument(
            "--queue", choices=settings.QUEUES, default=settings.QUEUES[0], help="with --part worker"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        stop_on_signals()
        try:
            if options["part"]:
                self._one_part(options)
            else:
                self._all_parts(options["address"])
        except KeyboardInterrupt:
            self.stdout.write("Stopped.")

    def _one_part(self, options: dict[str, Any]) -> None:
        if settings.DATABASE.embedded:
            raise CommandError(
                "--part is for several machines that share a database: set DATABASE_URL. Here, run  serve  without it."
            )
        part = {
            "web": lambda: web(options["address"]),
            "worker": lambda: worker(options["queue"]),
            "scheduler": scheduler,
        }[options["part"]]()
        with opened(prepare=False):
            if part.process == "web":
                self._offer_setup()
        # From here on this process is the part itself: signals and exit codes are its own.
        os.execve(part.command[0], list(part.command), {**os.environ, **part.environment})  # noqa: S606

    def _all_parts(self, address: str) -> None:
        problem = port_problem(address)
        if problem:
            raise CommandError(problem)
        say_public_address(address)
        with opened() as prepared:
            where = (
                settings.DATABASE.embedded
                or f"{settings.DATABASE.logins['app'].host} (given by DATABASE_URL)"
            )
            self.stdout.write(f"Database {'prepared' if prepared else 'found'} in {where}")
            self._offer_setup()
            serve_until_stopped(address, self.say, [web(address), *map(worker, settings.QUEUES), scheduler()])

    def _offer_setup(self) -> None:
        if studio_count() == 0:
            link = settings.PUBLIC_URL + reverse("platform:setup", args=[make_setup_link()])
            self.stdout.write(
                f"This installation has no studio yet. Open it with this link (works once, for 7 days):\n  {link}"
            )

    def say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()


def say_public_address(address: str) -> None:
    """Where PUBLIC_URL is not set, links lead to where we listen: here and in the parts that we start."""
    if not os.environ.get("PUBLIC_URL"):
        os.environ["PUBLIC_URL"] = settings.PUBLIC_URL = f"http://{address}"


def keep_database_up(say: Any) -> None:
    """Start the embedded server again where somebody (the system, short of memory) has killed it."""
    if settings.DATABASE.embedded is None:
        return
    try:
        if start_again_if_killed(settings.DATABASE.embedded):
            say("The database ended by itself; it is started again.")
    except EmbeddedServerFailed as exc:
        say(f"{exc} It is tried again.")


def serve_until_stopped(address: str, say: Any, parts: list[Part], running: Running | None = None) -> None:
    """Start the parts, tell when the pages answer, keep them up until a signal; stop everything that was started."""
    running = running or Running(say)
    try:
        for part in parts:
            if part.name not in running.children:
                running.start(part)
        if wait_for_web(address):
            say(f"Open http://{address}/   (API: http://{address}/api/v1/docs/)   Ctrl-C stops everything.")
        else:
            raise CommandError("The web process did not answer within 30 s; its own words stand above.")
        running.watch(before=lambda: keep_database_up(say))
    finally:
        running.stop()
