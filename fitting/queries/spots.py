"""Where on the paper a change is made: the pieces of a pattern and their seams, as a fitter may choose them."""

from dataclasses import dataclass

from fitting.calc.drafts import SEAMS
from fitting.calc.outline import seam_names
from fitting.models import Pattern, PatternPiece, PieceOutline
from fitting.queries.outlines import outline_from, role_of

LONGEST = 80  # what a fit note holds


@dataclass(frozen=True)
class Spot:
    """A piece, or two that are sewn together, and one seam of it; ``seam`` is empty for the piece itself."""

    piece: str
    seam: str


@dataclass(frozen=True)
class Spots:
    """The places of one pattern, in groups under their heading; empty where no pieces are recorded."""

    pattern: str
    groups: tuple[tuple[str, tuple[Spot, ...]], ...]

    def __bool__(self) -> bool:
        return bool(self.groups)

    @property
    def pieces(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(spot.piece for _, spots in self.groups for spot in spots))

    def seams_of(self, piece: str) -> tuple[str, ...]:
        """Empty where the paper does not tell them."""
        return tuple(
            spot.seam for _, spots in self.groups for spot in spots if spot.piece == piece and spot.seam
        )


NOWHERE = Spots("", ())


def spots_of(pattern: Pattern | None) -> Spots:
    """The pieces of a pattern with their seams, as far as they are drawn; two queries.

    Seams that join two pieces come first. A piece without an outline is there by its name alone.
    """
    if pattern is None:
        return NOWHERE
    pieces = list(PatternPiece.objects.filter(pattern_id=pattern.pk).order_by("place", "id"))
    drawn = {
        row.piece_id: outline_from(row.drawing)
        for row in PieceOutline.objects.filter(piece__pattern_id=pattern.pk)
        .order_by("piece_id", "id")
        .distinct("piece_id")
    }
    seams = {piece.name: seam_names(drawn[piece.pk]) if piece.pk in drawn else () for piece in pieces}
    groups: list[tuple[str, tuple[Spot, ...]]] = []
    joined = _joined(pattern.kind, seams)
    if joined:
        groups.append(("Seams of two pieces", joined))
    for piece in pieces:
        own = (Spot(piece.name, ""), *(Spot(piece.name, seam) for seam in seams[piece.name]))
        groups.append((piece.name, own))
    return Spots(pattern.name, tuple(groups))


def _joined(kind: str, seams: dict[str, tuple[str, ...]]) -> tuple[Spot, ...]:
    """What a draft of this kind sews together, where both sides are drawn."""
    by_role = {role_of(name): name for name in seams}
    found = []
    for seam in SEAMS.get(kind, ()):
        sides = (*seam.first, *seam.second)
        if not all(role in by_role and edge in seams[by_role[role]] for role, edge, _ in sides):
            continue
        names = list(dict.fromkeys(by_role[role] for role, _, _ in sides))
        words = f"{', '.join(names[:-1])} and {names[-1]}"
        if len(words) <= LONGEST:
            found.append(Spot(words, seam.name.lower()))
    return tuple(found)
