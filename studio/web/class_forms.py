"""Forms of measures, sets, courses and the class grid: they turn text into typed values and hold no rules."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from django import forms

from studio.calc.units import parse_length
from studio.figures.outline import LEVELS
from studio.queries.catalogue import CatalogueMeasure, MeasureSet
from studio.queries.plausibility import TapeAgain
from studio.services.choices import KINDS
from studio.services.class_day import TypedCell
from studio.web.forms import OVER, UNITS

SIDES = [("centre", "Centre"), ("right", "Right"), ("left", "Left")]
VIEWS = [("", "Not drawn"), ("front", "From the front"), ("back", "From behind"), ("side", "From the side")]
LINES = [("girth", "A ring round the body"), ("line", "Along the body"), ("height", "Straight up and down")]
LAYOUTS = [("pages", "A page for each student"), ("table", "One table for the class")]


def _text(**attrs: Any) -> forms.TextInput:
    return forms.TextInput(attrs={"autocomplete": "off", **attrs})


def _day() -> forms.DateInput:
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class TapeField(forms.CharField):
    """A length as people type it; the value is mm."""

    def __init__(self, *, label: str, unit: str, **kwargs: Any) -> None:
        super().__init__(
            label=f"{label} ({unit})", max_length=40, widget=_text(inputmode="decimal"), **kwargs
        )
        self.unit = unit

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            return float(parse_length(text, self.unit))
        except ValueError as problem:
            raise forms.ValidationError(str(problem)) from problem


class OwnMeasureForm(forms.Form):
    """A measure of the studio's own."""

    name = forms.CharField(max_length=80, widget=_text())
    kind = forms.ChoiceField(choices=[(each, each.capitalize()) for each in KINDS], widget=forms.RadioSelect)
    side = forms.ChoiceField(choices=SIDES, initial="centre", widget=forms.RadioSelect)
    instruction = forms.CharField(
        max_length=1000,
        label="How it is taken",
        help_text="Where the tape begins, where it passes, where it ends; how the body stands.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    view = forms.ChoiceField(choices=VIEWS, required=False, label="Drawn on the body")
    line = forms.ChoiceField(choices=LINES, required=False, label="As")
    begin = forms.ChoiceField(required=False, label="From")
    end = forms.ChoiceField(required=False, label="To", help_text="For a ring the same as from.")

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        unit: str,
        known: Mapping[str, CatalogueMeasure],
        **kwargs: Any,
    ) -> None:
        super().__init__(data, **kwargs)
        levels = [(each, each.replace("_", " ")) for each in LEVELS]
        for name in ("begin", "end"):
            self.fields[name].choices = [("", ""), *levels]  # type: ignore[attr-defined]
        self.fields["technical_error"] = TapeField(
            label="Technical error of one taping",
            unit=unit,
            help_text="How far two tapings by one measurer usually scatter (standard deviation).",
        )
        self.fields["source"] = forms.CharField(
            max_length=200,
            required=False,
            label="Where the error comes from",
            help_text="Left empty, it says: the studio's own word, no source.",
            widget=_text(),
        )
        for who, words in (("adult", "Adults"), ("child", "Under 18")):
            self.fields[f"{who}_low"] = TapeField(label=f"{words}: lowest", unit=unit)
            self.fields[f"{who}_high"] = TapeField(label=f"{words}: highest", unit=unit)
        self.fields["after"] = forms.ChoiceField(
            required=False,
            choices=[("", "Last of all"), *((code, found.name) for code, found in known.items())],
            label="On the walk round the body it follows",
        )
        self.fields["garments"] = forms.MultipleChoiceField(
            required=False,
            choices=[
                (each, each) for each in sorted({each for found in known.values() for each in found.garments})
            ],
            widget=forms.CheckboxSelectMultiple,
            label="Needed for",
        )

    def facts(self) -> dict[str, Any]:
        """As the service takes them."""
        given = self.cleaned_data
        figure = None
        if given["view"]:
            figure = {
                "view": given["view"],
                "kind": given["line"],
                "from": given["begin"],
                "to": given["end"] or given["begin"],
            }
        return {
            **{
                key: given[key] for key in ("name", "kind", "side", "instruction", "technical_error", "after")
            },
            "technical_error_source": given["source"],
            "range_adult": (given["adult_low"], given["adult_high"]),
            "range_child": (given["child_low"], given["child_high"]),
            "garments": given["garments"],
            "figure": figure,
        }


