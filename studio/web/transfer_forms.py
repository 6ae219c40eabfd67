"""Forms of imports and exports: they turn text into typed values and hold no rules."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms

from studio.calc.transfer import FIELD_WORDS, OF_OCCASION, OF_READING, Layout
from studio.calc.transfer_words import DATE_ORDERS

UNITS = [("cm", "centimetres"), ("in", "inches with eighths"), ("mm", "millimetres")]
OVER = [("underwear", "Underwear"), ("close_clothing", "Close clothing"), ("clothing", "Ordinary clothing")]
FORMS = [("csv", "CSV"), ("xlsx", "XLSX workbook")]
MEASURE = "measure:"  # begins the choices that are measures


class UploadForm(forms.Form):
    file = forms.FileField(
        label="CSV file or XLSX workbook",
        help_text="At most 20 MB. Only the first sheet of a workbook is read; formulas are not.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
    )
    unit = forms.ChoiceField(
        choices=UNITS, label="Lengths in", help_text="Where the file names no unit.", widget=forms.RadioSelect
    )


class ExportForm(forms.Form):
    of = forms.ChoiceField(label="Readings of")
    form = forms.ChoiceField(choices=FORMS, initial="csv", label="As", widget=forms.RadioSelect)

    def __init__(self, *, courses: Iterable[tuple[Any, str]] = (), **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.fields["of"].choices = [  # type: ignore[attr-defined]
            ("studio", "the whole studio"),
            *((f"course:{pk}", f"the course {name}") for pk, name in courses),
        ]


class ColumnsForm(forms.Form):
    """One choice for each column of the file, and how the file is meant as a whole."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    unit = forms.ChoiceField(
        choices=UNITS,
        label="Lengths in",
        help_text="Where neither the cell nor the column names a unit. Weights are then in kg, or in lb beside inches.",
        widget=forms.RadioSelect,
    )
    date_order = forms.ChoiceField(
        choices=[
            ("", "not said: 03/04/2026 is a problem"),
            *((k, f"{v} first to last") for k, v in DATE_ORDERS.items()),
        ],
        required=False,
        label="Dates in figures are written",
    )
    decimal_mark = forms.ChoiceField(
        choices=[
            ("", "not said: 96,838 is a problem"),
            ("point", "after a point, as in 96.8"),
            ("comma", "after a comma, as in 96,8"),
        ],
        required=False,
        label="Decimals come",
    )
    over = forms.ChoiceField(
        choices=OVER,
        label="Measured over",
        help_text="Where the file does not say.",
        widget=forms.RadioSelect,
    )
    new_clients = forms.BooleanField(required=False, label="Make clients who are not here yet")
    consent_stated = forms.BooleanField(
        required=False,
        label="Each new client has consented to being measured and to the figures being kept; for those under 18 the "
        "guardian has. I state so, and it is written down with my name.",
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        heads: Sequence[str],
        measures: Mapping[str, str],
        **kwargs: Any,
    ) -> None:
        super().__init__(data, **kwargs)
        self.heads = heads
        choices = [
            ("", "leave out"),
            ("Whose, when and how", [(name, FIELD_WORDS[name]) for name in OF_OCCASION]),
            ("One reading a row", [(name, FIELD_WORDS[name]) for name in OF_READING]),
            ("A column for each measure", [(f"{MEASURE}{code}", name) for code, name in measures.items()]),
        ]
        for number, head in enumerate(heads, start=1):
            self.fields[f"column_{number}"] = forms.ChoiceField(choices=choices, required=False, label=head)

    @staticmethod
    def initial_of(layout: Layout, mapping: Mapping[str, Any], version: int) -> dict[str, Any]:
        """The form's first values from what is chosen already."""
        return {
            "version": version,
            "unit": layout.unit,
            "date_order": layout.date_order,
            "decimal_mark": layout.decimal_mark,
            "over": mapping.get("over"),
            "new_clients": mapping.get("new_clients"),
            "consent_stated": mapping.get("consent_stated"),
            **{f"column_{column}": name for name, column in layout.fields.items()},
            **{f"column_{column}": f"{MEASURE}{code}" for column, code in layout.measures.items()},
        }

    def chosen(self) -> dict[str, Any]:
        """What the service takes; a field that two columns hold is told beside the second."""
        fields: dict[str, int] = {}
        measures: dict[int, str] = {}
        for number in range(1, len(self.heads) + 1):
            name = self.cleaned_data.get(f"column_{number}", "")
            if name.startswith(MEASURE):
                measures[number] = name.removeprefix(MEASURE)
            elif name in fields:
                self.add_error(f"column_{number}", f"Column {fields[name]} holds this already.")
            elif name:
                fields[name] = number
        return {
            "expected_version": self.cleaned_data["version"],
            "fields": fields,
            "measures": measures,
            **{
                name: self.cleaned_data[name]
                for name in ("unit", "date_order", "decimal_mark", "over", "new_clients", "consent_stated")
            },
        }

    def rows(self, examples: Sequence[Sequence[str]]) -> list[tuple[int, Any, Sequence[str]]]:
        """(number, field, first cells) of each column."""
        return [
            (number, self[f"column_{number}"], examples[number - 1])
            for number in range(1, len(self.heads) + 1)
        ]
