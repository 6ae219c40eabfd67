"""Pages of the paper: patterns and fit plans."""

from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.utils.safestring import mark_safe

from fitting.figures.plan import plan_alteration_figures, plan_zones_figure
from fitting.queries.ease_rules import chosen_set, ease_sets
from fitting.queries.paper_zones import lacking, needs_of
from fitting.queries.patterns import lacks_words, not_ready, pattern_get, pattern_list, size_table
from fitting.queries.plans import plan_get, plan_list
from fitting.services.patterns import change_pattern, record_pattern
from fitting.services.plans import approve_plan, make_plan
from fitting.web.paper_forms import PatternChangeForm, PatternFactsForm, PlanForm, SizeGridForm
from studio.platform.errors import NotHere, Refused
from studio.platform.queries.people import studio_get
from studio.platform.rights import Actor, Right
from studio.platform.web.base import HousePage
from studio.queries.clients import client_get, client_list

PER_PAGE = 40
MOST_CLIENTS = 20
MOST_PATTERNS = 500  # in a choice; beyond that one starts from the pattern's own page
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
            initial={"unit": unit, "seam_allowance": ALLOWANCE[unit], "measures": ["waist", "hip"]}
        )
        return self._facts_page(form)

    def post(self, request: HttpRequest) -> HttpResponse:
        facts = PatternFactsForm(request.POST)
        if not facts.is_valid() or request.POST.get("step") == "back":
            return self._facts_page(facts, request.POST)
        wants_grid = request.POST.get("step") != "grid"
        given = facts.cleaned_data
        grid = SizeGridForm(
            request.POST, sizes=given["size_names"], measures=given["measures"], unit=given["unit"]
        )
        if wants_grid:
            # Shown for the first time, or again after a change of the facts: what was typed stands, unjudged.
            grid = SizeGridForm(None, sizes=grid.sizes, measures=grid.measures, unit=grid.unit)
            grid.initial = {name: request.POST.get(name, "") for name in grid.fields}
            return self._grid_page(facts, grid)
        if grid.is_valid():
            made = self._record(facts, grid)
            if made is not None:
                return self.done(f"{made.name} is recorded.", "fitting:pattern", made.pk)
            if facts.errors:
                return self._facts_page(facts, request.POST)
        return self._grid_page(facts, grid, status=400)

    def _record(self, facts: PatternFactsForm, grid: SizeGridForm) -> Any:
        """Record; reasons of the service go beside the cell or the fact that they name."""
        of_facts: dict[str, str] = {}

        def act(actor: Actor, **values: Any) -> Any:
            try:
                return record_pattern(actor, **values)
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

    def _facts_page(self, form: PatternFactsForm, typed: QueryDict | None = None) -> HttpResponse:
        cells = [(name, typed[name]) for name in typed if name.startswith("cell-")] if typed else []
        status = 400 if form.errors else 200
        return self.page("fitting/paper/new_pattern.html", form=form, cells=cells, status=status)

    def _grid_page(self, facts: PatternFactsForm, grid: SizeGridForm, status: int = 200) -> HttpResponse:
        typed = [
            (name, value)
            for name in facts.fields
            for value in facts.data.getlist(name)  # type: ignore[attr-defined]
        ]
        kind = facts.cleaned_data["kind"]
        lacks = lacking(kind, frozenset(grid.measures))
        return self.page(
            "fitting/paper/size_grid.html",
            form=grid,
            name=facts.cleaned_data["name"],
            finished=facts.cleaned_data["basis"] == "finished",
            typed=typed,
            lacks=lacks_words(kind, lacks) if lacks else "",
            status=status,
        )


class PatternPage(HousePage):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}

    def get(
        self, request: HttpRequest, pattern_id: UUID, form: PatternChangeForm | None = None
    ) -> HttpResponse:
        pattern = pattern_get(self.actor, pattern_id)
        unit = studio_get(self.actor).unit
        sees_plans = self.actor.may(Right.READ_FIT_PLANS)
        return self.page(
            "fitting/paper/pattern.html",
            pattern=pattern,
            unit=unit,
            table=size_table(pattern, unit),
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


class NewPlan(HousePage):
    """Choose whose body, then which paper; a client in the address is chosen already."""

    right = Right.KEEP_PAPER

    def get(self, request: HttpRequest) -> HttpResponse:
        chosen = {name: _uuid(request.GET.get(name, "")) for name in ("client", "pattern", "garment")}
        if chosen["client"] is None:
            return self._choose_client(request, chosen)
        form = PlanForm(
            initial={
                "client": chosen["client"],
                "garment": chosen["garment"],
                "pattern": str(chosen["pattern"] or ""),
                "ease_set": chosen_set(self.actor),
            },
            **self._choices(),
        )
        return self._page(form, chosen["client"])

    def post(self, request: HttpRequest) -> HttpResponse:
        client_id = _uuid(request.POST.get("client", ""))
        if client_id is None:
            raise NotHere("client")
        form = PlanForm(request.POST, **self._choices())
        if form.is_valid():
            given = form.cleaned_data
            made = self.attempt(
                form,
                make_plan,
                client_id=client_id,
                pattern_id=UUID(given["pattern"]),
                garment_id=given["garment"],
                ease_set=given["ease_set"],
            )
            if made is not None:
                return self.done("The plan is made: read it, then approve it.", "fitting:plan", made.pk)
        return self._page(form, client_id, status=400)

    def _choose_client(self, request: HttpRequest, chosen: dict[str, UUID | None]) -> HttpResponse:
        words = request.GET.get("words", "").strip()
        carried = [(name, str(value)) for name, value in chosen.items() if value is not None]
        return self.page(
            "fitting/paper/choose_client.html",
            clients=client_list(self.actor, words=words)[:MOST_CLIENTS],
            words=words,
            carried=carried,
            most=MOST_CLIENTS,
        )

    def _choices(self) -> dict[str, list[tuple[str, str]]]:
        patterns = pattern_list(self.actor).prefetch_related(None)[:MOST_PATTERNS]
        return {
            "patterns": [
                ("", "Choose a pattern"),
                *((str(row.pk), f"{row.name} ({row.get_kind_display().lower()})") for row in patterns),
            ],
            "ease_sets": [(one.code, one.words) for one in ease_sets()],
        }

    def _page(self, form: PlanForm, client_id: UUID, status: int = 200) -> HttpResponse:
        client = client_get(self.actor, client_id)
        return self.page("fitting/paper/new_plan.html", form=form, client=client, status=status)


class PlanPage(HousePage):
    rights = {"GET": Right.READ_FIT_PLANS, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        plan = plan_get(self.actor, plan_id)
        data = asdict(plan)
        return self.page(
            "fitting/paper/plan.html",
            plan=plan,
            zones_svg=mark_safe(plan_zones_figure(data)),  # noqa: S308 - drawn by us, its texts escaped
            drawings=[mark_safe(svg) for svg in plan_alteration_figures(data)],  # noqa: S308 - same
            widths=[zone for zone in plan.zones if zone.kind == "width"],
            others=[zone for zone in plan.zones if zone.kind != "width"],
            warnings=[notice for notice in plan.notices if notice.code not in {"learned", "walk"}],
            walks=[notice for notice in plan.notices if notice.code == "walk"],
            many=needs_of(plan.kind).many,
            may_approve=plan.state == "draft" and self.actor.may(Right.KEEP_PAPER),
            may_plan=self.actor.may(Right.KEEP_PAPER),
        )

    def post(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        approve_plan(self.actor, plan_id)
        return self.done("Approved for the paper.", "fitting:plan", plan_id)


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
