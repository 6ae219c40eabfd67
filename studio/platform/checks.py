"""System checks for what would fail silently."""

from typing import Any

from django.apps import apps
from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections

from studio.platform.database.grants import HOUSE_TABLES, append_only_models, tenant_models

PANGO_LINE = "sudo apt-get install -y libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"


def pango_problem() -> str | None:
    """One sentence with the install line if PDF rendering can't work on this machine, else None."""
    try:
        import weasyprint  # noqa: F401 - importing it loads Pango
    except OSError:
        return (
            f"PDF reports need the Pango library, which is not installed here. Install it with: {PANGO_LINE}"
        )
    return None


@register()
def check_pango(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    problem = pango_problem()
    return [Error(problem, id="studio.E001")] if problem else []


@register(Tags.models)
def check_every_table_is_listed(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    """Each model is a tenant table with a policy, or stands on the allow-list of house tables."""
    tenant = {model._meta.db_table for model in tenant_models()}
    stray = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.db_table not in tenant | HOUSE_TABLES and model._meta.managed
    ]
    return [
        Error(
            f"{model._meta.label} is neither a tenant table (tenant_rules) nor on the list of house tables.",
            id="studio.E002",
        )
        for model in stray
    ]


def role_problems(alias: str = "default") -> list[str]:
    """Why this database role must not serve; an empty list where it may. Asks the database itself."""
    problems: list[str] = []
    with connections[alias].cursor() as cursor:
        cursor.execute("select current_user")
        name = cursor.fetchone()[0]
        cursor.execute(
            "select rolname from pg_roles where (rolsuper or rolbypassrls) and pg_has_role(current_user, oid, 'member')"
        )
        strong = [row[0] for row in cursor.fetchall()]
        if strong:
            by = "" if strong == [name] else f", as {', '.join(strong[:3])},"
            problems.append(
                f"The role {name}{by} may bypass the policies that keep studios apart: it must not serve."
            )
        cursor.execute(
            "select relname from pg_class c join pg_namespace n on n.oid = c.relnamespace "
            "where n.nspname = 'public' and relkind = 'r' and pg_has_role(current_user, relowner, 'member')"
        )
        owned = [row[0] for row in cursor.fetchall()]
        if owned:
            problems.append(
                f"The role {name} owns tables ({', '.join(owned[:3])}): an owner can lift the policies."
            )
        cursor.execute(
            "select relname, relrowsecurity, relforcerowsecurity, pg_get_userbyid(relowner), "
            "exists (select from pg_policy p where p.polrelid = c.oid) from pg_class c "
            "join pg_namespace n on n.oid = c.relnamespace where n.nspname = 'public' and relkind = 'r'"
        )
        found = {row[0]: row[1:] for row in cursor.fetchall()}
        from studio.platform.database.roles import role

        for model in tenant_models():
            table = model._meta.db_table
            enabled, forced, owner, has_policy = found.get(table, (False, False, "", False))
            if not (enabled and has_policy and (forced or owner == role("door"))):
                problems.append(
                    f"The table {table} has no forced policy: studios would see each other's rows."
                )
        for model in append_only_models():
            cursor.execute(
                "select has_table_privilege(current_user, %s, 'update') "
                "or has_table_privilege(current_user, %s, 'delete')",
                [model._meta.db_table] * 2,
            )
            if cursor.fetchone()[0]:
                problems.append(
                    f"The role {name} may change {model._meta.db_table}, which is kept as written."
                )
    return problems


@register(Tags.database)
def check_role(app_configs: Any, databases: Any = None, **kwargs: Any) -> list[CheckMessage]:
    if "default" not in (databases or []):
        return []
    return [Error(problem, id="studio.E003") for problem in role_problems()]
