"""The doors: short database functions of role door that may look across studios. Each is named and tested.

A door answers only what its caller already has the key for: a signed-in user's id, a token's hash, the clock.
"""

from dataclasses import dataclass
from uuid import UUID

from django.db import connection


@dataclass(frozen=True)
class Membership:
    studio_id: UUID
    studio_name: str
    time_zone: str
    unit: str
    member_id: UUID
    name: str
    role: str
    second_step: bool = False  # this studio lets nobody in by a password alone


def memberships_of(user_id: UUID) -> list[Membership]:
    """The active memberships of a signed-in user, by studio name."""
    with connection.cursor() as cursor:
        cursor.execute("select * from memberships_of(%s)", [user_id])
        return [Membership(*row) for row in cursor.fetchall()]


def token_owner(secret_hash: str) -> tuple[UUID, UUID] | None:
    """(studio id, member id) of a living token with this hash, or None."""
    with connection.cursor() as cursor:
        cursor.execute("select * from token_owner(%s)", [secret_hash])
        row = cursor.fetchone()
    return (row[0], row[1]) if row else None


def jobs_due(resend_seconds: int) -> list[tuple[UUID, UUID]]:
    """(studio id, job id) of jobs that wait unheard or whose lease has run out; nothing else about them."""
    with connection.cursor() as cursor:
        cursor.execute("select * from jobs_due(%s)", [resend_seconds])
        return [(row[0], row[1]) for row in cursor.fetchall()]


def studio_ids() -> list[UUID]:
    """The ids of all studios, for the hourly tidying; nothing else about them."""
    with connection.cursor() as cursor:
        cursor.execute("select * from studio_ids()")
        return [row[0] for row in cursor.fetchall()]


def studio_count() -> int:
    """How many studios this installation has (to tell a new one from one in use)."""
    with connection.cursor() as cursor:
        cursor.execute("select studio_count()")
        return int(cursor.fetchone()[0])
