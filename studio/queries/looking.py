"""Reading who looked at whom."""

from dataclasses import dataclass
from datetime import date
from itertools import groupby
from uuid import UUID

from studio.models import Look
from studio.platform.registries import SUBJECTS
from studio.platform.rights import Actor, Right

SHOWN_DAYS = 60


@dataclass(frozen=True)
class LooksOfDay:
    """What one member opened on one day, in words with how often."""

    day: date
    member: str
    opened: tuple[str, ...]


def looks_of(actor: Actor, client_id: UUID, *, days: int | None = SHOWN_DAYS) -> list[LooksOfDay]:
    """Who opened what about a client, the newest day first; at most so many rows, all of them with None. One query."""
    actor.need(Right.EXPORT_AND_ERASE)
    rows = (
        Look.objects.filter(client_id=client_id)
        .select_related("member")
        .order_by("-day", "member_id", "what")
    )
    found = []
    for (day, member), looks in groupby(rows, key=lambda look: (look.day, look.member.name)):
        found.append(LooksOfDay(day, member, tuple(_words(look) for look in looks)))
    return found if days is None else found[:days]


def _words(look: Look) -> str:
    subject = SUBJECTS.get(look.what)
    words = subject.words if subject else look.what.removesuffix("_id")
    return words if look.times == 1 else f"{words}, {look.times} times"
