"""Pages about recipes: all of them by purpose, one of them, writing and changing."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse

from seamlab.queries import advice, comparisons, seams, supplies
from seamlab.queries.library import kind_words, library_standing
from seamlab.services import seams as services
from seamlab.web.base import KeepingPage, SeamPage
from seamlab.web.drawings import sample_drawing, stitch_drawing
from seamlab.web.seam_forms import ChangeRecipeForm, DescribeRecipeForm, RecipeFilterForm, RecipeForm

TRIAL_ROWS = 50


class Recipes(SeamPage):
    """Every recipe under its purpose, narrowed by what is asked for."""

    def get(self, request: HttpRequest) -> HttpResponse:
        form = RecipeFilterForm(request.GET)
        wanted = form.cleaned_data if form.is_valid() else {}
        number = request.GET.get("page", "1")
        page = seams.recipe_page(self.actor, page=int(number) if number.isdecimal() else 1, **wanted)
        groups = [
            (
                group,
                [
                    (row, advice.stitch_words(row.version.stitch_type), advice.layer_words(row.recipe))
                    for row in group.rows
                ],
            )
            for group in page.groups
        ]
        query = request.GET.copy()
        query.pop("page", None)
        return self.page(
            "seamlab/recipes.html",
            groups=groups,
            recipes=page,
            form=form,
            narrowed=any(wanted.values()),
            query=query.urlencode(),
            library=library_standing(self.actor),
        )


class RecipePage(SeamPage):
    """One recipe: newest settings, drawing, estimates, trials, comparisons, older versions."""

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
            basis=advice.basis_of(newest),
            written_for=kind_words(recipe.written_for),
            proven=any(_proves(trial, newest) for trial in trials),
            older=[(version, advice.settings_of(version)) for version in older],
            drawing=stitch_drawing(newest.stitch_type, newest.stitch_length_mm, newest.stitch_width_mm),
            sample=sample_drawing(newest),
            stitch=advice.stitch_words(newest.stitch_type),
            layers=advice.layer_words(recipe),
            seam_class=advice.seam_class_words(recipe.seam_class),
            estimates=advice.estimates_for(newest, machines, thickness_mm=thickness),
            trials=trials,
            comparisons=list(comparisons.comparison_list(self.actor, recipe_id=recipe_id)[:TRIAL_ROWS]),
        )


def _proves(trial: Any, version: Any) -> bool:
    return trial.version_id == version.pk and trial.verdict == "passes" and not trial.is_withdrawn


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


class DescribeRecipe(KeepingPage):
    """Another name for a recipe, and for which kinds of cloth it is; settings and trials stay as they are."""

    def get(
        self, request: HttpRequest, recipe_id: UUID, form: DescribeRecipeForm | None = None
    ) -> HttpResponse:
        recipe = seams.recipe_get(self.actor, recipe_id)
        initial = {"version": recipe.version, "name": recipe.name, "written_for": recipe.written_for}
        return self.page(
            "seamlab/describe_recipe.html",
            recipe=recipe,
            form=form or DescribeRecipeForm(structure=recipe.structure, initial=initial),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, recipe_id: UUID) -> HttpResponse:
        recipe = seams.recipe_get(self.actor, recipe_id)
        form = DescribeRecipeForm(request.POST, structure=recipe.structure)
        if form.is_valid():
            given = form.cleaned_data
            kept = self.attempt(
                form,
                services.describe_recipe,
                recipe_id,
                name=given["name"],
                written_for=given["written_for"],
                expected_version=given["version"],
            )
            if kept:
                return self.done(
                    "Kept; its settings and trials are as they were.", "seamlab:recipe", recipe_id
                )
        return self.get(request, recipe_id, form)


class PutAwayRecipe(KeepingPage):
    """Putting a recipe away, or taking it out again; its trials stay."""

    def post(self, request: HttpRequest, recipe_id: UUID) -> HttpResponse:
        away = request.POST.get("away") == "yes"
        services.describe_recipe(self.actor, recipe_id, is_hidden=away)
        words = "The recipe is put away: it is no longer offered." if away else "The recipe is offered again."
        return self.done(words, "seamlab:recipe", recipe_id)
