"""Pages of fit plans: making one, reading it, overruling it, carrying it to the paper."""

from dataclasses import asdict
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.safestring import mark_safe

from fitting.figures.plan import plan_alteration_figures, plan_zones_figure
from fitting.queries.cutting_sheets import sheet_file, sheets_of
from fitting.queries.ease_rules import all_ease_sets, chosen_set
from fitting.queries.paper_zones import needs_of
from fitting.queries.patterns import pattern_list
from fitting.queries.plan_news import overrules_in
from fitting.queries.plan_view import PlanView, view_of
from fitting.queries.plans import plan_get, plan_row
from fitting.services.cutting_sheets import ask_cutting_sheet
from fitting.services.plan_acts import look_at_overrules, overrule_plan, tick_line
from fitting.services.plans import approve_plan, make_plan
from fitting.web.paper_plan_forms import OverruleForm, PlanForm
from fitting.web.report_views import pdf_response
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Right
from studio.platform.web.base import HousePage
from studio.queries.clients import client_get, client_list

MOST_CLIENTS = 20
MOST_PATTERNS = 500  # in a choice; beyond that one starts from the pattern's own page


class NewPlan(HousePage):
    """Choose whose body, then which paper; a client in the address is chosen already."""

    right = Right.KEEP_PAPER

    def get(self, request: HttpRequest) -> HttpResponse:
        chosen = {name: _uuid(request.GET.get(name, "")) for name in ("client", "pattern", "garment")}
        if chosen["client"] is None:
            return self._choose_client(request, chosen)
        form = PlanForm(
            minor=self._is_minor(chosen["client"]),
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
        form = PlanForm(request.POST, minor=self._is_minor(client_id), **self._choices())
        if form.is_valid():
            given = form.cleaned_data
            made = self.attempt(
                form,
                make_plan,
                client_id=client_id,
                pattern_id=UUID(given["pattern"]),
                garment_id=given["garment"],
                ease_set=given["ease_set"],
                with_estimates=given["with_estimates"],
                growing_months=int(given["growing_months"] or 0),
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

    def _is_minor(self, client_id: UUID) -> bool:
        return client_get(self.actor, client_id).is_minor(timezone.localdate())

    def _choices(self) -> dict[str, list[tuple[str, str]]]:
        patterns = pattern_list(self.actor).prefetch_related(None)[:MOST_PATTERNS]
        return {
            "patterns": [
                ("", "Choose a pattern"),
                *((str(row.pk), f"{row.name} ({row.get_kind_display().lower()})") for row in patterns),
            ],
            "ease_sets": [(one.code, one.words) for one in all_ease_sets(self.actor)],
        }

    def _page(self, form: PlanForm, client_id: UUID, status: int = 200) -> HttpResponse:
        client = client_get(self.actor, client_id)
        return self.page("fitting/paper/new_plan.html", form=form, client=client, status=status)


def drawings_of(plan: PlanView) -> dict[str, Any]:
    """The drawings of a plan for a template."""
    data = asdict(plan)
    return {
        "zones_svg": mark_safe(plan_zones_figure(data)),  # noqa: S308 - drawn by us, its texts escaped
        "drawings": [mark_safe(svg) for svg in plan_alteration_figures(data)],  # noqa: S308 - same
    }


def parts_of(plan: PlanView) -> dict[str, Any]:
    """What the plan's templates sort by."""
    return {
        "plan": plan,
        "widths": [zone for zone in plan.zones if zone.kind == "width"],
        "others": [zone for zone in plan.zones if zone.kind != "width"],
        "warnings": [notice for notice in plan.notices if notice.code not in QUIET],
        "walks": [notice for notice in plan.notices if notice.code == "walk"],
    }


QUIET = {"learned", "walk", "growing", "by_hand"}  # told elsewhere on the page


class PlanPage(HousePage):
    rights = {"GET": Right.READ_FIT_PLANS, "POST": Right.KEEP_PAPER}

    def get(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        plan = plan_get(self.actor, plan_id)
        may_keep = self.actor.may(Right.KEEP_PAPER)
        return self.page(
            "fitting/paper/plan.html",
            **parts_of(plan),
            **drawings_of(plan),
            many=needs_of(plan.kind).many,
            sheets=sheets_of(self.actor, plan_id) if plan.state != "draft" else [],
            may_approve=plan.state == "draft" and may_keep,
            may_tick=plan.state == "approved" and may_keep,
            may_plan=may_keep,
        )

    def post(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        approve_plan(self.actor, plan_id)
        return self.done("Approved for the paper.", "fitting:plan", plan_id)


class OverrulePlan(HousePage):
    """Set sizes and amounts by hand; what would follow stands beside the form, at once where a script runs."""

    right = Right.KEEP_PAPER

    def get(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        row = plan_row(self.actor, plan_id)
        plan = view_of(row)
        if plan.state != "draft":
            return redirect("fitting:plan", plan_id)
        form = OverruleForm(
            plan=plan, initial=OverruleForm.initial_of(plan, overrules_in(row.result), row.version)
        )
        return self._page(plan, form)

    def post(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        row = plan_row(self.actor, plan_id)
        plan = view_of(row)
        form = OverruleForm(request.POST, plan=plan)
        looked: PlanView | None = None
        # A script that looks while the button is being pressed sends the button along.
        keep = "keep" in request.POST and "HX-Request" not in request.headers
        if form.is_valid():
            given = form.given()
            if keep:
                kept = self.attempt(
                    form, self._keep, plan_id, typed=form, expected_version=form.cleaned_data["version"]
                )
                if kept is not None:
                    return self.done(
                        "The plan is reckoned anew with what was set by hand.", "fitting:plan", plan_id
                    )
            try:
                looked = view_of(row, result=look_at_overrules(row, given))
            except Refused as exc:
                if not keep:
                    for field, reason in exc.reasons.items():
                        form.add_error(form.field_of(field), reason)
        return self._page(looked or plan, form, looked=looked is not None, status=400 if keep else 200)

    @staticmethod
    def _keep(actor: Any, plan_id: UUID, *, typed: OverruleForm, expected_version: int) -> Any:
        try:
            return overrule_plan(actor, plan_id, given=typed.given(), expected_version=expected_version)
        except Refused as exc:
            raise Refused(
                {typed.field_of(field) or "": reason for field, reason in exc.reasons.items()}
            ) from exc

    def _page(
        self, plan: PlanView, form: OverruleForm, *, looked: bool = False, status: int = 200
    ) -> HttpResponse:
        return self.page(
            "fitting/paper/overrule.html",
            **parts_of(plan),
            **drawings_of(plan),
            form=form,
            looked=looked,
            by_hand=[notice for notice in plan.notices if notice.code == "by_hand"],
            status=status,
        )


class TickLine(HousePage):
    right = Right.KEEP_PAPER

    def post(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        done = request.POST.get("done") == "yes"
        tick_line(self.actor, plan_id, line=request.POST.get("line", ""), done=done)
        return self.done("Ticked off." if done else "Open again.", "fitting:plan", plan_id)


class AskSheet(HousePage):
    right = Right.KEEP_PAPER

    def post(self, request: HttpRequest, plan_id: UUID) -> HttpResponse:
        sheet = ask_cutting_sheet(self.actor, plan_id)
        return self.done("The sheet for the cutting table is being drawn.", "platform:job", sheet.job_id)


class SheetPdf(HousePage):
    right = Right.READ_FIT_PLANS

    def get(self, request: HttpRequest, plan_id: UUID, sheet_id: UUID) -> HttpResponse:
        return pdf_response(sheet_file(self.actor, plan_id, sheet_id))


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
