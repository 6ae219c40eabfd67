"""Reading outlines: which piece has one in which size, what they measure, whether their seams walk."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from fitting.calc.drafts import DRAFTED_KINDS, SEAMS, seam_edges
from fitting.calc.exchange import Doubt, Reading, open_doubts
from fitting.calc.exchange_dxf import read_dxf
from fitting.calc.exchange_svg import read_svg
from fitting.calc.outline import Outline, end_of, outline_from, width_at
from fitting.calc.walk import Walk, walk
from fitting.models import OutlineFile, Pattern, PatternPiece, PatternSize, PieceOutline
from studio.calc.units import format_length
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right
from studio.platform.services.files import read_file


@dataclass(frozen=True)
class OutlineGrid:
    """A pattern's pieces down and sizes across: the outline of each, or None."""

    pattern: Pattern
    sizes: tuple[PatternSize, ...]
    rows: tuple[tuple[PatternPiece, tuple[PieceOutline | None, ...]], ...]

    @property
    def any(self) -> bool:
        return any(outline for _, outlines in self.rows for outline in outlines)

    def of_size(self, size_id: UUID) -> list[tuple[PatternPiece, PieceOutline]]:
        """The pieces that have an outline in this size, in the pattern's order."""
        place = next((i for i, size in enumerate(self.sizes) if size.pk == size_id), None)
        if place is None:
            return []
        return [(piece, row) for piece, outlines in self.rows if (row := outlines[place]) is not None]


@dataclass(frozen=True)
class SeamWalk:
    """A seam of a draft and what came of walking it."""

    name: str
    walk: Walk


def outline_grid(actor: Actor, pattern_id: UUID) -> OutlineGrid:
    """Every outline of a pattern; four queries. Raises NotHere."""
    return outline_grids(actor, [pattern_id])[pattern_id]


def outline_grids(actor: Actor, pattern_ids: Sequence[UUID]) -> dict[UUID, OutlineGrid]:
    """The same for several patterns; four queries. Raises NotHere if one is not of this studio."""
    actor.need(Right.READ_PAPER)
    patterns = Pattern.objects.filter(pk__in=list(pattern_ids)).prefetch_related(
        Prefetch("sizes", PatternSize.objects.order_by("place")),
        Prefetch("pieces", PatternPiece.objects.order_by("place", "id")),
    )
    by_piece: dict[UUID, dict[UUID, PieceOutline]] = {}
    for row in PieceOutline.objects.filter(piece__pattern_id__in=list(pattern_ids)).order_by("id"):
        by_piece.setdefault(row.piece_id, {})[row.size_id] = row
    found = {}
    for pattern in patterns:
        sizes = tuple(pattern.sizes.all())
        rows = []
        for piece in pattern.pieces.all():
            by_size = by_piece.get(piece.pk, {})
            rows.append((piece, tuple(by_size.get(size.pk) for size in sizes)))
        found[pattern.pk] = OutlineGrid(pattern, sizes, tuple(rows))
    if set(found) != set(pattern_ids):
        raise NotHere("pattern")
    return found


def outline_rows(actor: Actor, pattern_id: UUID) -> list[PieceOutline]:
    """Every outline of a pattern, by size and piece; two queries. Raises NotHere."""
    actor.need(Right.READ_PAPER)
    if not Pattern.objects.filter(pk=pattern_id).exists():
        raise NotHere("pattern")
    rows = PieceOutline.objects.filter(piece__pattern_id=pattern_id).select_related("piece", "size")
    return list(rows.order_by("size__place", "piece__place", "id"))


def may_be_drafted(pattern: Pattern) -> str:
    """Why no draft can be made of a pattern, in one sentence; "" where one can."""
    if pattern.kind not in DRAFTED_KINDS:
        return f"There is no draft for a {pattern.get_kind_display().lower()}; give a drawing of its pieces."
    if pattern.basis != Pattern.Basis.FINISHED:
        return (
            "The size table is the body chart that the pattern was drawn for; a draft needs finished measures. "
            "Give a drawing of its pieces."
        )
    return ""


