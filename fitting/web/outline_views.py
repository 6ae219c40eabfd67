"""Pages of outlines: every piece in every size, its seams walked; drawings and their questions."""

from typing import Any
from uuid import UUID

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.utils.safestring import mark_safe

from fitting.calc.exchange import LEAVE_OUT, MOST_BYTES
from fitting.figures.lay_strip import longest_side, piece_figure, raw_figure
from fitting.queries.outlines import (
    OutlineGrid,
    across,
    drawn,
    may_be_drafted,
    outline_file_get,
    outline_files,
    outline_grid,
    walks_of,
)
from fitting.services.outlines import answer_drawing, draft_outlines, take_drawing, use_drawing
from fitting.web.lay_forms import AcrossForm, DraftForm, DrawingForm
from studio.calc.units import format_length
from studio.platform.errors import Conflict, Refused, Stale
from studio.platform.rights import Right
from studio.platform.web.base import HousePage

TALLEST_PX = 300.0  # of the longest piece on the page; the others at the same scale
TOO_LARGE = f"The file is larger than {MOST_BYTES // 1_000_000} MB; save the pieces alone."


class Outlines(HousePage):
    """A pattern's outlines, one size at a time."""

    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest, pattern_id: UUID, **forms: Any) -> HttpResponse:
        grid = outline_grid(self.actor, pattern_id)
        unit = self.actor.unit
        size = _size(grid, request.GET.get("size", ""))
        rows = grid.of_size(size.pk) if size else []
        keeps = self.actor.may(Right.KEEP_PAPER)
        why_not = may_be_drafted(grid.pattern)
        asks_length = grid.pattern.kind == "skirt"
        draft = forms.get("draft") or DraftForm(unit=unit)
        outlines = drawn(rows)
        scale = TALLEST_PX / (longest_side(list(outlines.values())) or 1.0)
        names = [piece.name for piece, _ in rows]
        asked = AcrossForm(request.GET if "level" in request.GET else None, names=names, unit=unit)
        found = _across(rows, asked, unit) if asked.is_valid() else None
        return self.page(
            "fitting/lay/outlines.html",
            across_form=asked,
            across=found,
            grid=grid,
            size=size,
            pieces=[
                (
                    piece,
                    row,
                    mark_safe(  # noqa: S308 - drawn by us, its texts escaped
                        piece_figure(outlines[piece.name], name=piece.name, unit=unit, scale=scale)
                    ),
                )
                for piece, row in rows
            ],
            lacking=[piece.name for piece, _ in grid.rows if piece.pk not in {one.pk for one, _ in rows}],
            walks=walks_of(grid.pattern.kind, outlines, unit),
            files=list(outline_files(self.actor, pattern_id)),
            draft_form=draft if keeps and not why_not else None,
            asks_length=asks_length,
            why_not=why_not,
            drawing_form=forms.get("drawing") or DrawingForm(),
            keeps=keeps,
            status=400 if forms else 200,
        )

    def post(self, request: HttpRequest, pattern_id: UUID) -> HttpResponse:
        if "draft" in request.POST:
            form = DraftForm(request.POST, unit=self.actor.unit)
            if form.is_valid():
                made = self.attempt(
                    form, draft_outlines, pattern_id, length_mm=form.cleaned_data["length_mm"]
                )
                if made is not None:
                    return self.done(f"{made} outlines are drafted.", "fitting:outlines", pattern_id)
            return self.get(request, pattern_id, draft=form)
        drawing = DrawingForm(request.POST, request.FILES)
        if drawing.is_valid():
            file = drawing.cleaned_data["file"]
            if file.size > MOST_BYTES:
                drawing.add_error("file", TOO_LARGE)
            else:
                row = self.attempt(drawing, take_drawing, pattern_id, name=file.name, data=file.read())
                if row is not None:
                    return self.done("The drawing is read.", "fitting:outline-file", row.pk)
        return self.get(request, pattern_id, drawing=drawing)


