"""Backup and restore: every table as COPY text and every stored file, in one tar with a checksum for each member.

The backup reads as role ``backup`` (past the policies, nothing else) in one snapshot. The restore writes as the owner
into a database prepared for the same migrations, with policies lifted for its own transaction only, and erases again
whoever was erased since.
"""

import fcntl
import hashlib
import io
import json
import os
import shutil
import tarfile
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

import psycopg
from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import default_storage
from psycopg import sql

from studio.config.archive_key import is_locked, lock, unlock
from studio.config.rows import columns_of, migrations_of, policies_lifted
from studio.platform.database.grants import HOUSE_TABLES, READ_ONLY_HOUSE_TABLES, tenant_models
from studio.platform.registries import CLIENT_ERASERS

# Made by migrations, or worthless tomorrow.
NOT_KEPT = READ_ONLY_HOUSE_TABLES | {"platform_session", "platform_tally"}
SPOOL = 8 * 1024 * 1024
PLAIN = "archive-"


class BadArchive(Exception):
    """The archive can't be restored here; the message says why."""


@dataclass(frozen=True)
class Counted:
    tables: int
    files: int
    erased_again: int = 0


def kept_tables() -> list[str]:
    return sorted({model._meta.db_table for model in tenant_models()} | (HOUSE_TABLES - NOT_KEPT))


class _Writer:
    """Adds members to the tar and remembers their checksums."""

    def __init__(self, tar: tarfile.TarFile) -> None:
        self.tar, self.sums = tar, {}  # type: tarfile.TarFile, dict[str, str]

    def add(self, name: str, source: IO[bytes]) -> None:
        digest = hashlib.file_digest(source, "sha256").hexdigest()  # type: ignore[arg-type]
        info = tarfile.TarInfo(name)
        info.size, info.mode = source.seek(0, io.SEEK_END), 0o600
        source.seek(0)
        self.tar.addfile(info, source)
        self.sums[name] = digest


def write_archive(target: Path, key: Path | None = None) -> Counted:
    """Write everything into ``target``, first beside it under another name, so that a half archive never has its name.

    With ``key`` (a file) it is encrypted; what is not lies in the data folder meanwhile, never beside the target.
    Raises BadArchive (no backup role), BadKey.
    """
    tidy_plain_folders()
    if key is None:
        return _write_plain(target)
    draft = target.with_name(target.name + ".part")
    with _plain_folder() as folder:
        done = _write_plain(folder / "plain.tar")
        draft.touch(0o600)
        lock(folder / "plain.tar", draft, key)
    draft.chmod(0o600)
    draft.replace(target)
    return done


@contextmanager
def _plain_folder() -> Iterator[Path]:
    """A folder of ours in the data folder, which holds the same in the open anyway; gone afterwards.

    Its lock says that somebody is at work in it, and ends with the process however that ends.
    """
    with _locked(settings.DATA_DIR):
        folder = Path(tempfile.mkdtemp(prefix=PLAIN, dir=settings.DATA_DIR))
        held = os.open(folder, os.O_RDONLY)
        fcntl.flock(held, fcntl.LOCK_EX)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        os.close(held)


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    held = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield
    finally:
        os.close(held)


def tidy_plain_folders() -> int:
    """Remove what backups and restores that were killed left in the open; how many. One at work keeps its own."""
    removed = 0
    if not settings.DATA_DIR.is_dir():
        return 0  # secrets, files and database may all be elsewhere
    with _locked(settings.DATA_DIR):  # nobody is between making a folder and locking it
        for folder in settings.DATA_DIR.glob(f"{PLAIN}*/"):
            held = os.open(folder, os.O_RDONLY)
            try:
                fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
                shutil.rmtree(folder)
                removed += 1
            except BlockingIOError:
                continue
            finally:
                os.close(held)
    return removed


