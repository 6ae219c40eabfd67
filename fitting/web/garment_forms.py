"""Forms of garments, fittings and links: they turn text into typed values and hold no rules."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any
from uuid import UUID

from django import forms

from fitting.queries.choices import Choices, GarmentChoices
from studio.calc.units import parse_length
from studio.platform.choices import LANGUAGES


class DateInput(forms.DateInput):
    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class IdField(forms.ChoiceField):
    """A choice among rows; gives the row's id, or None where nothing is chosen and that is allowed."""

    def __init__(self, *, nothing: str, **options: Any) -> None:
        self.nothing = nothing
        super().__init__(**options)

    def offer(self, choices: Choices) -> None:
        self.choices = [("", self.nothing), *choices]

    def clean(self, value: Any) -> Any:
        found = super().clean(value)
        return UUID(found) if found else None


class TypedAmount(forms.CharField):
    """A length as people type it; read in the client's unit, exact millimetres come out."""

    def __init__(self, unit: str = "cm", **options: Any) -> None:
        self.unit = unit
        options.setdefault("max_length", 32)
        super().__init__(**options)

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_length(text, self.unit)
        except ValueError as exc:
            raise forms.ValidationError(str(exc)) from exc


class GarmentForm(forms.Form):
    """What is known of a garment when it is opened, and what may be changed later."""

    words = forms.CharField(
        max_length=160,
        label="What is it?",
        help_text="In the words by which it will be looked for: “teal trousers”.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    kind = forms.ChoiceField(choices=[], label="Kind of garment")
    pattern = IdField(required=False, nothing="Not chosen yet")
    cloth = IdField(required=False, nothing="Not chosen yet")
    plan = IdField(required=False, nothing="None yet", label="Fit plan")
    due = forms.DateField(required=False, label="Ready by", widget=DateInput())
    for_child = forms.BooleanField(required=False, label="For a child")
    notes = forms.CharField(required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(
        self,
        *args: Any,
        kinds: Choices,
        choices: GarmentChoices,
        opening: bool = False,
        plans: bool = False,
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        self.fields["kind"].choices = kinds  # type: ignore[attr-defined]
        self.fields["pattern"].offer(choices.patterns)  # type: ignore[attr-defined]
        self.fields["cloth"].offer(choices.cloths)  # type: ignore[attr-defined]
        self.fields["plan"].offer(choices.plans)  # type: ignore[attr-defined]
        if not opening:
            del self.fields["kind"]
            self.fields["version"] = forms.IntegerField(widget=forms.HiddenInput)
        if opening or not plans:
            del self.fields["plan"]

    def changes(self, before: dict[str, Any]) -> dict[str, Any]:
        """What was truly changed, under the names of the service."""
        names = {"pattern": "pattern_id", "cloth": "cloth_id", "plan": "plan_id"}
        return {
            names.get(field, field): value
            for field, value in self.cleaned_data.items()
            if field not in {"version", "kind"} and value != before.get(field)
        }


class SeamForm(forms.Form):
    place = forms.CharField(
        max_length=80,
        label="Which seam?",
        widget=forms.TextInput(attrs={"list": "seam-places", "autocomplete": "off"}),
    )
    version = IdField(label="Sewn by the recipe", nothing="Choose")

    def __init__(self, *args: Any, choices: Choices, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["version"].offer(choices)  # type: ignore[attr-defined]


class ReportForm(forms.Form):
    """In which language a report is written, which photographs it shows, and which earlier one it replaces."""

    language = forms.ChoiceField(
        choices=LANGUAGES, required=False, label="Written in", widget=forms.RadioSelect
    )
    photos = forms.TypedMultipleChoiceField(
        coerce=UUID,
        required=False,
        label="Photographs in it",
        help_text="None is shown unless you choose it.",
        widget=forms.CheckboxSelectMultiple,
    )
    corrects = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, photos: Choices, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["photos"].choices = photos  # type: ignore[attr-defined]
        if not photos:
            del self.fields["photos"]


class LinkForm(forms.Form):
    days = forms.IntegerField(
        initial=30, label="Opens for how many days?", widget=forms.NumberInput(attrs={"min": 1, "max": 365})
    )


class PastFitsForm(forms.Form):
    """Filters of the look-up; what makes no sense is taken as not given."""

    words = forms.CharField(required=False, max_length=120)
    kind = forms.ChoiceField(required=False, choices=[])
    year = forms.TypedChoiceField(required=False, choices=[], coerce=int, empty_value=None)

    def __init__(self, *args: Any, kinds: Choices, years: Iterable[int], **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["kind"].choices = [("", "Every kind"), *kinds]  # type: ignore[attr-defined]
        self.fields["year"].choices = [("", "Every year"), *((year, str(year)) for year in years)]  # type: ignore[attr-defined]
