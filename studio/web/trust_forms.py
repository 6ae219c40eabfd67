"""Forms about trust: a standardisation day, its grid, how long clients are kept. They hold no rules."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from studio.platform.choices import UNITS
from studio.queries.standard_days import DayGrid
from studio.services.trust import DayReading


def _text(**attrs: Any) -> forms.TextInput:
    return forms.TextInput(attrs={"autocomplete": "off", **attrs})


class DayForm(forms.Form):
    name = forms.CharField(max_length=120, help_text="For example: autumn 2026.", widget=_text())
    held_on = forms.DateField(
        label="Held on", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    people = forms.CharField(
        max_length=2000,
        label="Volunteers",
        help_text="Letters or numbers, with commas or one a line; no names of clients. Ten or more tell most.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    reference_member_id = forms.TypedChoiceField(
        label="Whom the others are compared with", help_text="Whoever teaches the tape here."
    )
    measures = forms.MultipleChoiceField(label="Measures", widget=forms.CheckboxSelectMultiple)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        members: Sequence[tuple[str, str]],
        measures: Sequence[tuple[str, str]],
        **kwargs: Any,
    ) -> None:
        super().__init__(data, **kwargs)
        self.fields["reference_member_id"].choices = members  # type: ignore[attr-defined]
        self.fields["measures"].choices = measures  # type: ignore[attr-defined]

    def clean_people(self) -> list[str]:
        return [label.strip() for label in re.split(r"[,;\n]", self.cleaned_data["people"]) if label.strip()]


class GridForm(forms.Form):
    """What is still to be typed of one measure's grid; cells that were kept have no field."""

    unit = forms.ChoiceField(choices=UNITS, label="Tape in", widget=forms.RadioSelect)
    as_read = forms.BooleanField(
        required=False, label="The tape read so: keep takes that lie far apart as well"
    )

    def __init__(self, data: Mapping[str, Any] | None = None, *, grid: DayGrid, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.grid = grid
        self.cells: dict[str, DayReading] = {}
        for number, (person, cells) in enumerate(grid.rows, start=1):
            for place, cell in enumerate(cells):
                if cell.reading is not None:
                    continue
                field = f"cell_{number}_{place}"
                self.cells[field] = DayReading(person, cell.member.pk, grid.measure.code, "", cell.take)
                self.fields[field] = forms.CharField(
                    max_length=32,
                    required=False,
                    label=f"{person}, {cell.member.name}, take {cell.take}",
                    widget=_text(inputmode="decimal" if self._unit(data) == "cm" else "text"),
                )

    def rows(self) -> Iterable[tuple[str, list[tuple[Any, BoundField | None]]]]:
        """Volunteers with their cells: (cell, its field where it is still to be typed)."""
        for number, (person, cells) in enumerate(self.grid.rows, start=1):
            yield (
                person,
                [
                    (cell, None if cell.reading is not None else self[f"cell_{number}_{place}"])
                    for place, cell in enumerate(cells)
                ],
            )

    def typed(self) -> dict[str, DayReading]:
        """What was typed, by field."""
        found: dict[str, DayReading] = {}
        for field, cell in self.cells.items():
            if text := self.cleaned_data.get(field, ""):
                found[field] = DayReading(cell.person, cell.member_id, cell.measure, text, cell.take)
        return found

    def _unit(self, data: Mapping[str, Any] | None) -> str:
        return str((data or self.initial).get("unit", "cm"))


class KeepingForm(forms.Form):
    months = forms.IntegerField(
        required=False,
        label="Months after the last act",
        help_text="1 to 240; left empty there is no limit. Nobody is erased by it: you are asked about each.",
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )


class KeepForm(forms.Form):
    reason = forms.CharField(
        max_length=200,
        label="Why the client is kept",
        help_text="For example: has a coat on order; tax records are still running.",
        widget=_text(),
    )
