"""Pages about trials: recording one, reading it, its photographs, withdrawing it."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse

from seamlab.queries import advice, comparisons, seams, supplies
from seamlab.queries import cloth as cloth_queries
from seamlab.services import seams as services
from seamlab.services import trials as keeping
from seamlab.web.base import KeepingPage, SeamPage
from seamlab.web.drawings import sample_drawing, stitch_drawing
from seamlab.web.trial_forms import PhotoForm, TrialForm, WithdrawForm
from studio.platform.services.files import read_file


class NewTrial(KeepingPage):
    """First the sample is judged and nothing kept; then a person decides and the trial is kept."""

    def get(self, request: HttpRequest) -> HttpResponse:
        # A link names the nouns; the form, when it asks for its checklist, its own fields.
        wanted = {
            f"{noun}_id": request.GET.get(noun) or request.GET.get(f"{noun}_id", "")
            for noun in ("version", "cloth", "machine")
        }
        return self._show(self._form(None, wanted["version_id"], wanted["cloth_id"], initial=wanted))

    def post(self, request: HttpRequest) -> HttpResponse:
        form = self._form(request.POST, request.POST.get("version_id", ""), request.POST.get("cloth_id", ""))
        if not form.is_valid():
            return self._show(form, status=400)
        if "keep" not in request.POST:
            draft = self.attempt(form, services.draft_trial, **form.figures())
            if draft:
                form.propose(draft.proposed)
            return self._show(form, draft=draft, status=200 if draft else 400)
        trial = self.attempt(
            form,
            services.record_trial,
            verdict=form.cleaned_data["verdict"] or None,
            verdict_reason=form.cleaned_data["verdict_reason"],
            **form.figures(),
        )
        if trial:
            return self.done("The trial is kept. A photograph of the sample helps whoever comes next.",
                             "seamlab:trial", trial.pk)  # fmt: skip
        decisions = {"verdict", "verdict_reason"}
        draft = (
            self.attempt(form, services.draft_trial, **form.figures())
            if set(form.errors) <= decisions
            else None
        )
        return self._show(form, draft=draft, status=400)

    def _form(self, data: Any, version_id: str, cloth_id: str, **options: Any) -> TrialForm:
        versions = sorted(
            seams.newest_versions(self.actor),
            key=lambda row: (row.recipe.structure, row.recipe.name.casefold()),
        )
        cloths = list(cloth_queries.cloth_list(self.actor))
        version = next((row for row in versions if str(row.pk) == version_id), None)
        cloth = next((row for row in cloths if str(row.pk) == cloth_id), None)
        changes = advice.knit_checklist(version, cloth.structure) if version and cloth else ()
        return TrialForm(
            data,
            unit=self.unit,
            versions=[
                (row.pk, f"{row.recipe.name} ({row.recipe.structure}), version {row.number}")
                for row in versions
            ],
            cloths=[(row.pk, f"{row.name} ({row.structure})") for row in cloths],
            machines=[(row.pk, row.name) for row in supplies.machine_list(self.actor)],
            changes=changes,
            **options,
        )

    def _show(self, form: TrialForm, *, draft: Any = None, status: int = 200) -> HttpResponse:
        missing = [
            noun
            for noun, field in (("recipe", "version_id"), ("cloth", "cloth_id"))
            if len(form.fields[field].choices) < 2  # type: ignore[attr-defined]
        ]
        return self.page("seamlab/new_trial.html", form=form, draft=draft, missing=missing, status=status)


class TrialPage(SeamPage):
    """One trial: what was measured, what was proposed and why, what was decided."""

    def get(self, request: HttpRequest, trial_id: UUID) -> HttpResponse:
        return self.show(trial_id)

    def show(self, trial_id: UUID, *, photo_form: Any = None, withdraw_form: Any = None) -> HttpResponse:
        trial = seams.trial_get(self.actor, trial_id)
        version = trial.version
        withdrawn = trial.withdrawn[0] if trial.withdrawn else None  # type: ignore[attr-defined]
        return self.page(
            "seamlab/trial.html",
            trial=trial,
            withdrawn=withdrawn,
            settings=advice.settings_of(version),
            cost=comparisons.sample_table([trial], length=str).cost,
            drawing=stitch_drawing(version.stitch_type, version.stitch_length_mm, version.stitch_width_mm),
            sample=sample_drawing(version),
            stitch=advice.stitch_words(version.stitch_type),
            photo_form=photo_form or PhotoForm(auto_id="photo_%s"),
            withdraw_form=withdraw_form or WithdrawForm(auto_id="withdraw_%s"),
            status=400 if photo_form or withdraw_form else 200,
        )


class TrialPhotos(KeepingPage, TrialPage):
    """Adding a photograph of the sample."""

    def get(self, request: HttpRequest, trial_id: UUID) -> HttpResponse:
        return self.show(trial_id)

    def post(self, request: HttpRequest, trial_id: UUID) -> HttpResponse:
        form = PhotoForm(request.POST, request.FILES, auto_id="photo_%s")
        if form.is_valid():
            picture = form.cleaned_data["picture"].read()
            if self.attempt(
                form, keeping.add_trial_photo, trial_id, picture=picture, side=form.cleaned_data["side"]
            ):
                return self.done("The photograph is kept.", "seamlab:trial", trial_id)
        return self.show(trial_id, photo_form=form)


class HideTrialPhoto(KeepingPage):
    def post(self, request: HttpRequest, photo_id: UUID) -> HttpResponse:
        photo = keeping.hide_trial_photo(self.actor, photo_id)
        return self.done("The photograph is taken away.", "seamlab:trial", photo.trial_id)


class TrialPhotoFile(SeamPage):
    """The photograph itself."""

    def get(self, request: HttpRequest, photo_id: UUID) -> HttpResponse:
        file = seams.trial_photo_file(self.actor, photo_id)
        response = HttpResponse(read_file(file), content_type=file.media_type)
        response["Content-Disposition"] = "inline"
        return response


class WithdrawTrial(KeepingPage, TrialPage):
    """Saying that a trial was recorded wrongly."""

    def get(self, request: HttpRequest, trial_id: UUID) -> HttpResponse:
        return self.show(trial_id)

    def post(self, request: HttpRequest, trial_id: UUID) -> HttpResponse:
        form = WithdrawForm(request.POST, auto_id="withdraw_%s")
        if form.is_valid():
            reason = form.cleaned_data["reason"]
            withdrawn = self.attempt(form, keeping.withdraw_trial, trial_id, reason=reason)
            if withdrawn:
                return self.done("The trial is withdrawn; it counts no longer.", "seamlab:trial", trial_id)
        return self.show(trial_id, withdraw_form=form)
