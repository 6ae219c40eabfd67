"""Pages where outlines feed the size table: what they measure beside what is recorded, what a read-in piece measures
where, and a piece that is taken out.
"""

import re
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils.safestring import mark_safe

from fitting.calc.outline import outline_from
from fitting.figures.lay_strip import longest_side
from fitting.figures.piece_places import gauges_figure, numbered_figure
from fitting.queries.outline_measures import (
    OutlineMeasure,
    OutlineMeasures,
    fed_pieces,
    outline_measures,
    part_words,
    piece_to_name,
    recorded_words,
)
from fitting.services.outline_measures import remove_piece, say_gauges, take_measures
from fitting.web.lay_forms import GaugeForm
from studio.calc.units import format_length
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.web.base import HousePage

TALLEST_PX = 220.0


class OutlineMeasuresPage(HousePage):
    """Per measure, what the outlines give in one size beside what is recorded; and the button that takes over."""

    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest, pattern_id: UUID, troubles: tuple[str, ...] = ()) -> HttpResponse:
        found = outline_measures(self.actor, pattern_id)
        unit = self.actor.unit
        names = [size.name for size in found.grid.sizes]
        wanted = request.GET.get("size", "")
        size = next((one for one in found.grid.sizes if one.name == wanted), None) or next(
            (one for one in found.grid.sizes if found.grid.of_size(one.pk)), found.grid.sizes[0]
        )
        ticked = set(request.POST.getlist("chosen"))
        keeps = self.actor.may(Right.KEEP_PAPER) and not found.why_not
        return self.page(
            "fitting/lay/outline_measures.html",
            found=found,
            pattern=found.pattern,
            size=size,
            names=names,
            lines=[self._line(one, unit, ticked) for one in found.of_size(size.name)],
            others=_others(found),
            figures=_figures(found, size, unit),
            troubles=troubles,
            keeps=keeps,
            status=400 if troubles else 200,
        )

    def post(self, request: HttpRequest, pattern_id: UUID) -> HttpResponse:
        chosen = []
        found = outline_measures(self.actor, pattern_id)
        size = next((one for one in found.grid.sizes if one.name == request.GET.get("size", "")), None)
        every = "every" in request.POST
        for zone in request.POST.getlist("chosen"):
            for one in found.grid.sizes if every or size is None else [size]:
                chosen.append((zone, one.pk))
        try:
            count = self._take(pattern_id, chosen)
        except (Refused, Conflict) as exc:
            reasons = tuple(exc.reasons.values()) if isinstance(exc, Refused) else (str(exc),)
            return self.get(request, pattern_id, reasons)
        words = "1 measure is" if count == 1 else f"{count} measures are"
        return self.done(
            f"{words} taken over, measured from the outline.", "fitting:outline-measures", pattern_id
        )

    def _take(self, pattern_id: UUID, chosen: list[tuple[str, UUID]]) -> int:
        return take_measures(self.actor, pattern_id, chosen=chosen)

    @staticmethod
    def _line(one: OutlineMeasure, unit: str, ticked: set[str]) -> dict[str, Any]:
        difference = one.difference
        return {
            "one": one,
            "terms": [(part.piece.name, part.places, part_words(part, unit)) for part in one.parts],
            "total": "" if one.total is None else format_length(round(one.total, 4), unit),
            "recorded": recorded_words(one, unit),
            "difference": "" if difference is None else _signed(difference, unit),
            # What differs is taken over only by somebody who ticks it.
            "ticked": one.zone in ticked
            if ticked
            else one.total is not None and not one.is_taken and not one.differs,
        }


def _signed(mm: float, unit: str) -> str:
    """A difference with its sign; without one where it rounds to nothing."""
    words = format_length(round(abs(mm), 4), unit)
    if words == format_length(0, unit):
        return words
    return f"{'+' if mm > 0 else '−'}{words}"


def _others(found: OutlineMeasures) -> list[str]:
    """Sizes in which a measure differs or can't be used, in words: what one size's page would hide."""
    said = []
    for row in found.rows:
        off = [one.size.name for one in row if one.differs]
        if off:
            said.append(f"{row[0].name} differs from the record in size {', '.join(off)}.")
    return said


