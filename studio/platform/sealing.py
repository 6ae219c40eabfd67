"""Secrets that must be read again are encrypted at rest, with keys derived from SECRET_KEY (and its forerunners)."""

import base64

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings


def _box(purpose: str) -> MultiFernet:
    def key(secret: str) -> Fernet:
        derive = HKDF(algorithm=SHA256(), length=32, salt=None, info=f"studio-record {purpose}".encode())
        return Fernet(base64.urlsafe_b64encode(derive.derive(secret.encode())))

    return MultiFernet([key(secret) for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)])


def seal(purpose: str, plain: str) -> str:
    """Encrypted and authenticated text that opens for this purpose alone."""
    return _box(purpose).encrypt(plain.encode()).decode()


def unseal(purpose: str, sealed: str) -> str | None:
    """What was sealed, or None where no key of this installation opens it."""
    try:
        return _box(purpose).decrypt(sealed.encode()).decode()
    except InvalidToken:
        return None
