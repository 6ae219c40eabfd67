"""Pages of patterns."""

import re
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict

from fitting.queries.charts import chart_list, drawn_ease
from fitting.queries.flat_sums import flat_sums
from fitting.queries.outlines import seams_of_size
from fitting.queries.paper_zones import lacking
from fitting.queries.patterns import lacks_words, not_ready, pattern_get, pattern_list, size_table
from fitting.queries.plans import plan_list
from fitting.services.patterns import change_pattern, record_pattern
from fitting.web.paper_forms import PatternChangeForm, PatternFactsForm
from fitting.web.paper_grids import FlatGridForm, SizeGridForm
from studio.platform.errors import Refused
from studio.platform.queries.people import studio_get
from studio.platform.rights import Actor, Right
from studio.platform.web.base import HousePage

PER_PAGE = 40
ALLOWANCE = {"cm": "1.5", "in": "5/8"}  # what most paper has, common practice


class Patterns(HousePage):
    right = Right.READ_PAPER

    def get(self, request: HttpRequest) -> HttpResponse:
        words = request.GET.get("words", "").strip()
        pages = Paginator(pattern_list(self.actor, words=words), PER_PAGE)
        return self.page(
            "fitting/paper/patterns.html",
            rows=pages.get_page(request.GET.get("page")),
            words=words,
            may_keep=self.actor.may(Right.KEEP_PAPER),
        )


class NewPattern(HousePage):
    """Two steps on one address, without a script: facts, then the grid. All that was typed travels along."""

    right = Right.KEEP_PAPER

    def get(self, request: HttpRequest) -> HttpResponse:
        unit = studio_get(self.actor).unit
        form = PatternFactsForm(
            charts=self._charts(),
            initial={"unit": unit, "seam_allowance": ALLOWANCE[unit], "measures": ["waist", "hip"]},
        )
        return self._facts_page(form)

    def post(self, request: HttpRequest) -> HttpResponse:
        facts = PatternFactsForm(request.POST, charts=self._charts())
        if not facts.is_valid() or request.POST.get("step") == "back":
            return self._facts_page(facts, request.POST)
        if facts.from_chart:
            made = self.attempt(facts, self._from_chart, **facts.facts())
            if made is not None:
                return self.done(f"{made.name} is recorded.", "fitting:pattern", made.pk)
            return self._facts_page(facts, request.POST)
        wants_grid = request.POST.get("step") != "grid"
        given = facts.cleaned_data
        grid = self._grid(request.POST, given)
        if wants_grid:
            # Shown for the first time, or again after a change of the facts: what was typed stands, unjudged.
            grid = self._grid(None, given)
            grid.initial = {name: request.POST.get(name, "") for name in grid.fields}
            return self._grid_page(facts, grid)
        if grid.is_valid():
            made = self._record(facts, grid)
            if made is not None:
                return self.done(f"{made.name} is recorded.", "fitting:pattern", made.pk)
            if facts.errors:
                return self._facts_page(facts, request.POST)
        return self._grid_page(facts, grid, status=400)

    def _charts(self) -> list[tuple[str, str]]:
        return [(str(chart.pk), chart.name) for chart in chart_list(self.actor).prefetch_related(None)]

    @staticmethod
    def _from_chart(actor: Actor, **values: Any) -> Any:
        try:
            return record_pattern(actor, **values)
        except Refused as exc:
            raise Refused({_fact(field): reason for field, reason in exc.reasons.items()}) from exc

    @staticmethod
    def _grid(data: QueryDict | None, given: dict[str, Any]) -> SizeGridForm | FlatGridForm:
        shape = {"sizes": given["size_names"], "measures": given["measures"], "unit": given["unit"]}
        if given["pieces"]:
            return FlatGridForm(data, pieces=given["pieces"], **shape)
        return SizeGridForm(data, **shape)

    def _record(self, facts: PatternFactsForm, grid: SizeGridForm | FlatGridForm) -> Any:
        """Record; reasons of the service go beside the cell or the fact that they name."""
        of_facts: dict[str, str] = {}

        def act(actor: Actor, **values: Any) -> Any:
            try:
                return record_pattern(actor, **values)
            except Refused as exc:
                beside: dict[str, str] = {}
                for field, reason in exc.reasons.items():
                    fact = _fact(field)
                    if fact in facts.fields:
                        of_facts[fact] = reason
                    else:
                        beside[grid.cell_of(field) or ""] = reason
                raise Refused(beside or of_facts) from exc

        made = self.attempt(grid, act, sizes=grid.run(), pieces=grid.pieces(), **facts.facts())
        for field, reason in of_facts.items():
            facts.add_error(field, reason)
        return made

    def _facts_page(self, form: PatternFactsForm, typed: QueryDict | None = None) -> HttpResponse:
        cells = [(name, typed[name]) for name in typed if name.startswith("cell-")] if typed else []
        status = 400 if form.errors else 200
        return self.page("fitting/paper/new_pattern.html", form=form, cells=cells, status=status)

    def _grid_page(
        self, facts: PatternFactsForm, grid: SizeGridForm | FlatGridForm, status: int = 200
    ) -> HttpResponse:
        typed = [
            (name, value)
            for name in facts.fields
            for value in facts.data.getlist(name)  # type: ignore[attr-defined]
        ]
        kind = facts.cleaned_data["kind"]
        lacks = lacking(kind, frozenset(grid.measures))
        return self.page(
            "fitting/paper/flat_grid.html"
            if isinstance(grid, FlatGridForm)
            else "fitting/paper/size_grid.html",
            form=grid,
            name=facts.cleaned_data["name"],
            finished=facts.cleaned_data["basis"] == "finished",
            typed=typed,
            lacks=lacks_words(kind, lacks) if lacks else "",
            status=status,
        )


def _fact(field: str) -> str:
    """The fact that a reason of the service speaks of."""
    return re.sub(r"_(mm|id)$", "", field)


class PatternPage(HousePage):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(
        self, request: HttpRequest, pattern_id: UUID, form: PatternChangeForm | None = None
    ) -> HttpResponse:
        pattern = pattern_get(self.actor, pattern_id)
        unit = studio_get(self.actor).unit
        names = [size.name for size in pattern.sizes.all()]
        chosen = request.GET.get("size", "")
        chosen = chosen if chosen in names else names[len(names) // 2]
        sees_plans = self.actor.may(Right.READ_FIT_PLANS)
        return self.page(
            "fitting/paper/pattern.html",
            pattern=pattern,
            unit=unit,
            table=size_table(pattern, unit, drawn_ease(pattern, unit)),
            size_names=names,
            size=chosen,
            sums=flat_sums(pattern, chosen, unit),
            walks=seams_of_size(self.actor, pattern_id, chosen),
            not_ready=not_ready(pattern),
            plans=list(plan_list(self.actor, pattern_id=pattern.pk)[:PER_PAGE]) if sees_plans else [],
            sees_plans=sees_plans,
            may_keep=self.actor.may(Right.KEEP_PAPER),
            form=form
            or PatternChangeForm(
                initial={"version": pattern.version, "name": pattern.name, "notes": pattern.notes}
            ),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, pattern_id: UUID) -> HttpResponse:
        form = PatternChangeForm(request.POST)
        if form.is_valid():
            given = form.cleaned_data
            changed = self.attempt(
                form,
                change_pattern,
                pattern_id,
                expected_version=given["version"],
                name=given["name"],
                notes=given["notes"],
            )
            if changed is not None:
                return self.done("The pattern is changed.", "fitting:pattern", pattern_id)
        return self.get(request, pattern_id, form)
