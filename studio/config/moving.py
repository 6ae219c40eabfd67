"""One studio, whole, to another database. Studios never join each other's rows, so nothing else has to go along.

The studio is closed first (whoever comes is told where it will be), what is under way is waited for, then every row
is copied in one snapshot, compared, and only then committed on the other side. Whatever fails before that leaves the
other database as it was and opens the studio again here; a command that was killed is simply given again.
"""

import hashlib
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID

import psycopg
from django.apps import apps
from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import FileSystemStorage, default_storage
from psycopg import sql

from studio.config.rows import columns_of, migrations_of, policies_lifted
from studio.platform.database.grants import HOUSE_TABLES, append_only_models, tenant_models

STUDIO, MEMBER, USER = "platform_studio", "platform_member", "platform_user"
NOT_TAKEN = {"platform_session", "platform_tally", "platform_setuplink"}  # worthless elsewhere
Say = Callable[[str], None]


class CannotMove(Exception):
    """The studio stays where it is; the message says why."""


@dataclass(frozen=True)
class Moved:
    tables: int
    rows: int
    people: int
    files: int


def move_studio(
    studio_id: UUID, to: str, address: str, *, files: Path | None, wait_seconds: float, say: Say
) -> Moved:
    """Move a studio to the database ``to`` (a PostgreSQL address of its owner role), where it is found at ``address``.

    ``files`` is the other installation's folder of stored files; None where both share their storage. Raises
    CannotMove, and then nothing has changed.
    """
    owner, reader = settings.DATABASE.logins["owner"], settings.DATABASE.logins.get("backup")
    if reader is None:
        raise CannotMove("No backup role is known: set DATABASE_BACKUP_URL.")
    with psycopg.connect(owner.conninfo()) as here, _connected(to) as there:
        if migrations_of(here) != migrations_of(there):
            raise CannotMove(
                "The other database was prepared by another version of the program: bring both to one."
            )
        if _studio(there, studio_id) is not None:
            raise CannotMove(
                "The other database holds this studio already; whoever comes here is sent there."
            )
        found = _studio(here, studio_id)
        if found is None:
            raise CannotMove(f"There is no studio {studio_id} here.")
        if found not in ("", address):
            raise CannotMove(f"This studio has moved to {found} already.")
        there.rollback()
        say("Closing the studio here")
        _close(here, studio_id, address)
        written: list[Path] = []
        try:
            _wait_for_others(here, wait_seconds, say)
            with psycopg.connect(reader.conninfo()) as snapshot:
                snapshot.execute("set transaction isolation level repeatable read, read only")
                moved = _copy_all(snapshot, there, studio_id, say)
                keys = _keys(snapshot, studio_id)
                if files is not None:
                    say(f"Copying {len(keys)} files")
                    _copy_files(keys, files, written)
            there.commit()
        except BaseException:
            there.rollback()
            for path in written:
                path.unlink(missing_ok=True)
            _close(here, studio_id, "")
            raise
    return Moved(moved.tables, moved.rows, moved.people, len(keys) if files is not None else 0)


def forget_studio(studio_id: UUID, to: str, *, delete_files: bool) -> int:
    """Delete here what was moved; a signpost stays. Returns how many rows went.

    Raises CannotMove where the studio has not moved, or is not found in the other database.
    """
    owner = settings.DATABASE.logins["owner"]
    tables = [model._meta.db_table for model in tenant_models() if model._meta.db_table != STUDIO]
    kept = [model._meta.db_table for model in append_only_models()]
    with psycopg.connect(owner.conninfo()) as here, _connected(to) as there:
        if not _studio(here, studio_id):
            raise CannotMove("This studio has not moved: nothing is deleted.")
        if _studio(there, studio_id) is None:
            raise CannotMove("The other database does not hold this studio: nothing is deleted.")
        count = 0
        with policies_lifted(here, tables):
            keys = _keys(here, studio_id)
            here.execute("set constraints all deferred")
            with _changeable(here, kept):
                for table in tables:
                    statement = sql.SQL("delete from {} where studio_id = %s").format(sql.Identifier(table))
                    count += here.execute(statement, [studio_id]).rowcount
                here.execute("set constraints all immediate")
    if delete_files:
        for key, _ in keys:
            default_storage.delete(key)
    return count


