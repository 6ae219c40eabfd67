"""The calendar of fittings: weeks on a page, and a feed for a calendar program by RFC 5545."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone
from icalendar import Calendar, Event

from fitting.models import Appointment, CalendarFeed
from studio.platform import links
from studio.platform.database.scope import studio_scope
from studio.platform.errors import NotHere
from studio.platform.models import Member, Studio
from studio.platform.rights import RIGHTS, Actor, Right

FEED_PURPOSE = "calendar"
BEFORE, AFTER = timedelta(days=31), timedelta(days=366)


@dataclass(frozen=True)
class Day:
    """One day of a week and its fittings, by time."""

    on: date
    fittings: tuple[Appointment, ...]
    is_today: bool


@dataclass(frozen=True)
class Week:
    days: tuple[Day, ...]
    before: date
    after: date

    @property
    def first(self) -> date:
        return self.days[0].on


def week(actor: Actor, on: date) -> Week:
    """The week (Monday to Sunday) of a day in the studio's time: one query."""
    actor.need(Right.KEEP_GARMENTS)
    monday = on - timedelta(days=on.weekday())
    start = datetime(monday.year, monday.month, monday.day, tzinfo=actor.zone)
    after = monday + timedelta(days=7)
    end = datetime(after.year, after.month, after.day, tzinfo=actor.zone)
    rows = list(_rows().filter(starts_at__gte=start, starts_at__lt=end))
    today = timezone.localdate(timezone=actor.zone)
    return Week(
        tuple(
            Day(
                day,
                tuple(row for row in rows if row.starts_at.astimezone(actor.zone).date() == day),
                day == today,
            )
            for day in (monday + timedelta(days=number) for number in range(7))
        ),
        monday - timedelta(days=7),
        after,
    )


def agreed_of(actor: Actor, garment_id: UUID) -> list[Appointment]:
    """The agreed fittings of a garment that are not over, the next first: one query."""
    actor.need(Right.KEEP_GARMENTS)
    since = timezone.now() - timedelta(hours=12)
    return list(_rows().filter(garment_id=garment_id, state=Appointment.State.AGREED, starts_at__gte=since))


def appointment_list(actor: Actor) -> "QuerySet[Appointment]":
    actor.need(Right.KEEP_GARMENTS)
    return Appointment.objects.select_related("garment", "fitter").order_by("-id")


def appointment_get(actor: Actor, appointment_id: UUID) -> Appointment:
    actor.need(Right.KEEP_GARMENTS)
    row = _rows().filter(pk=appointment_id).first()
    if row is None:
        raise NotHere("agreed fitting")
    return row


def fitters() -> list[Member]:
    """Who may hold a fitting in this studio, by name."""
    roles = [role for role, rights in RIGHTS.items() if Right.FIT in rights]
    return list(Member.objects.filter(role__in=roles, active=True).order_by("name", "id"))


def feeds_of(actor: Actor) -> list[tuple[CalendarFeed, str]]:
    """One's own calendar addresses that still open something, with the address."""
    actor.need(Right.KEEP_GARMENTS)
    rows = CalendarFeed.objects.filter(member_id=actor.member_id, revoked_at=None).order_by("id")
    return [
        (row, links.address("fitting:calendar-feed", links.sign(FEED_PURPOSE, actor.studio_id, row.pk)))
        for row in rows
    ]


def feed(signed: str) -> bytes:
    """The calendar behind a private address, as an iCalendar object; raises NotHere.

    Garment and kind are told, and the client's initials: a calendar program keeps copies elsewhere. Whoever has left
    the studio, or lost the right, reads nothing any more.
    """
    studio_id, feed_id = links.verify(FEED_PURPOSE, signed)
    with studio_scope(studio_id):
        row = CalendarFeed.objects.select_related("member").filter(pk=feed_id, revoked_at=None).first()
        if row is None or not row.member.active or Right.KEEP_GARMENTS not in RIGHTS[row.member.role]:
            raise NotHere("calendar")
        now = timezone.now()
        rows = _rows().filter(starts_at__gte=now - BEFORE, starts_at__lt=now + AFTER)
        if row.mine_only:
            rows = rows.filter(fitter_id=row.member_id)
        CalendarFeed.objects.filter(pk=row.pk).update(last_read_at=now)
        studio = Studio.objects.get(pk=studio_id)
        found: bytes = _calendar(studio.name, rows).to_ical()
        return found


def _rows() -> "QuerySet[Appointment]":
    return Appointment.objects.select_related("garment__client", "fitter").order_by("starts_at", "id")


def _calendar(studio: str, rows: Iterable[Appointment]) -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", "-//Studio record//Fittings//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", f"Fittings, {studio}")
    for row in rows:
        event = Event()
        event.add("uid", f"{row.pk}@studio-record")
        event.add("dtstamp", row.changed_at)
        event.add("last-modified", row.changed_at)
        event.add("sequence", row.version - 1)
        event.add("dtstart", row.starts_at)
        event.add("duration", timedelta(minutes=row.minutes))
        initials = "".join(f"{part[0]}." for part in row.garment.client.name.split() if part)
        event.add("summary", f"{row.get_kind_display()} fitting: {row.garment.words} ({initials})")
        if row.fitter is not None:
            event.add("description", f"Fitter: {row.fitter.name}")
        event.add("url", links.address("fitting:garment", str(row.garment_id)))
        event.add("status", "CONFIRMED" if row.state == Appointment.State.AGREED else "CANCELLED")
        calendar.add_component(event)
    return calendar
