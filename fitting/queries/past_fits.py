"""The clerk's look-up: who, which garments, what fitted and what was changed. No figure of a body is in it."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import connection
from django.db.models import F, OuterRef, Subquery
from django.db.models.functions import Coalesce
from django.utils import timezone

from fitting.models import AcceptedEase, FittingSession, Garment
from fitting.queries.fittings import MEASURED_DECISIONS, PLACES, change_words, current_notes
from fitting.queries.paper_zones import paper_zones, zone_name
from fitting.queries.planned import read_plan
from studio.calc.units import format_difference
from studio.calc.wording import searchable
from studio.models import Client
from studio.platform.rights import Actor, Right
from studio.queries.clients import find_clients

MOST_FOUND = 20
MOST_NARROWED = 500  # looked through where a kind or a year leaves most of them out
MOST_GARMENTS = 12  # of one client; the newest
YEARS = """
    select year
    from (select least((select min(created_at) from fitting_garment),
                       (select min(held_at) from fitting_fittingsession)) as first,
                 greatest((select max(created_at) from fitting_garment),
                          (select max(held_at) from fitting_fittingsession)) as last) as bounds,
         generate_series(extract(year from first at time zone %(zone)s)::int,
                         extract(year from last at time zone %(zone)s)::int) as year,
         make_timestamptz(year, 1, 1, 0, 0, 0, %(zone)s) as begins,
         make_timestamptz(year + 1, 1, 1, 0, 0, 0, %(zone)s) as ends
    where exists (select from fitting_garment where created_at >= begins and created_at < ends)
       or exists (select from fitting_fittingsession where held_at >= begins and held_at < ends)
    order by year desc
