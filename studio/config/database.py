"""Which server, which database, and as which role: worked out from the environment, without connecting.

Three ways, the first that fits:

1. nothing given: the embedded server in the data folder, prepared by us;
2. ``DATABASE_URL`` alone: an administrator's address; we make our roles through it and never serve as it;
3. ``DATABASE_URL`` with ``DATABASE_OWNER_URL``: ready-made roles, the first one serves, the second migrates
   (``DATABASE_QUEUE_URL`` and ``DATABASE_BACKUP_URL`` for the queue and for backups).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from studio.config import environment
from studio.config.environment import BadEnvironment, DatabaseAddress
from studio.config.secrets import derived

LOGINS = ("owner", "app", "queue", "backup")
NO_LOGINS = ("door", "eraser")
EMBEDDED_USER = "postgres"
SOCKET_PATH_LIMIT = 100  # a Unix socket's path may be about 107 bytes long


@dataclass(frozen=True)
class Places:
    """Everything that the settings, the commands and the tests need to know about the database."""

    embedded: Path | None
    administrator: DatabaseAddress | None
    logins: Mapping[str, DatabaseAddress]
    roles: Mapping[str, str]

    @property
    def name(self) -> str:
        return self.logins["app"].name


def socket_folder(data: Path) -> Path:
    """The embedded server's socket lies in its data folder."""
    folder = data / "postgres"
    if len(str(folder / ".s.PGSQL.5432").encode()) > SOCKET_PATH_LIMIT:
        raise BadEnvironment(
            f"The data folder {data} has too long a path for the database's socket. "
            "Set STUDIO_DATA to a shorter folder, for example /var/lib/studio-record."
        )
    return folder


def places(env: Mapping[str, str], data: Path, secret: str, name: str = "studio") -> Places:
    """Work out where the database is and who enters it as whom; raises BadEnvironment with a sentence."""
    app = environment.database_address(env, "DATABASE_URL")
    owner = environment.database_address(env, "DATABASE_OWNER_URL")
    if owner and not app:
        raise BadEnvironment("DATABASE_OWNER_URL is set without DATABASE_URL: set both.")
    if app and owner:
        return _ready_made(env, app, owner)
    if app:
        return _prepared_by_us(app, None, secret)
    folder = socket_folder(data)
    administrator = DatabaseAddress(str(folder), 5432, name, EMBEDDED_USER, "")
    return _prepared_by_us(administrator, folder, secret)


def _prepared_by_us(administrator: DatabaseAddress, embedded: Path | None, secret: str) -> Places:
    prefix = administrator.name
    roles = {role: f"{prefix}_{role}" for role in (*LOGINS, *NO_LOGINS)}
    logins = {
        role: administrator.as_user(roles[role], derived(secret, f"database role {role}")) for role in LOGINS
    }
    return Places(embedded, administrator, logins, roles)


def _ready_made(env: Mapping[str, str], app: DatabaseAddress, owner: DatabaseAddress) -> Places:
    prefix = environment.text(env, "DATABASE_ROLE_PREFIX", app.name)
    logins = {"owner": owner, "app": app}
    for role in ("queue", "backup"):
        address = environment.database_address(env, f"DATABASE_{role.upper()}_URL")
        if address:
            logins[role] = address
    roles = {role: f"{prefix}_{role}" for role in (*LOGINS, *NO_LOGINS)}
    roles.update({role: address.user for role, address in logins.items()})
    return Places(None, None, logins, roles)


def django_database(
    address: DatabaseAddress, *, pool: Mapping[str, object] | None = None
) -> dict[str, object]:
    """The address as an entry of ``DATABASES``; a pool only in the web process (forked workers must not share one)."""
    options: dict[str, object] = dict(address.options)
    if pool:
        options["pool"] = dict(pool)
    return {
        "ENGINE": "django.db.backends.postgresql",
        "HOST": address.host,
        "PORT": str(address.port),
        "NAME": address.name,
        "USER": address.user,
        "PASSWORD": address.password,
        "CONN_MAX_AGE": 0,
        "CONN_HEALTH_CHECKS": True,
        "OPTIONS": options,
        "TEST": {"NAME": address.name},
    }