class DrawingPage(HousePage):
    """A given drawing: its pieces, its questions, and the button that uses it."""

    right = Right.KEEP_PAPER

    def get(
        self, request: HttpRequest, file_id: UUID, troubles: tuple[str, ...] = (), size: str = ""
    ) -> HttpResponse:
        opened = outline_file_get(self.actor, file_id)
        grid = outline_grid(self.actor, opened.row.pattern_id)
        answers = opened.row.answers
        left_out = {
            code.partition(":")[2]
            for code, answer in answers.items()
            if answer == LEAVE_OUT and not code.startswith("layer:")
        }
        pieces = [
            {
                "number": number,
                "piece": piece,
                "figure": mark_safe(raw_figure(piece)),  # noqa: S308 - drawn by us
                "left_out": str(number) in left_out,
                "doubts": [
                    (doubt, answers.get(doubt.code, ""))
                    for doubt in opened.reading.doubts
                    if doubt.piece and doubt.code.partition(":")[2] == str(number)
                ],
            }
            for number, piece in enumerate(opened.reading.pieces)
        ]
        return self.page(
            "fitting/lay/drawing.html",
            opened=opened,
            grid=grid,
            pieces=pieces,
            whole=[
                (doubt, answers.get(doubt.code, "")) for doubt in opened.reading.doubts if not doubt.piece
            ],
            states_size=all(piece.size for piece in opened.reading.pieces),
            troubles=troubles,
            chosen=size,
            status=400 if troubles else 200,
        )

    def post(self, request: HttpRequest, file_id: UUID) -> HttpResponse:
        opened = outline_file_get(self.actor, file_id)
        answers = {
            doubt.code: request.POST[f"doubt-{doubt.code}"]
            for doubt in opened.reading.doubts
            if request.POST.get(f"doubt-{doubt.code}")
        }
        size = request.POST.get("size", "")
        try:
            answer_drawing(self.actor, file_id, answers=answers)
            if "use" not in request.POST:
                return self.done("The answers are kept.", "fitting:outline-file", file_id)
        except (Refused, Conflict, Stale) as exc:
            return self.get(request, file_id, (str(exc),), size)
        kept = self._use(file_id, size)
        if isinstance(kept, str):
            return self._kept_answers(request, file_id, kept, size)
        words = "1 piece is an outline" if len(kept) == 1 else f"{len(kept)} pieces are outlines"
        return self.done(f"{words} of the pattern now.", "fitting:outlines", opened.row.pattern_id)

    def _use(self, file_id: UUID, size: str) -> Any:
        """The outlines, or why not; a refusal leaves the answers standing."""
        try:
            with transaction.atomic():
                return use_drawing(self.actor, file_id, size_id=UUID(size))
        except ValueError:
            return "Choose the size that the drawing is of."
        except (Refused, Conflict, Stale) as exc:
            return str(exc)

    def _kept_answers(self, request: HttpRequest, file_id: UUID, why: str, size: str) -> HttpResponse:
        """The page again, with the answers kept: it is no error page, so nothing is rolled back."""
        response = self.get(request, file_id, (why,), size)
        response.status_code = 200
        return response


def _across(rows: Any, form: AcrossForm, unit: str) -> dict[str, Any]:
    """What the pieces measure at the level that was asked for, in words."""
    chosen = [(piece, row) for piece, row in rows if piece.name in form.cleaned_data["pieces"]]
    lines, beyond = across(
        chosen, level=float(form.cleaned_data["level"]), from_foot=form.cleaned_data["end"] == "foot"
    )
    return {
        "lines": [
            (
                one.piece,
                f"{one.times} × {format_length(one.width, unit)}"
                + (f" less {format_length(one.intake, unit)} of darts" if one.intake else ""),
                format_length(one.gives, unit),
            )
            for one in lines
        ],
        "total": format_length(sum(one.gives for one in lines), unit),
        "beyond": beyond,
    }


def _size(grid: OutlineGrid, wanted: str) -> Any:
    """The size asked for by name, else the first that has an outline, else the first."""
    named = next((size for size in grid.sizes if size.name == wanted), None)
    return (
        named
        or next((size for size in grid.sizes if grid.of_size(size.pk)), None)
        or next(iter(grid.sizes), None)
    )
