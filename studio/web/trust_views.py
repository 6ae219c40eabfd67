"""Pages about trust: repeatability, standardisation days, histories, the standard figure."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from studio.calc.repeats import slip_limit
from studio.platform.errors import Refused
from studio.platform.rights import Actor, Right
from studio.platform.web.base import HousePage
from studio.queries import history, standard_days, standard_figures, taping, trust
from studio.queries.choices import known_measures, measures_for
from studio.queries.clients import client_get
from studio.services import trust as services
from studio.services.taping import learn_now
from studio.web.forms import CorrectionForm
from studio.web.trust_drawings import chart_of, figure_of, spark_of
from studio.web.trust_forms import DayForm, GridForm


class Repeatability(HousePage):
    """One's own repeats; the owner also sees everybody's, and any one member's."""

    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, member_id: UUID | None = None) -> HttpResponse:
        found = trust.repeatability_of(self.actor, member_id)
        sees_all = self.actor.may(Right.KEEP_MEMBERS)
        return self.page(
            "studio/trust/repeatability.html",
            found=found,
            mine=found.member_id == self.actor.member_id,
            practise=[(row, figure_of(row.measure)) for row in found.practise],
            members=trust.members_repeatability(self.actor) if sees_all else [],
            sees_all=sees_all,
            unit=self.actor.unit,
            enough=trust.ENOUGH_PAIRS,
            taping=taping.habit_of(self.actor),
            fewest=taping.FEWEST_PEOPLE,
        )


class LearnTaping(HousePage):
    right = Right.RECORD_MEASURING

    def post(self, request: HttpRequest) -> HttpResponse:
        job = learn_now(self.actor)
        return self.done("It is being learnt.", "platform:job", job.pk)


class StandardDays(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest) -> HttpResponse:
        return self.page("studio/trust/days.html", days=list(standard_days.day_list(self.actor)))


class NewStandardDay(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest) -> HttpResponse:
        form = self._form(
            initial={
                "held_on": timezone.localdate(),
                "people": "A, B, C, D, E, F, G, H, J, K",
                "reference_member_id": str(self.actor.member_id),
            }
        )
        return self.page("studio/trust/new_day.html", form=form)

    def post(self, request: HttpRequest) -> HttpResponse:
        form = self._form(request.POST)
        if form.is_valid():
            made = self.attempt(form, self._open, **form.cleaned_data)
            if made:
                return self.done("Opened.", "studio:standard-day", made.pk)
        return self.page("studio/trust/new_day.html", form=form, status=400)

    @staticmethod
    def _open(actor: Actor, *, reference_member_id: str, **facts: Any) -> Any:
        try:
            return services.open_day(actor, reference_member_id=UUID(reference_member_id), **facts)
        except Refused as exc:
            names = {"reference_member": "reference_member_id"}
            raise Refused({names.get(field, field): why for field, why in exc.reasons.items()}) from exc

    def _form(self, data: Any = None, **kwargs: Any) -> DayForm:
        return DayForm(
            data,
            members=[(str(member.pk), member.name) for member in standard_days.measurers(self.actor)],
            measures=[(code, found.name) for code, found in measures_for(self.actor).measures.items()],
            **kwargs,
        )


class StandardDay(HousePage):
    """What a day has shown, measure by measure, and the way to its grids."""

    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, day_id: UUID) -> HttpResponse:
        return self.page(
            "studio/trust/day.html",
            result=standard_days.day_result(self.actor, day_id),
            unit=self.actor.unit,
        )


