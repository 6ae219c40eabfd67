"""What every tenant row has: an ordered, unguessable id and its studio."""

from typing import Any, TypeVar
from uuid import UUID

import uuid_utils.compat as uuid_utils
from django.db import models

from studio.platform.database.scope import current_studio_id


def new_id() -> UUID:
    """A UUIDv7: ordered by time, made without asking the database."""
    return uuid_utils.uuid7()


Row_co = TypeVar("Row_co", bound=models.Model, covariant=True)


class ScopedManager(models.Manager[Row_co]):
    """Sees the studio in scope and raises NoScope outside one (the policies would silently show nothing)."""

    def get_queryset(self) -> "models.QuerySet[Row_co]":
        field: str = self.model.STUDIO_FIELD  # type: ignore[attr-defined]
        return super().get_queryset().filter(**{field: current_studio_id()})


class HouseModel(models.Model):
    """A row without facts about clients."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"{type(self).__name__} {self.pk}"


class TenantModel(HouseModel):
    """A row that belongs to exactly one studio; a concrete model adds ``tenant_rules`` to its constraints."""

    STUDIO_FIELD = "studio_id"

    studio = models.ForeignKey(
        "platform.Studio",
        on_delete=models.DO_NOTHING,
        related_name="+",
        default=current_studio_id,
        editable=False,
    )

    objects = ScopedManager()

    class Meta:
        abstract = True


class Versioned(models.Model):
    """A row that people edit together: ``version`` counts the edits and becomes the ETag."""

    version = models.PositiveIntegerField(default=1, editable=False)

    objects = ScopedManager()

    class Meta:
        abstract = True


class EditableModel(Versioned, TenantModel):
    """A tenant row that people edit together."""

    created_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True


def reference(to: str, **options: Any) -> Any:
    """A foreign key to another tenant table; its (studio, id) pair is held by StudioReference, not by Django.

    The row that is pointed at is never deleted under the one that points (only the eraser deletes, in its order).
    """
    options.setdefault("related_name", "+")
    return models.ForeignKey(to, on_delete=models.DO_NOTHING, db_constraint=False, **options)
