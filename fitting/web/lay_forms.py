"""Forms of lays and outlines: they turn text into typed values and hold no rules."""

import json
from typing import Any
from uuid import UUID

from django import forms

from fitting.queries.outline_measures import PieceToName
from fitting.services.lays import LineGiven
from fitting.services.outline_measures import LevelGiven
from seamlab.web.fields import LengthField, NumberField, PickField, UnitForm, as_typed, words_field

LINE_ROWS = 4
CUTTING_UNITS = {
    "cm": [("10", "1 cm"), ("50", "5 cm"), ("100", "10 cm"), ("250", "25 cm"), ("500", "50 cm")],
    "in": [("25.4", "1 in"), ("114.3", "1/8 yard"), ("228.6", "1/4 yard"), ("914.4", "1 yard")],
}
SEARCHES = [
    ("5", "A quick look, 5 seconds"),
    ("20", "20 seconds"),
    ("60", "A minute"),
    ("180", "Three minutes"),
]
LEVEL_ROWS = 4


class LayForm(UnitForm):
    """A cloth, up to four patterns in a size, and how it is bought and laid."""

    cloth_id = PickField(nothing="Choose a cloth", label="Cloth")
    remnant_id = PickField(
        nothing="No, from the bolt or the shop",
        required=False,
        label="Laid on a remnant",
        help_text="Small pieces first from what is left over.",
    )
    folded = forms.ChoiceField(
        choices=[("", "Open, one layer"), ("1", "Folded in half along its length")],
        required=False,
        widget=forms.RadioSelect,
        label="The cloth lies",
        help_text="Folded, pairs are cut two at once and pieces on the fold lie on it. Open is often shorter.",
    )
    washed_first = forms.BooleanField(
        required=False,
        label="It is washed before it is cut",
        help_text="Then the shrinkage of its wash tests is added to what is bought.",
    )
    matched = forms.IntegerField(
        required=False,
        min_value=0,
        label="Matched pieces above each other",
        help_text="For checks and large prints: matching is set by hand, one repeat is added for each.",
    )
    end_allowance_mm = LengthField(
        required=False, label="Added for squaring the ends", help_text="In all, both ends together."
    )
    cutting_unit_mm = forms.ChoiceField(label="The shop cuts in steps of")
    seconds = forms.ChoiceField(choices=SEARCHES, initial="20", label="Time for the search")
    name = words_field(120, "Name", "Left blank it is pattern and cloth.")
    garment_id = forms.UUIDField(required=False, widget=forms.HiddenInput)  # whose pieces the first row holds

    def __init__(
        self,
        *args: Any,
        cloths: list[tuple[UUID, str]],
        remnants: list[tuple[UUID, str]],
        layable: list[tuple[str, str]],
        unit: str = "cm",
        **options: Any,
    ) -> None:
        super().__init__(*args, unit=unit, **options)
        pick = self.fields["cloth_id"]
        left = self.fields["remnant_id"]
        assert isinstance(pick, PickField)
        assert isinstance(left, PickField)
        pick.offer(cloths)
        left.offer(remnants)
        steps = self.fields["cutting_unit_mm"]
        assert isinstance(steps, forms.ChoiceField)
        steps.choices = CUTTING_UNITS[unit]
        steps.initial = "100" if unit == "cm" else "114.3"
        for row in range(LINE_ROWS):
            self.fields[f"line_{row}"] = forms.ChoiceField(
                choices=[("", "Choose a pattern and size" if row == 0 else "Nothing more"), *layable],
                required=row == 0,
                label="Pattern and size",
            )
            self.fields[f"times_{row}"] = forms.IntegerField(
                required=False, min_value=1, max_value=20, initial=1, label="Times"
            )

    def filled_rows(self) -> list[int]:
        return [row for row in range(LINE_ROWS) if self.cleaned_data.get(f"line_{row}")]

    def lines(self) -> list[LineGiven]:
        """The rows that were filled in."""
        given = []
        for row in self.filled_rows():
            pattern, _, size = self.cleaned_data[f"line_{row}"].partition(":")
            garment = self.cleaned_data.get("garment_id") if row == 0 else None
            times = self.cleaned_data.get(f"times_{row}") or 1
            given.append(LineGiven(UUID(pattern), UUID(size), times, garment))
        return given

    @property
    def line_rows(self) -> list[tuple[Any, Any]]:
        return [(self[f"line_{row}"], self[f"times_{row}"]) for row in range(LINE_ROWS)]


class GrainCheckForm(UnitForm):
    distance_a_mm = LengthField(
        label="From the top of the grainline to the selvedge", help_text="Square to the selvedge."
    )
    distance_b_mm = LengthField(label="From its foot to the same selvedge")
    line_mm = LengthField(
        label="Between the two places, along the grainline", help_text="The longer, the surer."
    )


class GrainChangeForm(forms.Form):
    degrees = NumberField(
        max_digits=5,
        decimal_places=1,
        label="Turned by (degrees)",
        help_text="45 is the bias, 90 crosswise, 0 back on its grain.",
    )
    reason = forms.CharField(
        max_length=400, label="Why", widget=forms.TextInput(attrs={"autocomplete": "off"})
    )


