"""Outlines of the school's paper, and a lay on its twill."""

from uuid import UUID

from fitting.queries.outlines import may_be_drafted, outline_grids
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