# What the service refuses, and the field of the form under which it is told.
OWN_MEASURE_FIELDS = {
    "range_adult": "adult_low",
    "range_child": "child_low",
    "figure": "view",
    "between_error": "technical_error",
    "code": "name",
}


class OwnSetForm(forms.Form):
    """A set of the studio's own: measures in walking order."""

    version = forms.IntegerField(required=False, widget=forms.HiddenInput)
    name = forms.CharField(max_length=80, widget=_text())

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        known: Mapping[str, CatalogueMeasure],
        **kwargs: Any,
    ) -> None:
        super().__init__(data, **kwargs)
        choices = [(code, found.name) for code, found in known.items()]
        self.fields["measures"] = forms.MultipleChoiceField(choices=choices, required=False)
        self.fields["repeat"] = forms.MultipleChoiceField(choices=choices, required=False)
        self.known = known

    def lines(self) -> list[tuple[CatalogueMeasure, bool, bool]]:
        """Every measure: is it in the set, is it taken twice?"""
        chosen, twice = (set(self[name].value() or ()) for name in ("measures", "repeat"))
        return [(found, code in chosen, code in twice) for code, found in self.known.items()]


class CourseForm(forms.Form):
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)
    name = forms.CharField(max_length=120, label="Name of the course", widget=_text())
    measure_set = forms.ChoiceField(label="Its students are measured for")
    starts = forms.DateField(
        required=False,
        widget=_day(),
        help_text="Readings from this day on count for the course. Left empty: from today.",
    )
    ends = forms.DateField(required=False, widget=_day())
    notes = forms.CharField(max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, sets: Sequence[MeasureSet], **kwargs: Any
    ) -> None:
        super().__init__(data, **kwargs)
        self.fields["measure_set"].choices = [(each.code, each.name) for each in sets]  # type: ignore[attr-defined]


class OccasionForm(forms.Form):
    """What holds for every line of the grid."""

    day = forms.DateField(label="Day", widget=_day())
    unit = forms.ChoiceField(choices=UNITS, label="Tape in")
    over = forms.ChoiceField(choices=OVER, label="Over")

    @classmethod
    def of(cls, given: Mapping[str, Any], *, today: date, unit: str) -> "OccasionForm":
        """The form with what is given, and what usually holds where nothing is."""
        usual = {"day": today.isoformat(), "unit": unit, "over": "close_clothing"}
        return cls({key: given.get(key) or value for key, value in usual.items()})


class LineForm(forms.Form):
    """One student's line as it was typed."""

    guardian_present = forms.CharField(max_length=160, required=False)

    def __init__(self, data: Mapping[str, Any] | None = None, *, codes: Sequence[str]) -> None:
        super().__init__(data)
        self.codes = codes
        for code in codes:
            self.fields[f"cell_{code}"] = forms.CharField(max_length=40, required=False)
            self.fields[f"seen_{code}"] = forms.IntegerField(required=False, min_value=0, max_value=9)
            self.fields[f"kept_{code}"] = forms.CharField(max_length=200, required=False)
        self.flags: dict[str, TapeAgain] = {}

    def cells(self) -> list[TypedCell]:
        """The cells in which something was typed."""
        given = self.cleaned_data
        return [
            TypedCell(
                code,
                given[f"cell_{code}"],
                given.get(f"seen_{code}"),
                given.get(f"kept_{code}", "") if code in self.flags else "",
            )
            for code in self.codes
            if given.get(f"cell_{code}")
        ]

    def look_again(self, flags: Iterable[TapeAgain]) -> bool:
        """Show these cells for a second look; False where each was given a word why it is kept."""
        self.flags = {flag.code: flag for flag in flags}
        return any(
            not flag.possible or not self.cleaned_data.get(f"kept_{code}")
            for code, flag in self.flags.items()
        )

    @classmethod
    def with_meant(cls, data: Mapping[str, Any]) -> dict[str, Any]:
        """What was typed, with the suggestion that was pressed ("waist_girth=84.0 cm") in its place."""
        changed = dict(data)
        for part in str(data.get("meant", "")).split(";"):
            code, _, meant = part.partition("=")
            if meant and data.get(f"cell_{code}"):
                changed[f"cell_{code}"], changed[f"kept_{code}"] = meant, ""
        return changed


class SheetForm(forms.Form):
    layout = forms.ChoiceField(choices=LAYOUTS, initial="pages", widget=forms.RadioSelect, label="As")
