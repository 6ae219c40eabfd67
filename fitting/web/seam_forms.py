"""Forms of a garment's seams before they are sewn: they turn text into typed values and hold no rules."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from seamlab.web.fields import LengthField, NumberField, PickField, UnitForm, words_field


class SeamLengthForm(UnitForm):
    length_mm = LengthField(
        required=False,
        label="Length of one",
        help_text="Taped on the paper along the stitching line, or on the basted garment.",
    )
    times = forms.IntegerField(
        initial=1,
        min_value=1,
        label="How many of them",
        help_text="Two side seams are 2.",
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
    cloth_id = PickField(
        required=False,
        label="On another cloth than the garment's own",
        help_text="A lining, a pocketing. Its proof is asked for on that cloth.",
        nothing="No, the garment's own",
    )
    needle_colour = words_field(60, "Colour of the needle thread")
    under_colour = words_field(60, "Colour of the under thread", "Left out: the same as above.")

    def __init__(
        self,
        *args: Any,
        cloths: Iterable[tuple[Any, str]],
        needle_colours: Iterable[str] = (),
        under_colours: Iterable[str] = (),
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        self.fields["cloth_id"].offer(cloths)  # type: ignore[attr-defined]
        for name in ("needle_colour", "under_colour"):
            self.fields[name].widget.attrs["list"] = f"{name}-offered"
        self.offered = {"needle_colour": list(needle_colours), "under_colour": list(under_colours)}


class SewingForm(forms.Form):
    """How much more thread than the seams take, and on which machine."""

    allowance = NumberField(
        max_digits=4,
        decimal_places=1,
        required=False,
        label="Thread beyond the seams (%)",
        help_text="10 to 20 are usual: threading up, ends, unpicking.",
    )
    machine = PickField(required=False, label="Sewn on", nothing="the machine of each sample")

    def __init__(self, *args: Any, machines: Iterable[tuple[Any, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["machine"].offer(machines)  # type: ignore[attr-defined]

    def chosen(self, usual: Decimal) -> dict[str, Any]:
        """What was asked for; what makes no sense is told beside its field and taken as not given."""
        given = self.cleaned_data if self.is_bound and self.is_valid() else {}
        return {"allowance_percent": given.get("allowance") or usual, "machine_id": given.get("machine")}
