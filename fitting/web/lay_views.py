"""Pages of lays: the list, a new one, one with its drawings, choosing, searching again, printing."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.safestring import SafeString, mark_safe

from fitting.calc.lay_rules import TWO_WAY
from fitting.figures.lay_strip import Lying, lying, strip_figure
from fitting.queries.garment_lays import garments_in, laid_anew, lay_start, offers_of, paper_altered
from fitting.queries.lay_sheets import lay_sheet_file, lay_sheets_of
from fitting.queries.lays import (
    LayView,
    is_searching,
    lay_list,
    lay_view,
    layable,
    placements_of,
    remnant_list,
    say_long,
)
from fitting.services.lay_cloth import cut_for_lay, lay_on_remnant
from fitting.services.lay_sheets import ask_lay_sheet
from fitting.services.lay_table import drop_remnant, keep_remnant
from fitting.services.lays import ask_lay, choose_drawing, search_again
from fitting.web.base import FittingPage
from fitting.web.lay_forms import LINE_ROWS, SEARCHES, LayForm, RemnantForm
from seamlab.queries.cloth import cloth_list
from studio.calc.units import format_length
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.jobs import cancel_job
from studio.platform.web.base import HousePage
from studio.platform.web.files import file_answer

PER_PAGE = 40
ON_PAGE_MM = 30.0  # the size of the words in a lay, mm of cloth for a lay of about 1.5 m


class Lays(HousePage):
    rights = {"GET": Right.READ_PAPER}

    def get(self, request: HttpRequest) -> HttpResponse:
        pages = Paginator(lay_list(self.actor), PER_PAGE)
        rows = pages.get_page(request.GET.get("page"))
        lays = []
        for lay in rows:
            chosen = next((row for row in lay.drawings.all() if row.number == lay.chosen), None)
            lays.append(
                (lay, say_long(chosen.length_mm, self.actor.unit) if chosen else "", is_searching(lay))
            )
        return self.page(
            "fitting/lay/lays.html", rows=rows, lays=lays, may_keep=self.actor.may(Right.KEEP_PAPER)
        )


class NewLay(HousePage):
    right = Right.KEEP_PAPER

    def get(self, request: HttpRequest) -> HttpResponse:
        initial: dict[str, Any] = {
            "cloth_id": request.GET.get("cloth", ""),
            "remnant_id": request.GET.get("remnant", ""),
        }
        pattern = request.GET.get("pattern", "")
        if pattern:
            initial["line_0"] = f"{pattern}:{request.GET.get('size', '')}"
        if "garment" in request.GET:
            start = lay_start(self.actor, _id(request.GET["garment"], "garment"))
            garment = start.garment
            initial |= {"garment_id": garment.pk, "cloth_id": str(garment.cloth_id or ""), "name": ""}
            if start.size is not None and start.drawn:
                initial["line_0"] = f"{start.size.pattern_id}:{start.size.pk}"
        for row in range(LINE_ROWS):
            initial[f"times_{row}"] = 1
        return self._page(self._form(initial=initial))

    def post(self, request: HttpRequest) -> HttpResponse:
        form = self._form(request.POST)
        if form.is_valid():
            given = form.cleaned_data
            made = self.attempt(
                form,
                self._ask(form),
                cloth_id=given["cloth_id"],
                lines=form.lines(),
                name=given["name"],
                folded=bool(given["folded"]),
                washed_first=given["washed_first"],
                matched=given["matched"] or 0,
                end_allowance_mm=given["end_allowance_mm"] or Decimal(0),
                cutting_unit_mm=Decimal(given["cutting_unit_mm"]),
                seconds=int(given["seconds"]),
                remnant_id=given["remnant_id"],
            )
            if made is not None:
                return self.done("The lay is being searched for.", "fitting:lay", made.pk)
        return self._page(form, status=400)

    def _ask(self, form: LayForm) -> Callable[..., Any]:
        """The service; its reason for a line of the lay goes beside the row of the form that gave it."""
        fields = {"lines": "line_0", "cloth": "cloth_id", "remnant": "remnant_id"}
        fields |= {f"lines.{place}": f"line_{row}" for place, row in enumerate(form.filled_rows())}

        def ask(actor: Actor, **values: Any) -> Any:
            try:
                return ask_lay(actor, **values)
            except Refused as exc:
                raise Refused({fields.get(one, one): why for one, why in exc.reasons.items()}) from exc

        return ask

    def _form(self, data: Any = None, **options: Any) -> LayForm:
        unit = self.actor.unit
        return LayForm(
            data,
            unit=unit,
            cloths=[(row.pk, row.name) for row in cloth_list(self.actor)],
            remnants=[
                (
                    row.pk,
                    f"{row.cloth.name}, {format_length(row.length_mm, unit)} × {format_length(row.width_mm, unit)}"
                    + (f", {row.place}" if row.place else ""),
                )
                for row in remnant_list(self.actor)
            ],
            layable=[(f"{pattern}:{size}", words) for pattern, size, words in layable(self.actor)],
            **options,
        )

    def _page(self, form: LayForm, status: int = 200) -> HttpResponse:
        lines = form.fields["line_0"]
        nothing = len(lines.choices) <= 1  # type: ignore[attr-defined]
        given = form["garment_id"].value()
        start = lay_start(self.actor, _id(str(given), "garment")) if given else None
        return self.page(
            "fitting/lay/new_lay.html", form=form, nothing_drawn=nothing, start=start, status=status
        )


def _id(text: str, what: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise NotHere(what) from None


class LayPage(FittingPage):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest, lay_id: UUID) -> HttpResponse:
        view = lay_view(self.actor, lay_id)
        unit = self.actor.unit
        shown = _shown(view, request.GET.get("drawing", ""))
        garments = garments_in(view.lay)
        anew = laid_anew(view.lay)
        return self.page(
            "fitting/lay/lay.html",
            view=view,
            lay=view.lay,
            garments=garments,
            altered=paper_altered(garments),
            unit=unit,
            shown=shown,
            figure=lay_drawing(view, shown, unit) if shown else "",
            searching=is_searching(view.lay),
            one=view.one_way,
            ways=[_way(view, row, unit) for row in (view.one_way, view.two_way) if row],
            by_hand=[_way(view, row, unit) for row in view.drawings if row.way not in ("one_way", "two_way")],
            price=say_long(view.price_mm, unit) if view.price_mm else "",
            buy=say_long(view.buy.length, unit) if view.buy else "",
            sheets=lay_sheets_of(self.actor, lay_id),
            steps=[
                (step.words, say_long(step.added, unit), say_long(step.length, unit))
                for step in view.buy.steps
            ]
            if view.buy
            else [],
            reach=[(row, say_long(row.remaining, unit), say_long(abs(row.left), unit)) for row in view.reach],
            checks=_checks(view),
            taken=say_long(view.lay.cut.length_mm, unit) if view.lay.cut else "",
            anew=anew,
            offers=[] if anew else offers_of(view.lay, view.pieces, view.remnants),
            may_cut=self.actor.may(Right.KEEP_PAPER)
            and self.actor.may(Right.KEEP_SEAMS)
            and view.lay.cut is None
            and view.lay.most_length_mm is None
            and not anew
            and not is_searching(view.lay),
            may_keep=self.actor.may(Right.KEEP_PAPER),
            searches=SEARCHES,
        )

    def post(self, request: HttpRequest, lay_id: UUID) -> HttpResponse:
        if "choose" in request.POST:
            number = request.POST["choose"]
            if not number.isdigit():
                raise NotHere("drawing of this lay")
            choose_drawing(self.actor, lay_id, number=int(number))
            return self.done("This drawing is the one that is cut.", "fitting:lay", lay_id)
        if "bolt" in request.POST:
            bolt_id = _id(request.POST["bolt"], "bolt")
            if self.try_or_tell(cut_for_lay, lay_id, bolt_id=bolt_id) is None:
                return redirect("fitting:lay", lay_id)
            return self.done("The length is taken off the bolt.", "fitting:lay", lay_id)
        if "remnant" in request.POST:
            return self._on_remnant(request, lay_id)
        if "stop" in request.POST:
            view = lay_view(self.actor, lay_id)
            if view.lay.job_id is None or not is_searching(view.lay):
                raise Conflict("No search is going on.")
            cancel_job(self.actor, view.lay.job_id)
            return self.done("The search is stopped.", "fitting:lay", lay_id)
        seconds = request.POST.get("seconds", "")
        search_again(self.actor, lay_id, seconds=int(seconds) if seconds.isdigit() else None)
        return self.done("Another search has begun; what was found before stays.", "fitting:lay", lay_id)

    def _on_remnant(self, request: HttpRequest, lay_id: UUID) -> HttpResponse:
        made = self.try_or_tell(
            lay_on_remnant,
            lay_id,
            remnant_id=_id(request.POST["remnant"], "remnant"),
            keys=request.POST.getlist("piece"),
        )
        if made is None:
            return redirect("fitting:lay", lay_id)
        words = "Two lays are searched for: these pieces on the remnant, and the rest."
        return self.done(words, "fitting:lay", made[0].pk)


class AskLaySheet(HousePage):
    """Ask for the table's sheet of the chosen drawing."""

    right = Right.READ_PAPER

    def post(self, request: HttpRequest, lay_id: UUID) -> HttpResponse:
        sheet = ask_lay_sheet(self.actor, lay_id)
        return self.done("The sheet for the table is being drawn.", "platform:job", sheet.job_id)


