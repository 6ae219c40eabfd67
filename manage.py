#!/usr/bin/env python
"""The studio's command line: ``python manage.py demo`` to try it, ``python manage.py serve`` to use it."""

import os
import sys

# Commands that need no database, or that see to it themselves.
BY_THEMSELVES = {
    "check",
    "demo",
    "help",
    "makemigrations",
    "prepare",
    "serve",
    "spectacular",
    "version",
    "worker_health",
    "--help",
    "--version",
}


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.config.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError as exc:
        raise SystemExit(
            "Django is not installed in this Python. Run the first line of README.md, or activate its .venv."
        ) from exc
    from studio.config.environment import BadEnvironment, demo_apart

    if len(sys.argv) > 1 and sys.argv[1] == "demo":
        demo_apart(os.environ)
    try:
        if len(sys.argv) < 2 or sys.argv[1] in BY_THEMSELVES:
            execute_from_command_line(sys.argv)
            return
        from django.conf import settings

        from studio.config.embedded import running

        with running(settings.DATABASE.embedded):
            execute_from_command_line(sys.argv)
    except BadEnvironment as exc:
        raise SystemExit(str(exc)) from exc


if __name__ == "__main__":
    main()
