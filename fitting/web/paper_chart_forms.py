"""Forms of body charts and of ease rules: they turn text into typed values and hold no rules of the trade."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from fitting.queries.paper_zones import needs_of, zone_name
from fitting.queries.patterns import CLOSENESS, KINDS, STRUCTURES
from fitting.services.ease import STRETCHES
from fitting.services.patterns import MOST_SIZES
from fitting.web.paper_plan_forms import signed_length
from studio.calc.units import parse_length

UNITS = [("cm", "centimetres"), ("in", "inches with eighths")]


class ChartFactsForm(forms.Form):
    """The first step: what the chart is, the names of its sizes, and which measures it states."""

    name = forms.CharField(max_length=120)
    source = forms.CharField(
        max_length=300, label="Where it is from", help_text="Who states it, and where you read it."
    )
    unit = forms.ChoiceField(
        choices=UNITS, label="It is stated in", help_text="One unit for the whole chart."
    )
    size_names = forms.CharField(
        max_length=400, label="Sizes, small to large", help_text="Names with commas between them."
    )
    measures = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple, label="Measures in the chart")
    base_height = forms.CharField(max_length=32, required=False, label="Height of the base figure")
    base_cup = forms.CharField(
        max_length=32, required=False, label="Cup of the base figure", help_text="Full bust less high bust."
    )
    notes = forms.CharField(max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, *args: Any, measures: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["measures"].choices = list(measures)  # type: ignore[attr-defined]

    def clean_size_names(self) -> list[str]:
        names = [" ".join(name.split()) for name in re.split(r"[,;\n]", self.cleaned_data["size_names"])]
        names = [name for name in names if name]
        if not names:
            raise forms.ValidationError("Name at least one size.")
        if len(names) > MOST_SIZES:
            raise forms.ValidationError(f"A run has at most {MOST_SIZES} sizes, not {len(names)}.")
        if len(set(names)) < len(names):
            raise forms.ValidationError("A size is named twice; each size once.")
        return names

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        for field in ("base_height", "base_cup"):
            given[f"{field}_mm"] = None
            if given.get(field):
                try:
                    given[f"{field}_mm"] = parse_length(given[field], given.get("unit", "cm"))
                except ValueError as exc:
                    self.add_error(field, str(exc))
        return given

    def facts(self) -> dict[str, Any]:
        names = ("name", "source", "unit", "base_height_mm", "base_cup_mm", "notes")
        return {name: self.cleaned_data[name] for name in names}


class EaseSetForm(forms.Form):
    title = forms.CharField(max_length=120, label="Name of your own set")
    copy_of = forms.ChoiceField(required=False, label="Begin with the rules of")
    notes = forms.CharField(max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, sets: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["copy_of"].choices = [("", "none"), *sets]  # type: ignore[attr-defined]


class EaseRuleForm(forms.Form):
    """One rule of a studio's own set; lengths in the studio's unit, with a minus for a knit cut smaller."""

    kind = forms.ChoiceField(choices=KINDS, label="Garment")
    zone = forms.ChoiceField(label="Where")
    closeness = forms.ChoiceField(choices=CLOSENESS, initial="fitted", label="Closeness of fit")
    structure = forms.ChoiceField(choices=STRUCTURES, initial="woven", label="Cloth")
    stretch = forms.ChoiceField(
        choices=[(one, one.replace("_", " ") or "any") for one in STRETCHES],
        required=False,
        label="Knits: stretch",
    )
    low = forms.CharField(max_length=32, label="Least")
    target = forms.CharField(max_length=32, label="Wanted")
    high = forms.CharField(max_length=32, label="Most")
    source = forms.CharField(
        max_length=200, label="Who says so", help_text="An author, or your own practice."
    )
    note = forms.CharField(max_length=300, required=False)

    def __init__(self, *args: Any, unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = unit
        codes = dict.fromkeys(
            code
            for kind, _ in KINDS
            for needs in [needs_of(kind)]
            for code in (*needs.zones, *needs.lengths, *needs.details)
        )
        self.fields["zone"].choices = [(code, zone_name(code)) for code in codes]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        for field in ("low", "target", "high"):
            if given.get(field):
                try:
                    given[f"{field}_mm"] = signed_length(given[field], self.unit)
                except ValueError as exc:
                    self.add_error(field, str(exc))
        return given

    def rule(self) -> Mapping[str, Any]:
        names = (
            "kind",
            "zone",
            "closeness",
            "structure",
            "stretch",
            "low_mm",
            "target_mm",
            "high_mm",
            "source",
            "note",
        )
        return {name: self.cleaned_data[name] for name in names}
