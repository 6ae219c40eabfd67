"""The product's own settings on a database and a data folder of their own."""

import os
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
os.environ["STUDIO_DATA"] = os.environ.get("TEST_DATA") or str(ROOT / ".data" / "tests")
os.environ.setdefault("SECRET_KEY", "tests-only-" + "x" * 40)
os.environ["STUDIO_DATABASE_NAME"] = "studio_tests"
if os.environ.get("DATABASE_URL") and not os.environ.get("DATABASE_OWNER_URL"):
    # A server given by URL: never its own database, one of ours beside it.
    from urllib.parse import urlsplit, urlunsplit

    given = urlsplit(os.environ["DATABASE_URL"])
    name = given.path.lstrip("/")
    if not name.endswith("_tests"):
        os.environ["DATABASE_URL"] = urlunsplit(given._replace(path=f"/{name}_tests"))
os.environ["THROTTLE_ANONYMOUS"] = "100000/min"
os.environ["THROTTLE_SIGNED_IN"] = "100000/min"
os.environ["LOG_LEVEL"] = os.environ.get("LOG_LEVEL", "ERROR")

from studio.config.settings import *  # noqa: E402, F403

PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.MD5PasswordHasher"
]  # quick; the product's own are scrypt and PBKDF2
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
