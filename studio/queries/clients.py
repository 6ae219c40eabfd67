"""Finding and reading clients, their consent, and all that this wing knows of one."""

import re
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet
from django.utils import timezone

from studio.calc.wording import searchable
from studio.models import Client, ClientSearch, Consent, Enrolment, Look, Measuring, Reading
from studio.platform.errors import NotHere
from studio.platform.models import AuditEntry, StoredFile
from studio.platform.rights import Actor, Right
from studio.queries.plain import member_names, plain, plain_rows

CANDIDATES = 300  # rows that the door hands over to be ranked more finely
SHORT = 5  # letters; a longer word shares enough trigrams with itself misspelt
FAR = 0.7  # what scores less than this share of the best is not meant


@dataclass(frozen=True)
class Found:
    """A client who was found, and by what: ``source`` "client" (her name, her telephone) or "garment".

    ``words`` are those that matched, as they are shown; ``score`` lies between 0 and 1.
    """

    client_id: UUID
    name: str
    source: str
    source_id: UUID
    words: str
    score: float


@dataclass(frozen=True)
class ConsentState:
    """The newest answer of one kind; ``latest`` is None where nobody was asked yet."""

    kind: str
    words: str
    latest: Consent | None

    @property
    def holds(self) -> bool:
        return self.latest is not None and self.latest.given


@dataclass(frozen=True)
class Hindrance:
    """Why a client is not measured now, in words, and what can be done; ``kind`` is "withdrawn", "not asked",
    "not by guardian" or "no guardian".
    """

    kind: str
    words: str
    asks: str


def hindrance(client: Client, latest: Consent | None, today: date) -> Hindrance | None:
    """Why this client is not measured, by the newest answer about being measured; asks nothing of the database."""
    name = client.name
    if latest is not None and not latest.given:
        return Hindrance(
            "withdrawn",
            f"{name} has withdrawn the consent to be measured.",
            "If there is a new answer, write it down; until then nothing is measured.",
        )
    if client.is_minor(today):
        if not client.guardian_name:
            return Hindrance(
                "no guardian",
                f"{name} is under 18, and no guardian is named.",
                "Write the guardian's name down with the client, then ask for the consent.",
            )
        if latest is None or not latest.by_guardian:
            return Hindrance(
                "not by guardian",
                f"{name} is under 18, and a guardian has not consented to the measuring.",
                f"Ask {client.guardian_name}, and write the answer down.",
            )
    if latest is None:
        return Hindrance(
            "not asked",
            f"{name} can be measured once consent is written down.",
            "Ask whether the body may be measured and the figures kept.",
        )
    return None


def hindrance_of(actor: Actor, client: Client) -> Hindrance | None:
    """The same, with the newest answer asked for. One query."""
    actor.need(Right.FIND_CLIENTS)
    answers = Consent.objects.filter(client_id=client.pk, kind=Consent.Kind.MEASURE)
    return hindrance(client, answers.order_by("-at", "-id").first(), timezone.localdate())


def client_get(actor: Actor, client_id: UUID) -> Client:
    """One client (also the anonymous remainder of an erased one); raises NotHere."""
    actor.need(Right.FIND_CLIENTS)
    client: Client | None = Client.objects.filter(pk=client_id).first()
    if client is None:
        raise NotHere("client")
    return client


def client_list(actor: Actor, *, words: str = "") -> "QuerySet[Client]":
    """Clients by name; with ``words`` those whom find_clients finds by them."""
    actor.need(Right.FIND_CLIENTS)
    clients = Client.objects.filter(erased_at=None).order_by("name", "id")
    words = searchable(words)
    if words:
        clients = clients.filter(pk__in={found.client_id for found in find_clients(actor, words, CANDIDATES)})
    return clients


def consent_states(actor: Actor, client_id: UUID) -> list[ConsentState]:
    """The newest answer of every kind, in one query."""
    actor.need(Right.FIND_CLIENTS)
    rows = (
        Consent.objects.filter(client_id=client_id)
        .select_related("recorded_by")
        .order_by("kind", "-at", "-id")
        .distinct("kind")
    )
    newest = {consent.kind: consent for consent in rows}
    return [
        ConsentState(str(kind), str(words), newest.get(str(kind))) for kind, words in Consent.Kind.choices
    ]


def consent_list(actor: Actor, client_id: UUID) -> "QuerySet[Consent]":
    """Every answer, the newest first; raises NotHere."""
    client_get(actor, client_id)
    return Consent.objects.filter(client_id=client_id).select_related("recorded_by").order_by("-id")


def find_clients(actor: Actor, words: str, limit: int = 20) -> list[Found]:
    """Clients by letters of a name, a part of a telephone number, or words of a garment; typing slips are
    forgiven.

    Best first. A garment is named beside its client only where it answers the words better than her name
    alone does. Three queries, however many are found; one more where a short word is found nowhere as it is.
    """
    actor.need(Right.FIND_CLIENTS)
    wanted = searchable(words)
    if not wanted:
        return []
    with connection.cursor() as cursor:
        cursor.execute("select * from find_clients(%s, %s)", [wanted, max(CANDIDATES, limit)])
        rows = cursor.fetchall()
        cursor.execute("select fold_words(%s)", [wanted])
        folded = cursor.fetchone()[0].split()
        turned = _turned(folded, rows)
        if turned:
            cursor.execute("select * from find_clients(%s, %s)", [" ".join(turned), max(CANDIDATES, limit)])
            known = {row[2] for row in rows}
            rows += [(*row[:5], 0.0) for row in cursor.fetchall() if row[2] not in known]
    alike = cache(
        _alike
    )  # many rows hold the same few words; forgotten with the answer, since they are people's
    best = _best([(row, _nearness(folded, row[4].split(), row[5], alike)) for row in rows])[:limit]
    names = dict(Client.objects.filter(pk__in={row[0] for row, _ in best}).values_list("pk", "name"))
    return [
        Found(row[0], names[row[0]], row[1], row[2], row[3], score) for row, score in best if row[0] in names
    ]