class LaySheetPdf(HousePage):
    """A drawn sheet."""

    right = Right.READ_PAPER

    def get(self, request: HttpRequest, lay_id: UUID, sheet_id: UUID) -> Any:
        return file_answer(lay_sheet_file(self.actor, lay_id, sheet_id), as_attachment=False)


class Remnants(HousePage):
    """What is left over of cloths, and taking a piece in."""

    rights = {"GET": Right.READ_SEAMS, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest, form: RemnantForm | None = None) -> HttpResponse:
        keeps = self.actor.may(Right.KEEP_PAPER)
        initial = {"cloth_id": request.GET.get("cloth", ""), "lay": request.GET.get("lay", "")}
        return self.page(
            "fitting/lay/remnants.html",
            rows=list(remnant_list(self.actor)),
            form=(form or self._form(initial=initial)) if keeps else None,
            unit=self.actor.unit,
            may_keep=keeps,
            status=400 if form else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        if "gone" in request.POST:
            try:
                remnant_id = UUID(request.POST["gone"])
            except ValueError:
                raise NotHere("remnant") from None
            drop_remnant(self.actor, remnant_id)
            return self.done("The remnant is off the list.", "fitting:remnants")
        form = self._form(request.POST)
        if form.is_valid() and self.attempt(form, keep_remnant, **form.cleaned_data) is not None:
            return self.done("The remnant is kept.", "fitting:remnants")
        return self.get(request, form)

    def _form(self, data: Any = None, **options: Any) -> RemnantForm:
        cloths = [(row.pk, row.name) for row in cloth_list(self.actor)]
        return RemnantForm(data, unit=self.actor.unit, cloths=cloths, **options)


def pieces_lying(view: LayView, drawing: Any) -> list[Lying]:
    by_key = {piece.key: piece for piece in view.pieces}
    return [
        lying(place, by_key[one.key], view.outlines[one.key], one, folded=view.lay.folded)
        for place, one in enumerate(placements_of(drawing))
    ]


def lay_drawing(view: LayView, drawing: Any, unit: str, *, after: float = 0.0) -> SafeString:
    """The strip with its pieces; the words grow with the lay, so that they stay readable on the page."""
    length = float(drawing.length_mm)
    way = drawing.get_way_display().lower()
    words = say_long(length, unit)
    return mark_safe(  # noqa: S308 - drawn by us, its texts escaped
        strip_figure(
            pieces_lying(view, drawing),
            length=length,
            width=view.cloth.strip,
            unit=unit,
            folded=view.lay.folded,
            title=f"Lay {way}, {words}",
            description=f"{len(drawing.placements)} pieces on {view.lay.cloth.name}, {words} long.",
            text_mm=ON_PAGE_MM * max(0.7, (length + after) / 1500),
            after=after,
        )
    )


def _shown(view: LayView, wanted: str) -> Any:
    """The drawing asked for by number, else the chosen one, else the newest."""
    named = next((row for row in view.drawings if str(row.number) == wanted), None)
    return named or view.chosen or next(iter(view.drawings), None)


def _way(view: LayView, drawing: Any, unit: str) -> dict[str, Any]:
    return {
        "drawing": drawing,
        "length": say_long(drawing.length_mm, unit),
        "forbidden": drawing.way == "two_way" and view.lay.direction != TWO_WAY,
    }


def _checks(view: LayView) -> list[dict[str, Any]]:
    """Every piece to be pinned, with the newest check of its grain."""
    rows: list[dict[str, Any]] = []
    if view.chosen is None:
        return rows
    counted: dict[str, int] = {}
    names = {piece.key: piece.name for piece in view.pieces}
    for row in view.chosen.placements:
        copy = counted[row["key"]] = counted.get(row["key"], 0) + 1
        rows.append({"key": row["key"], "copy": copy, "name": names[row["key"]]})
    for one in rows:
        one["of"] = counted[one["key"]]
        one["check"] = view.checks.get((one["key"], one["copy"]))
    return rows
