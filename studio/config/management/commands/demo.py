"""Show the whole job on an invented studio, through the real services and the real queue."""

import shutil
import time
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from fitting.queries.reports import report_file
from fitting.services.reports import make_link
from studio.config.demo import scenario
from studio.config.demo.story import Demo, found_earlier, tell
from studio.config.management.commands.serve import DEFAULT_ADDRESS, say_public_address, serve_until_stopped
from studio.config.opening import opened
from studio.config.processes import Running, port_problem, scheduler, stop_on_signals, web, worker
from studio.platform.database.doors import studio_count
from studio.platform.database.scope import studio_scope
from studio.platform.models import Job

PATIENCE_SECONDS = 120


class Command(BaseCommand):
    help = "Load an invented studio, run the whole job, write a client's PDF fit report, serve it on this machine."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--once", action="store_true", help="exit when the report is written, without serving"
        )
        parser.add_argument(
            "--address", default=DEFAULT_ADDRESS, help=f"where to listen (default {DEFAULT_ADDRESS})"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        stop_on_signals()
        address = options["address"]
        problem = None if options["once"] else port_problem(address)
        if problem:
            raise CommandError(problem)
        say_public_address(address)
        running = Running(self.say)
        try:
            with opened() as prepared:
                where = settings.DATABASE.embedded or f"{settings.DATABASE.logins['app'].host} (DATABASE_URL)"
                self.say(f"Database {'made' if prepared else 'found'} in {where}")
                try:
                    self._demo(running, address, once=options["once"])
                finally:
                    running.stop()
        except KeyboardInterrupt:
            self.say("Stopped.")

    def _demo(self, running: Running, address: str, *, once: bool) -> None:
        demo = found_earlier()
        if demo is None:
            if studio_count():
                raise CommandError(
                    "This database holds a studio, but not the demo's story (its client may have been erased). To "
                    f"begin anew, stop everything and delete {settings.DATA_DIR}, or set STUDIO_DATA to another folder."
                )
            demo = tell()
            self.say(f"Loaded the invented studio: {scenario.STUDIO}")
        path = settings.DATA_DIR / "fit-report.pdf"
        self._wait_for_report(running, demo)
        self._write_report(demo, path)
        if once:
            return
        with studio_scope(demo.owner.studio_id):
            link = make_link(demo.owner, demo.report_id, days=7)
        self.say(f"The client's own link (7 days): {link.address}")
        self.say("Sign in with the password", f'"{scenario.PASSWORD}" as')
        for role, (_, email) in (
            ("owner", scenario.OWNER),
            ("instructor", scenario.INSTRUCTOR),
            ("clerk", scenario.CLERK),
        ):
            self.say(f"  {email:<24} {role}")
        serve_until_stopped(
            address, self.say, [web(address), *map(worker, settings.QUEUES), scheduler()], running
        )

    def _wait_for_report(self, running: Running, demo: Demo) -> None:
        """The report is the worker's to make: start one if it is not made yet, and wait for its job's row."""
        end = time.monotonic() + PATIENCE_SECONDS
        told = ""
        while True:
            with studio_scope(demo.owner.studio_id):
                job = Job.objects.get(pk=demo.job_id)
            if job.state == Job.State.DONE:
                return
            if job.state in Job.ENDED:
                raise CommandError(f"The fit report was not made: {job.error}")
            if not running.children:
                for part in map(worker, settings.QUEUES):
                    running.start(part)
                running.start(scheduler())
            words = f"Fit report: {job.get_state_display().lower()}"
            if words != told:
                self.say(words)
                told = words
            if time.monotonic() > end:
                raise CommandError(f"The worker did not make the report within {PATIENCE_SECONDS} s.")
            time.sleep(0.1)

    def _write_report(self, demo: Demo, path: Path) -> None:
        with studio_scope(demo.owner.studio_id):
            stored = report_file(demo.instructor, demo.report_id)
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_suffix(".part")
        draft.write_bytes(stored.content)
        shutil.move(draft, path)
        self.say(f"The client's fit report: {path}  (SHA-256 {stored.sha256[:16]}...)")

    def say(self, *words: str) -> None:
        self.stdout.write(" ".join(words))
        self.stdout.flush()
