#!/usr/bin/env python
"""The studio's command line: ``python manage.py demo`` to try it, ``python manage.py serve`` to use it."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.config.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError as exc:
        raise SystemExit(
            "Django is not installed in this Python. Run the first line of README.md, or activate its .venv."
        ) from exc
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
