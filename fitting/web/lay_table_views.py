"""Pages at the table: the lay by hand, and the grain of a pinned piece."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from fitting.calc.lay_rules import GRAIN_TOLERANCE_DEG, turns_allowed, why_turns
from fitting.queries.lays import LayView, grain_history, is_searching, lay_view, placements_of
from fitting.services.lay_table import check_grain
from fitting.services.lays import change_grain, lay_by_hand
from fitting.web.lay_forms import GrainChangeForm, GrainCheckForm, HandForm
from fitting.web.lay_views import lay_drawing
from seamlab.queries.laboratory import lab_reading
from studio.platform.errors import Conflict, NotHere
from studio.platform.rights import Right
from studio.platform.web.base import HousePage

ROOM_MM = 600.0  # of cloth beyond the lay's end, to move pieces to


class ByHand(HousePage):
    """Pieces moved on the cloth by pointer or keyboard; the server checks what is kept."""

    right = Right.KEEP_PAPER

    def get(self, request: HttpRequest, lay_id: UUID, form: HandForm | None = None) -> HttpResponse:
        view = lay_view(self.actor, lay_id)
        drawing = view.chosen or view.one_way
        if drawing is None:
            raise Conflict("There is no lay to start from yet; wait for the search.")
        after = ROOM_MM
        if view.lay.most_length_mm is not None:
            after = max(0.0, float(view.lay.most_length_mm) - float(drawing.length_mm))
        return self.page(
            "fitting/lay/by_hand.html",
            view=view,
            lay=view.lay,
            figure=lay_drawing(view, drawing, self.actor.unit, after=after),
            board=_board(view, drawing, self.actor.unit),
            form=form or HandForm(initial={"version": view.lay.version}),
            status=400 if form else 200,
        )

    def post(self, request: HttpRequest, lay_id: UUID) -> HttpResponse:
        form = HandForm(request.POST)
        if form.is_valid():
            kept = self.attempt(
                form,
                lay_by_hand,
                lay_id,
                placements=form.cleaned_data["placements"],
                expected_version=form.cleaned_data["version"],
            )
            if kept is not None:
                return self.done(
                    "Your lay keeps every rule and is the one that is cut.", "fitting:lay", lay_id
                )
        return self.get(request, lay_id, form)


class Grain(HousePage):
    """One pinned piece: two tape readings, what they make, and a grain change with its reason."""

    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest, lay_id: UUID, key: str, copy: int, **forms: Any) -> HttpResponse:
        view = lay_view(self.actor, lay_id)
        piece = next((one for one in view.pieces if one.key == key), None)
        if piece is None:
            raise NotHere("piece of this lay")
        checks, changes = grain_history(self.actor, lay_id, key)
        reading = lab_reading(self.actor, view.lay.cloth)
        newest = next((row for row in checks if row.copy == copy), None)
        return self.page(
            "fitting/lay/grain.html",
            view=view,
            lay=view.lay,
            piece=piece,
            copy=copy,
            several=int(piece.count + piece.mirrored) > 1,
            newest=newest,
            checks=[row for row in checks if row.copy == copy],
            changes=changes,
            why=why_turns(piece, view.lay.direction),
            tolerance=GRAIN_TOLERANCE_DEG,
            cloth_does=_off_grain(view, reading),
            check_form=forms.get("check") or GrainCheckForm(unit=self.actor.unit),
            change_form=forms.get("change") or GrainChangeForm(),
            may_keep=self.actor.may(Right.KEEP_PAPER),
            searching=is_searching(view.lay),
            status=400 if forms else 200,
        )

    def post(self, request: HttpRequest, lay_id: UUID, key: str, copy: int) -> HttpResponse:
        if "change" in request.POST:
            change = GrainChangeForm(request.POST)
            if change.is_valid():
                made = self.attempt(change, change_grain, lay_id, key=key, **change.cleaned_data)
                if made is not None:
                    return self.done(
                        "The grain change is recorded with your name; the lay is searched again.",
                        "fitting:lay",
                        lay_id,
                    )
            return self.get(request, lay_id, key, copy, change=change)
        form = GrainCheckForm(request.POST, unit=self.actor.unit)
        if form.is_valid():
            row = self.attempt(form, check_grain, lay_id, key=key, copy=copy, **form.cleaned_data)
            if row is not None:
                if row.within:
                    return self.done("On grain.", "fitting:grain", lay_id, key, copy)
                messages.warning(request, "Off grain: pin it anew and check again.")
                return redirect("fitting:grain", lay_id, key, copy)
        return self.get(request, lay_id, key, copy, check=form)


def _off_grain(view: LayView, reading: Any) -> list[str]:
    """What being off grain does to this cloth, from its own figures where they are known."""
    if reading.around:
        by_angle = {round(row.angle_deg): row for row in reading.around}
        lengthwise, bias = by_angle.get(0), by_angle.get(45)
        few = by_angle.get(5)
        sentences = []
        if lengthwise and few:
            sentences.append(
                f"By its laboratory figures a strip of this cloth gives {lengthwise.give_percent:.1f} % along the "
                f"grain and {few.give_percent:.1f} % five degrees off it."
            )
        if bias:
            sentences.append(f"On the bias it gives {bias.give_percent:.1f} %.")
        return sentences
    if view.lay.cloth.structure == "knit":
        return [
            "A knit that is cut off its wale line twists round the body after the first wash (common practice, no "
            "source)."
        ]
    return [
        "Off its grain a woven cloth is softer and gets longer there, so a hem drops and a leg twists (common "
        "practice, no source). With a laboratory's figures on the cloth this page says how much."
    ]


def _board(view: LayView, drawing: Any, unit: str) -> dict[str, Any]:
    """What the page's script needs: shapes as they are cut, where each lies, how it may be turned."""
    pieces = {}
    for piece in view.pieces:
        ring = piece.shape if view.lay.folded else piece.whole
        on_fold = view.lay.folded and piece.fold is not None
        turns = (0.0,) if on_fold else turns_allowed(piece, view.lay.direction)
        pieces[piece.key] = {
            "name": piece.name,
            "shape": [[round(x, 2), round(y, 2)] for x, y in ring],
            "turns": list(turns),
            "onFold": on_fold,
        }
    return {
        "pieces": pieces,
        "placements": [
            {"key": one.key, "mirrored": one.mirrored, "x": one.x, "y": one.y, "turn": one.turn}
            for one in placements_of(drawing)
        ],
        "width": view.cloth.strip,
        "most": None if view.lay.most_length_mm is None else float(view.lay.most_length_mm),
        "unit": unit,
        "why": view.why,
    }
