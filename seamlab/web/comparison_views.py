"""Samples side by side: choosing them, keeping the table, writing down what was taken."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from seamlab.queries import comparisons, seams
from seamlab.services import comparisons as services
from seamlab.web.base import KeepingPage, SeamPage
from seamlab.web.drawings import sample_drawing
from seamlab.web.trial_forms import ComparisonForm, ConclusionForm
from studio.calc.units import format_length
from studio.platform.errors import NotHere

ROWS = 50


def _ids(texts: list[str]) -> list[UUID]:
    found = []
    for text in texts:
        try:
            found.append(UUID(text))
        except ValueError as exc:
            raise NotHere("seam trial") from exc
    return list(dict.fromkeys(found))


class _TablePage(SeamPage):
    def table(self, trials: list[Any]) -> dict[str, Any]:
        """The samples with their looks, and everything in which they differ."""
        return {
            "table": comparisons.sample_table(trials, length=lambda mm: format_length(mm, self.unit)),
            "samples": [
                (place, trial, sample_drawing(trial.version)) for place, trial in enumerate(trials, 1)
            ],
        }


class Comparisons(SeamPage):
    """The tables that were kept."""

    def get(self, request: HttpRequest) -> HttpResponse:
        kept = list(comparisons.comparison_list(self.actor)[:ROWS])
        return self.page("seamlab/comparisons.html", kept=kept)


class Compare(_TablePage):
    """Samples that somebody ticked, side by side; kept only when a question is written."""

    def get(self, request: HttpRequest) -> HttpResponse:
        return self._show(_ids(request.GET.getlist("trial")), ComparisonForm())

    def _show(self, trial_ids: list[UUID], form: ComparisonForm, status: int = 200) -> HttpResponse:
        few = not comparisons.LEAST_SAMPLES <= len(trial_ids) <= comparisons.MOST_SAMPLES
        shown: dict[str, Any] = {} if few else self.table(comparisons.comparable(self.actor, trial_ids))
        return self.page(
            "seamlab/compare.html",
            form=form,
            few=few,
            least=comparisons.LEAST_SAMPLES,
            most=comparisons.MOST_SAMPLES,
            recent=list(seams.trial_list(self.actor)[:ROWS]) if few else [],
            status=status,
            **shown,
        )


class KeepComparison(KeepingPage, Compare):
    def get(self, request: HttpRequest) -> HttpResponse:
        return redirect("seamlab:comparisons")

    def post(self, request: HttpRequest) -> HttpResponse:
        trial_ids = _ids(request.POST.getlist("trial"))
        form = ComparisonForm(request.POST)
        if form.is_valid():
            kept = self.attempt(
                form, services.keep_comparison, question=form.cleaned_data["question"], trial_ids=trial_ids
            )
            if kept:
                return self.done("The samples lie side by side.", "seamlab:comparison", kept.pk)
        return self._show(trial_ids, form, 400)


class ComparisonPage(_TablePage):
    """One kept table with what was concluded."""

    def get(self, request: HttpRequest, comparison_id: UUID) -> HttpResponse:
        return self.show(comparison_id)

    def show(self, comparison_id: UUID, form: ConclusionForm | None = None) -> HttpResponse:
        kept = comparisons.comparison_get(self.actor, comparison_id)
        trials = kept.trials  # type: ignore[attr-defined]
        conclusion, *earlier = kept.newest_first or [None]  # type: ignore[attr-defined]
        return self.page(
            "seamlab/comparison.html",
            kept=kept,
            conclusion=conclusion,
            earlier=earlier,
            form=form or self.conclusion_form(trials),
            further=comparisons.further_samples(self.actor, kept),
            status=400 if form else 200,
            **self.table(trials),
        )

    def conclusion_form(self, trials: list[Any], data: Any = None) -> ConclusionForm:
        offered = [
            (trial.pk, f"Sample {place}: {trial.version.recipe.name}, version {trial.version.number}")
            for place, trial in enumerate(trials, 1)
            if not trial.is_withdrawn
        ]
        return ConclusionForm(data, samples=offered)


class Conclude(KeepingPage, ComparisonPage):
    def post(self, request: HttpRequest, comparison_id: UUID) -> HttpResponse:
        kept = comparisons.comparison_get(self.actor, comparison_id)
        form = self.conclusion_form(kept.trials, request.POST)  # type: ignore[attr-defined]
        if form.is_valid():
            concluded = self.attempt(
                form,
                services.conclude_comparison,
                comparison_id,
                taken_id=form.taken,
                words=form.cleaned_data["words"],
            )
            if concluded:
                return self.done("What was taken is written down.", "seamlab:comparison", comparison_id)
        return self.show(comparison_id, form)


class LaySamples(KeepingPage):
    """Laying other samples on a kept table: those that are ticked, the ones that lay there first."""

    def post(self, request: HttpRequest, comparison_id: UUID) -> HttpResponse:
        version = request.POST.get("version", "")
        services.change_comparison(
            self.actor,
            comparison_id,
            trial_ids=_ids(request.POST.getlist("trial")),
            expected_version=int(version) if version.isdecimal() else None,
        )
        return self.done("The samples lie side by side.", "seamlab:comparison", comparison_id)


class PutAwayComparison(KeepingPage):
    def post(self, request: HttpRequest, comparison_id: UUID) -> HttpResponse:
        services.put_away_comparison(self.actor, comparison_id)
        return self.done("The table is put away; its trials stay.", "seamlab:comparisons")
