"""Forms about cloth: they turn text into typed values and hold no rules."""

from typing import Any

from django import forms

from seamlab.queries import choices
from seamlab.web.fields import (
    BoltLengthField,
    LengthField,
    NumberField,
    UnitForm,
    lines,
    one_line,
    words_field,
)

FIBRE_ROWS = 4


class ClothForm(UnitForm):
    name = forms.CharField(
        max_length=120,
        help_text="As colleagues will look for it: colour, kind, shop or year.",
        widget=one_line(),
    )
    structure = forms.ChoiceField(choices=choices.STRUCTURES, widget=forms.RadioSelect)
    construction = words_field(60, "Weave or knit", "Such as twill, satin, jersey, rib.")
    kind = forms.ChoiceField(
        choices=choices.cloth_kind_choices,
        required=False,
        label="Kind",
        help_text="By it the library's recipes are found.",
    )
    colour = words_field(120, "Colour")
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


class LabReportForm(forms.Form):
    """One report: a field for each quantity, each way. Its figures come back as rows."""

    tested_on = forms.DateField(
        required=False,
        label="Tested on",
        help_text="Left out: today.",
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    method = words_field(160, "Laboratory and method", "Who tested, and by which standard.")
    figures = forms.CharField(required=False, widget=forms.HiddenInput)  # bears the sentences about figures

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.rows: list[tuple[str, list[tuple[str, Any]]]] = []
        for quantity, words, ways in choices.lab_quantities():
            fields = []
            for way in ways:
                name = f"{quantity}:{way}"
                self.fields[name] = NumberField(
                    max_digits=12, decimal_places=4, required=False, label=f"{words} {way}".strip()
                )
                fields.append((way, self[name]))
            self.rows.append((words, fields))

    def facts(self) -> dict[str, Any]:
        given = self.cleaned_data
        return {
            "tested_on": given["tested_on"],
            "method": given["method"],
            "figures": [
                {"quantity": name.split(":")[0], "way": name.split(":")[1], "value": value}
                for name, value in given.items()
                if ":" in name and value is not None
            ],
        }


class PhotoForm(forms.Form):
    picture = forms.FileField(
        label="Photograph",
        help_text="JPEG, PNG or WebP. Where and with what it was taken is left out.",
        widget=forms.ClearableFileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    side = forms.ChoiceField(
        choices=choices.PHOTO_SIDES, initial="face", label="It shows", widget=forms.RadioSelect
    )
    note = words_field(200, "Note")


class BoltForm(UnitForm):
    label = forms.CharField(
        max_length=60, label="Label", help_text="As it is written on the bolt.", widget=one_line()
    )
    length_mm = BoltLengthField(label="Length", help_text="As taped, or as its ticket says.")
    colour = words_field(60, "Colour", "Of this bolt.")
    dye_lot = words_field(60, "Dye lot", "Pieces of one garment come from one lot.")
    place = words_field(120, "Where it lies")
    note = words_field(400, "Note")


class ChangeBoltForm(forms.Form):
    label = forms.CharField(max_length=60, label="Label", widget=one_line())
    colour = words_field(60, "Colour")
    dye_lot = words_field(60, "Dye lot")
    place = words_field(120, "Where it lies")
    note = words_field(400, "Note")
    version = forms.IntegerField(widget=forms.HiddenInput)

    def changes(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "version"}


class CutForm(UnitForm):
    length_mm = BoltLengthField(label="Cut off")
    reason = forms.CharField(max_length=200, label="What for (no client's name)", widget=one_line())


class CountForm(UnitForm):
    length_mm = BoltLengthField(label="Found on the bolt")
    reason = forms.CharField(
        max_length=200, label="Why (such as stock-taking, damaged end)", widget=one_line()
    )
