"""Keeping outlines: drafted from the size table, or read from a drawing once its questions are answered."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from fitting.calc.drafts import draft
from fitting.calc.exchange import settled
from fitting.calc.outline import Outline, outline_data
from fitting.models import OutlineFile, Pattern, PatternPiece, PatternSize, PieceOutline
from fitting.queries.outlines import may_be_drafted, outline_file_get, outline_grid, read_drawing, role_of
from fitting.queries.patterns import measures_of, pattern_get
from fitting.services.pattern_pieces import MOST_PIECES
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import store_file
from studio.platform.services.saving import lock_for_edit, save_new

KINDS = {"svg": ("svg", "image/svg+xml"), "dxf": ("dxf", "image/vnd.dxf")}


@dataclass(frozen=True)
class OutlineGiven:
    """One piece in one size: how often it is cut, and its outline."""

    piece: str
    size_id: UUID
    cut: int
    outline: Outline


def draft_outlines(actor: Actor, pattern_id: UUID, *, length_mm: Decimal | None = None) -> int:
    """Draft the pieces of a pattern in every size from its size table; returns how many outlines there are now.

    `length_mm` is the finished length where the table has none (a skirt's). Outlines that were there are drawn anew.
    Raises NotHere, and Refused where the pattern or its measures give no draft; then nothing is kept.
    """
    actor.need(Right.KEEP_PAPER)
    pattern = pattern_get(actor, pattern_id)
    why = may_be_drafted(pattern)
    if why:
        raise Refused({"": why})
    if length_mm is not None and not Decimal(100) <= length_mm <= Decimal(1600):
        raise Refused({"length_mm": "The length must lie between 10 cm and 160 cm."})
    more = {} if length_mm is None else {"skirt_length": float(length_mm)}
    given = []
    sizes = {size.name: size.pk for size in pattern.sizes.all()}
    for name, measures in measures_of(pattern).items():
        try:
            pieces = draft(pattern.kind, measures | more, seam_allowance=float(pattern.seam_allowance_mm))
        except ValueError as exc:
            raise Refused({"": f"Size {name}: {exc}"}) from exc
        given += [
            OutlineGiven(_named_like(pattern, one.name), sizes[name], one.cut, one.outline) for one in pieces
        ]
    _keep(actor, pattern, given, PieceOutline.Source.DRAFTED)
    record_act(actor, "draft_outlines", pattern, outlines=len(given))
    return len(given)


def take_drawing(actor: Actor, pattern_id: UUID, *, name: str, data: bytes) -> OutlineFile:
    """Take a drawing of a pattern's pieces (SVG or DXF) with its questions; no piece is used yet.

    Raises NotHere, and Refused (``file``) where it can't be read.
    """
    actor.need(Right.KEEP_PAPER)
    if not Pattern.objects.filter(pk=pattern_id).exists():
        raise NotHere("pattern")
    ending = name.rpartition(".")[2].lower()
    if ending not in KINDS:
        raise Refused({"file": "Give an SVG drawing (.svg) or a DXF for garment pieces (.dxf)."})
    kind, media_type = KINDS[ending]
    try:
        found = read_drawing(kind, data)
    except ValueError as exc:
        raise Refused({"file": str(exc)}) from exc
    row = save_new(
        OutlineFile(
            pattern_id=pattern_id,
            file=store_file(data, name=name[-160:], media_type=media_type),
            kind=kind,
            added_by_id=actor.member_id,
        )
    )
    record_act(actor, "take_drawing", row, pattern=str(pattern_id), pieces=len(found.pieces))
    return row


def answer_drawing(
    actor: Actor, file_id: UUID, *, answers: Mapping[str, str], expected_version: int | None = None
) -> OutlineFile:
    """Answer questions about a drawing; earlier answers to the same question are replaced.

    Raises NotHere, Stale, Conflict (used already), Refused naming the question whose answer is not among its own.
    """
    actor.need(Right.KEEP_PAPER)
    row = _open_file(file_id, expected_version)
    doubts = {doubt.code: doubt for doubt in outline_file_get(actor, file_id).reading.doubts}
    reasons = {}
    for code, answer in answers.items():
        if code not in doubts:
            reasons[code] = "This drawing has no such question."
        elif answer not in {choice for choice, _ in doubts[code].choices}:
            reasons[code] = f"Choose one of the answers. {doubts[code].words}"
    if reasons:
        raise Refused(reasons)
    row.answers = {**row.answers, **answers}
    row.version += 1
    row.save()
    return row


def use_drawing(
    actor: Actor, file_id: UUID, *, size_id: UUID, expected_version: int | None = None
) -> list[PieceOutline]:
    """Make the pieces of a drawing outlines of its pattern.

    A piece goes to the size that the drawing names, else to `size_id`. Raises NotHere, Stale, Conflict (used
    already), and Refused while a question is open or a piece can't be used; then nothing is kept.
    """
    actor.need(Right.KEEP_PAPER)
    row = _open_file(file_id, expected_version)
    opened = outline_file_get(actor, file_id)
    pattern = pattern_get(actor, row.pattern_id)
    sizes = {size.name.lower(): size for size in pattern.sizes.all()}
    if size_id not in {size.pk for size in sizes.values()}:
        raise Refused({"size": "Choose a size of this pattern."})
    try:
        ready = settled(opened.reading, row.answers)
    except ValueError as exc:
        raise Refused({"answers": str(exc)}) from exc
    given = []
    for piece in ready:
        size = sizes.get(piece.size.lower())
        given.append(OutlineGiven(piece.name, size.pk if size else size_id, piece.cut, piece.outline))
    twice = {(one.piece.lower(), one.size_id) for one in given}
    if len(twice) != len(given):
        raise Refused({"answers": "Two pieces of the drawing have the same name in one size; leave one out."})
    kept = _keep(actor, pattern, given, PieceOutline.Source(row.kind))
    row.used_at = timezone.now()
    row.version += 1
    row.save()
    record_act(actor, "use_drawing", row, pattern=str(pattern.pk), outlines=len(kept))
    return kept


def _named_like(pattern: Pattern, role: str) -> str:
    """The pattern's own name of a drafted piece: where exactly one of its pieces is a "Front", that is it."""
    same = [piece.name for piece in pattern.pieces.all() if role_of(piece.name) == role]
    return same[0] if len(same) == 1 else role


def _open_file(file_id: UUID, expected_version: int | None) -> OutlineFile:
    row = lock_for_edit(OutlineFile, file_id, expected_version)
    if row.used_at is not None:
        raise Conflict("The pieces of this drawing are outlines of the pattern already.")
    return row


def _keep(
    actor: Actor, pattern: Pattern, given: list[OutlineGiven], source: PieceOutline.Source
) -> list[PieceOutline]:
    """Store outlines; pieces that the pattern lacks are added to it."""
    Pattern.objects.select_for_update(no_key=True, of=("self",)).get(pk=pattern.pk)
    grid = outline_grid(actor, pattern.pk)
    pieces = {piece.name.lower(): piece for piece, _ in grid.rows}
    there = {(row.piece_id, row.size_id): row for _, rows in grid.rows for row in rows if row is not None}
    sizes: dict[UUID, PatternSize] = {size.pk: size for size in grid.sizes}
    kept = []
    for one in given:
        name = " ".join(one.piece.split())[:60]
        piece = pieces.get(name.lower())
        if piece is None:
            if len(pieces) >= MOST_PIECES:
                raise Refused({"": f"A pattern has at most {MOST_PIECES} pieces."})
            piece = PatternPiece.objects.create(
                pattern=pattern,
                name=name,
                place=max((row.place for row in pieces.values()), default=0) + 1,
                cut=one.cut,
                on_fold=one.outline.fold is not None,
            )
            pieces[name.lower()] = piece
        elif (piece.cut, piece.on_fold) != (one.cut, one.outline.fold is not None):
            how = "on the fold" if piece.on_fold else "not on the fold"
            raise Refused(
                {
                    "": f"The pattern cuts {piece.name} {piece.cut} times, {how}; the drawing says otherwise. "
                    "Put one of the two right first."
                }
            )
        row = there.get((piece.pk, one.size_id))
        if row is None:
            row = PieceOutline(piece=piece, size=sizes[one.size_id])
        else:
            row.version += 1
        row.drawing, row.source, row.recorded_by_id = (
            outline_data(one.outline),
            source.value,
            actor.member_id,
        )
        row.save()
        kept.append(row)
    return kept
