"""Pages of measures and sets: what the studio measures, and how each measure is taken."""

from typing import Any

from django.http import HttpRequest, HttpResponse

from studio.figures.body import body_figure
from studio.figures.tape import tape_line
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.web.base import HousePage
from studio.queries import choices
from studio.queries.catalogue import KINDS, WEIGHT_UNITS, CatalogueMeasure
from studio.services import choices as choice_services
from studio.web.class_forms import OWN_MEASURE_FIELDS, OwnMeasureForm, OwnSetForm

KIND_WORDS = {
    "girth": "Girths",
    "length": "Lengths",
    "width": "Widths",
    "height": "Heights",
    "weight": "Weight",
}
FIGURE_SECONDS = 3600


class Measures(HousePage):
    """The measures of one kind, the hidden ones last."""

    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest) -> HttpResponse:
        kind = request.GET.get("kind", KINDS[0])
        if kind not in KINDS:
            raise NotHere("kind of measure")
        every = choices.measure_choices(self.actor)
        mine = [found for found in every if found.measure.kind == kind]
        counts = {each: sum(found.measure.kind == each for found in every) for each in KINDS}
        return self.page(
            "studio/class/measures.html",
            kinds=[(each, KIND_WORDS[each], counts[each]) for each in KINDS if counts[each]],
            kind=kind,
            kind_words=KIND_WORDS[kind],
            offered=[(found, _words(found.measure, self.actor.unit)) for found in mine if not found.hidden],
            hidden=[found for found in mine if found.hidden],
        )


class HideMeasure(HousePage):
    right = Right.RECORD_MEASURING

    def post(self, request: HttpRequest, code: str) -> HttpResponse:
        hide = request.POST.get("show") != "1"
        (choice_services.hide_measure if hide else choice_services.show_measure)(self.actor, code)
        found = choices.measure_choice(self.actor, code).measure
        words = f"{found.name} is no longer offered." if hide else f"{found.name} is offered again."
        response = self.done(words, "studio:measures")
        response["Location"] += f"?kind={found.kind}"
        return response


class NewMeasure(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest) -> HttpResponse:
        return self._page(self._form())

    def post(self, request: HttpRequest) -> HttpResponse:
        form = self._form(request.POST)
        if form.is_valid() and (row := self.attempt(form, self._add, form.facts())):
            response = self.done(f"{row.facts['name']} is added.", "studio:measures")
            response["Location"] += f"?kind={row.facts['kind']}"
            return response
        return self._page(form, status=400)

    @staticmethod
    def _add(actor: Actor, facts: dict[str, Any]) -> Any:
        try:
            return choice_services.add_measure(actor, **facts)
        except Refused as exc:
            raise Refused(
                {OWN_MEASURE_FIELDS.get(field, field): words for field, words in exc.reasons.items()}
            ) from exc

    def _form(self, data: Any = None) -> OwnMeasureForm:
        return OwnMeasureForm(
            data,
            unit=self.actor.unit,
            known=choices.measures_for(self.actor).measures,
            initial={"side": "centre"},
        )

    def _page(self, form: OwnMeasureForm, status: int = 200) -> HttpResponse:
        return self.page("studio/class/new_measure.html", form=form, status=status)


class MeasureFigure(HousePage):
    """The body with the line of one measure, as a picture."""

    right = Right.FIND_CLIENTS

    def get(self, request: HttpRequest, code: str) -> HttpResponse:
        found = choices.known_measures(self.actor).get(code)
        if found is None or found.figure is None:
            raise NotHere("figure")
        line = tape_line(1, found.figure, body_side=found.side, label=found.name)
        response = HttpResponse(
            body_figure(found.figure["view"], [line], labels=False), content_type="image/svg+xml"
        )
        response["Cache-Control"] = f"private, max-age={FIGURE_SECONDS}"
        return response


class Sets(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest) -> HttpResponse:
        known = choices.known_measures(self.actor)
        found = choices.set_choices(self.actor)
        return self.page(
            "studio/class/sets.html",
            sets=[
                (
                    each,
                    [(known[code].name, code in each.set.repeat) for code in each.set.measures],
                )
                for each in sorted(found, key=lambda each: each.hidden)
            ],
        )


class HideSet(HousePage):
    right = Right.RECORD_MEASURING

    def post(self, request: HttpRequest, code: str) -> HttpResponse:
        hide = request.POST.get("show") != "1"
        row = (choice_services.hide_set if hide else choice_services.show_set)(self.actor, code)
        words = f"{row.name} is no longer offered." if hide else f"{row.name} is offered again."
        return self.done(words, "studio:sets")


class NewSet(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest) -> HttpResponse:
        form = OwnSetForm(known=choices.measures_for(self.actor).measures)
        return self.page("studio/class/set.html", form=form)

    def post(self, request: HttpRequest) -> HttpResponse:
        form = OwnSetForm(request.POST, known=choices.measures_for(self.actor).measures)
        if form.is_valid():
            facts = {key: form.cleaned_data[key] for key in ("name", "measures", "repeat")}
            if self.attempt(form, choice_services.add_set, **facts):
                return self.done("The set is added.", "studio:sets")
        return self.page("studio/class/set.html", form=form, status=400)


class EditSet(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, code: str) -> HttpResponse:
        choice = self._choice(code)
        form = self._form(
            initial={
                "version": choice.row.version,
                "name": choice.set.name,
                "measures": choice.set.measures,
                "repeat": list(choice.set.repeat),
            }
        )
        return self.page("studio/class/set.html", form=form, choice=choice)

    def post(self, request: HttpRequest, code: str) -> HttpResponse:
        choice = self._choice(code)
        form = self._form(request.POST)
        if form.is_valid():
            facts = dict(form.cleaned_data)
            version = facts.pop("version")
            if self.attempt(form, choice_services.change_set, code, expected_version=version, **facts):
                return self.done("Saved.", "studio:sets")
        return self.page("studio/class/set.html", form=form, choice=choice, status=400)

    def _choice(self, code: str) -> Any:
        choice = choices.set_choice(self.actor, code)
        if not choice.own:
            raise NotHere("set of the studio's own")
        return choice

    def _form(self, data: Any = None, **kwargs: Any) -> OwnSetForm:
        return OwnSetForm(data, known=choices.known_measures(self.actor), **kwargs)


def _words(found: CatalogueMeasure, unit: str) -> dict[str, str]:
    """The figures of a measure as they are read."""
    shown = WEIGHT_UNITS[unit] if found.unit == "kg" else unit
    return {
        "unit": shown,
        "error": found.in_words(found.technical_error, unit),
        "adult": " to ".join(found.in_words(value, unit) for value in found.adult),
        "child": " to ".join(found.in_words(value, unit) for value in found.child),
    }
