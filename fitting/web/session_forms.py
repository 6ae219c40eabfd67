"""Forms of a try-on: they turn text into typed values and hold no rules."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from fitting.calc.signs import Meaning, SignTable
from fitting.queries.fittings import PLACES
from fitting.queries.spots import Spot, Spots
from fitting.services.told import Told
from fitting.web.garment_forms import TypedAmount

SESSION_KINDS = [("paper", "Paper"), ("toile", "Toile"), ("baste", "Basted"), ("final", "Final")]
DECISIONS = [
    ("take_in", "Take in"),
    ("let_out", "Let out"),
    ("lengthen", "Lengthen"),
    ("shorten", "Shorten"),
    ("reshape", "Reshape the seam"),
    ("leave", "Leave as it is"),
]
OPEN = ("open", "Not decided yet")
SIDES = [("both", "Both"), ("left", "Left"), ("right", "Right")]
VIEWS = [("front", "From the front"), ("back", "From behind"), ("side", "From the side")]
UNIT_EXAMPLE = {"cm": "for example 1,5", "in": "for example 5/8"}
OTHER = ("", "Something else, or not known yet")


class SessionForm(forms.Form):
    kind = forms.ChoiceField(
        choices=SESSION_KINDS, initial="baste", label="What is tried on?", widget=forms.RadioSelect
    )
    held_at = forms.DateTimeField(
        label="When",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    worn = forms.CharField(
        required=False, max_length=160, label="Worn with it", help_text="Shoes, and what is worn underneath."
    )
    posture = forms.CharField(required=False, max_length=80, label="How the wearer stands or sits")


class SignForm(forms.Form):
    """What is seen, by its sign: the first step of a note. Hidden is where it was tapped."""

    view = forms.ChoiceField(choices=[("", ""), *VIEWS], required=False, widget=forms.HiddenInput)
    x = forms.DecimalField(required=False, widget=forms.HiddenInput)
    y = forms.DecimalField(required=False, widget=forms.HiddenInput)
    place = forms.ChoiceField(choices=list(PLACES.items()), label="Where")
    side = forms.ChoiceField(choices=SIDES, initial="both", required=False, widget=forms.RadioSelect)
    sign = forms.ChoiceField(required=False, label="What is seen", widget=forms.RadioSelect)
    direction = forms.ChoiceField(required=False, label="Which way it runs, for a slanting or swinging one")
    pinched = TypedAmount(required=False, label="How much was pinched or let go")

    def __init__(self, *args: Any, unit: str, table: SignTable, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["sign"].choices = [(row.code, row.name) for row in table.signs.values()] + [OTHER]  # type: ignore[attr-defined]
        self.fields["direction"].choices = [("", "None, or not clear"), *table.directions.items()]  # type: ignore[attr-defined]
        _unit_of(self.fields["pinched"], unit, "All the cloth taken up by the pins, or the gap that opened")
        self.table = table

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        sign = self.table.signs.get(given.get("sign") or "")
        if given.get("direction") and (sign is None or given["direction"] not in sign.directions):
            self.add_error(
                "direction", "This sign has no such direction: leave it empty, or choose another sign."
            )
        given["side"] = given.get("side") or "both"
        return given

    def told(self, **more: str) -> Told:
        given = self.cleaned_data
        across, down = given.get("x"), given.get("y")
        return Told(
            sign=given["sign"],
            direction=given["direction"],
            pinched_mm=given["pinched"],
            view=given["view"],
            mark=(across, down) if across is not None and down is not None and given["view"] else None,
            **more,
        )


class WhereForm(forms.Form):
    """Where on the paper it is done: chosen from the pattern's pieces and seams, or in words where there are none."""

    spot = forms.ChoiceField(required=False, label="On which piece, at which seam")
    piece = forms.CharField(required=False, max_length=80, label="On which piece")
    seam = forms.CharField(
        required=False,
        max_length=80,
        label="At which seam",
        widget=forms.TextInput(attrs={"list": "seam-places"}),
    )

    def offer(self, spots: Spots, *, piece: str = "", seam: str = "") -> None:
        """Offer a pattern's places; what was written before is chosen, or stands in words."""
        if not spots:
            del self.fields["spot"]
            self.initial.update(piece=piece, seam=seam)
            return
        del self.fields["piece"]
        self.spots = {_key(spot): spot for _, group in spots.groups for spot in group}
        self.fields["spot"].choices = [  # type: ignore[attr-defined]
            ("", "Not decided, or somewhere else"),
            *(
                (heading, [(_key(spot), _spot_words(spot)) for spot in group])
                for heading, group in spots.groups
            ),
        ]
        self.fields["seam"].label = "Somewhere else, in words"
        chosen = _key(Spot(piece, seam)) if _key(Spot(piece, seam)) in self.spots else ""
        self.initial.update(spot=chosen, seam="" if chosen else ", ".join(filter(None, (piece, seam))))

    def where(self) -> dict[str, str]:
        """The piece and the seam, from whichever was given."""
        given = self.cleaned_data
        spot = self.spots.get(given.get("spot") or "") if "spot" in self.fields else None
        if spot is not None:
            return {"piece": spot.piece, "seam": spot.seam}
        return {"piece": given.get("piece", ""), "seam": given["seam"]}

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("spot") and given.get("seam"):
            self.add_error("seam", "Choose a piece and seam above, or write it here; not both.")
        return given


