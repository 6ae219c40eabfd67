"""Nobody sees, writes or points at another studio's row: through the ORM, through bare SQL, through each door.

The loops walk every model, so a new table is covered by itself. Everything runs as the app role over real
transactions; the last tests use a pooled connection, as the web process does.
"""

import uuid

import psycopg
import pytest
from django.apps import apps
from django.conf import settings
from django.db import DatabaseError, connection, models, transaction
from psycopg import sql

from studio.platform.checks import role_problems
from studio.platform.database import doors
from studio.platform.database.constraints import StudioReference
from studio.platform.database.grants import HOUSE_TABLES, append_only_models, tenant_models
from studio.platform.database.scope import NoScope, ScopeMismatch, current_studio_id, studio_scope
from studio.platform.models import Member
from tests.conftest import real_transactions

pytestmark = real_transactions


def ids(model: type[models.Model]) -> set[uuid.UUID]:
    return set(model._default_manager.values_list("pk", flat=True))


def test_every_table_is_a_tenant_table_or_on_the_allow_list():
    tenant = {model._meta.db_table for model in tenant_models()}
    for model in apps.get_models(include_auto_created=True):
        table = model._meta.db_table
        assert (table in tenant) != (table in HOUSE_TABLES), (
            f"{table} must be on exactly one of the two lists"
        )
    with psycopg.connect(settings.DATABASE.logins["owner"].conninfo()) as owner:
        found = {
            row[0]
            for row in owner.execute(
                "select relname from pg_class c join pg_namespace n on n.oid = c.relnamespace "
                "where nspname = 'public' and relkind in ('r', 'p')"
            ).fetchall()
        }
    assert found == tenant | HOUSE_TABLES, "the database holds a table that no list names"


def test_every_tenant_table_has_a_policy_and_the_app_role_neither_owns_nor_bypasses():
    assert role_problems() == []


def test_a_role_that_can_become_one_that_bypasses_must_not_serve():
    from django.db import connections

    roles = settings.DATABASE.roles
    with psycopg.connect(settings.DATABASE.administrator.conninfo(), autocommit=True) as admin:
        grant = sql.SQL("{} {} {} {}")
        backup, app = sql.Identifier(roles["backup"]), sql.Identifier(roles["app"])
        admin.execute(grant.format(sql.SQL("grant"), backup, sql.SQL("to"), app))
        try:
            assert any(roles["backup"] in problem for problem in role_problems())
        finally:
            admin.execute(grant.format(sql.SQL("revoke"), backup, sql.SQL("from"), app))
    connections["default"].close()


def test_every_reference_between_tenant_tables_is_composite():
    for model in tenant_models():
        held = {rule.field for rule in model._meta.constraints if isinstance(rule, StudioReference)}
        for field in model._meta.concrete_fields:
            target = field.related_model
            if field.is_relation and target in tenant_models() and field.name != "studio":
                assert field.name in held, f"{model._meta.label}.{field.name} could point into another studio"


def test_without_a_scope_the_orm_refuses_and_the_database_shows_nothing(filled):
    for model in tenant_models():
        with pytest.raises(NoScope):
            list(model._default_manager.all())
        with connection.cursor() as cursor:
            cursor.execute(f'select count(*) from "{model._meta.db_table}"')
            assert cursor.fetchone()[0] == 0, f"{model._meta.label} is visible without a studio"


def test_the_orm_reads_and_writes_one_studio_only(filled, two_houses):
    first, second = two_houses
    for model, (mine, theirs) in filled.items():
        with studio_scope(first.studio_id):
            seen = ids(model)
            assert mine.pk in seen, f"{model._meta.label}: my own row is missing"
            assert theirs.pk not in seen, f"{model._meta.label}: another studio's row is visible"
            # Past the scoped manager only the policy is left.
            unscoped = models.QuerySet(model).filter(pk=theirs.pk)
            assert not unscoped.exists()
            if not has_append_only(model):
                assert unscoped.update(**{model._meta.pk.name: theirs.pk}) == 0
        with studio_scope(second.studio_id):
            assert theirs.pk in ids(model)


def has_append_only(model: type[models.Model]) -> bool:
    return model in append_only_models()