class RemnantForm(UnitForm):
    cloth_id = PickField(nothing="Choose a cloth", label="Cloth")
    length_mm = LengthField(label="Length, along the selvedge")
    width_mm = LengthField(label="Width")
    is_washed = forms.BooleanField(required=False, label="It is washed already")
    place = words_field(120, "Where it lies")
    note = words_field(200, "Note")

    def __init__(self, *args: Any, cloths: list[tuple[UUID, str]], unit: str = "cm", **options: Any) -> None:
        super().__init__(*args, unit=unit, **options)
        pick = self.fields["cloth_id"]
        assert isinstance(pick, PickField)
        pick.offer(cloths)


class HandForm(forms.Form):
    """What the table page sends: its version and every placement, as JSON."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    placements = forms.CharField(max_length=400_000, widget=forms.HiddenInput)

    def clean_placements(self) -> list[Any]:
        try:
            given = json.loads(self.cleaned_data["placements"])
        except ValueError as exc:
            raise forms.ValidationError("The lay did not arrive whole; open the page again.") from exc
        if not isinstance(given, list) or not all(isinstance(one, dict) for one in given):
            raise forms.ValidationError("The lay did not arrive whole; open the page again.")
        return given


class AcrossForm(UnitForm):
    """At which level which pieces are measured across."""

    level = LengthField(label="At")
    end = forms.ChoiceField(
        choices=[("foot", "up from the foot"), ("top", "down from the top")], label="Counted"
    )
    pieces = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple, label="Of these pieces")

    def __init__(self, *args: Any, names: list[str], unit: str = "cm", **options: Any) -> None:
        super().__init__(*args, unit=unit, **options)
        pick = self.fields["pieces"]
        assert isinstance(pick, forms.MultipleChoiceField)
        pick.choices = [(name, name) for name in names]
        pick.initial = names


class DraftForm(UnitForm):
    length_mm = LengthField(required=False, label="Finished length", help_text="From the waist to the hem.")


class DrawingForm(forms.Form):
    file = forms.FileField(
        label="SVG or DXF",
        help_text="An SVG with one group for each piece, or a DXF for garment pieces (ASTM D6673).",
        widget=forms.FileInput(attrs={"accept": ".svg,.dxf"}),
    )


class GaugeForm(UnitForm):
    """Name and measure of each edge of a read-in piece, and levels across it."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    every_size = forms.BooleanField(
        required=False,
        label="Name the edges alike in every size",
        help_text="Where the piece has as many corners. Levels lie elsewhere in each size, so they stay as they are.",
    )

    def __init__(self, *args: Any, asked: PieceToName, unit: str = "cm", **options: Any) -> None:
        super().__init__(*args, unit=unit, **options)
        self.asked = asked
        self.fields["version"].initial = asked.row.version
        names = [("", "Not named"), *((name, name.capitalize()) for name in asked.names)]
        zones = [("", "No measure"), *asked.zones]
        for one in asked.stretches:
            self.fields[f"name_{one.number}"] = forms.ChoiceField(
                choices=names, required=False, initial=one.name, label=f"Edge {one.number} is called"
            )
            self.fields[f"feed_{one.number}"] = forms.ChoiceField(
                choices=zones, required=False, initial=one.zone, label=f"Edge {one.number} feeds"
            )
        for row in range(LEVEL_ROWS):
            zone, end, mm = asked.levels[row] if row < len(asked.levels) else ("", "top", None)
            self.fields[f"zone_{row}"] = forms.ChoiceField(
                choices=[("", "No level"), *asked.zones],
                required=False,
                initial=zone,
                label="Measured across for",
            )
            self.fields[f"at_{row}"] = LengthField(
                required=False, label="At", initial=None if mm is None else as_typed(mm, unit)
            )
            self.fields[f"end_{row}"] = forms.ChoiceField(
                choices=[("top", "down from the top"), ("foot", "up from the foot")],
                initial=end,
                label="Counted",
            )

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or self.cleaned_data
        for row in range(LEVEL_ROWS):
            zone, at = given.get(f"zone_{row}"), given.get(f"at_{row}")
            if zone and at is None and f"at_{row}" not in self.errors:
                self.add_error(f"at_{row}", "Say how far from the end of the piece it is measured.")
            if at is not None and not zone:
                self.add_error(f"zone_{row}", "Say for which measure.")
        return given

    def names(self) -> dict[int, str]:
        return {one.number: self.cleaned_data[f"name_{one.number}"] for one in self.asked.stretches}

    def feeds(self) -> dict[int, str]:
        return {one.number: self.cleaned_data[f"feed_{one.number}"] for one in self.asked.stretches}

    def level_rows(self) -> list[int]:
        return [row for row in range(LEVEL_ROWS) if self.cleaned_data[f"zone_{row}"]]

    def levels(self) -> list[LevelGiven]:
        given = self.cleaned_data
        return [
            LevelGiven(given[f"zone_{row}"], given[f"at_{row}"], given[f"end_{row}"] == "foot")
            for row in self.level_rows()
        ]

    @property
    def edge_rows(self) -> list[tuple[Any, Any, Any]]:
        return [(one, self[f"name_{one.number}"], self[f"feed_{one.number}"]) for one in self.asked.stretches]

    @property
    def level_fields(self) -> list[tuple[Any, Any, Any]]:
        return [(self[f"zone_{row}"], self[f"at_{row}"], self[f"end_{row}"]) for row in range(LEVEL_ROWS)]
