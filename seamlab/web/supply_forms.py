"""Forms about threads, needles and machines: they turn text into typed values and hold no rules."""

from decimal import Decimal
from typing import Any

from django import forms

from seamlab.queries import choices
from seamlab.web.fields import NumberField, lines, one_line, words_field

NOT_FACTS = frozenset({"what", "version"})


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
    colours = forms.CharField(
        max_length=2000,
        required=False,
        label="Colours on the shelf",
        help_text="Separate them by commas; a number behind a colon counts the reels: grey: 3, teal, black: 1.",
        widget=lines(2),
    )
    reel_length_m = NumberField(
        max_digits=8,
        decimal_places=2,
        required=False,
        label="Metres on a full reel",
        help_text="As printed on it.",
    )
    notes = forms.CharField(max_length=2000, required=False, widget=lines(2))

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        fibre = self.fields["fibre"]
        assert isinstance(fibre, forms.ChoiceField)
        fibre.choices = [("", "Choose"), *choices.fibre_choices()]

    def facts(self) -> dict[str, Any]:
        return {key: value for key, value in self.cleaned_data.items() if key not in NOT_FACTS}

    def clean_colours(self) -> list[dict[str, Any]]:
        return [_colour(part) for part in self.cleaned_data["colours"].split(",") if part.strip()]


class NeedleForm(forms.Form):
    what = forms.CharField(initial="needle", widget=forms.HiddenInput)
    size = forms.IntegerField(label="Size", widget=one_line(inputmode="numeric"))
    numbering = forms.ChoiceField(choices=choices.NUMBERINGS, label="Numbering")
    point = forms.ChoiceField(choices=choices.POINTS, label="Point")
    blades = forms.TypedChoiceField(
        choices=[(1, "single"), (2, "twin"), (3, "triple")],
        coerce=int,
        empty_value="1",
        required=False,
        initial=1,
        label="Blades",
    )
    gauge_mm = NumberField(
        max_digits=4,
        decimal_places=2,
        required=False,
        label="Distance of the outer blades (mm)",
        help_text="Of a twin or triple needle.",
    )
    what_for = words_field(160, "What for")

    def facts(self) -> dict[str, Any]:
        given = {key: value for key, value in self.cleaned_data.items() if key not in NOT_FACTS}
        given["gauge_mm"] = given["gauge_mm"] or Decimal(0)
        given["blades"] = int(given["blades"])
        return given


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
    feeds = forms.MultipleChoiceField(
        choices=choices.FEEDS, required=False, label="How it feeds", widget=forms.CheckboxSelectMultiple
    )
    feet = forms.CharField(
        max_length=2000,
        required=False,
        label="Presser feet",
        help_text="One on each line.",
        widget=lines(3),
    )
    notes = forms.CharField(max_length=2000, required=False, widget=lines(2))

    def clean_feet(self) -> list[str]:
        return [line for line in self.cleaned_data["feet"].splitlines() if line.strip()]

    def facts(self) -> dict[str, Any]:
        given = {key: value for key, value in self.cleaned_data.items() if key not in NOT_FACTS}
        given["largest_width_mm"] = given["largest_width_mm"] or Decimal(0)
        return given


class ChangeThreadForm(ThreadForm):
    what = None  # type: ignore[assignment]  # the address says which
    version = forms.IntegerField(widget=forms.HiddenInput)


class ChangeNeedleForm(NeedleForm):
    what = None  # type: ignore[assignment]  # the address says which
    version = forms.IntegerField(widget=forms.HiddenInput)


class ChangeMachineForm(MachineForm):
    what = None  # type: ignore[assignment]  # the address says which
    version = forms.IntegerField(widget=forms.HiddenInput)


class ServiceForm(forms.Form):
    serviced_on = forms.DateField(
        required=False,
        label="Serviced on",
        help_text="Left out: today.",
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    done_by = words_field(120, "By")
    note = words_field(400, "What was done")


class ConvertForm(forms.Form):
    """One thread number in another system."""

    value = NumberField(max_digits=9, decimal_places=3, label="Number")
    system = forms.ChoiceField(choices=choices.THREAD_SYSTEMS, initial="metric ticket", label="Numbering")


def _colour(part: str) -> dict[str, Any]:
    """ "grey: 3" as {"colour": "grey", "reels": 3}."""
    word, colon, count = (text.strip() for text in part.partition(":"))
    if not colon:
        return {"colour": word, "reels": None}
    if not count.isdecimal():
        raise forms.ValidationError(f"“{part.strip()}”: behind the colon stands the number of reels.")
    return {"colour": word, "reels": int(count)}


def colours_typed(colours: list[dict[str, Any]]) -> str:
    """Colours as text that reads back to the same."""
    return ", ".join(
        row["colour"] if row["reels"] is None else f"{row['colour']}: {row['reels']}" for row in colours
    )
