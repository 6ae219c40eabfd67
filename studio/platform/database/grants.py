"""Who may do what with which table, set in one place after every migration.

House tables are the allow-list without facts about clients; every other model must be a tenant table.
"""

from django.apps import apps
from django.db import connections, models, transaction
from psycopg import sql

from studio.platform.database.constraints import AppendOnly, StudioPolicy
from studio.platform.database.roles import role

HOUSE_TABLES = frozenset(
    {
        "platform_user",
        "platform_setuplink",
        "platform_session",
        "platform_codekey",
        "platform_passkey",
        "platform_recoverycode",
        "platform_tally",
        "auth_group",
        "auth_group_permissions",
        "auth_permission",
        "django_content_type",
        "django_migrations",
    }
)
READ_ONLY_HOUSE_TABLES = frozenset(
    {"auth_group", "auth_group_permissions", "auth_permission", "django_content_type", "django_migrations"}
)


def has_rule(model: type[models.Model], kind: type) -> bool:
    return any(isinstance(rule, kind) for rule in model._meta.constraints)


def tenant_models() -> list[type[models.Model]]:
    """Every model whose table carries the studio policy, in a stable order."""
    found = [model for model in apps.get_models(include_auto_created=True) if has_rule(model, StudioPolicy)]
    return sorted(found, key=lambda model: model._meta.db_table)


def append_only_models() -> list[type[models.Model]]:
    return [model for model in tenant_models() if has_rule(model, AppendOnly)]


def _grants() -> list[tuple[str, str, str]]:
    """(table, role, privileges) for every table of the house."""
    rows: list[tuple[str, str, str]] = []
    for model in tenant_models():
        table = model._meta.db_table
        rows.append(
            (
                table,
                "app",
                "SELECT, INSERT" if has_rule(model, AppendOnly) else "SELECT, INSERT, UPDATE, DELETE",
            )
        )
        rows.append((table, "eraser", "SELECT, UPDATE, DELETE"))
        rows.append((table, "door", "SELECT"))
    for table in sorted(HOUSE_TABLES):
        rows.append(
            (table, "app", "SELECT" if table in READ_ONLY_HOUSE_TABLES else "SELECT, INSERT, UPDATE, DELETE")
        )
    return rows


def apply_grants() -> None:
    """Take everything back, then give each role exactly what it needs; runs as the owner in one transaction."""
    connection = connections["owner"]
    with transaction.atomic(using="owner"), connection.cursor() as cursor:
        for name in ("app", "eraser"):
            cursor.execute(
                sql.SQL("revoke all on all tables in schema public from {}").format(
                    sql.Identifier(role(name))
                )
            )
        for table, name, privileges in _grants():
            cursor.execute(
                sql.SQL("grant {} on table {} to {}").format(
                    sql.SQL(privileges), sql.Identifier(table), sql.Identifier(role(name))
                )
            )
        cursor.execute(
            sql.SQL("grant usage on all sequences in schema public to {}").format(sql.Identifier(role("app")))
        )
        for kind in ("tables", "sequences"):
            cursor.execute(
                sql.SQL("grant select on all {} in schema public to {}").format(
                    sql.SQL(kind), sql.Identifier(role("backup"))
                )
            )
