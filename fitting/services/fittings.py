"""Fitting sessions: what is seen on the body, what is decided, and the sign-off before the machine sews."""

from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from fitting.calc.ease import ease
from fitting.models import AcceptedEase, FitNote, FittingSession, Garment, SignOff
from fitting.queries.carried import carried_ids
from fitting.queries.fittings import GROWS, LENGTHS, MEASURED_DECISIONS, PLACES, WIDTHS, current_notes
from fitting.queries.planned import PlannedZone, read_plan
from fitting.queries.spots import spots_of
from fitting.services.garments import locked_open_garment
from fitting.services.told import NOTHING_TOLD, Told, check_where, sign_words, told_facts
from studio.calc.days import check_not_too_early
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import save_new

MOST_CHANGE_MM = Decimal(500)  # more than this at one place is another size, or a slip of the pen
CLOCKS_DIFFER = timedelta(minutes=5)
TENTH = Decimal("0.0001")


def hold_session(
    actor: Actor, garment_id: UUID, *, kind: str, held_at: datetime, worn: str = "", posture: str = ""
) -> FittingSession:
    """Begin a try-on of a garment. Raises Refused (kind, held_at), NotHere, Conflict (the garment is closed)."""
    actor.need(Right.FIT)
    garment = locked_open_garment(garment_id)
    if kind not in FittingSession.Kind.values:
        raise Refused(
            {"kind": f"{kind!r} is not a kind of fitting; choose {', '.join(FittingSession.Kind.values)}."}
        )
    if timezone.is_naive(held_at):
        raise Refused({"held_at": "The time needs its time zone."})
    if held_at > timezone.now() + CLOCKS_DIFFER:
        raise Refused({"held_at": "A fitting is recorded when it is held, not before."})
    try:
        check_not_too_early(held_at)
    except ValueError as exc:
        raise Refused({"held_at": str(exc)}) from exc
    client = garment.client
    if client.born and held_at.astimezone(actor.zone).date() < client.born:
        raise Refused(
            {"held_at": f"On that day {client.name} was not born yet: check the date, or the birthday."}
        )
    session = save_new(
        FittingSession(
            garment=garment,
            kind=kind,
            held_at=held_at,
            fitted_by_id=actor.member_id,
            worn=worn.strip(),
            posture=posture.strip(),
        )
    )
    record_act(
        actor, "hold_session", session, client_id=garment.client_id, garment=str(garment.pk), kind=kind
    )
    return session


def note_fit(
    actor: Actor,
    session_id: UUID,
    *,
    place: str,
    seen: str = "",
    side: str = "both",
    decision: str = FitNote.Decision.OPEN,
    amount_mm: Decimal | None = None,
    decided: str = "",
    told: Told = NOTHING_TOLD,
) -> FitNote:
    """Write down what is seen, where, and (now or later) what is decided; amounts are in all, round the body.

    ``told`` is what stands in the table of signs and on the figure; with a sign, ``seen`` may be empty: the sign's own
    name is then kept. Raises Refused (place, side, seen, sign, direction, pinched, view, mark, change, piece, seam,
    decision, amount), NotHere, Conflict (the session is signed off).
    """
    actor.need(Right.FIT)
    session, garment = _session_to_write(session_id)
    if place not in PLACES:
        raise Refused({"place": f"{place!r} is not a place on a garment; choose one of {', '.join(PLACES)}."})
    if side not in {"left", "right", "both"}:
        raise Refused({"side": "Choose left, right or both."})
    check_where(spots_of(garment.pattern), piece=told.piece, seam=told.seam)
    facts = told_facts(told, place=place, kind=garment.kind)
    seen = seen.strip() or sign_words(told)
    if not seen:
        raise Refused({"seen": "Write what is seen: drag lines, gaping, strain, too much cloth, and where."})
    note = FitNote(
        session=session,
        place=place,
        side=side,
        seen=seen,
        decision=decision,
        amount_mm=_amount(decision, amount_mm),
        decided=decided.strip(),
        noted_by_id=actor.member_id,
        **facts,
    )
    save_new(note)
    record_act(actor, "note_fit", note, client_id=garment.client_id, session=str(session.pk), place=place)
    return note


def decide(
    actor: Actor,
    note_id: UUID,
    *,
    decision: str,
    amount_mm: Decimal | None = None,
    decided: str = "",
    seen: str = "",
    change: str = "",
    piece: str = "",
    seam: str = "",
) -> FitNote:
    """Decide what is done about a note: a new note that supersedes it; the earlier one stays as it was written.

    ``change`` names a row of the table of signs, ``piece`` and ``seam`` where it is carried out; with neither of the
    two, those of the earlier note stay. Until the session is signed off a decision may be decided again. Raises Refused
    (decision, amount, change, piece, seam), NotHere, Conflict (the session is signed off, or a later note has
    superseded this one already).
    """
    actor.need(Right.FIT)
    earlier = FitNote.objects.filter(pk=note_id).first()
    if earlier is None:
        raise NotHere("fit note")
    session, garment = _session_to_write(earlier.session_id)
    if decision == FitNote.Decision.OPEN:
        raise Refused({"decision": "A decision says what is done; “open” is what the note is already."})
    if piece or seam:
        check_where(spots_of(garment.pattern), piece=piece, seam=seam)
    else:
        piece, seam = earlier.piece, earlier.seam
    told = Told(
        sign=earlier.sign,
        direction=earlier.direction,
        pinched_mm=earlier.pinched_mm,
        view=earlier.view,
        mark=None if earlier.mark_x is None or earlier.mark_y is None else (earlier.mark_x, earlier.mark_y),
        change=change or earlier.change,
        piece=piece,
        seam=seam,
    )
    note = FitNote(
        session=session,
        place=earlier.place,
        side=earlier.side,
        seen=seen.strip() or earlier.seen,
        decision=decision,
        amount_mm=_amount(decision, amount_mm),
        decided=decided.strip(),
        supersedes=earlier,
        noted_by_id=actor.member_id,
        **told_facts(told, place=earlier.place, kind=garment.kind),
    )
    try:
        with transaction.atomic():
            save_new(note)
    except IntegrityError as exc:
        raise Conflict("This note was decided already; decide the later one.") from exc
    record_act(
        actor,
        "decide",
        note,
        client_id=garment.client_id,
        session=str(session.pk),
        supersedes=str(earlier.pk),
    )
    return note


