"""Forms of this wing: they turn text into typed values and hold no rules."""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from studio.calc.units import parse_length, parse_weight
from studio.platform.choices import LANGUAGES, UNITS
from studio.queries.catalogue import CatalogueMeasure, MeasureSet
from studio.queries.plausibility import TapeAgain
from studio.services.measuring import TypedReading

OVER = [("underwear", "Underwear"), ("close_clothing", "Close clothing"), ("clothing", "Ordinary clothing")]
BODY_MODELS = [
    ("both", "Women's and men's figures, where both agree"),
    ("female", "Women's figures"),
    ("male", "Men's figures"),
    ("none", "Own earlier figures alone"),
]
TAKES = ("first", "second")
NAMES_A_UNIT = re.compile(r"[^\W\d_]|[\"'′″’”]")


def _text(**attrs: Any) -> forms.TextInput:
    return forms.TextInput(attrs={"autocomplete": "off", **attrs})


class ClientForm(forms.Form):
    name = forms.CharField(max_length=160, widget=_text())
    telephone = forms.CharField(max_length=40, required=False, widget=_text(inputmode="tel"))
    email = forms.EmailField(required=False, widget=forms.EmailInput(attrs={"autocomplete": "off"}))
    born = forms.DateField(
        required=False,
        label="Birthday",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text="Asked for because somebody under 18 is measured only with a guardian.",
    )
    unit = forms.ChoiceField(choices=UNITS, label="Lengths in", widget=forms.RadioSelect)
    language = forms.ChoiceField(
        choices=[("", "As the studio writes"), *LANGUAGES],
        required=False,
        label="Reports and letters in",
    )
    guardian_name = forms.CharField(max_length=160, required=False, label="Guardian's name", widget=_text())
    guardian_telephone = forms.CharField(
        max_length=40, required=False, label="Guardian's telephone", widget=_text(inputmode="tel")
    )
    guardian_email = forms.EmailField(
        required=False, label="Guardian's email", widget=forms.EmailInput(attrs={"autocomplete": "off"})
    )
    body_model = forms.ChoiceField(
        choices=BODY_MODELS,
        required=False,
        initial="both",
        label="Readings are compared with",
        help_text="507 adults were once taped, women and men apart. What goes together on them helps to notice a "
        "slip of the pen. Choose what suits this body, or leave it out; no reason is asked or kept. Under 18 it is "
        "not used.",
        widget=forms.RadioSelect,
    )
    figures_in_report = forms.BooleanField(
        required=False,
        initial=True,
        label="Body figures may stand in the report that the client's link opens",
    )
    notes = forms.CharField(max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3}))

    def clean(self) -> dict[str, Any]:
        """What is not said stays as it is."""
        found = super().clean() or {}
        if not found.get("body_model"):
            found.pop("body_model", None)
        return found


class NewClientForm(ClientForm):
    consent_by = forms.CharField(
        max_length=160,
        required=False,
        label="Who consents to the measuring",
        help_text="Ask whether the body may be measured and the figures kept, and write down who said yes. "
        "Left empty, nobody has consented yet.",
        widget=_text(),
    )
    consent_by_guardian = forms.BooleanField(required=False, label="It is the guardian who consents")


class EditClientForm(ClientForm):
    version = forms.IntegerField(widget=forms.HiddenInput)


class ConsentForm(forms.Form):
    kind = forms.CharField(widget=forms.HiddenInput)
    given = forms.TypedChoiceField(
        choices=[("yes", "Consent is given"), ("no", "Consent is withdrawn")],
        coerce=lambda answer: answer == "yes",
        widget=forms.RadioSelect,
        label="Answer",
    )
    given_by = forms.CharField(max_length=160, label="Who said so", widget=_text())
    by_guardian = forms.BooleanField(required=False, label="As the guardian")
    note = forms.CharField(max_length=400, required=False, widget=_text())


class EraseForm(forms.Form):
    reason = forms.CharField(
        max_length=200,
        label="Why",
        help_text="Without the name: this line is kept. For example: asked by letter on 3 May.",
        widget=_text(),
    )
    sure = forms.BooleanField(label="It can't be undone, and I am asked to do it")


class TakeForm(forms.Form):
    measure = forms.CharField(widget=forms.HiddenInput)
    typed = forms.CharField(max_length=40, widget=_text())


class CorrectionForm(forms.Form):
    typed = forms.CharField(max_length=40, label="It should read", widget=_text(autofocus=True))
    reason = forms.CharField(
        max_length=200, label="Why", help_text="For example: 79 was written for 97.", widget=_text()
    )


@dataclass(frozen=True)
class Asked:
    """One measure of the grid: what it is, its inputs, the unit it is typed in."""

    measure: CatalogueMeasure
    fields: list[BoundField]
    unit: str
    twice: bool  # the set asks for a repeat
    flag: TapeAgain | None  # to be looked at again before it is recorded
    kept: BoundField  # a word why a flagged reading stays

    @property
    def asks_why(self) -> bool:
        return bool(self.kept.value()) if self.flag is None else self.flag.possible

    @property
    def errors(self) -> list[str]:
        return [str(words) for field in self.fields for words in field.errors]


