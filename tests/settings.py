"""The product's own settings on a database and a data folder of their own."""

import os
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
# Tests side by side: each has a server, or at least a database, of its own.
WORKER = os.environ.get("PYTEST_XDIST_WORKER", "")
os.environ["STUDIO_DATA"] = (os.environ.get("TEST_DATA") or str(ROOT / ".data" / "tests")) + WORKER
os.environ.setdefault("SECRET_KEY", "tests-only-" + "x" * 40)
os.environ["STUDIO_DATABASE_NAME"] = f"studio{WORKER}_tests"
if os.environ.get("DATABASE_URL") and not os.environ.get("DATABASE_OWNER_URL"):
    # A server given by URL: never its own database, one of ours beside it.
    import re
    from urllib.parse import urlsplit, urlunsplit

    given = urlsplit(os.environ["DATABASE_URL"])
    name = re.sub(r"(gw\d+)?_tests$", "", given.path.lstrip("/"))  # a process started by a test reads ours
    os.environ["DATABASE_URL"] = urlunsplit(given._replace(path=f"/{name}{WORKER}_tests"))
os.environ["THROTTLE_ANONYMOUS"] = "100000"
os.environ["THROTTLE_SIGNED_IN"] = "100000"
os.environ["LOG_LEVEL"] = os.environ.get("LOG_LEVEL", "ERROR")

from studio.config.settings import *  # noqa: E402, F403

PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.MD5PasswordHasher"
]  # quick; the product's own are scrypt and PBKDF2
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
