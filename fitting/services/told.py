"""What a fit note tells beside its words: the sign, where it was tapped, what was pinched, the change it leads to."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from fitting.calc.signs import meanings
from fitting.queries.signs import sign_table
from fitting.queries.spots import Spots
from studio.platform.errors import Refused

VIEWS = ("front", "back", "side")
MOST_PINCHED_MM = Decimal(500)
TENTH = Decimal("0.0001")


@dataclass(frozen=True)
class Told:
    """``sign``, ``direction`` and ``change`` are codes of the table of signs; ``mark`` is the tapped point as shares
    (0 to 1) of the figure's width and height in ``view``; ``pinched_mm`` the cloth taken up or let go, in all."""

    sign: str = ""
    direction: str = ""
    pinched_mm: Decimal | None = None
    view: str = ""
    mark: tuple[Decimal, Decimal] | None = None
    change: str = ""
    piece: str = ""
    seam: str = ""


NOTHING_TOLD = Told()


def told_facts(told: Told, *, place: str, kind: str) -> dict[str, Any]:
    """The columns of a note; raises Refused naming sign, direction, pinched, view, mark or change."""
    table = sign_table()
    reasons: dict[str, str] = {}
    if told.sign and told.sign not in table.signs:
        reasons["sign"] = f"{told.sign[:24]!r} is not a sign; choose one of {', '.join(table.signs)}."
    if told.direction and not told.sign:
        reasons["direction"] = "A direction belongs to a sign: choose the sign first."
    elif told.sign in table.signs and told.direction:
        try:
            meanings(table, place, told.sign, direction=told.direction, garment=kind)
        except ValueError as exc:
            reasons["direction"] = str(exc)
    if told.pinched_mm is not None:
        if not told.pinched_mm.is_finite() or told.pinched_mm <= 0:
            reasons["pinched"] = "What is pinched or let go is more than nothing, or left empty."
        elif told.pinched_mm > MOST_PINCHED_MM:
            reasons["pinched"] = f"{told.pinched_mm:f} mm is more than {MOST_PINCHED_MM} mm: check the unit."
    if told.view and told.view not in VIEWS:
        reasons["view"] = f"{told.view[:8]!r} is not a view of the figure; choose {', '.join(VIEWS)}."
    if told.mark is not None:
        if not told.view:
            reasons["view"] = "A mark lies in a view of the figure: front, back or side."
        if not all(part.is_finite() and 0 <= part <= 1 for part in told.mark):
            reasons["mark"] = "A mark lies within the figure: two shares from 0 to 1, across and down."
    if told.change and told.change not in table.changes:
        reasons["change"] = f"{told.change[:40]!r} is not a change of the table of signs."
    if reasons:
        raise Refused(reasons)
    across, down = told.mark or (None, None)
    return {
        "sign": told.sign,
        "direction": told.direction,
        "pinched_mm": told.pinched_mm.quantize(TENTH) if told.pinched_mm is not None else None,
        "view": told.view,
        "mark_x": across.quantize(TENTH) if across is not None else None,
        "mark_y": down.quantize(TENTH) if down is not None else None,
        "change": told.change,
        "piece": " ".join(told.piece.split()),
        "seam": " ".join(told.seam.split()),
    }


def check_where(spots: Spots, *, piece: str, seam: str) -> None:
    """Whether a named piece is one of the pattern's, and a seam one of that piece; raises Refused (piece, seam).

    Free words where the pattern has no pieces, and for a seam where no piece is named or none of its seams is drawn.
    """
    piece, seam = " ".join(piece.split()), " ".join(seam.split())
    if not spots or not piece:
        return
    if piece not in spots.pieces:
        raise Refused(
            {
                "piece": f"{piece[:80]!r} is not a piece of {spots.pattern}; choose one of "
                f"{'; '.join(spots.pieces)}."
            }
        )
    seams = spots.seams_of(piece)
    if seam and seams and seam not in seams:
        raise Refused({"seam": f"{piece} has no seam {seam[:80]!r}; choose one of {', '.join(seams)}."})


def sign_words(told: Told) -> str:
    """A sign in words, with its direction: "Strain lines, slanting, pointing at the fullest part"."""
    table = sign_table()
    if told.sign not in table.signs:
        return ""
    words = table.signs[told.sign].name
    return f"{words}, {table.directions[told.direction]}" if told.direction in table.directions else words
