"""Make a database ready to serve: the database itself, its roles, the queue's schema, the tables, the grants."""

from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files

import psycopg
from django.conf import settings
from django.core.management import call_command
from psycopg import sql

from studio.config.database import LOGINS, Places
from studio.platform.database.grants import apply_grants


class CannotPrepare(Exception):
    """The database could not be made ready; the message says what is missing."""


def make_database(places: Places) -> None:
    """Create the database where it is missing. The administrator's own maintenance database is ``postgres``."""
    administrator = places.administrator
    if administrator is None:
        return
    try:
        psycopg.connect(administrator.conninfo()).close()
        return
    except psycopg.OperationalError as exc:
        if "does not exist" not in str(exc):
            raise CannotPrepare(f"The database server does not let us in: {exc}") from exc
    with psycopg.connect(administrator.as_database("postgres").conninfo(), autocommit=True) as admin:
        # C.UTF-8 sorts the same on every machine; pages sort names by ICU where it matters.
        admin.execute(
            sql.SQL("create database {} encoding 'UTF8' template template0").format(
                sql.Identifier(administrator.name)
            )
        )


def make_roles(places: Places) -> None:
    """Run ``roles.sql`` as the administrator; does nothing where the roles are ready-made."""
    administrator = places.administrator
    if administrator is None:
        return
    script = files("studio.platform.database").joinpath("roles.sql").read_text()
    with psycopg.connect(administrator.conninfo()) as admin:
        admin.execute("select set_config('prepare.prefix', %s, true)", [administrator.name])
        for role in LOGINS:
            admin.execute(
                "select set_config(%s, %s, true)", [f"prepare.{role}_password", places.logins[role].password]
            )
        try:
            admin.execute(script.encode())
        except psycopg.errors.InsufficientPrivilege as exc:
            raise CannotPrepare(
                f"DATABASE_URL signs in as {administrator.user}, who may not make roles ({exc}). Give an "
                "administrator's address, or make the roles yourself and set DATABASE_OWNER_URL as well."
            ) from exc


def make_queue(places: Places) -> None:
    """Install the message queue's schema as the role that owns nothing else."""
    queue = places.logins.get("queue")
    if queue is None:
        return
    from pgmq import install_pgmq_from_sql

    with psycopg.connect(queue.conninfo()) as conn:
        found = conn.execute("select 1 from pg_namespace where nspname = 'pgmq'").fetchone()
        conn.rollback()
        if not found:
            install_pgmq_from_sql(conn=conn)


def needs_preparing(places: Places) -> bool:
    """True unless the app role gets in and every migration is applied; asks the database twice, changes nothing."""
    try:
        with psycopg.connect(places.logins["app"].conninfo()) as conn:
            names = {tuple(row) for row in conn.execute("select app, name from django_migrations").fetchall()}
    except psycopg.Error:
        return True
    from django.db.migrations.loader import MigrationLoader

    known = set(MigrationLoader(None).disk_migrations)
    return not known <= names


def prepare_database(places: Places | None = None, *, verbosity: int = 0) -> None:
    """Bring the database to the state that this version serves. Safe to run again; raises CannotPrepare."""
    places = places or settings.DATABASE
    with _alone(places):
        make_database(places)
        make_roles(places)
        make_queue(places)
        call_command("migrate", database="owner", interactive=False, verbosity=verbosity)
        apply_grants()


@contextmanager
def _alone(places: Places) -> Iterator[None]:
    """One preparer at a time, on however many machines: a lock on the server that ends with its connection."""
    administrator = places.administrator
    address = administrator.as_database("postgres") if administrator else places.logins["owner"]
    try:
        connection = psycopg.connect(address.conninfo(), autocommit=True)
    except psycopg.OperationalError as exc:
        raise CannotPrepare(f"The database server does not let us in: {exc}") from exc
    with connection:
        connection.execute("select pg_advisory_lock(hashtext(%s))", [f"prepare {places.name}"])
        yield
