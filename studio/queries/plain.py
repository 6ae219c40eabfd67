"""Rows as plain data that JSON can hold, for a client's export."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db import models

from studio.platform.models import Member

# The studio is the same everywhere; a stored file's key is a place on our disk.
NOT_TOLD = {"studio", "key"}


def member_names() -> dict[UUID, str]:
    """The studio's members by id, so that an export says who did something."""
    return dict(Member.objects.values_list("id", "name"))


def plain(row: models.Model, members: Mapping[UUID, str]) -> dict[str, Any]:
    """Every column of a row by its field's name: a member as her name, what else it refers to as the id,
    numbers, truth and nothing as they are, all else as text.
    """
    found: dict[str, Any] = {}
    for field in row._meta.concrete_fields:
        if field.name in NOT_TOLD:
            continue
        value = getattr(row, field.attname)
        if field.related_model is Member:
            value = members.get(value)
        found[field.name] = value if isinstance(field, models.JSONField) else _text(value)
    return found


def plain_rows(rows: Iterable[models.Model], members: Mapping[UUID, str]) -> list[dict[str, Any]]:
    return [plain(row, members) for row in rows]


def _text(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float | str):
        return value
    return value.isoformat() if hasattr(value, "isoformat") else str(value)
