"""What the page of a try-on draws: the figure of each view with its places to tap and its notes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from fitting.figures.try_on import VIEW_WORDS, Mark, regions, share, try_on_figure
from fitting.queries.fittings import PLACES, NoteView


@dataclass(frozen=True)
class MarkedNote:
    """A note with its number on the figure; ``mark`` is None where it lies in no view."""

    number: int
    note: NoteView
    mark: Mark | None
    view: str


def marked(notes: Sequence[NoteView], kind: str, *, build: str = "adult") -> list[MarkedNote]:
    """Notes numbered as they stand; one that was not tapped lies at the middle of its place, where that can be seen."""
    return [_marked(number, note, kind, build) for number, note in enumerate(notes, start=1)]


def _marked(number: int, note: NoteView, kind: str, build: str) -> MarkedNote:
    view, x, y = note.view, note.mark_x, note.mark_y
    spot = (float(x), float(y)) if x is not None and y is not None else None
    if spot is None:
        view, spot = _usual(note, kind, build)
    if spot is None:
        return MarkedNote(number, note, None, "")
    mark = Mark(number, *spot, words=f"{note.where}: {note.seen}", open=note.is_open, href=f"#note-{note.id}")
    return MarkedNote(number, note, mark, view)


def _usual(note: NoteView, kind: str, build: str) -> tuple[str, tuple[float, float] | None]:
    for view in [note.view] if note.view else VIEW_WORDS:
        for region in regions(view, kind, PLACES, build=build):
            if region.place == note.place and (note.side in ("both", region.side) or region.side == "both"):
                return view, share(view, region.x, region.y)
    return "", None


@dataclass(frozen=True)
class View:
    """One drawing of the page."""

    code: str
    words: str
    figure: str
    notes: int


def views(
    notes: Sequence[MarkedNote],
    kind: str,
    *,
    build: str = "adult",
    link: Callable[[str, str, str, float, float], str] | None = None,
    chosen: str = "",
) -> list[View]:
    """The three views. ``link(view, place, side, x, y)`` gives where a place leads; without it none can be tapped."""
    found = []
    for code, words in VIEW_WORDS.items():
        marks = [note.mark for note in notes if note.mark is not None and note.view == code]
        places = []
        if link is not None:
            for region in regions(code, kind, PLACES, build=build):
                x, y = share(code, region.x, region.y)
                places.append(replace(region, href=link(code, region.place, region.side, x, y)))
        figure = try_on_figure(code, places, marks, build=build, chosen=chosen)
        found.append(View(code, words, figure, len(marks)))
    return found
