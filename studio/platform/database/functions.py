"""SQL of the platform's database functions, run by its first migrations as the owner role."""

from typing import Any

from studio.platform.database.roles import role


def run_as_owner(apps: Any, schema_editor: Any, statements: list[str]) -> None:
    for statement in statements:
        schema_editor.execute(statement, None)


def refuse_change(apps: Any, schema_editor: Any) -> None:
    """The trigger function behind every append-only table."""
    schema_editor.execute(
        f"""
        create or replace function refuse_change() returns trigger language plpgsql
        set search_path = public, pg_temp as $body$
        begin
          if current_user = '{role("eraser")}' then
            return case when tg_op = 'DELETE' then old else new end;
          end if;
          raise exception 'Rows of % are kept as written: a correction is a new row.', tg_table_name
            using errcode = 'restrict_violation';
        end
        $body$
        """,
        None,
    )


def make_function(
    schema_editor: Any, owner: str, signature: str, returns: str, body: str, language: str = "sql"
) -> None:
    """Create a SECURITY DEFINER function owned by role ``owner`` that only the app role may call."""
    name = signature.split("(", 1)[0]
    types = ", ".join(
        part.strip().split(" ", 1)[1] for part in signature[len(name) + 1 : -1].split(",") if part.strip()
    )
    volatility = "volatile" if owner == "eraser" else "stable"
    for statement in (
        f"set local role {role(owner)}",
        f"create or replace function {signature} returns {returns} language {language} {volatility} security definer "
        f"set search_path = public, pg_temp as $body$ {body} $body$",
        f"revoke all on function {name}({types}) from public",
        f"grant execute on function {name}({types}) to {role('app')}",
        "reset role",
    ):
        schema_editor.execute(statement, None)


def platform_doors(apps: Any, schema_editor: Any) -> None:
    make_function(
        schema_editor,
        "door",
        "memberships_of(who uuid)",
        "table (studio_id uuid, studio_name text, time_zone text, unit text, member_id uuid, name text, role text)",
        """
        select m.studio_id, s.name::text, s.time_zone::text, s.unit::text, m.id, m.name::text, m.role::text
        from platform_member m join platform_studio s on s.id = m.studio_id
        where m.user_id = who and m.active order by s.name, m.studio_id
        """,
    )
    make_function(
        schema_editor,
        "door",
        "token_owner(hash text)",
        "table (studio_id uuid, member_id uuid)",
        """
        select t.studio_id, t.member_id
        from platform_apitoken t join platform_member m on m.studio_id = t.studio_id and m.id = t.member_id
        where t.secret_hash = hash and t.revoked_at is null and m.active
          and (t.expires_at is null or t.expires_at > now())
        """,
    )
    make_function(
        schema_editor,
        "door",
        "jobs_due(resend_seconds integer)",
        "table (studio_id uuid, job_id uuid)",
        """
        select j.studio_id, j.id from platform_job j
        where j.state in ('waiting', 'working') and j.not_before <= now()
          and (j.state = 'working' and j.lease_until < now()
               or j.state = 'waiting'
               and (j.rung_at is null or j.rung_at < now() - make_interval(secs => resend_seconds)))
        order by j.not_before limit 1000
        """,
    )
    make_function(
        schema_editor, "door", "studio_ids()", "table (id uuid)", "select s.id from platform_studio s"
    )
    make_function(schema_editor, "door", "studio_count()", "bigint", "select count(*) from platform_studio")


def memberships_with_rules(apps: Any, schema_editor: Any) -> None:
    """The door of a signed-in user once more, now with what her studios ask of a sign-in."""
    for statement in (
        f"set local role {role('door')}",
        "drop function if exists memberships_of(uuid)",
        "reset role",
    ):
        schema_editor.execute(statement, None)
    make_function(
        schema_editor,
        "door",
        "memberships_of(who uuid)",
        "table (studio_id uuid, studio_name text, time_zone text, unit text, member_id uuid, name text, role text, "
        "second_step boolean)",
        """
        select m.studio_id, s.name::text, s.time_zone::text, s.unit::text, m.id, m.name::text, m.role::text,
          s.second_step_required
        from platform_member m join platform_studio s on s.id = m.studio_id
        where m.user_id = who and m.active order by s.name, m.studio_id
        """,
    )