class MeasuringForm(forms.Form):
    """The facts of one occasion and, for every measure of a set, what was read the first and second time."""

    measured_at = forms.DateTimeField(
        label="When",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    unit = forms.ChoiceField(choices=UNITS, label="Tape in", widget=forms.RadioSelect)
    over = forms.ChoiceField(choices=OVER, label="Over", widget=forms.RadioSelect)
    shoes = forms.BooleanField(required=False, label="In shoes")
    posture = forms.CharField(max_length=80, label="Posture", widget=_text())
    tape = forms.CharField(max_length=80, required=False, label="Which tape", widget=_text())
    guardian_present = forms.CharField(
        max_length=160,
        required=False,
        label="Guardian present",
        help_text="Who is in the room.",
        widget=_text(),
    )
    notes = forms.CharField(max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        chosen: MeasureSet,
        known: Mapping[str, CatalogueMeasure],
        unit: str,
        **kwargs: Any,
    ) -> None:
        super().__init__(data, **kwargs)
        self.chosen, self.known = chosen, known
        self.unit_shown = unit if unit in dict(UNITS) else "cm"
        for code in chosen.measures:
            name = known[code].name
            for take in TAKES:
                self.fields[f"{take}_{code}"] = forms.CharField(
                    max_length=40,
                    required=False,
                    label=name if take == "first" else f"{name}, once more",
                    widget=_text(inputmode="decimal" if self.unit_shown == "cm" else "text"),
                )
            self.fields[f"kept_{code}"] = forms.CharField(
                max_length=200, required=False, label=f"Keep {name.lower()} as it is, because", widget=_text()
            )
        self.flags: dict[str, TapeAgain] = {}

    def typed_before(self, data: Mapping[str, str]) -> dict[str, str]:
        """What was typed while the grid showed another unit: a bare number keeps its unit by naming it."""
        before, known = data.get("shown_in", ""), self.known
        kept = dict(data)
        if before in dict(UNITS) and before != self.unit_shown:
            for code in self.chosen.measures:
                for take in TAKES:
                    text = data.get(f"{take}_{code}", "").strip()
                    if text and not NAMES_A_UNIT.search(text):
                        kept[f"{take}_{code}"] = f"{text} {known[code].typed_in(before)}"
        return kept

    def asked(self) -> list[Asked]:
        known = self.known
        return [
            Asked(
                known[code],
                [self[f"{take}_{code}"] for take in TAKES],
                known[code].typed_in(self.unit_shown),
                code in self.chosen.repeat,
                self.flags.get(code),
                self[f"kept_{code}"],
            )
            for code in self.chosen.measures
        ]

    def typed(self) -> dict[str, TypedReading]:
        """What was typed, by field, in the order of the set; a lone second take counts as the first."""
        found: dict[str, TypedReading] = {}
        for code in self.chosen.measures:
            given = [
                (f"{take}_{code}", text)
                for take in TAKES
                if (text := self.cleaned_data.get(f"{take}_{code}", ""))
            ]
            for number, (field, text) in enumerate(given, start=1):
                found[field] = TypedReading(code, text, number)
        return found

    def look_again(self, flags: Iterable[TapeAgain]) -> bool:
        """Show these readings for a second look; False where each was given a word why it is kept."""
        self.flags = {flag.code: flag for flag in flags}
        return any(
            not flag.possible or not self.cleaned_data.get(f"kept_{code}")
            for code, flag in self.flags.items()
        )

    def kept(self, code: str) -> str:
        """The word with which a flagged reading is kept; nothing is to be kept of the others."""
        return str(self.cleaned_data.get(f"kept_{code}", "")) if code in self.flags else ""

    def with_meant(self, data: Mapping[str, str]) -> dict[str, str]:
        """What was typed, with the suggestion that was pressed ("waist_girth=84.0 cm", of two that changed places both)
        in place of the taping that lies further from it.
        """
        changed = dict(data)
        for part in data.get("meant", "").split(";"):
            code, _, meant = part.partition("=")
            given = [f"{take}_{code}" for take in TAKES if data.get(f"{take}_{code}", "").strip()]
            if code in self.chosen.measures and given and meant:
                apart = {field: self._apart(code, data[field], meant) for field in given}
                changed[max(given, key=lambda field, apart=apart: apart[field])] = meant  # type: ignore[misc]
                changed[f"kept_{code}"] = ""
        return changed

    def _apart(self, code: str, one: str, other: str) -> float:
        unit = self.known[code].typed_in(self.unit_shown)
        read = parse_weight if self.known[code].unit == "kg" else parse_length
        try:
            return abs(float(read(one, unit) - read(other, unit)))
        except ValueError:
            return math.inf