def _write_plain(target: Path) -> Counted:
    backup = settings.DATABASE.logins.get("backup")
    if backup is None:
        raise BadArchive("No backup role is known: set DATABASE_BACKUP_URL.")
    draft = target.with_name(target.name + ".part")
    with psycopg.connect(backup.conninfo()) as connection, tarfile.open(draft, "w") as tar:
        draft.chmod(0o600)
        connection.execute("set transaction isolation level repeatable read, read only")
        writer = _Writer(tar)
        tables = {table: columns_of(connection, table) for table in kept_tables()}
        for table, columns in tables.items():
            with tempfile.SpooledTemporaryFile(SPOOL) as spool:
                with connection.cursor().copy(copy_words(table, columns, "to stdout")) as rows:
                    for block in rows:
                        spool.write(block)
                spool.seek(0)
                writer.add(f"tables/{table}", spool)
        keys = [
            row[0]
            for row in connection.execute("select key from platform_storedfile order by key").fetchall()
        ]
        # Rows outlive what was taken away on purpose: a photograph, an export after its days.
        gone = [key for key in keys if not default_storage.exists(key)]
        for key in sorted(set(keys) - set(gone)):
            with default_storage.open(key, "rb") as stored, tempfile.SpooledTemporaryFile(SPOOL) as spool:
                for chunk in stored.chunks():
                    spool.write(chunk)
                spool.seek(0)
                writer.add(f"files/{key}", spool)
        manifest = {
            "made_at": datetime.now(UTC).isoformat(),
            "migrations": migrations_of(connection),
            "tables": tables,
            "sha256": writer.sums,
            "gone": gone,
        }
        writer.add("manifest.json", io.BytesIO(json.dumps(manifest, indent=1).encode()))
    draft.replace(target)
    return Counted(len(tables), len(keys) - len(gone))


def copy_words(table: str, columns: list[str], direction: str) -> sql.Composed:
    return sql.SQL("copy {} ({}) " + direction).format(
        sql.Identifier(table), sql.SQL(", ").join(map(sql.Identifier, columns))
    )


def read_member(tar: tarfile.TarFile, name: str) -> IO[bytes]:
    try:
        found = tar.extractfile(name)
    except KeyError:
        found = None
    if found is None:
        raise BadArchive(f"The archive lacks {name}: it is not whole, or not one of ours.")
    return found


def opened_tar(source: Path) -> tarfile.TarFile:
    try:
        return tarfile.open(source)
    except tarfile.TarError as exc:
        raise BadArchive(f"{source} is no archive of ours: {exc}.") from exc


def check_archive(tar: tarfile.TarFile) -> dict[str, Any]:
    """The manifest, after every member's checksum has been compared; raises BadArchive."""
    try:
        manifest: dict[str, Any] = json.load(read_member(tar, "manifest.json"))
    except ValueError as exc:
        raise BadArchive("The archive's list of contents can't be read.") from exc
    for name, expected in manifest["sha256"].items():
        if hashlib.file_digest(read_member(tar, name), "sha256").hexdigest() != expected:  # type: ignore[arg-type]
            raise BadArchive(f"{name} in the archive is not what was written: its SHA-256 differs.")
    return manifest


def restore_archive(source: Path, *, over: bool, key: Path | None = None) -> Counted:
    """Put the archive's rows and files in the place of what is here, in one transaction.

    ``over`` allows it where studios exist; ``key`` (a file) opens an encrypted archive. Raises BadArchive, BadKey,
    and changes nothing.
    """
    tidy_plain_folders()
    with opened_archive(source, key) as plain:
        return _restore_plain(plain, over=over)


@contextmanager
def opened_archive(source: Path, key: Path | None) -> Iterator[Path]:
    """The archive as a tar: itself, or decrypted for as long as the block runs."""
    if not is_locked(source):
        yield source
        return
    if key is None:
        raise BadArchive(f"{source} is encrypted: name the file with its secret key (--key).")
    with _plain_folder() as folder:
        unlock(source, folder / "plain.tar", key)
        yield folder / "plain.tar"


