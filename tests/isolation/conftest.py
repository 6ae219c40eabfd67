"""Two studios with a row in every tenant table, made over real transactions (not a test's rolled-back one)."""

from collections.abc import Iterator
from typing import Any

import psycopg
import pytest
from django.conf import settings
from django.db import connections, models

from studio.platform.database.grants import tenant_models
from studio.platform.database.scope import studio_scope
from tests.conftest import House, found_house


@pytest.fixture
def two_houses(transactional_db: Any) -> tuple[House, House]:
    return found_house("Thimble Row"), found_house("Bobbin Lane")


@pytest.fixture
def app_connection(two_houses: Any) -> Iterator[psycopg.Connection[Any]]:
    """A bare connection as the app role, as a strange program with the app's password would have."""
    with psycopg.connect(settings.DATABASE.logins["app"].conninfo()) as connection:
        yield connection


def fill(model: type[models.Model], made: dict[type[models.Model], Any]) -> Any:
    """A row of this model in the studio in scope, with rows of the models that it points at made first."""
    if model in made:
        return made[model]
    values: dict[str, Any] = {}
    for field in model._meta.concrete_fields:
        if field.primary_key or field.name == "studio" or field.has_default() or field.null:
            continue
        if getattr(field, "auto_now", False) or getattr(field, "auto_now_add", False):
            continue
        if field.is_relation:
            values[field.name] = fill(field.related_model, made)  # type: ignore[arg-type]
        elif not (field.blank and isinstance(field, models.CharField | models.TextField)):
            values[field.name] = example(field)
    made[model] = model._default_manager.create(**values)
    return made[model]


def example(field: "models.Field[Any, Any]") -> Any:
    import datetime as dt
    import uuid

    if field.choices:
        return field.choices[0][0]
    if isinstance(field, models.UUIDField):
        return uuid.uuid4()
    if isinstance(field, models.DateTimeField):
        return dt.datetime(2026, 3, 1, 9, 0, tzinfo=dt.UTC)
    if isinstance(field, models.DateField):
        return dt.date(2026, 3, 1)
    if isinstance(field, models.BooleanField):
        return False
    if isinstance(field, models.JSONField):
        return {}
    if isinstance(field, models.EmailField):
        return f"{uuid.uuid4().hex[:8]}@example.org"
    if isinstance(field, models.CharField | models.TextField):
        return uuid.uuid4().hex[: min(field.max_length or 32, 32)]
    if isinstance(field, models.IntegerField | models.DecimalField):
        return 1
    raise TypeError(f"No example for {field}")


@pytest.fixture
def filled(two_houses: tuple[House, House]) -> dict[type[models.Model], tuple[Any, Any]]:
    """For every tenant model: (its row in the first studio, its row in the second)."""
    rows = []
    for house in two_houses:
        with studio_scope(house.studio_id):
            from studio.platform.models import Member, Studio, User

            member = Member.objects.get(pk=house.owner.member_id)
            made: dict[type[models.Model], Any] = {
                Member: member,
                User: member.user,
                Studio: Studio.objects.get(),
            }
            for model in tenant_models():
                fill(model, made)
            rows.append(made)
    return {model: (rows[0][model], rows[1][model]) for model in tenant_models()}


@pytest.fixture(autouse=True)
def _no_pool_between_tests() -> Iterator[None]:
    yield
    connections.close_all()
