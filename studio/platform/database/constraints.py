"""Rules that the database itself holds, as constraints that travel in migrations.

``tenant_rules("reading", refers_to=["measuring"], append_only=True)`` in a model's Meta gives the table

- a unique (studio, id), so that others can refer to both at once,
- forced row-level security with one policy for reading and writing,
- composite foreign keys: a row can't point into another studio,
- for append-only tables a trigger that refuses UPDATE and DELETE to everybody but the eraser.

Grants are not here: ``grants.apply_grants`` sets them all in one place after every migration.
"""

from collections.abc import Sequence
from typing import Any

from django.db import models
from django.db.backends.ddl_references import Statement, Table
from django.db.models.constraints import BaseConstraint

from studio.platform.database.roles import role

SCOPE = "nullif((select current_setting('app.studio', true)), '')::uuid"


class DatabaseRule(BaseConstraint):
    """A constraint that PostgreSQL holds and that Django need not validate."""

    def rule_sql(self, model: type[models.Model], quote: Any) -> list[str]:
        raise NotImplementedError

    def undo_sql(self, model: type[models.Model], quote: Any) -> list[str]:
        raise NotImplementedError

    def validate(self, model, instance, exclude=None, using=None) -> None:
        """The database decides."""

    def create_sql(self, model, schema_editor):
        return self._statement(model, schema_editor, self.rule_sql(model, schema_editor.quote_name))

    def remove_sql(self, model, schema_editor):
        return self._statement(model, schema_editor, self.undo_sql(model, schema_editor.quote_name))

    def constraint_sql(self, model, schema_editor):
        # Called while CREATE TABLE is being written: our statements need the table, so they run after it.
        schema_editor.deferred_sql.append(self.create_sql(model, schema_editor))

    @staticmethod
    def _statement(model, schema_editor, parts: list[str]) -> Statement:
        sql = ";\n".join(parts)
        return Statement("%(body)s", table=Table(model._meta.db_table, schema_editor.quote_name), body=sql)

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and self.deconstruct() == other.deconstruct()

    __hash__ = BaseConstraint.__hash__


class StudioPolicy(DatabaseRule):
    """Forced row-level security: only rows of the studio in scope are seen or written.

    ``column`` holds the studio's id. ``door_reads`` lets the functions of role door look across studios.
    ``owned_by_door`` hands the table to role door, so that its functions may use indexes that policies forbid.
    """

    def __init__(
        self, *, name: str, column: str = "studio_id", door_reads: bool = False, owned_by_door: bool = False
    ) -> None:
        super().__init__(name=name)
        self.column, self.door_reads, self.owned_by_door = column, door_reads, owned_by_door

    def rule_sql(self, model: type[models.Model], quote: Any) -> list[str]:
        table, column = quote(model._meta.db_table), quote(self.column)
        parts = [
            f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY",
            f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY",
            f"CREATE POLICY {quote(self.name)} ON {table} USING ({column} = {SCOPE}) WITH CHECK ({column} = {SCOPE})",
        ]
        if self.door_reads:
            parts.append(
                f"CREATE POLICY {quote(self.name + '_door')} ON {table} "
                f"FOR SELECT TO {quote(role('door'))} USING (true)"
            )
        if self.owned_by_door:
            parts[1] = f"ALTER TABLE {table} OWNER TO {quote(role('door'))}"
            parts[1], parts[2] = parts[2], parts[1]
        return parts

    def undo_sql(self, model: type[models.Model], quote: Any) -> list[str]:
        table = quote(model._meta.db_table)
        return [
            f"DROP POLICY IF EXISTS {quote(self.name + '_door')} ON {table}",
            f"DROP POLICY IF EXISTS {quote(self.name)} ON {table}",
            f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY",
            f"ALTER TABLE {table} DISABLE ROW LEVEL SECURITY",
        ]

    def deconstruct(self) -> tuple[str, Sequence[Any], dict[str, Any]]:
        path, args, kwargs = super().deconstruct()
        kwargs |= {"column": self.column, "door_reads": self.door_reads, "owned_by_door": self.owned_by_door}
        return path, args, kwargs


class StudioReference(DatabaseRule):
    """A composite foreign key (studio, field) -> (studio, id) of the field's target."""

    def __init__(self, *, name: str, field: str) -> None:
        super().__init__(name=name)
        self.field = field

    def rule_sql(self, model: type[models.Model], quote: Any) -> list[str]:
        field = model._meta.get_field(self.field)
        target = field.related_model
        assert not isinstance(target, str)
        return [
            f"ALTER TABLE {quote(model._meta.db_table)} ADD CONSTRAINT {quote(self.name)} "
            f"FOREIGN KEY (studio_id, {quote(field.column)}) "  # type: ignore[union-attr]
            f"REFERENCES {quote(target._meta.db_table)} (studio_id, id) DEFERRABLE INITIALLY IMMEDIATE"  # type: ignore[union-attr]
        ]

    def create_sql(self, model, schema_editor):
        # The target's unique (studio, id) may be made later in the same migration: wait for its end.
        schema_editor.deferred_sql.append(super().create_sql(model, schema_editor))

    def constraint_sql(self, model, schema_editor):
        self.create_sql(model, schema_editor)

    def undo_sql(self, model: type[models.Model], quote: Any) -> list[str]:
        return [f"ALTER TABLE {quote(model._meta.db_table)} DROP CONSTRAINT IF EXISTS {quote(self.name)}"]

    def deconstruct(self) -> tuple[str, Sequence[Any], dict[str, Any]]:
        path, args, kwargs = super().deconstruct()
        kwargs["field"] = self.field
        return path, args, kwargs


class AppendOnly(DatabaseRule):
    """Rows are kept as they were written: UPDATE and DELETE fail for everybody but the eraser."""

    def rule_sql(self, model: type[models.Model], quote: Any) -> list[str]:
        return [
            f"CREATE TRIGGER {quote(self.name)} BEFORE UPDATE OR DELETE ON {quote(model._meta.db_table)} "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        ]

    def undo_sql(self, model: type[models.Model], quote: Any) -> list[str]:
        return [f"DROP TRIGGER IF EXISTS {quote(self.name)} ON {quote(model._meta.db_table)}"]


def tenant_rules(
    noun: str,
    *,
    refers_to: Sequence[str] = (),
    append_only: bool = False,
    door_reads: bool = False,
    owned_by_door: bool = False,
) -> list[BaseConstraint]:
    """The house rules of one tenant table; ``noun`` makes the constraints' names."""
    rules: list[BaseConstraint] = [
        models.UniqueConstraint(fields=["studio", "id"], name=f"{noun}_studio_id"),
        *[StudioReference(name=f"{noun}_{field}_same_studio", field=field) for field in refers_to],
        StudioPolicy(name=f"{noun}_of_studio", door_reads=door_reads, owned_by_door=owned_by_door),
    ]
    if append_only:
        rules.append(AppendOnly(name=f"{noun}_is_kept"))
    return rules
