"""The database roles by their short names (see roles.sql)."""

from django.conf import settings


def role(name: str) -> str:
    """The role's full name in this installation: ``role("app")`` -> ``"studio_app"``."""
    return settings.DATABASE.roles[name]