class StandardDayGrid(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, day_id: UUID, code: str) -> HttpResponse:
        grid = standard_days.day_grid(self.actor, day_id, code)
        return self._page(grid, GridForm(grid=grid, initial={"unit": self.actor.unit}))

    def post(self, request: HttpRequest, day_id: UUID, code: str) -> HttpResponse:
        grid = standard_days.day_grid(self.actor, day_id, code)
        form = GridForm(request.POST, grid=grid)
        if form.is_valid() and self.attempt(form, self._record, day_id, form):
            return self.done("Kept.", "studio:standard-day-grid", day_id, code)
        return self._page(grid, form, status=400)

    @staticmethod
    def _record(actor: Actor, day_id: UUID, form: GridForm) -> Any:
        """Keep what the grid says; what is refused comes back under the grid's own fields."""
        typed = form.typed()
        fields = {f"readings.{number}.typed": field for number, field in enumerate(typed)}
        try:
            return services.record_day_readings(
                actor,
                day_id,
                readings=list(typed.values()),
                unit=form.cleaned_data["unit"],
                as_read=form.cleaned_data["as_read"],
            )
        except Refused as exc:
            if not typed:
                raise Refused({"": "Nothing was typed yet."}) from exc
            raise Refused({fields.get(field, field): why for field, why in exc.reasons.items()}) from exc

    def _page(self, grid: Any, form: GridForm, status: int = 200) -> HttpResponse:
        known = measures_for(self.actor).measures
        unit = form["unit"].value() or self.actor.unit
        return self.page(
            "studio/trust/day_grid.html",
            grid=grid,
            form=form,
            unit=unit if unit in ("cm", "in") else self.actor.unit,
            typed_in=grid.measure.typed_in(unit if unit in ("cm", "in") else self.actor.unit),
            measures=[(code, known[code].name) for code in grid.day.measures if code in known],
            problems=[error for field in form.cells if field in form.errors for error in form.errors[field]],
            status=status,
        )


class CorrectDayReading(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, reading_id: UUID, form: CorrectionForm | None = None) -> HttpResponse:
        reading = standard_days.day_reading_get(self.actor, reading_id)
        measure = known_measures(self.actor)[reading.measure]
        return self.page(
            "studio/trust/correct_day_reading.html",
            reading=reading,
            measure=measure,
            unit=self.actor.unit,
            typed_in=measure.typed_in(self.actor.unit),
            slip=slip_limit(measure.technical_error),
            form=form or CorrectionForm(),
            status=400 if form else 200,
        )

    def post(self, request: HttpRequest, reading_id: UUID) -> HttpResponse:
        form = CorrectionForm(request.POST)
        if form.is_valid():
            new = self.attempt(form, services.correct_day_reading, reading_id, **form.cleaned_data)
            if new:
                return self.done(
                    "Corrected; the old reading stays beside it.",
                    "studio:standard-day-grid",
                    new.day_id,
                    new.measure,
                )
        return self.get(request, reading_id, form)


class Histories(HousePage):
    """All measures of a client over time, each as a small line."""

    right = Right.READ_READINGS

    def get(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        found = history.history_of(self.actor, client_id)
        unit = found.client.unit
        return self.page(
            "studio/trust/histories.html",
            client=found.client,
            visits=found.visits,
            lines=[
                (each, spark_of(each, unit), each.measure.in_words(each.last.figure.value, unit))
                for each in found.measures.values()
            ],
            unit=unit,
        )


class History(HousePage):
    """One measure over time: chart, what changed beyond the tape, every reading; for a child the growth."""

    right = Right.READ_READINGS

    def get(self, request: HttpRequest, client_id: UUID, code: str) -> HttpResponse:
        found, one = history.measure_history(self.actor, client_id, code)
        unit = found.client.unit
        return self.page(
            "studio/trust/history.html",
            client=found.client,
            history=one,
            chart=chart_of(one, unit, by_age=found.growing),
            growing=found.growing,
            occasions=one.occasions[::-1],
            grown=any(occasion.rate for occasion in one.occasions),
            others=[(each.measure.code, each.measure.name) for each in found.measures.values()],
            unit=unit,
        )


class StandardFigure(HousePage):
    """A body beside the figure of a size chart; the address says which chart and size."""

    right = Right.READ_READINGS

    def get(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        chart, size = request.GET.get("chart", ""), request.GET.get("size", "")
        figures = standard_figures.standard_figures()
        problem, found = "", None
        try:
            found = standard_figures.standard_figure_of(self.actor, client_id, chart=chart, size=size)
        except Refused as exc:
            problem = " ".join(exc.reasons.values())
        return self.page(
            "studio/trust/standard_figure.html",
            client=found.client if found else client_get(self.actor, client_id),
            found=found,
            problem=problem,
            chart=found.chart if found else figures.charts.get(chart) or next(iter(figures.charts.values())),
            charts=figures.charts.values(),
            sources=figures.sources,
            note=figures.note,
            status=400 if problem and (chart not in ("", *figures.charts) or size) else 200,
        )
