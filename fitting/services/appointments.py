"""Agreeing on a fitting, moving it, calling it off; the private address of the calendar."""

from datetime import datetime, timedelta
from uuid import UUID

from django.utils import timezone

from fitting.models import Appointment, CalendarFeed, FittingSession
from fitting.queries.appointments import fitters
from fitting.services.garments import locked_open_garment
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models import Member
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new

FARTHEST = timedelta(days=731)
MOST_FEEDS = 10


def agree_fitting(
    actor: Actor,
    garment_id: UUID,
    *,
    kind: str,
    starts_at: datetime,
    minutes: int = 45,
    fitter_id: UUID | None = None,
    note: str = "",
) -> Appointment:
    """Agree on a fitting to come. Raises Refused (kind, starts_at, minutes, fitter), NotHere, Conflict.

    A fitter can't be at two fittings at once; without a fitter it is anybody's.
    """
    actor.need(Right.KEEP_GARMENTS)
    garment = locked_open_garment(garment_id)
    _check(kind=kind, starts_at=starts_at, minutes=minutes, fitter_id=fitter_id)
    appointment = save_new(
        Appointment(
            garment=garment,
            kind=kind,
            starts_at=starts_at,
            minutes=minutes,
            fitter_id=fitter_id,
            note=" ".join(note.split()),
        )
    )
    record_act(actor, "agree_fitting", appointment, client_id=garment.client_id, garment=str(garment.pk))
    return appointment


def move_fitting(
    actor: Actor,
    appointment_id: UUID,
    *,
    starts_at: datetime,
    minutes: int,
    fitter_id: UUID | None,
    expected_version: int | None = None,
) -> Appointment:
    """Give an agreed fitting another time or fitter. Raises as ``agree_fitting``, and Stale."""
    actor.need(Right.KEEP_GARMENTS)
    appointment = _agreed(appointment_id, expected_version)
    _check(
        kind=appointment.kind, starts_at=starts_at, minutes=minutes, fitter_id=fitter_id, but=appointment.pk
    )
    changed = save_edit(appointment, {"starts_at": starts_at, "minutes": minutes, "fitter_id": fitter_id})
    if changed:
        record_act(actor, "move_fitting", appointment, client_id=appointment.garment.client_id)
    return appointment


def call_off_fitting(actor: Actor, appointment_id: UUID) -> Appointment:
    """Call an agreed fitting off; it stays in the calendar as called off. Raises NotHere, Conflict."""
    actor.need(Right.KEEP_GARMENTS)
    appointment = _agreed(appointment_id, None)
    save_edit(appointment, {"state": Appointment.State.CALLED_OFF})
    record_act(actor, "call_off_fitting", appointment, client_id=appointment.garment.client_id)
    return appointment


def make_feed(actor: Actor, *, mine_only: bool = False) -> CalendarFeed:
    """Make a private calendar address for oneself. Raises Conflict where there are too many."""
    actor.need(Right.KEEP_GARMENTS)
    if CalendarFeed.objects.filter(member_id=actor.member_id, revoked_at=None).count() >= MOST_FEEDS:
        raise Conflict(f"You have {MOST_FEEDS} calendar addresses: revoke one first.")
    feed = save_new(CalendarFeed(member_id=actor.member_id, mine_only=mine_only))
    record_act(actor, "make_feed", feed)
    return feed


def revoke_feed(actor: Actor, feed_id: UUID) -> CalendarFeed:
    """Let one's own calendar address open nothing any more. Raises NotHere."""
    actor.need(Right.KEEP_GARMENTS)
    feed = CalendarFeed.objects.filter(pk=feed_id, member_id=actor.member_id).first()
    if feed is None:
        raise NotHere("calendar address")
    if feed.revoked_at is None:
        feed.revoked_at = timezone.now()
        feed.save(update_fields=["revoked_at"])
        record_act(actor, "revoke_feed", feed)
    return feed


def _agreed(appointment_id: UUID, expected_version: int | None) -> Appointment:
    garment_id = Appointment.objects.filter(pk=appointment_id).values_list("garment_id", flat=True).first()
    if garment_id is None:
        raise NotHere("agreed fitting")
    locked_open_garment(garment_id)
    appointment = lock_for_edit(Appointment, appointment_id, expected_version)
    if appointment.state != Appointment.State.AGREED:
        raise Conflict("This fitting was called off; agree on a new one.")
    return appointment


def _check(
    *, kind: str, starts_at: datetime, minutes: int, fitter_id: UUID | None, but: UUID | None = None
) -> None:
    reasons: dict[str, str] = {}
    if kind not in FittingSession.Kind.values:
        reasons["kind"] = (
            f"{kind[:16]!r} is not a kind of fitting; choose {', '.join(FittingSession.Kind.values)}."
        )
    now = timezone.now()
    if timezone.is_naive(starts_at):
        reasons["starts_at"] = "The time needs its time zone."
    elif starts_at < now - timedelta(hours=12):
        reasons["starts_at"] = "This time is over: hold the fitting instead of agreeing on it."
    elif starts_at > now + FARTHEST:
        reasons["starts_at"] = "This is more than two years ahead: check the year."
    if not 5 <= minutes <= 480:
        reasons["minutes"] = f"A fitting takes 5 to 480 minutes (got {minutes})."
    if fitter_id is not None and fitter_id not in {member.pk for member in fitters()}:
        reasons["fitter"] = "The fitter is an instructor or owner of this studio."
    if not reasons and fitter_id is not None:
        reasons |= _double(starts_at, minutes, fitter_id, but)
    if reasons:
        raise Refused(reasons)


def _double(starts_at: datetime, minutes: int, fitter_id: UUID, but: UUID | None) -> dict[str, str]:
    """The fitter is elsewhere at that time. Her row is locked, so that two clerks at once can't give her one hour."""
    Member.objects.select_for_update(no_key=True).get(pk=fitter_id)
    ends = starts_at + timedelta(minutes=minutes)
    near = Appointment.objects.filter(
        fitter_id=fitter_id,
        state=Appointment.State.AGREED,
        starts_at__lt=ends,
        starts_at__gt=starts_at - timedelta(minutes=480),
    ).select_related("garment", "fitter")
    for other in near:
        if other.pk != but and other.starts_at + timedelta(minutes=other.minutes) > starts_at:
            return {
                "starts_at": f"{other.fitter.name} fits {other.garment.words} at that time: choose another."
            }
    return {}
