"""Writing down who looked at whom, and clearing it away in time."""

from collections.abc import Sequence
from datetime import timedelta
from uuid import UUID

from django.db import connection
from django.utils import timezone

from studio.models import Look
from studio.platform.models.base import new_id
from studio.platform.rights import Actor

KEPT_DAYS = 730  # two years; then nobody asks any more, and the list itself tells too much


def keep_look(actor: Actor, clients: Sequence[UUID], what: str) -> None:
    """One statement, whatever the number of clients. The row of the day counts on, so that a page that is opened
    often makes no more of them.
    """
    now = timezone.now()
    with connection.cursor() as cursor:
        cursor.execute(
            "insert into studio_look (id, studio_id, client_id, member_id, what, day, times, last_at) "
            "select ids.id, %s, ids.client, %s, %s, %s, 1, %s from unnest(%s::uuid[], %s::uuid[]) as ids(id, client) "
            "on conflict (studio_id, client_id, day, member_id, what) "
            "do update set times = studio_look.times + 1, last_at = excluded.last_at",
            [
                actor.studio_id,
                actor.member_id,
                what,
                timezone.localdate(now, timezone=actor.zone),
                now,
                [new_id() for _ in clients],
                list(clients),
            ],
        )


def clear_old_looks() -> int:
    """In scope: clear looks that are older than they are kept; tells how many went."""
    before = timezone.localdate() - timedelta(days=KEPT_DAYS)
    return Look.objects.filter(day__lt=before).delete()[0]