def _turned(typed: Sequence[str], rows: Sequence[Sequence[Any]]) -> list[str]:
    """The short words that no row holds as they are, with every two neighbouring letters swapped.

    Two letters swapped in the middle of a short word leave it one trigram of five, too few for the index.
    """
    there = {word for row in rows for word in row[4].split()}
    found: dict[str, None] = {}
    for word in typed:
        if not word.isalpha() or not len(word) <= SHORT or any(other.startswith(word) for other in there):
            continue
        for i in range(1, len(word) - 1):
            found[word[:i] + word[i + 1] + word[i] + word[i + 2 :]] = None
    return [word for word in found if word not in typed][:8]


def _best(scored: list[tuple[Sequence[Any], float]]) -> list[tuple[Sequence[Any], float]]:
    """One entry a client, or one for each of her garments that says more than her name does."""
    by_client: dict[UUID, list[tuple[Sequence[Any], float]]] = defaultdict(list)
    for row, score in scored:
        by_client[row[0]].append((row, score))
    chosen: list[tuple[Sequence[Any], float]] = []
    for mine in by_client.values():
        own = max((score for row, score in mine if row[1] == "client"), default=0.0)
        better = [(row, score) for row, score in mine if row[1] != "client" and score > own + 0.01]
        chosen += better or [max(mine, key=lambda each: (each[1], each[0][1] == "client"))]
    chosen.sort(key=lambda each: -each[1])
    return [each for each in chosen if each[1] >= FAR * chosen[0][1]]


def _nearness(
    typed: Sequence[str], there: Sequence[str], score: float, alike: Callable[[str, str], float]
) -> float:
    """Refine the trigrams' score: two letters swapped cost few letters but many trigrams.

    For every typed word the nearest word counts; the mean over the typed words, or ``score`` where that is
    higher (a telephone number has no letters to compare).
    """
    if not typed or not there:
        return score
    nearest = (max(alike(word, other) for other in there) for word in typed)
    return max(score, sum(nearest) / len(typed))


def _alike(word: str, other: str) -> float:
    """1 for the same word, near 1 for its beginning, less with every letter that must be changed."""
    if word == other:
        return 1.0
    begun = other[: len(word)]
    slips, longer = _slips(word, begun), max(len(word), len(other))
    start = 0.95 * (1 - slips / len(word)) if len(word) > 1 else 0.0
    if begun != other:
        if (longer - len(word)) / longer >= 1 - start:  # so many letters are left out at least
            return max(start, 0.0)
        slips = _slips(word, other)
    whole = 1 - slips / longer
    return max(whole, start, 0.0)


def _slips(word: str, other: str) -> int:
    """Fewest single letters to put in, leave out, change or swap with their neighbour (optimal string
    alignment).
    """
    before: list[int] = []
    last = list(range(len(other) + 1))
    for i, letter in enumerate(word, start=1):
        row = [i]
        for j, beside in enumerate(other, start=1):
            cost = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (letter != beside))
            if i > 1 and j > 1 and letter == other[j - 2] and word[i - 2] == beside:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        before, last = last, row
    return last[-1]


def mark_found(text: str, words: str) -> list[tuple[str, bool]]:
    """Split a text into (part, was it typed?) so that a page can mark the letters that were found."""
    typed = sorted({re.escape(word) for word in words.split() if len(word) > 1}, key=len, reverse=True)
    if not typed:
        return [(text, False)]
    parts = re.split(f"({'|'.join(typed)})", text, flags=re.IGNORECASE)
    return [(part, bool(number % 2)) for number, part in enumerate(parts) if part]


def recent_clients(actor: Actor, limit: int = 8) -> list[Client]:
    """Those who were recorded last, for the page that has nothing to look for yet."""
    actor.need(Right.FIND_CLIENTS)
    return list(Client.objects.filter(erased_at=None).order_by("-id")[:limit])


def export_of(actor: Actor, client_id: UUID) -> dict[str, Any]:
    """This wing's part of a client's export, every column of it: facts, consents, measurings with every reading,
    places in courses, what she is found by, acts, who looked, stored files.
    """
    actor.need(Right.EXPORT_AND_ERASE)
    client = client_get(actor, client_id)
    members = member_names()
    readings: dict[UUID, list[dict[str, Any]]] = defaultdict(list)
    for reading in Reading.objects.filter(client_id=client_id).order_by("recorded_at", "id"):
        readings[reading.measuring_id].append(plain(reading, members))
    measurings = Measuring.objects.filter(client_id=client_id).order_by("measured_at", "id")
    places = Enrolment.objects.filter(client_id=client_id).select_related("course").order_by("id")
    acts = AuditEntry.objects.filter(client_id=client_id).order_by("at", "id")
    return {
        "client": plain(client, members),
        "consents": plain_rows(Consent.objects.filter(client_id=client_id).order_by("at", "id"), members),
        "measurings": [{**plain(row, members), "readings": readings[row.pk]} for row in measurings],
        "courses": [{**plain(row, members), "course": row.course.name} for row in places],
        "found_by": plain_rows(
            ClientSearch.objects.filter(client_id=client_id).order_by("at", "id"), members
        ),
        "acts": plain_rows(acts, members),
        "looks": plain_rows(Look.objects.filter(client_id=client_id).order_by("last_at", "id"), members),
        "files": plain_rows(
            StoredFile.objects.filter(client_id=client_id).order_by("stored_at", "id"), members
        ),
    }
