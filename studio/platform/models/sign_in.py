"""How somebody proves who she is, where she is signed in, and how often something was tried.

House tables: a person signs in once for all her studios.
"""

from typing import Any, ClassVar

from django.contrib.sessions.base_session import AbstractBaseSession, BaseSessionManager
from django.db import models

from studio.platform.models.base import HouseModel
from studio.platform.models.people import User


class Session(AbstractBaseSession):
    """One browser's visit. Whose it is, since when and by which browser stands beside the data, for her own list."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    began_at = models.DateTimeField()
    seen_at = models.DateTimeField()
    browser = models.CharField(max_length=60, blank=True)  # in plain words: "Firefox on Windows"
    address = models.CharField(max_length=64, blank=True)

    objects: ClassVar[Any] = BaseSessionManager()

    class Meta:
        db_table = "platform_session"

    @classmethod
    def get_session_store_class(cls) -> Any:
        from studio.platform.sessions import SessionStore

        return SessionStore


class CodeKey(HouseModel):
    """The shared secret of an app that shows a new code every half minute (RFC 6238), encrypted."""

    user = models.OneToOneField(User, on_delete=models.CASCADE, related_name="+")
    secret = models.TextField()
    made_at = models.DateTimeField(auto_now_add=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)  # null until the first code was right
    last_step = models.BigIntegerField(default=0)  # the half minute of the last code taken; none counts twice


class Passkey(HouseModel):
    """A public key whose other half lies in a telephone, a computer or a security key (WebAuthn)."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    name = models.CharField(max_length=60)
    credential_id = models.BinaryField(unique=True)
    public_key = models.BinaryField()
    sign_count = models.BigIntegerField(default=0)
    made_at = models.DateTimeField(auto_now_add=True)
    used_at = models.DateTimeField(null=True, blank=True)


class RecoveryCode(HouseModel):
    """A code for the day when app and passkey are lost: hashed as passwords are, taken once."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    code_hash = models.CharField(max_length=128)
    used_at = models.DateTimeField(null=True, blank=True)


class Tally(models.Model):
    """How often somebody did something in one stretch of time; shared by all web processes (see limits.py).

    The table is unlogged: counting costs no flush to disk, and a crash of the server forgets the counts.
    """

    key = models.CharField(max_length=160, primary_key=True)
    count = models.PositiveIntegerField()
    ends_at = models.DateTimeField(db_index=True)
