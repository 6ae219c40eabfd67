"""Consent that ended and figures that grew old: whom the owner is asked about, and why."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any, Literal
from uuid import UUID

from django.db.models import Exists, Max, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce, Greatest
from django.utils import timezone

from studio.calc.growth import months_before
from studio.models import Client, Consent, Measuring
from studio.platform.models import AuditEntry
from studio.platform.queries.people import studio_get
from studio.platform.rights import Actor, Right
from studio.queries.clients import ConsentState

KEPT = "keep_client"  # the act by which an owner answers the question
SHORTEST_MONTHS, LONGEST_MONTHS = 1, 240
Kind = Literal["withdrawn", "of age"]


@dataclass(frozen=True)
class Notice:
    """What a client's page must say about consent; ``asks`` is what is to be done about it."""

    kind: Kind
    consent: str  # the kind of consent that it is about
    words: str
    asks: str


@dataclass(frozen=True)
class Keeping:
    """How long the studio keeps a client after the last act (None: no limit), and since when one is due."""

    months: int | None
    due_before: date | None


def keeping_of(actor: Actor) -> Keeping:
    """The owner's choice. One query."""
    actor.need(Right.EXPORT_AND_ERASE)
    months = studio_get(actor).keep_months
    today = timezone.localdate(timezone=actor.zone)
    return Keeping(months, None if months is None else months_before(today, months))


def due_clients(actor: Actor, keeping: Keeping) -> "QuerySet[Client]":
    """Clients without an act for as long as ``keeping`` says, each with ``last_act``; the longest silent first.

    Every act that the studio wrote down about her counts, also a measuring, also that she was kept.
    """
    actor.need(Right.EXPORT_AND_ERASE)
    clients = _with_last_act(Client.objects.filter(erased_at=None)).order_by("last_act", "id")
    if keeping.due_before is None:
        return clients.none()
    before = datetime.combine(keeping.due_before, time(), tzinfo=actor.zone)
    due: QuerySet[Client] = clients.filter(last_act__lt=before)
    return due


def withdrawn_clients(actor: Actor) -> "QuerySet[Client]":
    """Clients whose consent to be measured was withdrawn and about whom nothing was decided since, with
    ``withdrawn_at``; the oldest first.
    """
    actor.need(Right.EXPORT_AND_ERASE)
    newest = Consent.objects.filter(client_id=OuterRef("pk"), kind=Consent.Kind.MEASURE).order_by(
        "-at", "-id"
    )
    decided = AuditEntry.objects.filter(client_id=OuterRef("pk"), act=KEPT, at__gt=OuterRef("withdrawn_at"))
    found: QuerySet[Client] = (
        Client.objects.filter(erased_at=None)
        .annotate(given=Subquery(newest.values("given")[:1]), withdrawn_at=Subquery(newest.values("at")[:1]))
        .filter(~Exists(decided), given=False)
        .order_by("withdrawn_at", "id")
    )
    return found


def grown_up_clients(actor: Actor) -> "QuerySet[Client]":
    """Clients of age whose consent still is their guardian's, with ``guardian_gave`` (who gave it); by name."""
    actor.need(Right.KEEP_CLIENTS)
    newest = Consent.objects.filter(client_id=OuterRef("pk"), kind=Consent.Kind.MEASURE).order_by(
        "-at", "-id"
    )
    eighteen = months_before(timezone.localdate(timezone=actor.zone), 18 * 12)
    found: QuerySet[Client] = (
        Client.objects.filter(erased_at=None, born__lte=eighteen)
        .annotate(
            given=Subquery(newest.values("given")[:1]),
            guardians=Subquery(newest.values("by_guardian")[:1]),
            guardian_gave=Subquery(newest.values("given_by")[:1]),
        )
        .filter(given=True, guardians=True)
        .order_by("name", "id")
    )
    return found


def consent_withdrawn(client_id: UUID) -> bool:
    """Was the consent to be measured withdrawn? (Where nobody was asked yet it was not.)"""
    latest = (
        Consent.objects.filter(client_id=client_id, kind=Consent.Kind.MEASURE).order_by("-at", "-id").first()
    )
    return latest is not None and not latest.given


def withdrawn_among(client_ids: Iterable[UUID]) -> set[UUID]:
    """Those of some clients whose consent to be measured was withdrawn; one query."""
    latest = (
        Consent.objects.filter(client_id__in=list(client_ids), kind=Consent.Kind.MEASURE)
        .order_by("client_id", "-at", "-id")
        .distinct("client_id")
    )
    return {consent.client_id for consent in latest if not consent.given}


def withdrawn_words(name: str) -> str:
    """The sentence with which further use is refused."""
    return (
        f"{name} has withdrawn the consent to be measured: the figures are not used any more. "
        "Ask again before you go on."
    )


def consent_notices(client: Client, states: Iterable[ConsentState], today: date) -> list[Notice]:
    """What a client's page says of consents that ended; asks nothing of the database."""
    notices: list[Notice] = []
    for state in states:
        if state.latest is None or client.erased_at is not None:
            continue
        if not state.latest.given and state.kind == Consent.Kind.MEASURE:
            notices.append(
                Notice(
                    "withdrawn",
                    state.kind,
                    f"Consent was withdrawn on {timezone.localtime(state.latest.at):%-d %B %Y}: nothing is measured, "
                    "planned or reported any more.",
                    "Decide whether the figures are erased, or kept for a reason that is written down.",
                )
            )
        elif (
            state.latest.given
            and state.latest.by_guardian
            and client.born is not None
            and not client.is_minor(today)
        ):
            what = "be measured" if state.kind == Consent.Kind.MEASURE else "be photographed"
            notices.append(
                Notice(
                    "of age",
                    state.kind,
                    f"{client.name} is of age now; the consent to {what} is still the guardian's.",
                    f"Ask {client.name} in person and write the answer down.",
                )
            )
    return notices


def _with_last_act(clients: "QuerySet[Client]") -> "QuerySet[Any]":
    acts = AuditEntry.objects.filter(client_id=OuterRef("pk")).order_by().values("client_id")
    measured = Measuring.objects.filter(client_id=OuterRef("pk")).order_by().values("client_id")
    found: QuerySet[Any] = clients.annotate(
        last_act=Greatest(
            "created_at",
            Coalesce(Subquery(acts.annotate(last=Max("at")).values("last")), "created_at"),
            Coalesce(Subquery(measured.annotate(last=Max("recorded_at")).values("last")), "created_at"),
        )
    )
    return found
