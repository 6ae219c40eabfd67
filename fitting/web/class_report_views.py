"""Pages of the fit reports of a whole class: choosing garments, and how far the reports are."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from fitting.queries.class_reports import Candidates, report_batch, report_candidates
from fitting.services.class_reports import ask_reports, retry_reports
from fitting.web.base import FittingPage
from studio.platform.errors import NotHere
from studio.platform.models.base import new_id
from studio.platform.rights import Right


class ChosenForm(forms.Form):
    """Which garments get a report. ``batch`` is made with the page, so that a form sent twice asks once."""

    batch = forms.UUIDField(widget=forms.HiddenInput)
    garments = forms.TypedMultipleChoiceField(
        coerce=UUID, error_messages={"required": "Tick at least one garment."}
    )

    def __init__(self, *args: Any, found: Candidates, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["garments"].choices = [(str(row.garment.pk), row.garment.words) for row in found.rows]  # type: ignore[attr-defined]


class ClassReports(FittingPage):
    """Garments of a course, or of the bench, with what each lacks for a report."""

    right = Right.ISSUE_REPORTS

    def get(self, request: HttpRequest) -> HttpResponse:
        found = self.found()
        form = ChosenForm(found=found, initial={"batch": new_id()})
        ticked = {row.garment.pk for row in found.rows if row.proposed}
        return self.page("fitting/garment/class_reports.html", found=found, form=form, ticked=ticked)

    def post(self, request: HttpRequest) -> HttpResponse:
        found = self.found()
        form = ChosenForm(request.POST, found=found)
        if form.is_valid():
            chosen = form.cleaned_data
            made = self.attempt(form, ask_reports, chosen["garments"], batch_id=chosen["batch"])
            if made:
                for row in made.left_out:
                    messages.error(request, f"{row.garment.client.name}, {row.garment.words}: {row.missing}")
                return redirect("fitting:report-batch", made.id)
        typed = set(request.POST.getlist("garments"))
        ticked = {row.garment.pk for row in found.rows if str(row.garment.pk) in typed}
        return self.page(
            "fitting/garment/class_reports.html", found=found, form=form, ticked=ticked, status=400
        )

    def found(self) -> Candidates:
        given = self.request.GET.get("course", "")
        try:
            course_id = UUID(given) if given else None
        except ValueError:
            raise NotHere("course") from None
        return report_candidates(self.actor, course_id)


class ReportBatch(FittingPage):
    """How far the reports of one act are; a POST tries again those that failed."""

    right = Right.ISSUE_REPORTS

    def get(self, request: HttpRequest, batch_id: UUID) -> HttpResponse:
        return self.page("fitting/garment/report_batch.html", batch=report_batch(self.actor, batch_id))

    def post(self, request: HttpRequest, batch_id: UUID) -> HttpResponse:
        tried = retry_reports(self.actor, batch_id)
        words = f"{tried} tried again." if tried else "There was nothing to try again."
        return self.done(words, "fitting:report-batch", batch_id)
