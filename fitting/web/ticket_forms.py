"""Forms of tickets and prices: they turn text into typed values and hold no rules."""

from collections.abc import Mapping
from typing import Any

from django import forms

from fitting.calc.money import parse_money, plain_money
from fitting.queries.prices import JobKind, PriceLine, job_kinds, usual_price
from fitting.services.tickets import WantedJob
from fitting.web.garment_forms import DateInput, TypedAmount
from studio.calc.units import format_length

WAYS = [("cash", "Cash"), ("card", "Card"), ("transfer", "Bank transfer"), ("other", "Another way")]
MOST_ROWS = 12


def _text(**attrs: Any) -> forms.TextInput:
    return forms.TextInput(attrs={"autocomplete": "off", **attrs})


class MoneyField(forms.CharField):
    """An amount as typed; the smallest unit of the currency comes out, or None where nothing is typed."""

    def __init__(self, currency: str = "", **options: Any) -> None:
        self.currency = currency
        options.setdefault("widget", _text(inputmode="decimal"))
        super().__init__(max_length=24, **options)

    def clean(self, value: Any) -> int | None:
        text = super().clean(value)
        if not text:
            return None
        if not self.currency:
            raise forms.ValidationError("Choose the studio's currency on the price list first.")
        try:
            return parse_money(text, self.currency)
        except ValueError as exc:
            raise forms.ValidationError(str(exc)) from exc


class JobForm(forms.Form):
    """One thing that is wanted; which fields it has depends on what is chosen."""

    job = forms.ChoiceField(choices=[], required=False, label="What is to be done?")
    where = forms.CharField(max_length=120, required=False, label="Where, how", widget=_text())
    amount = TypedAmount(required=False, label="How much", widget=_text())
    allowance = TypedAmount(required=False, label="Allowance inside", widget=_text())
    keep = TypedAmount(required=False, label="Must stay inside", widget=_text())
    edges = forms.TypedChoiceField(
        choices=[], coerce=int, empty_value=None, required=False, label="Shared by"
    )
    price = MoneyField(required=False, label="Price")
    field_order = ("job", "where", "amount", "price", "allowance", "keep", "edges")

    def __init__(
        self, *args: Any, unit: str, currency: str, prices: list[PriceLine], garment_kind: str, **options: Any
    ) -> None:
        super().__init__(*args, **options)
        fields: dict[str, Any] = self.fields
        fields["job"].choices = [("", "Choose"), *((row.code, row.name) for row in job_kinds().values())]
        for name in ("amount", "allowance", "keep"):
            fields[name].unit = unit
        fields["price"].currency = currency
        fields["price"].label = f"Price in {currency}" if currency else "Price"
        self.kind = self._chosen()
        room = self.kind.room if self.kind else None
        if self.kind is None or not self.kind.amount:
            del fields["amount"]
        else:
            fields["amount"].label = f"{self.kind.amount}, {unit}"
        if room is None:
            del fields["allowance"], fields["keep"], fields["edges"]
        else:
            fields["allowance"].label = f"{room.words}, {unit}"
            fields["keep"].label = f"Must stay, {unit}"
            fields["keep"].widget.attrs["placeholder"] = format_length(room.keep_mm, unit)
            fields["edges"].choices = [(str(number), words) for number, words in room.edges]
            fields["edges"].required = False
            if len(room.edges) == 1:
                fields["edges"].widget = forms.HiddenInput()
        self.usual = usual_price(prices, self.kind.code, garment_kind) if self.kind else None
        fields["price"].widget.attrs["placeholder"] = self.usual.typed if self.usual else ""
        self.offers = [line for line in prices if self.kind and line.price.job == self.kind.code]

    def _chosen(self) -> JobKind | None:
        given = self.data.get(self.add_prefix("job"), "") if self.is_bound else ""
        return job_kinds().get(given)

    @property
    def shown(self) -> list[Any]:
        """The fields beside the job itself, in their order."""
        return [self[name] for name in self.fields if name != "job"]

    def wanted(self) -> WantedJob:
        given = self.cleaned_data
        return WantedJob(
            job=given["job"],
            where=given.get("where", ""),
            amount_mm=given.get("amount"),
            allowance_mm=given.get("allowance"),
            keep_mm=given.get("keep"),
            edges=given.get("edges"),
            price_minor=given.get("price"),
        )


