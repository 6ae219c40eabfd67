"""The one way to a studio's rows: ``studio_scope``.

A scope is a transaction that carries the studio's id as a transaction-local setting. The database's policies compare
every row with it: no scope, no rows. The application's own manager refuses earlier and with a better sentence.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from uuid import UUID

from django.db import connections, transaction

SETTING = "app.studio"
_current: ContextVar[UUID | None] = ContextVar("studio", default=None)


class NoScope(RuntimeError):
    """A studio's table was asked for outside any studio scope."""


class ScopeMismatch(RuntimeError):
    """A scope was opened inside another studio's scope."""


class StudioMoved(Exception):
    """The studio went to another database; ``address`` is where it is found now."""

    def __init__(self, address: str) -> None:
        self.address = address
        super().__init__(f"This studio has moved. It is found at {address} now.")


def current_studio_id() -> UUID:
    """The studio whose scope is open; raises NoScope."""
    found = _current.get()
    if found is None:
        raise NoScope("No studio is set: open studio_scope(studio_id) around the work.")
    return found


def scope_is_open() -> bool:
    return _current.get() is not None


@contextmanager
def studio_scope(studio_id: UUID) -> Iterator[None]:
    """Open a transaction in which exactly this studio's rows exist.

    Nesting with the same studio is a savepoint; with another studio it raises ScopeMismatch. A studio that has moved
    to another database raises StudioMoved. On exit the previous
    setting is restored even where the transaction goes on (a setting made in a savepoint outlives it).
    """
    outer = _current.get()
    if outer is not None and outer != studio_id:
        raise ScopeMismatch("Another studio's scope is open: finish it first.")
    connection = connections["default"]
    with transaction.atomic():
        if outer is None:
            _enter(connection, studio_id)
        token = _current.set(studio_id)
        try:
            yield
        finally:
            _current.reset(token)
            if outer is None and not connection.needs_rollback and connection.in_atomic_block:
                _clear_quietly(connection)


def _enter(connection, studio_id: UUID) -> None:
    """Set the studio and ask whether it is still here, in one go: its row is seen once the setting is made."""
    with connection.cursor() as cursor:
        cursor.execute(
            "select (select moved_to from platform_studio where id = entered.studio::uuid) "
            "from (select set_config(%s, %s, true) as studio offset 0) as entered",
            [SETTING, str(studio_id)],
        )
        moved_to = cursor.fetchone()[0]
    if moved_to:
        _set(connection, "")
        raise StudioMoved(moved_to)


def _set(connection, value: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute("select set_config(%s, %s, true)", [SETTING, value])


def _clear_quietly(connection) -> None:
    """A failed statement leaves the transaction unable to take another; its rollback undoes the setting anyway."""
    from psycopg import pq

    if (
        connection.connection is not None
        and connection.connection.info.transaction_status == pq.TransactionStatus.INTRANS
    ):
        _set(connection, "")
