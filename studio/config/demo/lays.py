"""Outlines of the school's paper, and a lay on its twill."""

from decimal import Decimal
from uuid import UUID

from fitting.queries.garment_lays import lay_start
from fitting.queries.outlines import may_be_drafted, outline_grids
from fitting.services.lay_table import check_grain
from fitting.services.lays import LineGiven, ask_lay
from fitting.services.outlines import draft_outlines
from studio.platform.rights import Actor

SIZE = "40"


def lay_out(instructor: Actor, *, papers: dict[str, UUID], cloth: UUID, pattern: str) -> None:
    """Draft what can be drafted in every size, and ask for a lay of one pattern on a cloth."""
    for grid in outline_grids(instructor, list(papers.values())).values():
        if not may_be_drafted(grid.pattern):
            draft_outlines(instructor, grid.pattern.pk)
    grid = outline_grids(instructor, [papers[pattern]])[papers[pattern]]
    size = next(size for size in grid.sizes if size.name == SIZE)
    ask_lay(
        instructor,
        cloth_id=cloth,
        lines=[LineGiven(papers[pattern], size.pk)],
        washed_first=True,
        seconds=5,
    )


def lay_garment(instructor: Actor, garment_id: UUID) -> None:
    """Lay a planned garment on its cloth, and tape the grain of every piece: two readings a millimetre apart."""
    start = lay_start(instructor, garment_id)
    cloth_id = start.garment.cloth_id
    assert start.size is not None and cloth_id is not None  # noqa: PT018
    lay = ask_lay(
        instructor,
        cloth_id=cloth_id,
        lines=[LineGiven(start.size.pattern_id, start.size.pk, garment_id=garment_id)],
        seconds=5,
    )
    for piece in lay.pieces:
        for copy in range(1, int(piece["cut"]) + 1):
            check_grain(
                instructor,
                lay.pk,
                key=piece["key"],
                copy=copy,
                distance_a_mm=Decimal(181),
                distance_b_mm=Decimal(180),
                line_mm=Decimal(350),
            )
