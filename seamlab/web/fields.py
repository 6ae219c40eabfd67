"""Form fields for what is typed at the table: lengths in either unit, numbers with a comma or a point."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any
from uuid import UUID

from django import forms

from studio.calc.units import format_length, parse_length

UNIT_HINTS = {"cm": "cm", "in": "inches, such as 59 3/8"}
BOLT_HINTS = {"cm": "metres", "in": "yards"}
THOUSANDS = re.compile(r"\d{1,3},\d{3}")
SIXTEENTH_MM = Decimal("1.5875")


class LengthField(forms.CharField):
    """A length as people type it; cleans to millimetres (Decimal), or None where nothing need be given.

    The form sets ``unit`` ("cm" or "in"): it holds where none is typed.
    """

    unit = "cm"

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}))
        super().__init__(max_length=40, **options)

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return parse_length(text, self.unit)
        except ValueError as exc:
            raise forms.ValidationError(str(exc)) from exc


BARE = re.compile(r"[\d\s.,/¼½¾⅛⅜⅝⅞]+")  # a number without a unit
YARDS = re.compile(r"(.*\S)\s*(?:yd|yds|yard|yards)\.?", re.IGNORECASE)


class BoltLengthField(LengthField):
    """A length of cloth on a bolt: metres, or yards where the studio works in inches, unless a unit is typed."""

    def clean(self, value: Any) -> Decimal | None:
        text = forms.CharField.clean(self, value)
        if not text:
            return None
        yards = YARDS.fullmatch(text.strip())
        try:
            if yards or (self.unit == "in" and BARE.fullmatch(text)):
                return parse_length(yards[1] if yards else text, "in") * 36  # exact: a yard is 36 in
            if BARE.fullmatch(text):
                return parse_length(text, "cm") * 100
            return parse_length(text, self.unit)
        except ValueError as exc:
            raise forms.ValidationError(str(exc)) from exc


class NumberField(forms.DecimalField):
    """A decimal number; a comma is a point, unless it could be one for the thousands."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(**options)

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str):
            text = value.strip()
            if THOUSANDS.fullmatch(text):
                raise forms.ValidationError(f"“{text}” can be read in two ways: type it without a comma.")
            value = text.replace(",", ".")
        return super().to_python(value)


class PickField(forms.TypedChoiceField):
    """One of a list of rows by id; cleans to a UUID, or None where nothing is chosen."""

    def __init__(self, *, nothing: str = "Choose", **options: Any) -> None:
        self.nothing = nothing
        super().__init__(coerce=UUID, empty_value=None, **options)

    def offer(self, rows: Iterable[tuple[Any, str]]) -> None:
        self.choices = [("", self.nothing), *((str(key), words) for key, words in rows)]


class UnitForm(forms.Form):
    """A form whose lengths are typed in the studio's unit; each such field says so."""

    def __init__(self, *args: Any, unit: str = "cm", **options: Any) -> None:
        super().__init__(*args, **options)
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.unit = unit
                hints = BOLT_HINTS if isinstance(field, BoltLengthField) else UNIT_HINTS
                field.label = f"{field.label} ({hints[unit]})"


def as_typed(mm: Decimal | None, unit: str) -> str:
    """A length as text that reads back to the same length exactly."""
    if mm is None:
        return ""
    if unit == "in" and mm % SIXTEENTH_MM == 0:
        return format_length(mm, "in", Decimal("0.0625"))
    return f"{(mm / 10).normalize():f} cm"


def one_line(**attrs: Any) -> forms.TextInput:
    """A text field that no browser fills in by itself."""
    return forms.TextInput(attrs={"autocomplete": "off", **attrs})


def words_field(length: int, label: str, help_text: str = "") -> forms.CharField:
    """A line of words that may be left out."""
    return forms.CharField(
        max_length=length, required=False, label=label, help_text=help_text, widget=one_line()
    )


def lines(rows: int) -> forms.Textarea:
    return forms.Textarea(attrs={"rows": rows})
