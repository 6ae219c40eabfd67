"""Pages of sample sheets: what one shows, the PDF, and where the code on it leads."""

from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from seamlab.queries import choices, sample_sheets
from seamlab.queries.cloth import cloth_get
from seamlab.services import sample_sheets as services
from seamlab.web.base import KeepingPage, SeamPage
from studio.platform.queries.jobs import as_read
from studio.platform.web.files import file_answer

SHOWN_ROWS = 10
SEWN = "sewn"  # no purpose: what was tried already


class SheetForm(forms.Form):
    purpose = forms.ChoiceField(
        choices=[(SEWN, "the samples that were sewn on it"), *choices.PURPOSES],
        initial=SEWN,
        label="The sheet shows",
        help_text="For a purpose: the best recipes for this cloth, tried or still to be tried.",
    )


class ClothSheet(KeepingPage):
    """Ask for the sheet of a cloth."""

    def get(self, request: HttpRequest, cloth_id: UUID, form: SheetForm | None = None) -> HttpResponse:
        return self.page(
            "seamlab/sheet/new_sheet.html",
            cloth=cloth_get(self.actor, cloth_id),
            form=form or SheetForm(initial={"purpose": request.GET.get("purpose", SEWN)}),
            sheets=[as_read(job) for job in sample_sheets.sheet_list(self.actor)[:SHOWN_ROWS]],
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, cloth_id: UUID) -> HttpResponse:
        form = SheetForm(request.POST)
        if form.is_valid():
            chosen = form.cleaned_data["purpose"]
            job = self.attempt(
                form, services.ask_cloth_sheet, cloth_id, purpose="" if chosen == SEWN else chosen
            )
            if job is not None:
                return self.done("The sheet is being drawn.", "platform:job", job.pk)
        return self.get(request, cloth_id, form)


class ComparisonSheet(KeepingPage):
    """Asked for by a button on the comparison's page."""

    def get(self, request: HttpRequest, comparison_id: UUID) -> HttpResponse:
        return redirect("seamlab:comparison", comparison_id)

    def post(self, request: HttpRequest, comparison_id: UUID) -> HttpResponse:
        job = services.ask_comparison_sheet(self.actor, comparison_id)
        return self.done("The sheet is being drawn.", "platform:job", job.pk)


class SheetFile(SeamPage):
    """The PDF as it was stored."""

    def get(self, request: HttpRequest, sheet_id: UUID) -> Any:
        return file_answer(sample_sheets.sheet_file(self.actor, sheet_id), as_attachment=False)


class Sample(SeamPage):
    """Where the code of a sheet leads: to the trial, or to the page on which one is written down."""

    def get(self, request: HttpRequest, code: str) -> HttpResponse:
        first, _, second = code.partition("-")
        if not second:
            return redirect("seamlab:trial", sample_sheets.trial_of_code(self.actor, first).pk)
        version, cloth = sample_sheets.pair_of_code(self.actor, first, second)
        return redirect(f"{reverse('seamlab:new-trial')}?{urlencode({'version': version, 'cloth': cloth})}")
