"""Forms about cloth: they turn text into typed values and hold no rules."""

from typing import Any

from django import forms

from seamlab.queries import choices
from seamlab.web.fields import LengthField, NumberField, UnitForm, lines, one_line, words_field

FIBRE_ROWS = 4


class ClothForm(UnitForm):
    name = forms.CharField(
        max_length=120,
        help_text="As colleagues will look for it: colour, kind, shop or year.",
        widget=one_line(),
    )
    structure = forms.ChoiceField(choices=choices.STRUCTURES, widget=forms.RadioSelect)
    construction = words_field(60, "Weave or knit", "Such as twill, satin, jersey, rib.")
    weight_gsm = NumberField(
        max_digits=7,
        decimal_places=2,
        label="Weight (g/m²)",
        help_text="Weigh a square of 10 × 10 cm: grams × 100.",
    )
    thickness_mm = NumberField(
        max_digits=6,
        decimal_places=3,
        required=False,
        label="Thickness of one layer (mm)",
        help_text="Fold ten layers, press lightly, measure, divide by ten.",
    )
    width_mm = LengthField(label="Width", help_text="Selvedge to selvedge.")
    usable_width_mm = LengthField(label="Usable width", help_text="Without the selvedges.")
    direction = forms.ChoiceField(
        choices=choices.DIRECTIONS,
        initial="not_known",
        widget=forms.RadioSelect,
        help_text="Even a plain cloth can shade: two-way is a decision, made by looking in daylight.",
    )
    repeat_lengthwise_mm = LengthField(required=False, label="Repeat lengthwise")
    repeat_crosswise_mm = LengthField(required=False, label="Repeat crosswise")
    drape = words_field(120, "Drape", "Such as stiff, soft, flowing.")
    care = words_field(200, "Care", "Washing, drying, iron.")
    notes = forms.CharField(max_length=2000, required=False, widget=lines(3))
    fibres = forms.CharField(required=False, widget=forms.HiddenInput)  # bears the sentence about the sum
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        offered = [("", "no fibre"), *choices.fibre_choices()]
        for row in range(1, FIBRE_ROWS + 1):
            self.fields[f"fibre_{row}"] = forms.ChoiceField(
                choices=offered, required=False, label=f"Fibre {row}"
            )
            self.fields[f"percent_{row}"] = NumberField(
                max_digits=4, decimal_places=1, required=False, label=f"Percent of fibre {row}"
            )

    @property
    def fibre_rows(self) -> list[tuple[Any, Any]]:
        return [(self[f"fibre_{row}"], self[f"percent_{row}"]) for row in range(1, FIBRE_ROWS + 1)]

    def facts(self) -> dict[str, Any]:
        """What was given, with the fibres as rows; ``version`` is left out."""
        given = dict(self.cleaned_data)
        given.pop("version")
        rows = [(given.pop(f"fibre_{row}"), given.pop(f"percent_{row}")) for row in range(1, FIBRE_ROWS + 1)]
        given["fibres"] = [
            {"fibre": fibre, "percent": "" if percent is None else percent}
            for fibre, percent in rows
            if fibre or percent is not None
        ]
        return given


class StretchTestForm(UnitForm):
    way = forms.ChoiceField(choices=choices.WAY_CHOICES, widget=forms.RadioSelect, label="Which way")
    relaxed_mm = LengthField(
        label="Relaxed",
        help_text="Fold the cloth across, mark 10 cm along the fold, away from the cut edge.",
    )
    stretched_mm = LengthField(
        label="Stretched", help_text="Pull along a ruler as far as the cloth goes freely."
    )
    released_mm = LengthField(
        required=False, label="Let go", help_text="Tape the same marks a minute later: it shows the recovery."
    )
    note = words_field(400, "Note")


class WashTestForm(UnitForm):
    way = forms.ChoiceField(choices=choices.WAY_CHOICES, widget=forms.RadioSelect, label="Which way")
    before_mm = LengthField(label="Before", help_text="Mark 50 cm, at least 5 cm away from the selvedge.")
    after_mm = LengthField(
        label="After", help_text="Wash, dry and press as the garment will be, then tape again."
    )
    note = words_field(400, "Note")
