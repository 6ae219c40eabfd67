"""Locking an archive with a key: the open format age (age-encryption.org/v1), which its own tools can read as well.

A key file holds either the secret key (``AGE-SECRET-KEY-1...``), which locks and opens, or the public one
(``age1...``), which only locks: a machine that makes backups need not be able to read them.
"""

from pathlib import Path

import pyrage

AGE_HEADER = b"age-encryption.org/v1"


class BadKey(Exception):
    """The key is none, or not the one; the message says which."""


def make_key(path: Path) -> str:
    """Write a new secret key that its owner alone can read; returns the public key. Raises BadKey if it exists."""
    if path.exists():
        raise BadKey(f"{path} exists already: a key is never written over.")
    identity = pyrage.x25519.Identity.generate()
    path.touch(0o600)
    path.write_text(f"{identity}\n")
    return str(identity.to_public())


def _line(path: Path) -> str:
    try:
        lines = path.read_text().splitlines()
    except (OSError, UnicodeDecodeError) as exc:
        raise BadKey(f"The key file {path} can't be read.") from exc
    return next((line.strip() for line in lines if line.strip() and not line.startswith("#")), "")


def is_locked(archive: Path) -> bool:
    with archive.open("rb") as found:
        return found.read(len(AGE_HEADER)) == AGE_HEADER


def lock(plain: Path, locked: Path, key: Path) -> None:
    """Encrypt ``plain`` into ``locked``, piece by piece. Raises BadKey."""
    line = _line(key)
    try:
        if line.startswith("AGE-SECRET-KEY-"):
            recipient = pyrage.x25519.Identity.from_str(line).to_public()
        else:
            recipient = pyrage.x25519.Recipient.from_str(line)
    except (pyrage.IdentityError, pyrage.RecipientError) as exc:
        raise BadKey(f"{key} holds no key: it begins with age1 or AGE-SECRET-KEY-1.") from exc
    pyrage.encrypt_file(str(plain), str(locked), [recipient])


def unlock(locked: Path, plain: Path, key: Path) -> None:
    """Decrypt ``locked`` into ``plain``; whatever was changed in it is noticed. Raises BadKey."""
    try:
        identity = pyrage.x25519.Identity.from_str(_line(key))
    except pyrage.IdentityError as exc:
        raise BadKey(
            f"{key} holds no secret key (AGE-SECRET-KEY-1...), which alone opens an archive."
        ) from exc
    try:
        pyrage.decrypt_file(str(locked), str(plain), [identity])
    except Exception as exc:  # the library's own kinds, and its reader's for a file that is cut short
        raise BadKey(
            f"{locked} can't be opened with this key: it is another's, or the archive is damaged."
        ) from exc
