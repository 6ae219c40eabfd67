"""Forms about seams: which seam, recipes, trials. They turn text into typed values and hold no rules."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from seamlab.queries import choices
from seamlab.web.fields import LengthField, NumberField, PickField, UnitForm, one_line, words_field


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


class TrialForm(UnitForm):
    version_id = PickField(label="Recipe")
    cloth_id = PickField(label="Cloth")
    machine_id = PickField(required=False, nothing="none, by hand: or choose", label="Machine")
    layers = forms.IntegerField(initial=2, label="Layers", widget=one_line(inputmode="numeric"))
    direction = forms.ChoiceField(
        choices=choices.TRIAL_DIRECTIONS,
        widget=forms.RadioSelect,
        label="The seam runs",
        initial="lengthwise",
    )
    length_before_mm = LengthField(
        required=False, label="Before sewing", help_text="Mark 20 cm on the sample with a pencil; tape it."
    )
    length_after_mm = LengthField(
        required=False, label="After sewing", help_text="The same marks, lying relaxed, before pressing."
    )
    stretched_mm = LengthField(
        required=False,
        label="Stretched",
        help_text="Pull the marks apart along a ruler, steadily, until the seam stops you or a thread cracks.",
    )
    pull_end = forms.ChoiceField(
        choices=[("", "not pulled"), *choices.PULL_ENDS],
        required=False,
        widget=forms.RadioSelect,
        label="What ended the pull",
    )
    smoothness = NumberField(
        max_digits=2,
        decimal_places=1,
        required=False,
        label="Smoothness (1 to 5)",
        help_text="5 lies flat, 1 is badly puckered or waved; halves count. Look from 1 m, light from the side.",
    )
    balance = forms.ChoiceField(
        choices=[("", "not looked at"), *choices.BALANCES],
        required=False,
        widget=forms.RadioSelect,
        label="Balance of the threads",
        help_text="Sew the sample with two colours and look at both faces.",
    )
    skipped_stitches = forms.IntegerField(
        required=False,
        label="Skipped stitches",
        help_text="Counted over the whole sample; 0 where none.",
        widget=one_line(inputmode="numeric"),
    )
    needle_damage = forms.ChoiceField(
        choices=[("", "not looked at"), *choices.DAMAGES],
        required=False,
        widget=forms.RadioSelect,
        label="At the needle holes",
        help_text="Hold the seam to the light and look along it.",
    )
    strength_n_per_cm = NumberField(
        max_digits=7, decimal_places=2, required=False, label="Strength across the seam (N/cm), if tested"
    )
    stretch_wanted_percent = NumberField(
        max_digits=6,
        decimal_places=2,
        required=False,
        label="Stretch wanted (%)",
        help_text="Left out: as far as the cloth itself stretches.",
    )
    smoothness_wanted = NumberField(
        max_digits=2, decimal_places=1, required=False, label="Smoothness wanted", help_text="Left out: 4."
    )
    strength_wanted_n_per_cm = NumberField(
        max_digits=7,
        decimal_places=2,
        required=False,
        label="Strength wanted (N/cm)",
        help_text="Left out: none.",
    )
    note = words_field(400, "Note")
    verdict = forms.ChoiceField(
        choices=choices.VERDICTS, required=False, widget=forms.RadioSelect, label="Your verdict"
    )
    verdict_reason = words_field(400, "Why, if you decide otherwise")

    def __init__(
        self,
        *args: Any,
        versions: Iterable[Any],
        cloths: Iterable[Any],
        machines: Iterable[Any],
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        for name, rows in (("version_id", versions), ("cloth_id", cloths), ("machine_id", machines)):
            field = self.fields[name]
            assert isinstance(field, PickField)
            field.offer(rows)

    def propose(self, verdict: str) -> None:
        """Let the form come back with this verdict chosen."""
        self.data = {**self.data.dict(), "verdict": verdict}  # type: ignore[attr-defined]  # a QueryDict

    def figures(self) -> dict[str, Any]:
        """All but the decision."""
        return {key: value for key, value in self.cleaned_data.items() if not key.startswith("verdict")}