class IntakeForm(forms.Form):
    """Client, garment, date and deposit; the jobs stand beside in forms of their own."""

    client_name = forms.CharField(max_length=160, required=False, label="New client's name", widget=_text())
    client_reach = forms.CharField(max_length=254, required=False, label="Telephone or email", widget=_text())
    same_name = forms.BooleanField(required=False, label="Somebody else of this name")
    words = forms.CharField(
        max_length=160,
        required=False,
        label="The garment, in words",
        help_text="By which it will be looked for: “teal trousers”.",
        widget=_text(),
    )
    kind = forms.ChoiceField(choices=[], required=False, label="Kind")
    for_child = forms.BooleanField(required=False, label="For a child")
    due = forms.DateField(required=False, label="Ready by", widget=DateInput())
    note = forms.CharField(max_length=400, required=False, label="Anything else", widget=_text())
    deposit = MoneyField(required=False, label="Deposit paid now")
    deposit_way = forms.ChoiceField(choices=WAYS, required=False, label="Paid by")

    def __init__(
        self,
        *args: Any,
        kinds: list[tuple[str, str]],
        currency: str,
        client: Any,
        garment: Any,
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        fields: dict[str, Any] = self.fields
        fields["kind"].choices = [("", "Choose"), *kinds]
        fields["deposit"].currency = currency
        if currency:
            fields["deposit"].label = f"Deposit paid now, {currency}"
        if client is not None:
            del fields["client_name"], fields["client_reach"], fields["same_name"]
        if garment is not None:
            del fields["words"], fields["kind"], fields["for_child"]


def job_forms(data: Mapping[str, Any] | None, count: int, **options: Any) -> list[JobForm]:
    """``count`` rows of jobs, as they were typed."""
    return [JobForm(data, prefix=f"job{place}", **options) for place in range(min(count, MOST_ROWS))]


class PayForm(forms.Form):
    amount = MoneyField(label="Amount")
    way = forms.ChoiceField(choices=WAYS, label="By")
    direction = forms.ChoiceField(
        choices=[("taken", "Taken"), ("back", "Given back")], initial="taken", label="Money was"
    )
    note = forms.CharField(max_length=200, required=False, widget=_text())

    def __init__(self, *args: Any, currency: str, **options: Any) -> None:
        super().__init__(*args, **options)
        field: Any = self.fields["amount"]
        field.currency, field.label = currency, f"Amount in {currency}"


class HandOverForm(forms.Form):
    amount = MoneyField(required=False, label="Paid now")
    way = forms.ChoiceField(choices=WAYS, label="By")
    reason = forms.CharField(
        max_length=200, required=False, label="If something stays unpaid: why", widget=_text()
    )

    def __init__(self, *args: Any, currency: str, owed: int = 0, **options: Any) -> None:
        if owed > 0:
            options.setdefault("initial", {"amount": plain_money(owed, currency)})
        super().__init__(*args, **options)
        field: Any = self.fields["amount"]
        field.currency, field.label = currency, f"Paid now, {currency}"


class TicketForm(forms.Form):
    due = forms.DateField(required=False, label="Ready by", widget=DateInput())
    note = forms.CharField(max_length=400, required=False, label="Note", widget=_text())
    version = forms.IntegerField(widget=forms.HiddenInput)


class PriceForm(forms.Form):
    job = forms.ChoiceField(choices=[], label="Job")
    kind = forms.ChoiceField(choices=[], required=False, label="Garment")
    words = forms.CharField(
        max_length=80,
        required=False,
        label="What tells it apart",
        help_text="“By hand”, “lined”.",
        widget=_text(),
    )
    price = MoneyField(label="Price")

    def __init__(self, *args: Any, kinds: list[tuple[str, str]], currency: str, **options: Any) -> None:
        super().__init__(*args, **options)
        fields: dict[str, Any] = self.fields
        fields["job"].choices = [("", "Choose"), *((row.code, row.name) for row in job_kinds().values())]
        fields["kind"].choices = [("", "Any garment"), *kinds]
        fields["price"].currency = currency
        fields["price"].label = f"Price in {currency}"


class CurrencyForm(forms.Form):
    currency = forms.CharField(
        max_length=3,
        label="Currency",
        help_text="Its three letters (ISO 4217), for example EUR.",
        widget=_text(autocapitalize="characters"),
    )
