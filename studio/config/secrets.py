"""The installation's own secret, made once and kept in the data folder unless the environment gives one."""

import hashlib
import hmac
import os
import secrets
from pathlib import Path


def installation_secret(data: Path) -> str:
    """Return the secret kept in ``data/secret``, making it (readable by this user alone) at the first call."""
    path = data / "secret"
    try:
        return path.read_text().strip()
    except FileNotFoundError:
        pass
    data.mkdir(parents=True, exist_ok=True)
    made = secrets.token_urlsafe(48)
    draft = data / f".secret.{os.getpid()}"
    descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(descriptor, "w") as out:
        out.write(made)
    try:
        os.link(draft, path)  # whoever links first wins; both processes then read the same secret
    except FileExistsError:
        pass
    finally:
        draft.unlink()
    return path.read_text().strip()


def derived(secret: str, purpose: str) -> str:
    """A password for one purpose: every machine that shares the secret arrives at the same one."""
    return hmac.new(secret.encode(), purpose.encode(), hashlib.sha256).hexdigest()
