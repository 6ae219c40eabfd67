"""Pages of garments and their fittings: the bench, a garment with everything that ties to it, a try-on."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.utils import timezone

from fitting.queries import choices
from fitting.queries import garments as garment_queries
from fitting.queries.appointments import agreed_of
from fitting.queries.cautions import cautions_for, cautions_of_garment
from fitting.queries.garment_lays import lays_of_garment
from fitting.queries.lays import say_long
from fitting.queries.past_fits import past_garments
from fitting.queries.report_facts import nothing_to_report
from fitting.queries.reports import issued_of, reports_of
from fitting.queries.tickets import ticket_lines
from fitting.services import garments as garment_services
from fitting.web.base import SEAM_PLACES, FittingPage
from fitting.web.garment_forms import GarmentForm, SeamForm
from studio.platform.errors import NotHere
from studio.platform.rights import Right
from studio.queries.clients import client_get, recent_clients


class Bench(FittingPage):
    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest) -> HttpResponse:
        return self.page(
            "fitting/garment/bench.html",
            bench=garment_queries.bench(self.actor),
            tickets=ticket_lines(self.actor, state="open"),
            may_issue=self.actor.may(Right.ISSUE_REPORTS),
        )


class NewGarment(FittingPage):
    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest, form: GarmentForm | None = None) -> HttpResponse:
        given = request.GET.get("client", "")
        if not given:
            return self.page("fitting/garment/whose_garment.html", clients=recent_clients(self.actor))
        client = client_get(self.actor, self._id(given))
        return self.page(
            "fitting/garment/new_garment.html",
            client=client,
            form=form or self._form(initial={"for_child": client.is_minor(timezone.localdate())}),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        client = client_get(self.actor, self._id(request.GET.get("client", "")))
        form = self._form(request.POST)
        if form.is_valid():
            given = dict(form.cleaned_data)
            made = self.attempt(
                form,
                garment_services.open_garment,
                client_id=client.pk,
                pattern_id=given.pop("pattern"),
                cloth_id=given.pop("cloth"),
                **given,
            )
            if made:
                return self.done(f"“{made.words}” is on the bench.", "fitting:garment", made.pk)
        return self.get(request, form)

    def _form(self, data: Any = None, **options: Any) -> GarmentForm:
        return GarmentForm(
            data,
            kinds=garment_queries.kinds(),
            choices=choices.garment_choices(self.actor),
            opening=True,
            **options,
        )

    @staticmethod
    def _id(text: str) -> UUID:
        try:
            return UUID(text)
        except ValueError:
            raise NotHere("client") from None


class GarmentPage(FittingPage):
    """Everything that ties to one garment, in the order of the work."""

    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest, garment_id: UUID, seam_form: SeamForm | None = None) -> HttpResponse:
        view = garment_queries.garment_get(self.actor, garment_id)
        garment = view.garment
        may_seam = view.is_open and self.actor.may(Right.FIT)
        history = past_garments(self.actor, [garment.client_id])[garment.client_id]
        reports = reports_of(self.actor, [garment.pk])
        waits_for = view.next_checkpoint
        return self.page(
            "fitting/garment/garment.html",
            view=view,
            garment=garment,
            client=garment.client,
            unit=garment.client.unit,
            waits_for=waits_for,
            tickets=ticket_lines(self.actor, state="", garment_id=garment.pk),
            fact=next(row for row in history if row.id == garment.pk),
            reports=[(report, issued_of(report)) for report in reports],
            nothing_to_report=nothing_to_report(garment, list(view.sessions)),
            seam_form=seam_form
            or (SeamForm(choices=choices.seam_choices(self.actor, garment)) if may_seam else None),
            seam_places=SEAM_PLACES,
            step_cautions=cautions_for(step=_steps_at(waits_for.code if waits_for else "")),
            wearer_cautions=cautions_of_garment(
                for_child=garment.for_child,
                materials=["elastic"] if any(seam.purpose == "elastic" for seam in view.seams) else [],
            ),
            agreed=agreed_of(self.actor, garment.pk),
            lays=[
                (row, say_long(row.chosen.length_mm, self.actor.unit) if row.chosen else "")
                for row in lays_of_garment(self.actor, garment.pk)
            ],
            may_fit=self.actor.may(Right.FIT),
            may_keep=self.actor.may(Right.KEEP_GARMENTS),
            may_plan=self.actor.may(Right.KEEP_PAPER),
            may_read_plans=self.actor.may(Right.READ_FIT_PLANS),
            may_read_notes=self.actor.may(Right.READ_FIT_NOTES),
            may_issue=self.actor.may(Right.ISSUE_REPORTS),
            may_open_reports=self.actor.may(Right.READ_REPORTS) or self.actor.may(Right.SEND_LINKS),
            status=400 if seam_form and seam_form.errors else 200,
        )


class ChangeGarment(FittingPage):
    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest, garment_id: UUID, form: GarmentForm | None = None) -> HttpResponse:
        garment = garment_queries.garment_row(self.actor, garment_id)
        return self.page(
            "fitting/garment/change_garment.html",
            garment=garment,
            form=form or self._form(garment, initial={**self._before(garment), "version": garment.version}),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, garment_id: UUID) -> HttpResponse:
        garment = garment_queries.garment_row(self.actor, garment_id)
        if "given_up" in request.POST:
            given_up = request.POST["given_up"] == "yes"
            if self.try_or_tell(garment_services.change_garment, garment_id, given_up=given_up) is not None:
                messages.success(
                    request, "The garment is given up." if given_up else "The garment is on the bench again."
                )
            return redirect("fitting:garment", garment_id)
        form = self._form(garment, request.POST)
        if form.is_valid():
            changed = self.attempt(
                form,
                garment_services.change_garment,
                garment_id,
                expected_version=form.cleaned_data["version"],
                **form.changes(self._before(garment)),
            )
            if changed:
                return self.done("Changed.", "fitting:garment", garment_id)
        return self.get(request, garment_id, form)

    @staticmethod
    def _before(garment: Any) -> dict[str, Any]:
        return {
            "words": garment.words,
            "pattern": garment.pattern_id,
            "cloth": garment.cloth_id,
            "plan": garment.plan_id,
            "due": garment.due,
            "for_child": garment.for_child,
            "notes": garment.notes,
        }

    def _form(self, garment: Any, data: Any = None, **options: Any) -> GarmentForm:
        offered = choices.garment_choices(self.actor, kind=garment.kind, client_id=garment.client_id)
        return GarmentForm(
            data,
            kinds=garment_queries.kinds(),
            choices=offered,
            plans=self.actor.may(Right.KEEP_PAPER),
            **options,
        )


class AnswerCheckpoint(FittingPage):
    """Buttons beside a checkpoint: done, gone past with a reason, open again."""

    right = Right.KEEP_GARMENTS

    def post(self, request: HttpRequest, garment_id: UUID) -> HttpResponseRedirect:
        answered = self.try_or_tell(
            garment_services.answer_checkpoint,
            garment_id,
            checkpoint=request.POST.get("checkpoint", ""),
            answer=request.POST.get("answer", ""),
            reason=request.POST.get("reason", ""),
        )
        if answered is not None:
            messages.success(request, f"Written down: {answered.get_answer_display().lower()}.")
        return redirect("fitting:garment", garment_id)


class ChooseSeam(GarmentPage):
    """The garment's page with the seam's form: a refusal comes back to its field."""

    right = Right.FIT

    def post(self, request: HttpRequest, garment_id: UUID) -> HttpResponse:
        if "drop" in request.POST:
            try:
                seam_id = UUID(request.POST["drop"])
            except ValueError:
                raise NotHere("seam of this garment") from None
            self.try_or_tell(garment_services.drop_seam, garment_id, seam_id)
            return redirect("fitting:garment", garment_id)
        garment = garment_queries.garment_row(self.actor, garment_id)
        form = SeamForm(request.POST, choices=choices.seam_choices(self.actor, garment))
        if form.is_valid():
            made = self.attempt(
                form,
                garment_services.choose_seam,
                garment_id,
                place=form.cleaned_data["place"],
                version_id=form.cleaned_data["version"],
            )
            if made:
                return self.done(f"Chosen for: {made.place}.", "fitting:garment", garment_id)
        return self.get(request, garment_id, form)


def _steps_at(code: str) -> list[str]:
    """What the hands do next, for the cautions of that step."""
    return {
        "lay_and_grain": ["cutting"],
        "seams_proven": ["machine_sewing"],
        "basted_and_fitted": ["basting"],
        "sewn": ["machine_sewing", "pressing"],
    }.get(code, [])
