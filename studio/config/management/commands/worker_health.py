"""Does this worker's or scheduler's process live? Judged by a file that it touches, not by asking it."""

import time
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

FRESH_SECONDS = 90


class Command(BaseCommand):
    help = "Exit with 0 if a worker or scheduler on this machine has given a sign of life within 90 seconds."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        signs = list((settings.SIGNS_DIR).glob("*"))
        now = time.time()
        if not any(now - sign.stat().st_mtime < FRESH_SECONDS for sign in signs):
            raise CommandError(f"No sign of life within {FRESH_SECONDS} s in {settings.SIGNS_DIR}.")
        self.stdout.write("alive")