def test_bare_sql_reads_and_writes_one_studio_only(filled, two_houses, app_connection):
    first, _ = two_houses
    for model, (mine, theirs) in filled.items():
        table = sql.Identifier(model._meta.db_table)
        with app_connection.transaction(force_rollback=True):
            app_connection.execute("select set_config('app.studio', %s, true)", [str(first.studio_id)])
            query = sql.SQL("select id from {} where id = any(%s)").format(table)
            found = {row[0] for row in app_connection.execute(query, [[mine.pk, theirs.pk]]).fetchall()}
            assert found == {mine.pk}, model._meta.label
            if not has_append_only(model):
                changed = app_connection.execute(
                    sql.SQL("update {} set id = id where id = %s").format(table), [theirs.pk]
                )
                assert changed.rowcount == 0
                gone = app_connection.execute(
                    sql.SQL("delete from {} where id = %s").format(table), [theirs.pk]
                )
                assert gone.rowcount == 0


def test_no_row_can_be_written_into_another_studio(filled, two_houses, app_connection):
    first, second = two_houses
    for model, (mine, _) in filled.items():
        if model._meta.db_table == "platform_studio":
            continue
        table = sql.Identifier(model._meta.db_table)
        columns = [
            field.column for field in model._meta.concrete_fields if field.column not in {"id", "studio_id"}
        ]
        copy = sql.SQL("insert into {0} (id, studio_id{1}) select %s, %s{1} from {0} where id = %s").format(
            table, sql.SQL("").join(sql.SQL(", {}").format(sql.Identifier(column)) for column in columns)
        )
        with app_connection.transaction(force_rollback=True):
            app_connection.execute("select set_config('app.studio', %s, true)", [str(first.studio_id)])
            with pytest.raises(psycopg.errors.InsufficientPrivilege, match="row-level security"):
                app_connection.execute(copy, [uuid.uuid4(), second.studio_id, mine.pk])


def rule_names(owner, table):
    rows = owner.execute(
        "select conname from pg_constraint where contype = 'c' and conrelid = %s::regclass", [table]
    )
    return [row[0] for row in rows.fetchall()]


def test_no_row_can_point_into_another_studio(filled, two_houses):
    """Even the owner of the tables, with policies lifted, is held by the composite foreign keys."""
    with psycopg.connect(settings.DATABASE.logins["owner"].conninfo()) as owner:
        for model in tenant_models():
            for rule in model._meta.constraints:
                if not isinstance(rule, StudioReference):
                    continue
                field = model._meta.get_field(rule.field)
                mine, theirs = filled[model][0], filled[field.related_model][1]
                with owner.transaction(force_rollback=True):
                    for statement in (
                        "disable trigger user",
                        "no force row level security",
                        "disable row level security",
                    ):
                        owner.execute(
                            sql.SQL("alter table {} " + statement).format(
                                sql.Identifier(model._meta.db_table)
                            )
                        )
                    for check in rule_names(owner, model._meta.db_table):  # they would answer first
                        owner.execute(
                            sql.SQL("alter table {} drop constraint {}").format(
                                sql.Identifier(model._meta.db_table), sql.Identifier(check)
                            )
                        )
                    with pytest.raises(psycopg.errors.ForeignKeyViolation):
                        owner.execute(
                            sql.SQL("update {} set {} = %s where id = %s").format(
                                sql.Identifier(model._meta.db_table), sql.Identifier(field.column)
                            ),
                            [theirs.pk, mine.pk],
                        )


def test_rows_that_are_kept_can_neither_be_changed_nor_deleted(filled, two_houses):
    """The app role lacks the right; the owner of the table, who has it, meets the trigger."""
    first, _ = two_houses
    for model in append_only_models():
        mine = filled[model][0]
        table = model._meta.db_table
        for statement in (
            f'update "{table}" set id = id where id = %s',
            f'delete from "{table}" where id = %s',
        ):
            with (
                studio_scope(first.studio_id),
                pytest.raises(DatabaseError, match="permission denied"),
                transaction.atomic(),
                connection.cursor() as cursor,
            ):
                cursor.execute(statement, [mine.pk])
            with psycopg.connect(settings.DATABASE.logins["owner"].conninfo()) as owner:
                owner.execute("select set_config('app.studio', %s, true)", [str(first.studio_id)])
                with pytest.raises(psycopg.errors.RestrictViolation, match="kept as written"):
                    owner.execute(statement, [mine.pk])


