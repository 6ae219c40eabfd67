"""What this wing keeps about a client, as she reads it herself."""

from collections import Counter
from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.utils import timezone

from studio.models import Client, Consent, Enrolment, Measuring, Reading
from studio.platform.models import AuditEntry
from studio.platform.queries.people import studio_get
from studio.platform.registries import Section
from studio.platform.rights import Actor, Right
from studio.queries.choices import known_measures
from studio.queries.clients import client_get
from studio.queries.looking import looks_of
from studio.queries.measuring import body_of
from studio.queries.plain import member_names


def day(moment: datetime) -> str:
    """A moment as a day in the zone in force: "3 May 2026"."""
    local = timezone.localtime(moment)
    return f"{local.day} {local:%B %Y}"


def sections_of(actor: Actor, client_id: UUID) -> list[Section]:
    """Facts, consents, body figures with every reading, classes, acts, who looked. Raises NotHere, NotAllowed."""
    actor.need(Right.EXPORT_AND_ERASE)
    client = client_get(actor, client_id)
    members = member_names()
    return [
        _facts(actor, client),
        _consents(client_id, members),
        _body(actor, client),
        _readings(actor, client),
        _classes(client_id),
        _acts(client_id, members),
        _looks(actor, client_id),
    ]


def _facts(actor: Actor, client: Client) -> Section:
    known = [
        ("Name", client.name),
        ("Telephone", client.telephone),
        ("Email", client.email),
        ("Birthday", f"{client.born.day} {client.born:%B %Y}" if client.born else ""),
        ("Guardian", client.guardian_name),
        ("Guardian's telephone", client.guardian_telephone),
        ("Guardian's email", client.guardian_email),
        ("Lengths in", client.get_unit_display()),
        ("Readings are compared with", client.get_body_model_display()),
        ("Body figures in a link", "shown" if client.figures_in_report else "left out"),
        ("Notes", client.notes),
        ("Here since", day(client.created_at)),
    ]
    months = studio_get(actor).keep_months
    kept = (
        f"The owner is asked about a client {months} months after the last act."
        if months
        else "The studio has set no end by itself: everything is kept until somebody asks for it to be erased."
    )
    return Section(
        "Who you are to us", ("What", "As it is written down"), [row for row in known if row[1]], "", kept
    )


def _consents(client_id: UUID, members: dict[UUID, str]) -> Section:
    rows = Consent.objects.filter(client_id=client_id).order_by("at", "id")
    return Section(
        "What you allowed",
        ("Day", "What", "Answer", "By", "Written down by"),
        [
            (
                day(row.at),
                row.get_kind_display() + (f" ({row.note})" if row.note else ""),
                "given" if row.given else "withdrawn",
                row.given_by + (", as the guardian" if row.by_guardian else ""),
                members.get(row.recorded_by_id, ""),
            )
            for row in rows
        ],
        "Nobody was asked yet.",
        "The newest answer to a question holds; earlier ones are kept to show what held when.",
    )


def _body(actor: Actor, client: Client) -> Section:
    return Section(
        "Your figures now",
        ("Measure", "Figure", "Taken", "By"),
        [
            (
                found.measure.name,
                found.measure.in_words(found.value, client.unit),
                day(found.measured_at),
                found.measured_by,
            )
            for found in body_of(actor, client.pk).values()
        ],
        "No body figure is kept.",
        "The newest of each measure; of two takes the mean, of three the middle one.",
    )


def _readings(actor: Actor, client: Client) -> Section:
    known = known_measures(actor)
    measurings = {
        row.pk: row
        for row in Measuring.objects.filter(client_id=client.pk).select_related("measured_by").order_by("id")
    }
    superseded = set(
        Reading.objects.filter(client_id=client.pk, supersedes__isnull=False).values_list(
            "supersedes_id", flat=True
        )
    )
    rows = Reading.objects.filter(client_id=client.pk).order_by("recorded_at", "id")
    told = sorted(
        rows, key=lambda row: (measurings[row.measuring_id].measured_at, row.measuring_id, row.measure)
    )
    return Section(
        "Every reading",
        ("Day", "Measure", "Take", "Figure", "As typed"),
        [
            (
                day(measurings[row.measuring_id].measured_at),
                known[row.measure].name if row.measure in known else row.measure,
                str(row.take),
                (
                    known[row.measure].in_words(row.value, client.unit)
                    if row.measure in known
                    else f"{row.value.normalize():f}"
                )
                + (" (corrected later)" if row.pk in superseded else ""),
                row.typed + (f"; {row.reason}" if row.reason else ""),
            )
            for row in told
        ],
        "No reading is kept.",
        "A reading is never changed; a correction is a new one that says why.",
    )


def _classes(client_id: UUID) -> Section:
    places = Enrolment.objects.filter(client_id=client_id).select_related("course").order_by("id")
    return Section("Classes", ("Class",), [(place.course.name,) for place in places], "You are in no class.")


def _acts(client_id: UUID, members: dict[UUID, str]) -> Section:
    rows: Iterable[AuditEntry] = AuditEntry.objects.filter(client_id=client_id).order_by("at", "id")
    # The same act of the same hand on one day is told once, with how often.
    told = Counter(
        (day(row.at), row.act.replace("_", " "), members.get(row.member_id) if row.member_id else None)
        for row in rows
    )
    return Section(
        "What was done",
        ("Day", "What", "By"),
        [
            (on, act if times == 1 else f"{act}, {times} times", by or "the studio's own machine")
            for (on, act, by), times in told.items()
        ],
        "Nothing was written down.",
    )


def _looks(actor: Actor, client_id: UUID) -> Section:
    return Section(
        "Who opened it",
        ("Day", "Who", "What"),
        [
            (f"{look.day.day} {look.day:%B %Y}", look.member, "; ".join(look.opened))
            for look in looks_of(actor, client_id, days=None)
        ],
        "Nobody has opened anything about you.",
        "Pages and answers about you alone or about your class, by the day, for two years. "
        "Lists of names and searches are not counted.",
    )