def verify_archive(source: Path, key: Path | None = None) -> Counted:
    """Read the whole archive and compare every checksum; touches no database. Raises BadArchive, BadKey."""
    with opened_archive(source, key) as plain, opened_tar(plain) as tar:
        manifest = check_archive(tar)
    files = sum(name.startswith("files/") for name in manifest["sha256"])
    return Counted(len(manifest["tables"]), files)


def _restore_plain(source: Path, *, over: bool) -> Counted:
    owner = settings.DATABASE.logins["owner"]
    with opened_tar(source) as tar, psycopg.connect(owner.conninfo()) as connection:
        manifest = check_archive(tar)
        if manifest["migrations"] != migrations_of(connection):
            raise BadArchive(
                "The archive was made by another version of the program: restore it with that version."
            )
        tables: dict[str, list[str]] = manifest["tables"]
        with policies_lifted(connection, list(tables)):
            found = connection.execute("select count(*) from platform_studio").fetchone()
            if found and found[0] and not over:
                raise BadArchive("This database holds a studio. Say --over to put the archive in its place.")
            erased = connection.execute(
                "select studio_id, client_id, id, member_id, reason, at from platform_erasure"
            ).fetchall()
            old_keys = {
                row[0] for row in connection.execute("select key from platform_storedfile").fetchall()
            }
            connection.execute(
                sql.SQL("truncate {}, platform_session").format(
                    sql.SQL(", ").join(map(sql.Identifier, tables))
                )
            )
            fill_tables(connection, tar, tables)
            again = [row for row in erased if _erase_again(connection, row)]
            keys = {row[0] for row in connection.execute("select key from platform_storedfile").fetchall()}
            # Files first, commit last: rows never point at a file that is not there.
            for key in sorted(keys - set(manifest.get("gone", []))):
                _restore_file(tar, key, manifest["sha256"])
    for key in old_keys - keys:
        default_storage.delete(key)
    return Counted(len(tables), len(keys), len(again))


def fill_tables(
    connection: psycopg.Connection[Any], tar: tarfile.TarFile, tables: dict[str, list[str]]
) -> None:
    """Copy every table's rows in, constraints deferred, and hold them to the constraints at the end."""
    connection.execute("set constraints all deferred")
    for table, columns in tables.items():
        with connection.cursor().copy(copy_words(table, columns, "from stdin")) as rows:
            member = read_member(tar, f"tables/{table}")
            while block := member.read(1 << 20):
                rows.write(block)
    connection.execute("set constraints all immediate")


def _restore_file(tar: tarfile.TarFile, key: str, sums: dict[str, str]) -> None:
    """Put one file in its place unless the very same bytes lie there already."""
    if default_storage.exists(key):
        with default_storage.open(key, "rb") as present:
            if hashlib.file_digest(present, "sha256").hexdigest() == sums[f"files/{key}"]:
                return
        default_storage.delete(key)
    default_storage.save(key, File(read_member(tar, f"files/{key}")))


def _erase_again(connection: psycopg.Connection[Any], row: tuple[Any, ...]) -> bool:
    """Erase somebody who was erased after the backup was made, in the restore's own transaction.

    True where she had come back with the archive; her files are then not written again.
    """
    studio_id, client_id, erasure_id, member_id, reason, at = row
    known = connection.execute("select 1 from platform_erasure where client_id = %s", [client_id]).fetchone()
    there = connection.execute("select 1 from studio_client where id = %s", [client_id]).fetchone()
    if known or not there:
        return False
    connection.execute("select set_config('app.studio', %s, true)", [str(studio_id)])
    for _, function in CLIENT_ERASERS:
        connection.execute(sql.SQL("select {}(%s)").format(sql.Identifier(function)), [client_id])
    connection.execute("select set_config('app.studio', '', true)")
    connection.execute(
        "insert into platform_erasure (id, studio_id, client_id, member_id, reason, at) "
        "values (%s, %s, %s, (select id from platform_member where id = %s), %s, %s)",
        [erasure_id, studio_id, client_id, member_id, reason, at],
    )
    return True
