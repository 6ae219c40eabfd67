"""Forms about threads, needles and machines: they turn text into typed values and hold no rules."""

from decimal import Decimal
from typing import Any

from django import forms

from seamlab.queries import choices
from seamlab.web.fields import NumberField, lines, one_line, words_field


class ThreadForm(forms.Form):
    what = forms.CharField(initial="thread", widget=forms.HiddenInput)
    name = forms.CharField(
        max_length=120, label="Name", help_text="As it stands on the shelf.", widget=one_line()
    )
    fibre = forms.ChoiceField(label="Fibre")
    construction = words_field(60, "Construction", "Spun, core-spun, textured, filament.")
    size = NumberField(max_digits=9, decimal_places=3, label="Number", help_text="As printed on the reel.")
    system = forms.ChoiceField(
        choices=choices.THREAD_SYSTEMS, initial="metric ticket", label="Numbering", help_text="Kept as tex."
    )
    extension_percent = NumberField(
        max_digits=6,
        decimal_places=2,
        required=False,
        label="Stretch at break (%)",
        help_text="From its data sheet; without it a seam's stretch can't be reckoned.",
    )
    strength_n = NumberField(max_digits=7, decimal_places=2, required=False, label="Strength (N)")
    colours = words_field(400, "Colours", "Separate them by commas.")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        fibre = self.fields["fibre"]
        assert isinstance(fibre, forms.ChoiceField)
        fibre.choices = [("", "Choose"), *choices.fibre_choices()]

    def facts(self) -> dict[str, Any]:
        given = {key: value for key, value in self.cleaned_data.items() if key != "what"}
        given["colours"] = [colour for colour in given["colours"].split(",") if colour.strip()]
        return given


class NeedleForm(forms.Form):
    what = forms.CharField(initial="needle", widget=forms.HiddenInput)
    size = forms.IntegerField(label="Size", widget=one_line(inputmode="numeric"))
    numbering = forms.ChoiceField(choices=choices.NUMBERINGS, label="Numbering")
    point = forms.ChoiceField(choices=choices.POINTS, label="Point")
    what_for = words_field(160, "What for")

    def facts(self) -> dict[str, Any]:
        return {key: value for key, value in self.cleaned_data.items() if key != "what"}


class MachineForm(forms.Form):
    what = forms.CharField(initial="machine", widget=forms.HiddenInput)
    name = forms.CharField(
        max_length=120, label="Name", help_text="As the class knows it.", widget=one_line()
    )
    stitch_types = forms.MultipleChoiceField(
        choices=choices.stitch_choices(by_hand=False),
        label="Stitches it makes (ISO 4915)",
        widget=forms.CheckboxSelectMultiple,
    )
    largest_width_mm = NumberField(
        max_digits=5,
        decimal_places=2,
        required=False,
        label="Widest stitch (mm)",
        help_text="Left out: straight stitches only.",
    )
    stitches_per_minute = forms.IntegerField(
        initial=800, label="Stitches a minute", widget=one_line(inputmode="numeric")
    )
    notes = forms.CharField(max_length=2000, required=False, widget=lines(2))

    def facts(self) -> dict[str, Any]:
        given = {key: value for key, value in self.cleaned_data.items() if key != "what"}
        given["largest_width_mm"] = given["largest_width_mm"] or Decimal(0)
        return given
