"""Forms about seams: which seam, and recipes. They turn text into typed values and hold no rules."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from seamlab.queries import choices, seam_choices
from seamlab.web.fields import NumberField, PickField, one_line, words_field


class SeamQuestionForm(forms.Form):
    """Which seam for this cloth?"""

    purpose = forms.ChoiceField(choices=choices.PURPOSES, initial="join", required=False)
    layers = forms.IntegerField(
        min_value=1,
        max_value=20,
        initial=2,
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
    machine = PickField(required=False, nothing="any machine")
    runs = forms.ChoiceField(
        choices=[("", "either way"), ("lengthwise", "lengthwise"), ("crosswise", "crosswise")], required=False
    )


class SeamSearchForm(SeamQuestionForm):
    """The same question with the cloth to choose."""

    cloth = PickField(required=False, nothing="Choose a cloth")


class RecipeFilterForm(forms.Form):
    """Which recipes are shown."""

    words = forms.CharField(max_length=120, required=False, widget=one_line(placeholder="words of the name"))
    purpose = forms.ChoiceField(choices=[("", "any purpose"), *choices.PURPOSES], required=False)
    kind = forms.ChoiceField(required=False)
    origin = forms.ChoiceField(choices=[("", "any origin"), *seam_choices.ORIGINS], required=False)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        kind = self.fields["kind"]
        assert isinstance(kind, forms.ChoiceField)
        kind.choices = [("", "any cloth"), *seam_choices.written_for_choices()]


class SettingsForm(forms.Form):
    stitch_type = forms.ChoiceField(choices=choices.stitch_choices(), label="Stitch (ISO 4915)")
    stitch_length_mm = NumberField(
        max_digits=5,
        decimal_places=2,
        label="Stitch length (mm)",
        help_text="The advance from one needle hole to the next.",
    )
    stitch_width_mm = NumberField(
        max_digits=5,
        decimal_places=2,
        required=False,
        label="Stitch width (mm)",
        help_text="Nothing for a straight stitch.",
    )
    passes = forms.IntegerField(
        initial=1,
        label="Times each stitch is sewn",
        help_text="3 for a triple stitch.",
        widget=one_line(inputmode="numeric"),
    )
    needle_id = PickField(
        required=False,
        nothing="none: sewn by hand",
        label="Needle",
    )
    needle_thread_id = PickField(label="Needle thread")
    needle_thread_ends = forms.IntegerField(
        initial=1,
        label="Ends through the eye",
        help_text="2 where two threads run together.",
        widget=one_line(inputmode="numeric"),
    )
    under_thread_id = PickField(required=False, nothing="the same thread", label="Under thread")
    tension = words_field(80, "Tension", "The dial of this machine; it does not carry over to another.")
    foot = words_field(80, "Foot")
    pressure = words_field(80, "Foot pressure")
    differential_feed = words_field(80, "Differential feed")
    stabiliser = words_field(120, "Stabiliser")
    pressing = words_field(200, "Pressing")
    preparation = words_field(200, "Before sewing", "What the cloth needs first: washing, basting, taping.")
    allowance_mm = NumberField(max_digits=5, decimal_places=2, required=False, label="Seam allowance (mm)")
    cautions = words_field(400, "Cautions", "Where somebody could get hurt.")
    note = words_field(400, "Note")

    def __init__(self, *args: Any, threads: Iterable[Any], needles: Iterable[Any], **options: Any) -> None:
        super().__init__(*args, **options)
        threads = list(threads)
        for name, rows in (
            ("needle_thread_id", threads),
            ("under_thread_id", threads),
            ("needle_id", needles),
        ):
            field = self.fields[name]
            assert isinstance(field, PickField)
            field.offer(rows)

    def settings_given(self, names: Iterable[str]) -> dict[str, Any]:
        given = {name: self.cleaned_data[name] for name in names}
        given["stitch_width_mm"] = given["stitch_width_mm"] or Decimal(0)
        return given


class RecipeForm(SettingsForm):
    name = forms.CharField(max_length=120, help_text="Such as: side seam on light jersey.", widget=one_line())
    purpose = forms.ChoiceField(choices=choices.PURPOSES, label="What for")
    seam_class = forms.ChoiceField(choices=choices.seam_class_choices(), label="Seam class (ISO 4916)")
    structure = forms.ChoiceField(
        choices=choices.STRUCTURES, widget=forms.RadioSelect, label="For cloth that is"
    )
    layers_low = forms.IntegerField(initial=2, label="Layers, from", widget=one_line(inputmode="numeric"))
    layers_high = forms.IntegerField(initial=2, label="Layers, to", widget=one_line(inputmode="numeric"))
    field_order = ["name", "purpose", "seam_class", "structure", "layers_low", "layers_high"]


class ChangeRecipeForm(SettingsForm):
    version = forms.IntegerField(
        widget=forms.HiddenInput
    )  # of the recipe, as it was when the form was opened


class DescribeRecipeForm(forms.Form):
    """A recipe's name, and for which kinds of cloth it is written; the settings are another form."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    name = forms.CharField(max_length=120, widget=one_line())
    written_for = forms.MultipleChoiceField(
        required=False,
        label="Written for",
        widget=forms.CheckboxSelectMultiple,
        help_text="It is offered first for these. None: for any cloth of its structure.",
    )

    def __init__(self, *args: Any, structure: str, **options: Any) -> None:
        super().__init__(*args, **options)
        kinds = seam_choices.written_for_choices(structure)
        self.fields["written_for"].choices = kinds  # type: ignore[attr-defined]
