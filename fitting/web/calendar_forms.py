"""Forms of the calendar: they turn text into typed values and hold no rules."""

from typing import Any

from django import forms

from fitting.web.garment_forms import IdField
from fitting.web.session_forms import SESSION_KINDS


class AppointmentForm(forms.Form):
    kind = forms.ChoiceField(
        choices=SESSION_KINDS, initial="baste", label="What is tried on?", widget=forms.RadioSelect
    )
    starts_at = forms.DateTimeField(
        label="When",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local", "step": 300}, format="%Y-%m-%dT%H:%M"),
    )
    minutes = forms.IntegerField(
        initial=45,
        label="For how many minutes",
        widget=forms.NumberInput(attrs={"min": 5, "max": 480, "step": 5}),
    )
    fitter = IdField(required=False, label="Fitter", nothing="Whoever is free")
    note = forms.CharField(required=False, max_length=200, label="A remark")

    def __init__(
        self, *args: Any, fitters: list[tuple[str, str]], moving: bool = False, **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self.fields["fitter"].offer(fitters)  # type: ignore[attr-defined]
        if moving:
            del self.fields["kind"], self.fields["note"]
            self.fields["version"] = forms.IntegerField(widget=forms.HiddenInput)