def sign_off(actor: Actor, session_id: UUID, *, client_agreed: bool, note: str = "") -> SignOff:
    """Sign a session off: nothing in it is open any more, and the ease that the client accepted is kept by zone.

    The ease is the plan's finished measure, changed by what was decided at this garment's sessions up to this one,
    less the body that the plan was made for. It is kept where the client agreed and there is a plan. Raises NotHere,
    Conflict (a note is open, or it is signed off already).
    """
    actor.need(Right.FIT)
    session, garment = _session_to_write(session_id)
    still_open = list(
        current_notes().filter(session_id=session.pk, decision=FitNote.Decision.OPEN).order_by("id")
    )
    if still_open:
        words = "; ".join(f"{PLACES.get(row.place, row.place).lower()}: {row.seen}" for row in still_open)
        count = len(still_open)
        raise Conflict(f"{count} fit note{' is' if count == 1 else 's are'} not decided yet ({words}).")
    row = save_new(
        SignOff(session=session, signed_by_id=actor.member_id, client_agreed=client_agreed, note=note.strip())
    )
    kept = keep_accepted_ease(garment, session) if client_agreed else []
    record_act(
        actor, "sign_off", row, client_id=garment.client_id, session=str(session.pk),
        client_agreed=client_agreed, zones=[accepted.zone for accepted in kept],
    )  # fmt: skip
    return row


def _session_to_write(session_id: UUID) -> tuple[FittingSession, Garment]:
    """The session and its garment, locked: the rows of a session are kept as written, so turns go by the garment."""
    session = FittingSession.objects.filter(pk=session_id).first()
    if session is None:
        raise NotHere("fitting session")
    garment = locked_open_garment(session.garment_id)
    if SignOff.objects.filter(session_id=session.pk).exists():
        raise Conflict("This fitting is signed off; what is seen now belongs to a new one.")
    return session, garment


def _amount(decision: str, amount_mm: Decimal | None) -> Decimal | None:
    if decision not in FitNote.Decision.values:
        raise Refused(
            {"decision": f"{decision!r} is not a decision; choose {', '.join(FitNote.Decision.values)}."}
        )
    words = FitNote.Decision(decision).label
    if decision in MEASURED_DECISIONS:
        if amount_mm is None:
            raise Refused({"amount": f"“{words}” needs an amount: how much in all, round the body."})
        if not amount_mm.is_finite() or amount_mm <= 0:
            raise Refused(
                {"amount": f"The amount must be more than nothing; “{words}” says the direction already."}
            )
        if amount_mm > MOST_CHANGE_MM:
            raise Refused(
                {"amount": f"{amount_mm:f} mm at one place is more than {MOST_CHANGE_MM} mm: check the unit."}
            )
        return amount_mm.quantize(TENTH)
    if amount_mm is not None:
        raise Refused({"amount": f"“{words}” takes no amount."})
    return None


def keep_accepted_ease(garment: Garment, session: FittingSession) -> list[AcceptedEase]:
    """Keep the ease that was accepted at a signed-off session, by the zones of the garment's plan."""
    if garment.plan is None:
        return []
    planned = read_plan(garment.plan)
    notes = list(
        current_notes()
        .filter(
            session__garment_id=garment.pk,
            session__held_at__lte=session.held_at,
            decision__in=MEASURED_DECISIONS,
        )
        .exclude(pk__in=carried_ids(garment.plan))  # these stand in the plan's finished measures already
    )
    kept = []
    for zone in planned.zones:
        finished = zone.finished + float(_change(zone, notes))
        if finished <= 0:
            raise Conflict(
                f"The changes at the {zone.words.lower()} leave nothing of it: look at their amounts again."
            )
        kept.append(
            AcceptedEase(
                client_id=garment.client_id,
                garment=garment,
                session=session,
                kind=garment.kind,
                zone=zone.zone,
                ease_mm=_stored(ease(finished, zone.body)),
                rule_low_mm=_stored(zone.low),
                rule_high_mm=_stored(zone.high),
                rule_source=zone.source[:200],
            )
        )
    AcceptedEase.objects.bulk_create(kept)
    return kept


def _change(zone: PlannedZone, notes: list[FitNote]) -> Decimal:
    """What the decided changes add to a zone in all: widths by taking in and letting out, lengths by their own."""
    counted = LENGTHS if zone.kind == "length" else WIDTHS
    total = Decimal(0)
    for note in notes:
        if note.place == zone.zone and note.decision in counted and note.amount_mm is not None:
            total += note.amount_mm if note.decision in GROWS else -note.amount_mm
    return total


def _stored(mm: float) -> Decimal:
    return Decimal(repr(mm)).quantize(TENTH)