@contextmanager
def _connected(address: str) -> Iterator[psycopg.Connection[Any]]:
    try:
        connection = psycopg.connect(address)
    except psycopg.Error as exc:
        raise CannotMove(f"The other database does not let us in: {exc}") from exc
    with connection:
        yield connection


def _studio(connection: psycopg.Connection[Any], studio_id: UUID) -> str | None:
    """Where the studio has moved to ("" where it is at home), or None where it is not in this database."""
    with connection.transaction():
        connection.execute("select set_config('app.studio', %s, true)", [str(studio_id)])
        row = connection.execute(f"select moved_to from {STUDIO} where id = %s", [studio_id]).fetchone()  # noqa: S608
        connection.execute("select set_config('app.studio', '', true)")
    return None if row is None else str(row[0])


def _close(here: psycopg.Connection[Any], studio_id: UUID, address: str) -> None:
    """Send whoever comes to ``address``; "" opens the studio again. Committed at once."""
    here.rollback()
    here.execute("select set_config('app.studio', %s, true)", [str(studio_id)])
    here.execute(f"update {STUDIO} set moved_to = %s where id = %s", [address, studio_id])  # noqa: S608
    here.commit()


def _wait_for_others(here: psycopg.Connection[Any], seconds: float, say: Say) -> None:
    """Until every transaction that was open when the studio was closed has ended: it may still write.

    Each holds a lock on its own virtual id, which any role may see.
    """
    listed = (
        "select l.virtualtransaction from pg_locks l join pg_stat_activity a on a.pid = l.pid "
        "where l.locktype = 'virtualxid' and l.granted and l.pid <> pg_backend_pid() and a.datname = current_database()"
    )
    open_then = {row[0] for row in here.execute(listed).fetchall()}
    end = time.monotonic() + seconds
    while open_then:
        here.rollback()
        open_then &= {row[0] for row in here.execute(listed).fetchall()}
        if not open_then:
            break
        if time.monotonic() > end:
            raise CannotMove(
                f"{len(open_then)} transactions are still under way after {seconds:.0f} s: try again in a quieter hour."
            )
        say("Waiting for what is under way")
        time.sleep(0.2)
    here.rollback()


def _copy_all(
    snapshot: psycopg.Connection[Any], there: psycopg.Connection[Any], studio_id: UUID, say: Say
) -> Moved:
    tables = [model._meta.db_table for model in tenant_models()]
    rows = 0
    with policies_lifted(there, tables):
        there.execute("set constraints all deferred")
        other_ids, people = _copy_people(snapshot, there, studio_id)
        for table in tables:
            say(f"Copying {table}")
            columns = columns_of(snapshot, table)
            _copy_rows(snapshot, there, table, columns, _picked(table, columns, studio_id, other_ids))
            rows += _same(snapshot, there, table, columns, studio_id)
        there.execute(f"update {STUDIO} set moved_to = '' where id = %s", [studio_id])  # noqa: S608
        there.execute("set constraints all immediate")
    return Moved(len(tables), rows, people, 0)


def _copy_people(
    snapshot: psycopg.Connection[Any], there: psycopg.Connection[Any], studio_id: UUID
) -> tuple[dict[UUID, UUID], int]:
    """The members' accounts, with what belongs to each. An account that is known there by its email is used.

    Returns other ids of accounts by the id here, and how many accounts were new.
    """
    mine = snapshot.execute(
        f"select id, email from {USER} where id in (select user_id from {MEMBER} where studio_id = %s)",  # noqa: S608
        [studio_id],
    ).fetchall()
    known = {
        email.casefold(): other
        for other, email in there.execute(f"select id, email from {USER}").fetchall()  # noqa: S608
    }
    other_ids = {user: known[email.casefold()] for user, email in mine if email.casefold() in known}
    new = [user for user, _ in mine if user not in other_ids]
    for table, column in [(USER, "id"), *_owned_by_people()]:
        columns = columns_of(snapshot, table)
        picked = sql.SQL("select {} from {} where {} = any({})").format(
            _list(columns), sql.Identifier(table), sql.Identifier(column), sql.Literal(new)
        )
        _copy_rows(snapshot, there, table, columns, picked)
    return other_ids, len(new)


