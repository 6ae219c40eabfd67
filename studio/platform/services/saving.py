"""Saving with the model's own rules told as sentences, and editing without silent overwrites."""

from collections.abc import Collection, Mapping
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import models

from studio.platform.errors import NotHere, Refused, Stale
from studio.platform.models.base import Versioned

Row = TypeVar("Row", bound=models.Model)
Edited = TypeVar("Edited", bound=Versioned)


def save_new(row: Row, *, looked_up: Collection[str] = ()) -> Row:
    """Validate and insert a row; raises Refused naming each field and reason.

    ``looked_up`` names the references whose rows the caller has just read, and the id where it has just been made:
    they are not asked for once more (the database's own keys still hold).
    """
    try:
        row.full_clean(exclude=set(looked_up), validate_constraints=False)
    except ValidationError as exc:
        raise Refused(_sentences(exc)) from exc
    row.save(force_insert=True)
    return row


def lock_for_edit(model: type[Edited], pk: Any, expected_version: int | None) -> Edited:
    """Lock a row of this studio for an edit; raises NotHere, or Stale where its version is not the expected one."""
    noun = str(model._meta.verbose_name)
    row = model.objects.select_for_update(no_key=True, of=("self",)).filter(pk=pk).first()
    if row is None:
        raise NotHere(noun)
    if expected_version is not None and row.version != expected_version:
        raise Stale(noun)
    return row


def save_edit(row: Edited, changes: Mapping[str, Any]) -> dict[str, Any]:
    """Apply changes to a locked row and count its version up; returns what truly changed as {field: [old, new]}."""
    changed: dict[str, Any] = {}
    for field, value in changes.items():
        old = getattr(row, field)
        if old != value:
            changed[field] = [old, value]
            setattr(row, field, value)
    if not changed:
        return {}
    try:
        row.full_clean(validate_constraints=False)
    except ValidationError as exc:
        raise Refused(_sentences(exc)) from exc
    row.version += 1
    row.save()
    return changed


def _sentences(exc: ValidationError) -> dict[str, str]:
    return {
        ("" if field == "__all__" else field): " ".join(messages)
        for field, messages in exc.message_dict.items()
    }