"""  # a year is asked for, not counted: a few steps of an index each, however many garments there are
_SIDES = {"left": ", left", "right": ", right"}


@dataclass(frozen=True)
class EaseKept:
    """The ease that was accepted in one zone, and the range that the rule gives; lengths in mm and in words."""

    zone: str
    words: str
    ease_mm: Decimal
    text: str
    range_text: str


@dataclass(frozen=True)
class ChangeMade:
    """One change that was decided at a fitting: where, and what was done."""

    on: date
    place: str
    where: str
    words: str


@dataclass(frozen=True)
class PastGarment:
    id: UUID
    words: str
    kind: str
    kind_words: str
    state: str
    state_words: str
    year: int  # of its last fitting; of its opening where it was never fitted
    due: date | None
    pattern: str
    cloth: str
    sizes: tuple[tuple[str, str], ...]
    ease: tuple[EaseKept, ...]
    changes: tuple[ChangeMade, ...]
    fittings: int


@dataclass(frozen=True)
class PastFit:
    """One client who was found, with her garments, newest first."""

    client_id: UUID
    name: str
    telephone: str
    matched: str  # the words that were found, where they are not the name
    garments: tuple[PastGarment, ...]


def past_fits(actor: Actor, words: str, kind: str = "", year: int | None = None) -> list[PastFit]:
    """Clients found by letters of a name, a telephone number or words of a garment, with what they had made.

    ``kind`` and ``year`` narrow the garments (and leave out a client who then has none); a garment's year is that of
    its last fitting, or of its opening. A constant number of queries, however many are found.
    """
    actor.need(Right.READ_FIT_HISTORY)
    narrowed = bool(kind or year)
    found = find_clients(actor, words, MOST_NARROWED if narrowed else MOST_FOUND) if searchable(words) else []
    order: dict[UUID, str] = {}
    for hit in found:
        order.setdefault(hit.client_id, "")
        if hit.source == "garment" and not order[hit.client_id]:
            order[hit.client_id] = hit.words
    clients = {row.pk: row for row in Client.objects.filter(pk__in=order)}
    garments = past_garments(actor, order, kind=searchable(kind), year=year)
    fits = [
        PastFit(
            client_id=client_id,
            name=clients[client_id].name,
            telephone=clients[client_id].telephone,
            matched=matched,
            garments=tuple(_best_first(garments[client_id], matched)[:MOST_GARMENTS]),
        )
        for client_id, matched in order.items()
        if client_id in clients and (garments[client_id] or not narrowed)
    ]
    return fits[:MOST_FOUND]


def past_garments(
    actor: Actor, client_ids: Iterable[UUID], *, kind: str = "", year: int | None = None
) -> dict[UUID, list[PastGarment]]:
    """The garments of some clients, last fitted first, with sizes, accepted ease and changes: four queries in all."""
    actor.need(Right.READ_FIT_HISTORY)
    last = FittingSession.objects.filter(garment=OuterRef("pk")).order_by("-held_at").values("held_at")[:1]
    rows = (
        Garment.objects.filter(client_id__in=list(client_ids))
        .select_related("client", "pattern", "cloth", "plan")
        .annotate(last=Coalesce(Subquery(last), F("created_at")))
    )
    if kind:
        rows = rows.filter(kind=kind)
    if year:
        rows = rows.filter(last__year=year)
    with timezone.override(actor.zone):  # a year ends at the studio's midnight
        garments = list(rows.order_by("-last", "-id"))
    ids = [garment.pk for garment in garments]
    units = {garment.pk: garment.client.unit for garment in garments}
    ease = _accepted(ids, units)
    changes = _changes(ids, units, actor.zone)
    fittings: dict[UUID, int] = defaultdict(int)
    for garment_id in FittingSession.objects.filter(garment_id__in=ids).values_list("garment_id", flat=True):
        fittings[garment_id] += 1
    found: dict[UUID, list[PastGarment]] = defaultdict(list)
    for garment in garments:
        found[garment.client_id].append(
            PastGarment(
                id=garment.pk,
                words=garment.words,
                kind=garment.kind,
                kind_words=garment.get_kind_display(),
                state=garment.state,
                state_words=garment.get_state_display(),
                year=garment.last.astimezone(actor.zone).year,
                due=garment.due,
                pattern=garment.pattern.name if garment.pattern else "",
                cloth=garment.cloth.name if garment.cloth else "",
                sizes=_sizes(garment),
                ease=tuple(ease[garment.pk]),
                changes=tuple(changes[garment.pk]),
                fittings=fittings[garment.pk],
            )
        )
    return found


def years_of(actor: Actor) -> list[int]:
    """The years in which a garment was opened or fitted, newest first, for the filter; one query by two indexes."""
    actor.need(Right.READ_FIT_HISTORY)
    with connection.cursor() as cursor:
        cursor.execute(YEARS, {"zone": actor.time_zone})
        return [year for (year,) in cursor.fetchall()]


def _best_first(garments: list[PastGarment], matched: str) -> list[PastGarment]:
    """The garment whose words were looked for comes first."""
    return sorted(garments, key=lambda garment: garment.words != matched) if matched else garments


def _sizes(garment: Garment) -> tuple[tuple[str, str], ...]:
    if garment.plan is None:
        return ()
    return tuple((row.words, row.size) for row in read_plan(garment.plan).zones if row.kind == "width")


def _accepted(ids: list[UUID], units: dict[UUID, str]) -> dict[UUID, list[EaseKept]]:
    """The ease of the newest signed-off fitting, by zone in the order of the plan."""
    newest: dict[UUID, dict[str, AcceptedEase]] = defaultdict(dict)
    for row in AcceptedEase.objects.filter(garment_id__in=ids).order_by("id"):
        newest[row.garment_id][row.zone] = row
    found: dict[UUID, list[EaseKept]] = defaultdict(list)
    for garment_id, zones in newest.items():
        unit = units[garment_id]
        # What the counter asks for first: widths, then lengths and details.
        for row in sorted(zones.values(), key=lambda row: _is_width(row.zone), reverse=True):
            low, high = (format_difference(value, unit) for value in (row.rule_low_mm, row.rule_high_mm))
            found[garment_id].append(
                EaseKept(
                    row.zone,
                    zone_name(row.zone),
                    row.ease_mm,
                    format_difference(row.ease_mm, unit),
                    f"{low} to {high}",
                )
            )
    return found


def _is_width(zone: str) -> bool:
    known = paper_zones().get(zone)
    return known is not None and known.kind == "width"


def _changes(ids: list[UUID], units: dict[UUID, str], zone: ZoneInfo) -> dict[UUID, list[ChangeMade]]:
    """What was decided and not superseded; what was merely seen, or left as it is, is not the counter's matter."""
    found: dict[UUID, list[ChangeMade]] = defaultdict(list)
    notes = (
        current_notes()
        .filter(session__garment_id__in=ids, decision__in=[*MEASURED_DECISIONS, "reshape"])
        .select_related("session")
        .order_by("session__held_at", "id")
    )
    for note in notes:
        garment_id = note.session.garment_id
        words = note.get_decision_display()
        if note.amount_mm is not None:
            words = change_words(words, note.amount_mm, units[garment_id])
        found[garment_id].append(
            ChangeMade(
                note.session.held_at.astimezone(zone).date(),
                note.place,
                PLACES.get(note.place, note.place) + _SIDES.get(note.side, ""),
                words,
            )
        )
    return found
