"""What whoever moves whole tables needs: which columns, which migrations, and the owner past its own policies."""

from typing import Any

import psycopg
from psycopg import sql


def migrations_of(connection: psycopg.Connection[Any]) -> list[list[str]]:
    rows = connection.execute("select app, name from django_migrations order by app, name").fetchall()
    return [list(row) for row in rows]


def columns_of(connection: psycopg.Connection[Any], table: str) -> list[str]:
    rows = connection.execute(
        "select attname from pg_attribute where attrelid = %s::regclass and attnum > 0 and not attisdropped "
        "order by attnum",
        [table],
    ).fetchall()
    return [row[0] for row in rows]


class policies_lifted:
    """FORCE is lifted for the owner inside its own transaction and set again before it commits."""

    def __init__(self, connection: psycopg.Connection[Any], tables: list[str]) -> None:
        self.connection = connection
        rows = connection.execute(
            "select relname from pg_class where relnamespace = 'public'::regnamespace and relforcerowsecurity "
            "and relname = any(%s)",
            [tables],
        ).fetchall()
        self.forced = [row[0] for row in rows]

    def _set(self, words: str) -> None:
        for table in self.forced:
            self.connection.execute(
                sql.SQL("alter table {} " + words + " row level security").format(sql.Identifier(table))
            )

    def __enter__(self) -> None:
        self._set("no force")

    def __exit__(self, kind: Any, *_: Any) -> None:
        if kind is None:
            self.connection.execute("set constraints all immediate")
            self._set("force")