def _owned_by_people() -> list[tuple[str, str]]:
    """House tables whose rows belong to an account: (table, column)."""
    found = []
    for model in apps.get_models(include_auto_created=True):
        if model._meta.db_table not in HOUSE_TABLES - NOT_TAKEN - {USER}:
            continue
        for field in model._meta.concrete_fields:
            to: Any = field.related_model
            if to is not None and to._meta.db_table == USER:
                found.append((model._meta.db_table, str(field.column)))
    return found


def _picked(table: str, columns: list[str], studio_id: UUID, other_ids: dict[UUID, UUID]) -> sql.Composed:
    """The studio's rows of a table; a member's account under the id that it has there."""
    taken: list[sql.Composable] = [sql.Identifier(name) for name in columns]
    if table == MEMBER and other_ids:
        at = columns.index("user_id")
        cases = sql.SQL(" ").join(
            sql.SQL("when {} then {}").format(sql.Literal(old), sql.Literal(new))
            for old, new in other_ids.items()
        )
        taken[at] = sql.SQL("case user_id {} else user_id end").format(cases)
    return sql.SQL("select {} from {} where {} = {}").format(
        sql.SQL(", ").join(taken),
        sql.Identifier(table),
        sql.Identifier("id" if table == STUDIO else "studio_id"),
        sql.Literal(studio_id),
    )


def _copy_rows(
    snapshot: psycopg.Connection[Any],
    there: psycopg.Connection[Any],
    table: str,
    columns: list[str],
    picked: sql.Composable,
) -> None:
    into = sql.SQL("copy {} ({}) from stdin").format(sql.Identifier(table), _list(columns))
    out = sql.SQL("copy ({}) to stdout").format(picked)
    with snapshot.cursor().copy(out) as source, there.cursor().copy(into) as target:
        for block in source:
            target.write(block)


def _same(
    snapshot: psycopg.Connection[Any],
    there: psycopg.Connection[Any],
    table: str,
    columns: list[str],
    studio_id: UUID,
) -> int:
    """How many rows a table has here and there; raises CannotMove where they are not the same to the last letter."""
    # What is meant to differ is left out: the account's id where it is known by another, and the signpost.
    compared = [name for name in columns if (table, name) not in ((MEMBER, "user_id"), (STUDIO, "moved_to"))]
    question = sql.SQL(
        "select count(*), coalesce(md5(string_agg(md5(row({})::text), '' order by id)), '') from {} where {} = %s"
    ).format(_list(compared), sql.Identifier(table), sql.Identifier("id" if table == STUDIO else "studio_id"))
    answers = [side.execute(question, [studio_id]).fetchone() for side in (snapshot, there)]
    if answers[0] != answers[1] or answers[0] is None:
        raise CannotMove(f"The rows of {table} did not arrive as they were sent; nothing was moved.")
    return int(answers[0][0])


def _keys(connection: psycopg.Connection[Any], studio_id: UUID) -> list[tuple[str, str]]:
    """(key, SHA-256) of the studio's stored files whose bytes are there."""
    rows = connection.execute(
        "select key, sha256 from platform_storedfile where studio_id = %s order by key", [studio_id]
    ).fetchall()
    return [(key, sha256) for key, sha256 in rows if default_storage.exists(key)]


def _copy_files(keys: Iterable[tuple[str, str]], folder: Path, written: list[Path]) -> None:
    target = FileSystemStorage(location=folder)
    for key, sha256 in keys:
        if target.exists(key):
            target.delete(key)
        with default_storage.open(key, "rb") as source:
            target.save(key, File(source))
        path = Path(target.path(key))
        written.append(path)
        with path.open("rb") as arrived:
            if hashlib.file_digest(arrived, "sha256").hexdigest() != sha256:
                raise CannotMove(
                    f"The stored file {key} is not what was stored: its SHA-256 differs. Nothing was moved."
                )


@contextmanager
def _changeable(connection: psycopg.Connection[Any], tables: list[str]) -> Iterator[None]:
    """Let the owner delete what is otherwise kept as written, inside this transaction alone."""
    for words in ("disable", "enable"):
        for table in tables:
            connection.execute(
                sql.SQL("alter table {} " + words + " trigger user").format(sql.Identifier(table))
            )
        if words == "disable":
            yield


def _list(columns: list[str]) -> sql.Composed:
    return sql.SQL(", ").join(map(sql.Identifier, columns))
