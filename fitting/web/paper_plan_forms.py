"""Forms of the fit plan's pages: they turn text into typed values and hold no rules of the trade."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from fitting.queries.paper_zones import zone_name
from fitting.queries.plan_reckon import AMOUNT, SIZE, Overrule
from fitting.queries.plan_view import PlanView
from studio.calc.units import format_length, parse_length


def signed_length(text: str, unit: str) -> Decimal:
    """A change as it is typed, in mm: "1.2", "+1.2", "-3/8"; raises ValueError in a sentence."""
    text = text.strip().replace("\u2212", "-")
    sign = -1 if text.startswith("-") else 1
    return sign * parse_length(text.lstrip("+-").strip(), unit)


def typed_change(mm: float, unit: str) -> str:
    """A change as it would be typed, without its unit."""
    sign = "-" if mm < 0 else ""
    if unit == "in":
        return sign + format_length(abs(mm), unit, 1 / 32).removesuffix(" in")
    return sign + (f"{abs(mm) / 10:.2f}".rstrip("0").rstrip(".") or "0")


class PlanForm(forms.Form):
    """Which pattern, by which ease rules; the client and the garment are given by the page before."""

    client = forms.UUIDField(widget=forms.HiddenInput)
    garment = forms.UUIDField(widget=forms.HiddenInput, required=False)
    pattern = forms.ChoiceField(label="Pattern")
    ease_set = forms.ChoiceField(
        label="Ease rules",
        help_text="Authors disagree; the plan names its source. What a set lacks is taken from the others.",
    )

    growing_months = forms.ChoiceField(
        choices=[("0", "none"), ("6", "for 6 months"), ("12", "for 12 months"), ("18", "for 18 months")],
        required=False,
        label="Room to grow",
        help_text="From the child's own yearly rates, where two measurings lie half a year apart.",
    )
    with_estimates = forms.BooleanField(
        required=False,
        label="Let estimates stand in for what was not taped",
        help_text="They are named as such. Tape before you cut.",
    )

    def __init__(
        self,
        *args: Any,
        patterns: Sequence[tuple[str, str]],
        ease_sets: Sequence[tuple[str, str]],
        minor: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pattern"].choices = list(patterns)  # type: ignore[attr-defined]
        self.fields["ease_set"].choices = list(ease_sets)  # type: ignore[attr-defined]
        del self.fields["with_estimates" if minor else "growing_months"]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        given.setdefault("with_estimates", False)
        given.setdefault("growing_months", "0")
        return given


class OverruleForm(forms.Form):
    """For every measure of a draft a size, an amount and a reason; what is blank is left to the reckoning."""

    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, plan: PlanView, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = plan.unit
        self.zones = [(zone.zone, zone.name, zone.kind == "width") for zone in plan.zones]
        if plan.high_bust:
            self.zones.append(("centre_front_length", zone_name("centre_front_length"), False))
        for code, name, sized in self.zones:
            if sized:
                self.fields[f"size-{code}"] = forms.ChoiceField(
                    choices=[("", "as reckoned"), *((size, size) for size in plan.size_names)],
                    required=False,
                    label=f"{name}: size",
                )
            self.fields[f"amount-{code}"] = forms.CharField(
                max_length=32,
                required=False,
                label=f"{name}: change in all, {plan.unit}",
                widget=forms.TextInput(attrs={"autocomplete": "off", "size": 8}),
            )
            self.fields[f"reason-{code}"] = forms.CharField(
                max_length=400,
                required=False,
                label=f"{name}: why",
                widget=forms.TextInput(attrs={"autocomplete": "off"}),
            )

    @staticmethod
    def initial_of(plan: PlanView, overrules: Sequence[Overrule], version: int) -> dict[str, Any]:
        """What is in force, as it would be typed."""
        found: dict[str, Any] = {"version": version}
        for one in overrules:
            found[f"reason-{one.zone}"] = one.reason
            if one.what == SIZE:
                found[f"size-{one.zone}"] = one.size
            else:
                found[f"amount-{one.zone}"] = typed_change(one.amount_mm, plan.unit)
        return found

    @property
    def lines(self) -> list[tuple[str, BoundField | None, BoundField, BoundField]]:
        """(name, size where the measure has one, amount, reason) from top to bottom."""
        return [
            (name, self[f"size-{code}"] if sized else None, self[f"amount-{code}"], self[f"reason-{code}"])
            for code, name, sized in self.zones
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        self._given: list[tuple[str, Overrule]] = []
        for code, name, sized in self.zones:
            reason = cleaned.get(f"reason-{code}", "").strip()
            size = cleaned.get(f"size-{code}", "") if sized else ""
            typed = cleaned.get(f"amount-{code}", "").strip()
            if size:
                self._given.append((f"size-{code}", Overrule(SIZE, code, reason, size=size)))
            if typed:
                try:
                    amount = float(signed_length(typed, self.unit))
                except ValueError as exc:
                    self.add_error(f"amount-{code}", f"{name}: {exc}")
                else:
                    self._given.append((f"amount-{code}", Overrule(AMOUNT, code, reason, amount_mm=amount)))
            if reason and not size and not typed:
                self.add_error(
                    f"reason-{code}", f"{name}: there is a reason, but neither a size nor a change yet."
                )
        return cleaned

    def given(self) -> list[Overrule]:
        return [one for _, one in self._given]

    def field_of(self, name: str) -> str | None:
        """The field that a reason of the service speaks of: ``overrules.2.reason``."""
        found = re.fullmatch(r"overrules\.(\d+)\.(\w+)", name)
        if found is None or int(found[1]) >= len(self._given):
            return None
        field, one = self._given[int(found[1])]
        return f"reason-{one.zone}" if found[2] == "reason" else field
