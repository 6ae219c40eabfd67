"""Pages about seams: recipes by purpose, one recipe, writing and changing it, trials."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse

from seamlab.queries import advice, seams, supplies
from seamlab.queries import cloth as cloth_queries
from seamlab.services import seams as services
from seamlab.web.base import KeepingPage, SeamPage
from seamlab.web.drawings import stitch_drawing
from seamlab.web.seam_forms import ChangeRecipeForm, RecipeForm, TrialForm

TRIAL_ROWS = 50


class Recipes(SeamPage):
    """Every recipe under its purpose."""

    def get(self, request: HttpRequest) -> HttpResponse:
        groups = [
            (
                group,
                [
                    (row, advice.stitch_words(row.version.stitch_type), advice.layer_words(row.recipe))
                    for row in group.rows
                ],
            )
            for group in seams.recipes_by_purpose(self.actor)
        ]
        return self.page("seamlab/recipes.html", groups=groups)


class RecipePage(SeamPage):
    """One recipe: newest settings, drawing, estimates, trials, older versions."""

    def get(self, request: HttpRequest, recipe_id: UUID) -> HttpResponse:
        recipe = seams.recipe_get(self.actor, recipe_id)
        newest, *older = recipe.versions.all()
        trials = list(seams.trials_of(self.actor, recipe_id)[:TRIAL_ROWS])
        sewn = next((trial for trial in trials if trial.version_id == newest.pk), None)
        thickness = advice.thickness_of(sewn.cloth.thickness_mm, sewn.layers) if sewn else None
        machines = list(supplies.machine_list(self.actor))
        return self.page(
            "seamlab/recipe.html",
            recipe=recipe,
            newest=newest,
            settings=advice.settings_of(newest),
            older=[(version, advice.settings_of(version)) for version in older],
            drawing=stitch_drawing(newest.stitch_type, newest.stitch_length_mm, newest.stitch_width_mm),
            stitch=advice.stitch_words(newest.stitch_type),
            layers=advice.layer_words(recipe),
            seam_class=advice.seam_class_words(recipe.seam_class),
            estimates=advice.estimates_for(newest, machines, thickness_mm=thickness),
            trials=trials,
        )


class _SettingsPage(KeepingPage):
    def shelf(self) -> dict[str, Any]:
        """Threads and needles to choose from; two queries."""
        return {
            "threads": [(row.pk, supplies.thread_words(row)) for row in supplies.thread_list(self.actor)],
            "needles": [(row.pk, supplies.needle_words(row)) for row in supplies.needle_list(self.actor)],
        }


class NewRecipe(_SettingsPage):
    def get(self, request: HttpRequest) -> HttpResponse:
        return self._show(RecipeForm(**self.shelf(), initial={"purpose": request.GET.get("purpose", "join")}))

    def post(self, request: HttpRequest) -> HttpResponse:
        form = RecipeForm(request.POST, **self.shelf())
        if form.is_valid():
            facts = {
                name: form.cleaned_data[name]
                for name in ("name", "purpose", "seam_class", "structure", "layers_low", "layers_high")
            }
            settings = services.RecipeSettings(**form.settings_given(services.SETTING_NAMES))
            version = self.attempt(form, services.write_recipe, settings=settings, **facts)
            if version:
                return self.done(
                    "The recipe is written. Sew a sample and record the trial.",
                    "seamlab:recipe",
                    version.recipe_id,
                )
        return self._show(form, 400)

    def _show(self, form: RecipeForm, status: int = 200) -> HttpResponse:
        empty = len(form.fields["needle_thread_id"].choices) < 2  # type: ignore[attr-defined]
        return self.page("seamlab/new_recipe.html", form=form, no_thread=empty, status=status)


class ChangeRecipe(_SettingsPage):
    def get(self, request: HttpRequest, recipe_id: UUID) -> HttpResponse:
        recipe = seams.recipe_get(self.actor, recipe_id)
        newest = recipe.versions.all()[0]
        initial = {name: getattr(newest, name) for name in services.SETTING_NAMES}
        initial["version"] = recipe.version
        return self._show(recipe, ChangeRecipeForm(**self.shelf(), initial=initial))

    def post(self, request: HttpRequest, recipe_id: UUID) -> HttpResponse:
        form = ChangeRecipeForm(request.POST, **self.shelf())
        if form.is_valid():
            settings = services.RecipeSettings(**form.settings_given(services.SETTING_NAMES))
            version = self.attempt(
                form,
                services.change_recipe,
                recipe_id,
                settings=settings,
                expected_version=form.cleaned_data["version"],
            )
            if version:
                words = f"Version {version.number} is written; it is untested until a sample is sewn."
                return self.done(words, "seamlab:recipe", recipe_id)
        return self._show(seams.recipe_get(self.actor, recipe_id), form, 400)

    def _show(self, recipe: Any, form: ChangeRecipeForm, status: int = 200) -> HttpResponse:
        return self.page("seamlab/change_recipe.html", recipe=recipe, form=form, status=status)


class NewTrial(KeepingPage):
    """First the sample is judged and nothing kept; then a person decides and the trial is kept."""

    def get(self, request: HttpRequest) -> HttpResponse:
        wanted = {f"{noun}_id": request.GET.get(noun, "") for noun in ("version", "cloth", "machine")}
        return self._show(self._form(None, initial=wanted))

    def post(self, request: HttpRequest) -> HttpResponse:
        form = self._form(request.POST)
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
            return self.done("The trial is kept.", "seamlab:trial", trial.pk)
        decisions = {"verdict", "verdict_reason"}
        draft = (
            self.attempt(form, services.draft_trial, **form.figures())
            if set(form.errors) <= decisions
            else None
        )
        return self._show(form, draft=draft, status=400)

    def _form(self, data: Any, **options: Any) -> TrialForm:
        versions = sorted(
            seams.newest_versions(self.actor),
            key=lambda row: (row.recipe.structure, row.recipe.name.casefold()),
        )
        return TrialForm(
            data,
            unit=self.unit,
            versions=[
                (row.pk, f"{row.recipe.name} ({row.recipe.structure}), version {row.number}")
                for row in versions
            ],
            cloths=[
                (row.pk, f"{row.name} ({row.structure})") for row in cloth_queries.cloth_list(self.actor)
            ],
            machines=[(row.pk, row.name) for row in supplies.machine_list(self.actor)],
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
        trial = seams.trial_get(self.actor, trial_id)
        version = trial.version
        return self.page(
            "seamlab/trial.html",
            trial=trial,
            settings=advice.settings_of(version),
            drawing=stitch_drawing(version.stitch_type, version.stitch_length_mm, version.stitch_width_mm),
            stitch=advice.stitch_words(version.stitch_type),
        )