def test_scopes_do_not_nest_across_studios_and_leave_nothing_behind(two_houses):
    first, second = two_houses
    with studio_scope(first.studio_id):
        with studio_scope(first.studio_id):
            assert current_studio_id() == first.studio_id
        assert current_studio_id() == first.studio_id
        with pytest.raises(ScopeMismatch), studio_scope(second.studio_id):
            pass
    with connection.cursor() as cursor:
        cursor.execute("select current_setting('app.studio', true)")
        assert not cursor.fetchone()[0]


def test_a_scope_inside_an_outer_transaction_ends_with_its_block(two_houses):
    first, second = two_houses
    with transaction.atomic():
        with studio_scope(first.studio_id):
            assert Member.objects.count() == 3
        with studio_scope(second.studio_id):
            assert {member.studio_id for member in Member.objects.all()} == {second.studio_id}
        with connection.cursor() as cursor:
            cursor.execute("select count(*) from platform_member")
            assert cursor.fetchone()[0] == 0


def test_an_error_in_a_scope_leaves_neither_rows_nor_setting(two_houses):
    first, _ = two_houses
    with pytest.raises(DatabaseError), studio_scope(first.studio_id), connection.cursor() as cursor:
        cursor.execute("update platform_member set name = 'changed'")
        cursor.execute("select 1 / 0")
    with studio_scope(first.studio_id):
        assert not Member.objects.filter(name="changed").exists()
    with connection.cursor() as cursor:
        cursor.execute("select current_setting('app.studio', true)")
        assert not cursor.fetchone()[0]


# --- doors ---------------------------------------------------------------------------------------------------------


def test_memberships_of_answers_for_one_user_only(two_houses):
    first, _ = two_houses
    assert [found.studio_id for found in doors.memberships_of(first.owner.user_id)] == [first.studio_id]
    assert doors.memberships_of(uuid.uuid4()) == []


def test_token_owner_opens_for_the_hash_alone(filled, two_houses):
    from studio.platform.models import ApiToken

    first, _ = two_houses
    mine = filled[ApiToken][0]
    assert doors.token_owner(mine.secret_hash) == (first.studio_id, mine.member_id)
    assert doors.token_owner("") is None
    assert doors.token_owner("%") is None


def test_jobs_due_tells_ids_and_nothing_else(filled, two_houses):
    from studio.platform.models import Job

    due = doors.jobs_due(0)
    assert {job_id for _, job_id in due} == {row.pk for row in filled[Job]}
    assert all(len(row) == 2 for row in due)


def test_doors_can_be_opened_by_the_app_role_alone():
    with psycopg.connect(settings.DATABASE.logins["owner"].conninfo()) as owner:
        rows = owner.execute(
            "select p.proname, pg_get_userbyid(p.proowner), p.prosecdef, p.proconfig, "
            "has_function_privilege('public', p.oid, 'execute') "
            "from pg_proc p join pg_namespace n on n.oid = p.pronamespace where n.nspname = 'public' and p.prosecdef"
        ).fetchall()
    roles = settings.DATABASE.roles
    assert rows, "there are doors"
    for name, owner_name, _, config, public in rows:
        assert owner_name in {roles["door"], roles["eraser"]}, name
        assert any(item.startswith("search_path=") for item in config or []), (
            f"{name} has no fixed search path"
        )
        assert not public, f"{name} may be opened by anybody"


# --- the pool ------------------------------------------------------------------------------------------------------


def test_a_pooled_connection_carries_no_studio_to_the_next_request(two_houses):
    from psycopg_pool import ConnectionPool

    first, _ = two_houses
    with ConnectionPool(
        settings.DATABASE.logins["app"].conninfo(), min_size=1, max_size=1, open=True
    ) as pool:
        with pool.connection() as one:
            one.execute("select set_config('app.studio', %s, true)", [str(first.studio_id)])
            backend = one.info.backend_pid
            assert one.execute("select count(*) from platform_member").fetchone()[0] == 3
        with pool.connection() as again:
            assert again.info.backend_pid == backend, "the very same connection is tried"
            assert again.execute("select count(*) from platform_member").fetchone()[0] == 0