def _key(spot: Spot) -> str:
    return f"{spot.piece}|{spot.seam}"


def _spot_words(spot: Spot) -> str:
    return f"{spot.piece}: {spot.seam}" if spot.seam else f"{spot.piece}, the piece itself"


class NoteForm(WhereForm):
    """The second step: what it may mean is the fitter's to choose, and what is decided, if it is."""

    seen = forms.CharField(
        required=False,
        max_length=400,
        label="In your own words",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Drag lines, gaping, strain, too much cloth. The garment is what is looked at.",
    )
    change = forms.ChoiceField(required=False, label="What is done on the paper", widget=forms.RadioSelect)
    decision = forms.ChoiceField(choices=[OPEN, *DECISIONS], initial="open", label="What is done about it")
    amount = TypedAmount(required=False, label="How much in all")
    decided = forms.CharField(required=False, max_length=400, label="How")

    field_order = ("seen", "change", "decision", "amount", "spot", "piece", "seam", "decided")

    def __init__(
        self, *args: Any, unit: str, meanings: Sequence[Meaning], spots: Spots, **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self.offer(spots)
        changes = {meaning.change.code: meaning.change.name for meaning in meanings}
        if changes:
            self.fields["change"].choices = [*changes.items(), OTHER]  # type: ignore[attr-defined]
        else:
            del self.fields["change"]
        _unit_of(self.fields["amount"], unit, "Round the whole body, or of the whole length")


class DecisionForm(WhereForm):
    field_order = ("decision", "amount", "spot", "piece", "seam", "decided")
    decision = forms.ChoiceField(choices=DECISIONS, label="What is done about it")
    amount = TypedAmount(required=False, label="How much in all")
    decided = forms.CharField(required=False, max_length=400, label="How")

    def __init__(
        self, *args: Any, unit: str, spots: Spots, piece: str = "", seam: str = "", **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self.offer(spots, piece=piece, seam=seam)
        _unit_of(self.fields["amount"], unit, "Round the whole body, or of the whole length")


class SignOffForm(forms.Form):
    client_agreed = forms.BooleanField(required=False, label="The client agrees with how it fits")
    note = forms.CharField(required=False, max_length=400, label="A remark")


class AgreementForm(forms.Form):
    """The name of whoever agrees; for somebody under 18, that it is a guardian's."""

    name = forms.CharField(
        max_length=120, label="Your name", widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    def __init__(self, *args: Any, minor: bool, **options: Any) -> None:
        super().__init__(*args, **options)
        if minor:
            self.fields["name"].label = "Your name, as parent or guardian"
            self.fields["by_guardian"] = forms.BooleanField(
                required=False, label="I am the parent or guardian of whoever wears it"
            )


def typed(mm: Decimal | float | None, unit: str) -> str:
    """An amount as it is typed into a field."""
    from studio.calc.units import format_length

    return "" if mm is None else format_length(mm, unit).rsplit(maxsplit=1)[0]


def _unit_of(field: forms.Field, unit: str, words: str) -> None:
    assert isinstance(field, TypedAmount)
    field.unit = unit
    named = {"cm": "centimetres", "in": "inches"}[unit]
    field.help_text = f"{words}, in {named}: {UNIT_EXAMPLE[unit]}."