def walks_of(kind: str, outlines: Mapping[str, Outline], unit: str) -> list[SeamWalk]:
    """The seams of a drafted garment, walked; those whose edges are not named are left out."""
    found = []
    by_role = {role_of(name): outline for name, outline in outlines.items()}
    for seam in SEAMS.get(kind, ()):
        try:
            first, second = seam_edges(by_role, seam.first), seam_edges(by_role, seam.second)
        except ValueError:
            continue
        walked = walk(
            first,
            second,
            ease_least=seam.ease_least,
            ease_most=seam.ease_most,
            say=lambda mm: format_length(mm, unit),
        )
        found.append(SeamWalk(seam.name, walked))
    return found


def seams_of_size(actor: Actor, pattern_id: UUID, size_name: str) -> list[SeamWalk]:
    """The seams of one size of a pattern's outlines, walked; four queries. Raises NotHere."""
    grid = outline_grid(actor, pattern_id)
    size = next((one for one in grid.sizes if one.name == size_name), None)
    rows = grid.of_size(size.pk) if size else []
    return walks_of(grid.pattern.kind, drawn(rows), actor.unit)


def seams_that_part(actor: Actor, pattern_id: UUID) -> list[dict[str, str]]:
    """The seams of a pattern's outlines that do not walk, {"size", "words"} each, small to large; four queries."""
    grid = outline_grid(actor, pattern_id)
    return [
        {"size": size.name, "words": f"{one.name}, size {size.name}: {one.walk.words}"}
        for size in grid.sizes
        for one in walks_of(grid.pattern.kind, drawn(grid.of_size(size.pk)), actor.unit)
        if not one.walk.is_good
    ]


def role_of(name: str) -> str:
    """What a piece is in its garment: the first word of its name. "Front, on the fold" is a "Front"."""
    return (re.split(r"[^\w]+", name.strip(), maxsplit=1)[0] or name).capitalize()


def drawn(rows: Sequence[tuple[PatternPiece, PieceOutline]]) -> dict[str, Outline]:
    """Piece name to outline."""
    return {piece.name: outline_from(row.drawing) for piece, row in rows}


@dataclass(frozen=True)
class Across:
    """One piece at a level, mm: its width between the seam lines, what darts take there, how often it goes in."""

    piece: str
    width: float
    intake: float
    times: int

    @property
    def gives(self) -> float:
        return self.times * (self.width - self.intake)


def across(
    rows: Sequence[tuple[PatternPiece, PieceOutline]], *, level: float, from_foot: bool
) -> tuple[list[Across], list[str]]:
    """Every piece across its grain, `level` mm from its top, or from its foot; and which do not reach there."""
    found, beyond = [], []
    for piece, row in rows:
        outline = outline_from(row.drawing)
        try:
            origin = end_of(outline, foot=from_foot, who=piece.name)
            one = width_at(outline, -level if from_foot else level, origin, piece.name)
        except ValueError:
            beyond.append(piece.name)
            continue
        times = piece.cut * 2 if outline.fold else piece.cut
        found.append(Across(piece.name, one.width, sum(one.intakes), times))
    return found, beyond


@dataclass(frozen=True)
class OpenFile:
    """A given drawing: what it holds, the answers so far, and the questions that are still open."""

    row: OutlineFile
    reading: Reading
    still: tuple[Doubt, ...]


def outline_files(actor: Actor, pattern_id: UUID) -> "QuerySet[OutlineFile]":
    """The drawings given for a pattern that are not used yet, newest first; one query."""
    actor.need(Right.READ_PAPER)
    return (
        OutlineFile.objects.filter(pattern_id=pattern_id, used_at=None)
        .select_related("file", "added_by")
        .order_by("-id")
    )


def outline_file_get(actor: Actor, file_id: UUID) -> OpenFile:
    """A given drawing, read again from its bytes; one query. Raises NotHere."""
    actor.need(Right.READ_PAPER)
    row = OutlineFile.objects.filter(pk=file_id).select_related("file", "pattern").first()
    if row is None:
        raise NotHere("drawing")
    found = read_drawing(row.kind, read_file(row.file))
    return OpenFile(row, found, open_doubts(found, row.answers))


def read_drawing(kind: str, data: bytes) -> Reading:
    """Raises ValueError."""
    return read_dxf(data) if kind == "dxf" else read_svg(data)
