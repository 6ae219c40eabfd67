"""Reading fitting sessions: what was seen, what holds now, who signed it off."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from fitting.models import ClientAgreement, FitNote, FittingSession, SignOff
from studio.calc.units import format_length
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right

# Where on the garment a note lies. The codes of the ease rules come first: a change there counts for the ease.
PLACES: dict[str, str] = {
    "bust": "Bust",
    "chest": "Chest",
    "waist": "Waist",
    "hip": "Hip",
    "seat": "Seat",
    "thigh": "Thigh",
    "upper_arm": "Upper arm",
    "shoulder_to_waist": "Shoulder to waist",
    "waist_to_hip": "Waist to hip",
    "rise": "Rise",
    "leg": "Leg length",
    "sleeve": "Sleeve length",
    "neck": "Neck",
    "shoulder": "Shoulder",
    "armhole": "Armhole",
    "sleeve_cap": "Sleeve cap",
    "back": "Back",
    "front": "Front",
    "abdomen": "Abdomen",
    "crotch": "Crotch seam",
    "knee": "Knee",
    "hem": "Hem",
    "fastening": "Fastening",
    "balance": "Balance of the whole",
}
MEASURED_DECISIONS = frozenset({"take_in", "let_out", "lengthen", "shorten"})
GROWS = frozenset({"let_out", "lengthen"})
WIDTHS, LENGTHS = frozenset({"take_in", "let_out"}), frozenset({"lengthen", "shorten"})
_SIDES = {"left": ", left", "right": ", right", "both": ""}


@dataclass(frozen=True)
class NoteView:
    """A fit note as it holds now (or as a later one replaced it)."""

    id: UUID
    session_id: UUID
    place: str
    side: str
    seen: str
    decision: str
    decision_words: str
    amount_mm: Decimal | None
    decided: str
    noted_by: str
    noted_at: datetime
    supersedes_id: UUID | None
    is_superseded: bool
    sign: str = ""
    direction: str = ""
    view: str = ""
    mark_x: Decimal | None = None
    mark_y: Decimal | None = None
    pinched_mm: Decimal | None = None
    change: str = ""
    piece: str = ""
    seam: str = ""

    @property
    def is_open(self) -> bool:
        return self.decision == FitNote.Decision.OPEN and not self.is_superseded

    @property
    def where(self) -> str:
        return PLACES.get(self.place, self.place) + _SIDES.get(self.side, "")

    def change_words(self, unit: str) -> str:
        """What was decided, with its amount: "Take in 1.5 cm in all"."""
        if self.amount_mm is None:
            return self.decision_words
        return change_words(self.decision_words, self.amount_mm, unit)


@dataclass(frozen=True)
class SessionView:
    """A try-on with its notes; ``notes`` hold, ``earlier`` were superseded."""

    id: UUID
    garment_id: UUID
    kind: str
    kind_words: str
    held_at: datetime
    fitted_by: str
    worn: str
    posture: str
    notes: tuple[NoteView, ...]
    earlier: tuple[NoteView, ...]
    sign_off: SignOff | None
    agreement: ClientAgreement | None  # the client's own word

    @property
    def open_notes(self) -> tuple[NoteView, ...]:
        return tuple(note for note in self.notes if note.is_open)


def change_words(decision: str, amount_mm: Decimal, unit: str) -> str:
    """ "Take in 1.5 cm in all": amounts are round the whole body, or of the whole length."""
    return f"{decision} {format_length(amount_mm, unit)} in all"


def current_notes() -> "QuerySet[FitNote]":
    """The notes that no later one supersedes."""
    later = FitNote.objects.filter(supersedes=OuterRef("pk"))
    return FitNote.objects.filter(~Exists(later))


def sessions_of(garment_ids: Iterable[UUID], *, with_notes: bool = True) -> list[SessionView]:
    """The sessions of some garments, newest first: four queries however many there are."""
    rows = list(
        FittingSession.objects.filter(garment_id__in=list(garment_ids))
        .select_related("fitted_by")
        .order_by("-held_at", "-id")
    )
    return _as_read(rows, with_notes=with_notes)


def session_list(actor: Actor, garment_id: UUID) -> "QuerySet[FittingSession]":
    actor.need(Right.READ_FIT_NOTES)
    return FittingSession.objects.filter(garment_id=garment_id).select_related("fitted_by").order_by("-id")


def session_views(rows: Iterable[FittingSession]) -> list[SessionView]:
    """Some session rows with their notes, in the order given: three queries."""
    return _as_read(list(rows), with_notes=True)


def session_get(actor: Actor, session_id: UUID) -> SessionView:
    """One session with its notes; raises NotHere."""
    actor.need(Right.READ_FIT_NOTES)
    row = FittingSession.objects.filter(pk=session_id).select_related("fitted_by").first()
    if row is None:
        raise NotHere("fitting session")
    return _as_read([row], with_notes=True)[0]


def note_get(actor: Actor, note_id: UUID) -> NoteView:
    """One note; raises NotHere."""
    actor.need(Right.READ_FIT_NOTES)
    row = FitNote.objects.filter(pk=note_id).select_related("noted_by").first()
    if row is None:
        raise NotHere("fit note")
    return _note(row, FitNote.objects.filter(supersedes=row).exists())


def _as_read(rows: list[FittingSession], *, with_notes: bool) -> list[SessionView]:
    ids = [row.pk for row in rows]
    notes: dict[UUID, list[FitNote]] = {pk: [] for pk in ids}
    superseded: set[UUID] = set()
    if with_notes:
        for note in FitNote.objects.filter(session_id__in=ids).select_related("noted_by").order_by("id"):
            notes[note.session_id].append(note)
            if note.supersedes_id:
                superseded.add(note.supersedes_id)
    signed = {
        row.session_id: row for row in SignOff.objects.filter(session_id__in=ids).select_related("signed_by")
    }
    agreed = {
        row.session_id: row
        for row in ClientAgreement.objects.filter(session_id__in=ids).select_related("witness")
    }
    return [
        SessionView(
            id=row.pk,
            garment_id=row.garment_id,
            kind=row.kind,
            kind_words=row.get_kind_display(),
            held_at=row.held_at,
            fitted_by=row.fitted_by.name,
            worn=row.worn,
            posture=row.posture,
            notes=tuple(_note(note, False) for note in notes[row.pk] if note.pk not in superseded),
            earlier=tuple(_note(note, True) for note in notes[row.pk] if note.pk in superseded),
            sign_off=signed.get(row.pk),
            agreement=agreed.get(row.pk),
        )
        for row in rows
    ]


def _note(row: FitNote, is_superseded: bool) -> NoteView:
    return NoteView(
        id=row.pk,
        session_id=row.session_id,
        place=row.place,
        side=row.side,
        seen=row.seen,
        decision=row.decision,
        decision_words=row.get_decision_display(),
        amount_mm=row.amount_mm,
        decided=row.decided,
        noted_by=row.noted_by.name,
        noted_at=row.noted_at,
        supersedes_id=row.supersedes_id,
        is_superseded=is_superseded,
        sign=row.sign,
        direction=row.direction,
        view=row.view,
        mark_x=row.mark_x,
        mark_y=row.mark_y,
        pinched_mm=row.pinched_mm,
        change=row.change,
        piece=row.piece,
        seam=row.seam,
    )
