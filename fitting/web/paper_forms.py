"""Forms of the paper's pages: they turn text into typed values and hold no rules of the trade."""

import re
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django import forms

from fitting.queries.paper_zones import listed, needs_of, paper_zones, zone_name
from fitting.queries.patterns import BASES, CLOSENESS, KINDS, STRUCTURES
from fitting.services.patterns import MOST_SIZES
from studio.calc.units import parse_length

UNITS = [("cm", "centimetres"), ("in", "inches with eighths")]
LENGTHS = ("seam_allowance", "base_height", "base_cup")


def needs_in_words() -> str:
    """What each kind of garment needs, for the help under the measures."""
    found = []
    for kind, _ in KINDS:
        needs = needs_of(kind)
        wanted = listed([" or ".join(zone_name(code).lower() for code in group) for group in needs.needed])
        found.append(f"{needs.words} {needs.needs} {wanted}")
    text = "; ".join(found)
    return f"{text[0].upper()}{text[1:]}. Take the lengths too: they are altered first."


class PatternFactsForm(forms.Form):
    """The first step: what the pattern is, the names of its sizes, and what it was measured at."""

    name = forms.CharField(max_length=120, help_text="As it stands on the envelope or the folder.")
    kind = forms.ChoiceField(choices=KINDS, label="Garment")
    closeness = forms.ChoiceField(choices=CLOSENESS, initial="fitted", label="Closeness of fit")
    structure = forms.ChoiceField(choices=STRUCTURES, initial="woven", label="Cloth that it was drawn for")
    basis = forms.ChoiceField(
        choices=BASES,
        initial="finished",
        label="The size table holds",
        help_text="Finished measures are surer: the paper itself, net of seam allowances, darts and pleats.",
    )
    unit = forms.ChoiceField(choices=UNITS, label="You type lengths in")
    seam_allowance = forms.CharField(
        max_length=32, label="Seam allowance on the paper", help_text="0 where it has none."
    )
    base_height = forms.CharField(
        max_length=32, required=False, label="Drawn for a height of", help_text="As the pattern states it."
    )
    base_cup = forms.CharField(
        max_length=32,
        required=False,
        label="Drawn for a cup of",
        help_text="Full bust less high bust; with it, the bust is sized by the high bust.",
    )
    chart = forms.ChoiceField(
        required=False,
        label="Body chart that it was drawn for",
        help_text="With it, height and cup of the base figure follow from the chart where you leave them blank.",
    )
    stretch_wanted_percent = forms.DecimalField(
        max_digits=6,
        decimal_places=2,
        required=False,
        label="Knits: drawn for a stretch of, in percent",
        help_text="A close knit needs it.",
    )
    size_names = forms.CharField(
        max_length=400,
        label="Sizes, small to large",
        help_text="Names with commas between them, for example 10, 12, 14, 16.",
    )
    pieces = forms.CharField(
        max_length=600,
        required=False,
        label="Pieces, if you measure them flat",
        help_text="Names with commas between them, for example Front, Back, Sleeve. The finished measures are then "
        "worked out from widths, seam allowances, darts and pleats.",
    )
    measures = forms.MultipleChoiceField(
        choices=[(zone.code, zone.name) for zone in paper_zones().values()],
        widget=forms.CheckboxSelectMultiple,
        label="Measures in the size table",
    )
    notes = forms.CharField(
        max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}), help_text="For colleagues."
    )

    def __init__(self, *args: Any, charts: Sequence[tuple[str, str]] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["measures"].help_text = needs_in_words()
        self.fields["chart"].choices = [("", "none, or not known"), *charts]  # type: ignore[attr-defined]
        # A run that is the chart's own needs neither names nor measures.
        for name in ("size_names", "measures"):
            self.fields[name].required = not self.from_chart

    @property
    def from_chart(self) -> bool:
        """The sizes are those of the chart: there is no table to type."""
        return bool(self.data.get("basis") == "chart" and self.data.get("chart"))

    def clean_pieces(self) -> list[str]:
        names = [" ".join(name.split()) for name in re.split(r"[,;\n]", self.cleaned_data["pieces"])]
        return [name for name in names if name]

    def clean_size_names(self) -> list[str]:
        if self.from_chart:
            return []
        names = [" ".join(name.split()) for name in re.split(r"[,;\n]", self.cleaned_data["size_names"])]
        names = [name for name in names if name]
        if not names:
            raise forms.ValidationError("Name at least one size.")
        if len(names) > MOST_SIZES:
            raise forms.ValidationError(f"A run has at most {MOST_SIZES} sizes, not {len(names)}.")
        for place, name in enumerate(names):
            if len(name) > 16:
                raise forms.ValidationError(f"The name {name} is longer than 16 letters.")
            if name in names[:place]:
                raise forms.ValidationError(f"Size {name} is named twice; each size once.")
        return names

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        unit = given.get("unit", "cm")
        for field in LENGTHS:
            typed = given.get(field, "")
            given[f"{field}_mm"] = None
            if typed:
                try:
                    given[f"{field}_mm"] = parse_length(typed, unit)
                except ValueError as exc:
                    self.add_error(field, str(exc))
        return given

    def facts(self) -> dict[str, Any]:
        """What the service takes, the sizes left out."""
        names = ("name", "kind", "closeness", "structure", "basis", "stretch_wanted_percent", "notes")
        lengths = tuple(f"{field}_mm" for field in LENGTHS)
        chart = self.cleaned_data["chart"]
        return {
            **{name: self.cleaned_data[name] for name in names + lengths},
            "chart_id": UUID(chart) if chart else None,
        }


class PatternChangeForm(forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
    name = forms.CharField(max_length=120)
    notes = forms.CharField(max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}))