def _figures(found: OutlineMeasures, size: Any, unit: str) -> list[tuple[Any, Any, bool]]:
    """The pieces that are measured, with a line where; and whether somebody must still say it of one."""
    rows = found.grid.of_size(size.pk)
    outlines = {piece.pk: outline_from(row.drawing) for piece, row in rows}
    scale = TALLEST_PX / (longest_side(list(outlines.values())) or 1.0)
    zones = [row[0].zone for row in found.rows]
    return [
        (
            piece,
            mark_safe(  # noqa: S308 - drawn by us, its texts escaped
                gauges_figure(outlines[piece.pk], name=piece.name, unit=unit, scale=scale, zones=zones)
            ),
            row.source != "drafted",
        )
        for piece, row in rows
    ]


class PieceGauges(HousePage):
    """What the edges of a read-in piece are, and which measures it feeds."""

    right = Right.KEEP_PAPER

    def get(
        self, request: HttpRequest, pattern_id: UUID, piece_id: UUID, form: GaugeForm | None = None
    ) -> HttpResponse:
        asked = piece_to_name(self.actor, pattern_id, request.GET.get("size", ""), piece_id)
        unit = self.actor.unit
        scale = 420.0 / (longest_side([asked.outline]) or 1.0)
        return self.page(
            "fitting/lay/piece_gauges.html",
            asked=asked,
            form=form or GaugeForm(asked=asked, unit=unit),
            lengths=[format_length(round(one.long, 4), unit) for one in asked.stretches],
            figure=mark_safe(  # noqa: S308 - drawn by us, its texts escaped
                numbered_figure(asked.outline, name=asked.piece.name, unit=unit, scale=scale)
            ),
            size=request.GET.get("size", ""),
            pattern_id=pattern_id,
            status=400 if form else 200,
        )

    def post(self, request: HttpRequest, pattern_id: UUID, piece_id: UUID) -> HttpResponse:
        size = request.GET.get("size", "")
        asked = piece_to_name(self.actor, pattern_id, size, piece_id)
        form = GaugeForm(request.POST, asked=asked, unit=self.actor.unit)
        if form.is_valid():
            said = self.attempt(
                form,
                self._say,
                asked.row.pk,
                names=form.names(),
                feeds=form.feeds(),
                levels=form.levels(),
                every_size=form.cleaned_data["every_size"],
                expected_version=form.cleaned_data["version"],
                rows=form.level_rows(),
            )
            if said is not None:
                return self.done(
                    f"{asked.piece.name}: what it measures is kept.", "fitting:outline-measures", pattern_id
                )
        return self.get(request, pattern_id, piece_id, form)

    @staticmethod
    def _say(actor: Actor, outline_id: UUID, *, rows: list[int], **values: Any) -> Any:
        """The service; its reason for a level goes beside the row of the form that gave it."""
        try:
            return say_gauges(actor, outline_id, **values)
        except Refused as exc:
            raise Refused({_beside(field, rows): why for field, why in exc.reasons.items()}) from exc


def _beside(field: str, rows: list[int]) -> str:
    found = re.fullmatch(r"level-(\d+)", field)
    return f"at_{rows[int(found[1])]}" if found else field.replace("-", "_")


class RemovePiece(HousePage):
    """Asks once more, then takes a piece with its outlines out of a pattern."""

    right = Right.KEEP_PAPER

    def get(self, request: HttpRequest, pattern_id: UUID, piece_id: UUID) -> HttpResponse:
        found = outline_measures(self.actor, pattern_id)
        piece = next((one for one, _ in found.grid.rows if one.pk == piece_id), None)
        if piece is None:
            raise NotHere("piece of this pattern")
        return self.page(
            "fitting/lay/remove_piece.html",
            pattern=found.pattern,
            piece=piece,
            count=sum(row is not None for one, rows in found.grid.rows if one.pk == piece_id for row in rows),
            rests=piece_id in fed_pieces(pattern_id),
        )

    def post(self, request: HttpRequest, pattern_id: UUID, piece_id: UUID) -> HttpResponse:
        name = remove_piece(self.actor, pattern_id, piece_id)
        return self.done(f"{name} is taken out of the pattern.", "fitting:outlines", pattern_id)
