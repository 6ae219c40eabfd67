"""Forms of the paper's pages: they turn text into typed values and hold no rules of the trade."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from fitting.queries.paper_zones import listed, needs_of, paper_zones, zone_name
from fitting.queries.patterns import BASES, CLOSENESS, KINDS, STRUCTURES
from fitting.services.patterns import MOST_SIZES, SizeGiven
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
    measures = forms.MultipleChoiceField(
        choices=[(zone.code, zone.name) for zone in paper_zones().values()],
        widget=forms.CheckboxSelectMultiple,
        label="Measures in the size table",
    )
    notes = forms.CharField(
        max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}), help_text="For colleagues."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["measures"].help_text = needs_in_words()

    def clean_size_names(self) -> list[str]:
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
        return {name: self.cleaned_data[name] for name in names + lengths}


def cell_name(size: str, measure: str) -> str:
    """A cell's field; by the size's name, so that what was typed outlives a new order of sizes."""
    return f"cell-{size}-{measure}"


class SizeGridForm(forms.Form):
    """The second step: a grid with the sizes across and the measures down."""

    def __init__(self, data: Any, *, sizes: Sequence[str], measures: Sequence[str], unit: str) -> None:
        super().__init__(data)
        self.sizes, self.unit = list(sizes), unit
        self.measures = [code for code in paper_zones() if code in measures]
        for code in self.measures:
            for size in self.sizes:
                self.fields[cell_name(size, code)] = forms.CharField(
                    max_length=32,
                    label=f"{zone_name(code)}, size {size}",
                    error_messages={"required": f"Type the {zone_name(code).lower()} of size {size}."},
                    widget=forms.TextInput(
                        attrs={
                            "inputmode": "decimal" if unit == "cm" else "text",
                            "autocomplete": "off",
                            "aria-label": f"{zone_name(code)}, size {size}, in {unit}",
                        }
                    ),
                )

    @property
    def lines(self) -> list[tuple[str, str, list[BoundField]]]:
        """Each measure with its name, how it is taken, and its cells."""
        return [
            (
                zone_name(code),
                paper_zones()[code].how,
                [self[cell_name(size, code)] for size in self.sizes],
            )
            for code in self.measures
        ]

    @property
    def wrong(self) -> list[BoundField]:
        """The cells that can't be used, in the order of the grid."""
        return [cell for _, _, cells in self.lines for cell in cells if cell.errors]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        self.values: dict[str, dict[str, Decimal]] = {size: {} for size in self.sizes}
        for code in self.measures:
            for size in self.sizes:
                typed = given.get(cell_name(size, code))
                if typed:
                    try:
                        self.values[size][code] = parse_length(typed, self.unit)
                    except ValueError as exc:
                        self.add_error(cell_name(size, code), f"Size {size}: {exc}")
        return given

    def run(self) -> list[SizeGiven]:
        return [SizeGiven(size, self.values[size]) for size in self.sizes]

    def cell_of(self, field: str) -> str | None:
        """The cell that a reason of the service speaks of: ``sizes.2.measures.hip`` or ``sizes.2.name``."""
        found = re.fullmatch(r"sizes\.(\d+)\.(?:measures\.(\w+)|name)", field)
        if found is None or int(found[1]) >= len(self.sizes):
            return None
        code = found[2] or self.measures[0]
        return cell_name(self.sizes[int(found[1])], code) if code in self.measures else None


class PatternChangeForm(forms.Form):
    version = forms.IntegerField(widget=forms.HiddenInput)
    name = forms.CharField(max_length=120)
    notes = forms.CharField(max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}))


class PlanForm(forms.Form):
    """Which pattern, by which ease rules; the client and the garment are given by the page before."""

    client = forms.UUIDField(widget=forms.HiddenInput)
    garment = forms.UUIDField(widget=forms.HiddenInput, required=False)
    pattern = forms.ChoiceField(label="Pattern")
    ease_set = forms.ChoiceField(
        label="Ease rules",
        help_text="Authors disagree; the plan names its source. What a set lacks is taken from the others.",
    )

    def __init__(
        self,
        *args: Any,
        patterns: Sequence[tuple[str, str]],
        ease_sets: Sequence[tuple[str, str]],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pattern"].choices = list(patterns)  # type: ignore[attr-defined]
        self.fields["ease_set"].choices = list(ease_sets)  # type: ignore[attr-defined]
