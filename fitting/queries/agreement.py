"""What a client reads before she agrees to a fitting, and whether she can."""

from typing import Any

from fitting.models import FittingSession, Garment
from fitting.queries.fittings import SessionView

SENTENCE = "I have tried this on, and I agree with how it fits and with what is changed."


def agreement_text(session: SessionView, garment: Garment) -> dict[str, Any]:
    """What stands on the page and is frozen with the name: garment, try-on, every decided point, the sentence.

    Lengths are in words, in the client's unit.
    """
    unit = garment.client.unit
    return {
        "garment": garment.words,
        "kind": session.kind_words,
        "held_at": session.held_at.isoformat(),
        "worn": session.worn,
        "points": [
            {
                "where": note.where,
                "seen": note.seen,
                "done": note.change_words(unit),
                "decided": note.decided,
            }
            for note in session.notes
        ],
        "sentence": SENTENCE,
    }


def hindrance_to_agree(session: SessionView) -> str:
    """Why the client can't agree to this fitting now, in one sentence; "" where she can. One query."""
    if session.agreement is not None:
        return "The client has agreed to this fitting already."
    if session.sign_off is None:
        return "Sign the fitting off first: until then its decisions may still change."
    later = FittingSession.objects.filter(garment_id=session.garment_id, held_at__gt=session.held_at).exists()
    return "A later fitting was held: the client agrees to that one." if later else ""
