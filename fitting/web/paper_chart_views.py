"""Pages of body charts and of ease rules."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, QueryDict

from fitting.queries.charts import chart_get, chart_list, chart_table, sourced_charts
from fitting.queries.ease_rules import all_ease_sets, set_rules
from fitting.queries.paper_zones import needs_of, zone_name
from fitting.queries.plan_text import say_in
from fitting.services.charts import change_chart, record_chart, take_chart
from fitting.services.ease import (
    change_ease_set,
    drop_ease_rule,
    follow_ease_set,
    set_ease_rule,
    write_ease_set,
)
from fitting.web.paper_chart_forms import ChartFactsForm, EaseRuleForm, EaseSetForm
from fitting.web.paper_forms import PatternChangeForm
from fitting.web.paper_grids import SizeGridForm
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.web.base import HousePage
from studio.queries.choices import known_measures


class Charts(HousePage):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest) -> HttpResponse:
        rows = list(chart_list(self.actor))
        names = {row.name for row in rows}
        return self.page(
            "fitting/paper/charts.html",
            rows=rows,
            sourced=[one for one in sourced_charts().values() if one.name not in names],
            may_keep=self.actor.may(Right.KEEP_PAPER),
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        """Take a sourced chart over."""
        made = take_chart(self.actor, code=request.POST.get("take", ""))
        return self.done(f"{made.name} is taken over.", "fitting:chart", made.pk)


class ChartPage(HousePage):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(
        self, request: HttpRequest, chart_id: UUID, form: PatternChangeForm | None = None
    ) -> HttpResponse:
        chart = chart_get(self.actor, chart_id)
        return self.page(
            "fitting/paper/chart.html",
            chart=chart,
            unit=chart.unit,
            table=chart_table(self.actor, chart, chart.unit),
            may_keep=self.actor.may(Right.KEEP_PAPER),
            form=form
            or PatternChangeForm(
                initial={"version": chart.version, "name": chart.name, "notes": chart.notes}
            ),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, chart_id: UUID) -> HttpResponse:
        form = PatternChangeForm(request.POST)
        if form.is_valid():
            given = form.cleaned_data
            changed = self.attempt(
                form, change_chart, chart_id, expected_version=given["version"], name=given["name"],
                notes=given["notes"],
            )  # fmt: skip
            if changed is not None:
                return self.done("The chart is changed.", "fitting:chart", chart_id)
        return self.get(request, chart_id, form)


class NewChart(HousePage):
    """Two steps on one address, without a script: facts, then the grid. All that was typed travels along."""

    right = Right.KEEP_PAPER

    def get(self, request: HttpRequest) -> HttpResponse:
        initial = {"unit": self.actor.unit, "measures": ["bust_girth", "waist_girth", "hip_girth"]}
        return self._facts_page(ChartFactsForm(initial=initial, measures=self._choices()))

    def post(self, request: HttpRequest) -> HttpResponse:
        facts = ChartFactsForm(request.POST, measures=self._choices())
        if not facts.is_valid() or request.POST.get("step") == "back":
            return self._facts_page(facts, request.POST)
        grid = self._grid(request.POST, facts)
        if request.POST.get("step") != "grid":
            grid = self._grid(None, facts)
            grid.initial = {name: request.POST.get(name, "") for name in grid.fields}
            return self._grid_page(facts, grid)
        if grid.is_valid():
            made = self._record(facts, grid)
            if made is not None:
                return self.done(f"{made.name} is recorded.", "fitting:chart", made.pk)
            if facts.errors:
                return self._facts_page(facts, request.POST)
        return self._grid_page(facts, grid, status=400)

    def _choices(self) -> list[tuple[str, str]]:
        return [(code, one.name) for code, one in known_measures(self.actor).items() if one.unit == "mm"]

    def _grid(self, data: QueryDict | None, facts: ChartFactsForm) -> SizeGridForm:
        known = {code: (one.name, one.instruction) for code, one in known_measures(self.actor).items()}
        given = facts.cleaned_data
        return SizeGridForm(
            data, sizes=given["size_names"], measures=given["measures"], unit=given["unit"], known=known
        )

    def _record(self, facts: ChartFactsForm, grid: SizeGridForm) -> Any:
        of_facts: dict[str, str] = {}

        def act(actor: Actor, **values: Any) -> Any:
            try:
                return record_chart(actor, **values)
            except Refused as exc:
                beside: dict[str, str] = {}
                for field, reason in exc.reasons.items():
                    fact = field.removesuffix("_mm")
                    if fact in facts.fields:
                        of_facts[fact] = reason
                    else:
                        beside[grid.cell_of(field) or ""] = reason
                raise Refused(beside or of_facts) from exc

        made = self.attempt(grid, act, sizes=grid.run(), **facts.facts())
        for field, reason in of_facts.items():
            facts.add_error(field, reason)
        return made

    def _facts_page(self, form: ChartFactsForm, typed: QueryDict | None = None) -> HttpResponse:
        cells = [(name, typed[name]) for name in typed if name.startswith("cell-")] if typed else []
        return self.page(
            "fitting/paper/new_chart.html", form=form, cells=cells, status=400 if form.errors else 200
        )

    def _grid_page(self, facts: ChartFactsForm, grid: SizeGridForm, status: int = 200) -> HttpResponse:
        typed = [
            (name, value)
            for name in facts.fields
            for value in facts.data.getlist(name)  # type: ignore[attr-defined]
        ]
        return self.page(
            "fitting/paper/size_grid.html",
            form=grid,
            name=facts.cleaned_data["name"],
            chart=True,
            typed=typed,
            status=status,
        )


class Ease(HousePage):
    """Which set of ease rules the studio follows, and sets of its own."""

    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest, form: EaseSetForm | None = None) -> HttpResponse:
        sets = all_ease_sets(self.actor)
        return self.page(
            "fitting/paper/ease.html",
            sets=sets,
            may_keep=self.actor.may(Right.KEEP_PAPER),
            form=form or EaseSetForm(sets=self._choices(sets)),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        if "follow" in request.POST:
            follow_ease_set(self.actor, code=request.POST["follow"])
            return self.done("Plans follow this set from now on.", "fitting:ease")
        form = EaseSetForm(request.POST, sets=self._choices(all_ease_sets(self.actor)))
        if form.is_valid():
            made = self.attempt(form, write_ease_set, **form.cleaned_data)
            if made is not None:
                return self.done("The set is yours to edit.", "fitting:ease-set", str(made.pk))
        return self.get(request, form)

    @staticmethod
    def _choices(sets: Any) -> list[tuple[str, str]]:
        return [(one.code, one.words) for one in sets]


class EaseSetPage(HousePage):
    """The rules of one set; those of the studio's own can be changed."""

    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(
        self,
        request: HttpRequest,
        code: str,
        form: EaseRuleForm | None = None,
        renamed: PatternChangeForm | None = None,
    ) -> HttpResponse:
        found, rules, own = set_rules(self.actor, code)
        say = say_in(self.actor.unit)
        may_change = own is not None and self.actor.may(Right.KEEP_PAPER)
        groups: dict[str, list[dict[str, Any]]] = {}
        for row in rules:
            cloth = row.structure + (f", {row.stretch.replace('_', ' ')}" if row.stretch else "")
            groups.setdefault(needs_of(row.kind).many, []).append(
                {
                    "key": row.key,
                    "zone": zone_name(row.zone),
                    "closeness": row.closeness.replace("_", "-"),
                    "cloth": cloth,
                    "low": say(row.rule.low),
                    "target": say(row.rule.target),
                    "high": say(row.rule.high),
                    "source": row.rule.source,
                    "note": "" if row.note.rstrip(".").lower() in row.rule.source.lower() else row.note,
                }
            )
        return self.page(
            "fitting/paper/ease_set.html",
            found=found,
            groups=groups,
            own=own,
            may_change=may_change,
            form=form or (EaseRuleForm(unit=self.actor.unit) if may_change else None),
            rename=renamed
            or (
                PatternChangeForm(initial={"version": own.version, "name": own.title, "notes": own.notes})
                if own
                else None
            ),
            status=400 if (form and form.errors) or (renamed and renamed.errors) else 200,
        )

    def post(self, request: HttpRequest, code: str) -> HttpResponse:
        set_id = _own_id(code)
        if "drop" in request.POST:
            drop_ease_rule(self.actor, set_id, _own_id(request.POST["drop"]))
            return self.done("The rule is taken out.", "fitting:ease-set", code)
        if "name" in request.POST:
            renamed = PatternChangeForm(request.POST)
            if renamed.is_valid():
                given = renamed.cleaned_data
                changed = self.attempt(
                    renamed, self._rename, set_id, expected_version=given["version"], title=given["name"],
                    notes=given["notes"],
                )  # fmt: skip
                if changed is not None:
                    return self.done("The set is changed.", "fitting:ease-set", code)
            return self.get(request, code, renamed=renamed)
        form = EaseRuleForm(request.POST, unit=self.actor.unit)
        if form.is_valid() and self.attempt(form, self._set_rule, set_id, **form.rule()) is not None:
            return self.done("The rule is written.", "fitting:ease-set", code)
        return self.get(request, code, form)

    @staticmethod
    def _set_rule(actor: Actor, set_id: UUID, **values: Any) -> Any:
        try:
            return set_ease_rule(actor, set_id, **values)
        except Refused as exc:
            raise Refused(
                {field.removesuffix("_mm"): reason for field, reason in exc.reasons.items()}
            ) from exc

    @staticmethod
    def _rename(actor: Actor, set_id: UUID, **values: Any) -> Any:
        try:
            return change_ease_set(actor, set_id, **values)
        except Refused as exc:
            raise Refused(
                {"name" if field == "title" else field: reason for field, reason in exc.reasons.items()}
            ) from exc


def _own_id(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise NotHere("ease set") from None
