"""Forms of this wing: they turn text into typed values and hold no rules."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from seamlab.queries import choices
from seamlab.web.fields import LengthField, NumberField, PickField, UnitForm

FIBRE_ROWS = 4


def _text(**attrs: Any) -> forms.TextInput:
    return forms.TextInput(attrs={"autocomplete": "off", **attrs})


def _words(length: int, label: str, help_text: str = "") -> forms.CharField:
    return forms.CharField(
        max_length=length, required=False, label=label, help_text=help_text, widget=_text()
    )


def _area(rows: int) -> forms.Textarea:
    return forms.Textarea(attrs={"rows": rows})


# --- cloth ---


class ClothForm(UnitForm):
    name = forms.CharField(
        max_length=120,
        help_text="As colleagues will look for it: colour, kind, shop or year.",
        widget=_text(),
    )
    structure = forms.ChoiceField(choices=choices.STRUCTURES, widget=forms.RadioSelect)
    construction = _words(60, "Weave or knit", "Such as twill, satin, jersey, rib.")
    weight_gsm = NumberField(
        max_digits=7,
        decimal_places=2,
        label="Weight (g/m²)",
        help_text="Weigh a square of 10 × 10 cm: grams × 100.",
    )
    thickness_mm = NumberField(
        max_digits=6,
        decimal_places=3,
        required=False,
        label="Thickness of one layer (mm)",
        help_text="Fold ten layers, press lightly, measure, divide by ten.",
    )
    width_mm = LengthField(label="Width", help_text="Selvedge to selvedge.")
    usable_width_mm = LengthField(label="Usable width", help_text="Without the selvedges.")
    direction = forms.ChoiceField(
        choices=choices.DIRECTIONS,
        initial="not_known",
        widget=forms.RadioSelect,
        help_text="Even a plain cloth can shade: two-way is a decision, made by looking in daylight.",
    )
    repeat_lengthwise_mm = LengthField(required=False, label="Repeat lengthwise")
    repeat_crosswise_mm = LengthField(required=False, label="Repeat crosswise")
    drape = _words(120, "Drape", "Such as stiff, soft, flowing.")
    care = _words(200, "Care", "Washing, drying, iron.")
    notes = forms.CharField(max_length=2000, required=False, widget=_area(3))
    fibres = forms.CharField(required=False, widget=forms.HiddenInput)  # bears the sentence about the sum
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        offered = [("", "no fibre"), *choices.fibre_choices()]
        for row in range(1, FIBRE_ROWS + 1):
            self.fields[f"fibre_{row}"] = forms.ChoiceField(
                choices=offered, required=False, label=f"Fibre {row}"
            )
            self.fields[f"percent_{row}"] = NumberField(
                max_digits=4, decimal_places=1, required=False, label=f"Percent of fibre {row}"
            )

    @property
    def fibre_rows(self) -> list[tuple[Any, Any]]:
        return [(self[f"fibre_{row}"], self[f"percent_{row}"]) for row in range(1, FIBRE_ROWS + 1)]

    def facts(self) -> dict[str, Any]:
        """What was given, with the fibres as rows; ``version`` is left out."""
        given = dict(self.cleaned_data)
        given.pop("version")
        rows = [(given.pop(f"fibre_{row}"), given.pop(f"percent_{row}")) for row in range(1, FIBRE_ROWS + 1)]
        given["fibres"] = [
            {"fibre": fibre, "percent": "" if percent is None else percent}
            for fibre, percent in rows
            if fibre or percent is not None
        ]
        return given


class StretchTestForm(UnitForm):
    way = forms.ChoiceField(choices=choices.WAY_CHOICES, widget=forms.RadioSelect, label="Which way")
    relaxed_mm = LengthField(
        label="Relaxed",
        help_text="Fold the cloth across, mark 10 cm along the fold, away from the cut edge.",
    )
    stretched_mm = LengthField(
        label="Stretched", help_text="Pull along a ruler as far as the cloth goes freely."
    )
    released_mm = LengthField(
        required=False, label="Let go", help_text="Tape the same marks a minute later: it shows the recovery."
    )
    note = _words(400, "Note")


class WashTestForm(UnitForm):
    way = forms.ChoiceField(choices=choices.WAY_CHOICES, widget=forms.RadioSelect, label="Which way")
    before_mm = LengthField(label="Before", help_text="Mark 50 cm, at least 5 cm away from the selvedge.")
    after_mm = LengthField(
        label="After", help_text="Wash, dry and press as the garment will be, then tape again."
    )
    note = _words(400, "Note")


class SeamQuestionForm(forms.Form):
    """Which seam for this cloth?"""

    purpose = forms.ChoiceField(choices=choices.PURPOSES, initial="join", required=False)
    layers = forms.IntegerField(
        min_value=1,
        max_value=20,
        initial=2,
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )
    machine = PickField(required=False, nothing="any machine")


# --- supplies ---


class ThreadForm(forms.Form):
    what = forms.CharField(initial="thread", widget=forms.HiddenInput)
    name = forms.CharField(
        max_length=120, label="Name", help_text="As it stands on the shelf.", widget=_text()
    )
    fibre = forms.ChoiceField(label="Fibre")
    construction = _words(60, "Construction", "Spun, core-spun, textured, filament.")
    size = NumberField(max_digits=9, decimal_places=3, label="Number", help_text="As printed on the reel.")
    system = forms.ChoiceField(
        choices=choices.THREAD_SYSTEMS, initial="metric ticket", label="Numbering", help_text="Kept as tex."
    )
    extension_percent = NumberField(
        max_digits=6,
        decimal_places=2,
        required=False,
        label="Stretch at break (%)",
        help_text="From its data sheet; without it a seam's stretch can't be reckoned.",
    )
    strength_n = NumberField(max_digits=7, decimal_places=2, required=False, label="Strength (N)")
    colours = _words(400, "Colours", "Separate them by commas.")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        fibre = self.fields["fibre"]
        assert isinstance(fibre, forms.ChoiceField)
        fibre.choices = [("", "Choose"), *choices.fibre_choices()]

    def facts(self) -> dict[str, Any]:
        given = {key: value for key, value in self.cleaned_data.items() if key != "what"}
        given["colours"] = [colour for colour in given["colours"].split(",") if colour.strip()]
        return given


class NeedleForm(forms.Form):
    what = forms.CharField(initial="needle", widget=forms.HiddenInput)
    size = forms.IntegerField(label="Size", widget=_text(inputmode="numeric"))
    numbering = forms.ChoiceField(choices=choices.NUMBERINGS, label="Numbering")
    point = forms.ChoiceField(choices=choices.POINTS, label="Point")
    what_for = _words(160, "What for")

    def facts(self) -> dict[str, Any]:
        return {key: value for key, value in self.cleaned_data.items() if key != "what"}


class MachineForm(forms.Form):
    what = forms.CharField(initial="machine", widget=forms.HiddenInput)
    name = forms.CharField(max_length=120, label="Name", help_text="As the class knows it.", widget=_text())
    stitch_types = forms.MultipleChoiceField(
        choices=choices.stitch_choices(by_hand=False),
        label="Stitches it makes (ISO 4915)",
        widget=forms.CheckboxSelectMultiple,
    )
    largest_width_mm = NumberField(
        max_digits=5,
        decimal_places=2,
        required=False,
        label="Widest stitch (mm)",
        help_text="Left out: straight stitches only.",
    )
    stitches_per_minute = forms.IntegerField(
        initial=800, label="Stitches a minute", widget=_text(inputmode="numeric")
    )
    notes = forms.CharField(max_length=2000, required=False, widget=_area(2))

    def facts(self) -> dict[str, Any]:
        given = {key: value for key, value in self.cleaned_data.items() if key != "what"}
        given["largest_width_mm"] = given["largest_width_mm"] or Decimal(0)
        return given


# --- recipes ---


class SettingsForm(forms.Form):
    stitch_type = forms.ChoiceField(choices=choices.stitch_choices(), label="Stitch (ISO 4915)")
    stitch_length_mm = NumberField(
        max_digits=5,
        decimal_places=2,
        label="Stitch length (mm)",
        help_text="The advance from one needle hole to the next.",
    )
    stitch_width_mm = NumberField(
        max_digits=5,
        decimal_places=2,
        required=False,
        label="Stitch width (mm)",
        help_text="Nothing for a straight stitch.",
    )
    passes = forms.IntegerField(
        initial=1,
        label="Times each stitch is sewn",
        help_text="3 for a triple stitch.",
        widget=_text(inputmode="numeric"),
    )
    needle_id = PickField(
        required=False,
        nothing="none: sewn by hand",
        label="Needle",
    )
    needle_thread_id = PickField(label="Needle thread")
    needle_thread_ends = forms.IntegerField(
        initial=1,
        label="Ends through the eye",
        help_text="2 where two threads run together.",
        widget=_text(inputmode="numeric"),
    )
    under_thread_id = PickField(required=False, nothing="the same thread", label="Under thread")
    tension = _words(80, "Tension", "The dial of this machine; it does not carry over to another.")
    foot = _words(80, "Foot")
    pressure = _words(80, "Foot pressure")
    differential_feed = _words(80, "Differential feed")
    stabiliser = _words(120, "Stabiliser")
    pressing = _words(200, "Pressing")
    note = _words(400, "Note")

    def __init__(self, *args: Any, threads: Iterable[Any], needles: Iterable[Any], **options: Any) -> None:
        super().__init__(*args, **options)
        threads = list(threads)
        for name, rows in (
            ("needle_thread_id", threads),
            ("under_thread_id", threads),
            ("needle_id", needles),
        ):
            field = self.fields[name]
            assert isinstance(field, PickField)
            field.offer(rows)

    def settings_given(self, names: Iterable[str]) -> dict[str, Any]:
        given = {name: self.cleaned_data[name] for name in names}
        given["stitch_width_mm"] = given["stitch_width_mm"] or Decimal(0)
        return given


class RecipeForm(SettingsForm):
    name = forms.CharField(max_length=120, help_text="Such as: side seam on light jersey.", widget=_text())
    purpose = forms.ChoiceField(choices=choices.PURPOSES, label="What for")
    seam_class = forms.ChoiceField(choices=choices.seam_class_choices(), label="Seam class (ISO 4916)")
    structure = forms.ChoiceField(
        choices=choices.STRUCTURES, widget=forms.RadioSelect, label="For cloth that is"
    )
    layers_low = forms.IntegerField(initial=2, label="Layers, from", widget=_text(inputmode="numeric"))
    layers_high = forms.IntegerField(initial=2, label="Layers, to", widget=_text(inputmode="numeric"))
    field_order = ["name", "purpose", "seam_class", "structure", "layers_low", "layers_high"]


class ChangeRecipeForm(SettingsForm):
    version = forms.IntegerField(
        widget=forms.HiddenInput
    )  # of the recipe, as it was when the form was opened


# --- trials ---


class TrialForm(UnitForm):
    version_id = PickField(label="Recipe")
    cloth_id = PickField(label="Cloth")
    machine_id = PickField(required=False, nothing="none, by hand: or choose", label="Machine")
    layers = forms.IntegerField(initial=2, label="Layers", widget=_text(inputmode="numeric"))
    direction = forms.ChoiceField(
        choices=choices.TRIAL_DIRECTIONS,
        widget=forms.RadioSelect,
        label="The seam runs",
        initial="lengthwise",
    )
    length_before_mm = LengthField(
        required=False, label="Before sewing", help_text="Mark 20 cm on the sample with a pencil; tape it."
    )
    length_after_mm = LengthField(
        required=False, label="After sewing", help_text="The same marks, lying relaxed, before pressing."
    )
    stretched_mm = LengthField(
        required=False,
        label="Stretched",
        help_text="Pull the marks apart along a ruler, steadily, until the seam stops you or a thread cracks.",
    )
    pull_end = forms.ChoiceField(
        choices=[("", "not pulled"), *choices.PULL_ENDS],
        required=False,
        widget=forms.RadioSelect,
        label="What ended the pull",
    )
    smoothness = NumberField(
        max_digits=2,
        decimal_places=1,
        required=False,
        label="Smoothness (1 to 5)",
        help_text="5 lies flat, 1 is badly puckered or waved; halves count. Look from 1 m, light from the side.",
    )
    balance = forms.ChoiceField(
        choices=[("", "not looked at"), *choices.BALANCES],
        required=False,
        widget=forms.RadioSelect,
        label="Balance of the threads",
        help_text="Sew the sample with two colours and look at both faces.",
    )
    skipped_stitches = forms.IntegerField(
        required=False,
        label="Skipped stitches",
        help_text="Counted over the whole sample; 0 where none.",
        widget=_text(inputmode="numeric"),
    )
    needle_damage = forms.ChoiceField(
        choices=[("", "not looked at"), *choices.DAMAGES],
        required=False,
        widget=forms.RadioSelect,
        label="At the needle holes",
        help_text="Hold the seam to the light and look along it.",
    )
    strength_n_per_cm = NumberField(
        max_digits=7, decimal_places=2, required=False, label="Strength across the seam (N/cm), if tested"
    )
    stretch_wanted_percent = NumberField(
        max_digits=6,
        decimal_places=2,
        required=False,
        label="Stretch wanted (%)",
        help_text="Left out: as far as the cloth itself stretches.",
    )
    smoothness_wanted = NumberField(
        max_digits=2, decimal_places=1, required=False, label="Smoothness wanted", help_text="Left out: 4."
    )
    strength_wanted_n_per_cm = NumberField(
        max_digits=7,
        decimal_places=2,
        required=False,
        label="Strength wanted (N/cm)",
        help_text="Left out: none.",
    )
    note = _words(400, "Note")
    verdict = forms.ChoiceField(
        choices=choices.VERDICTS, required=False, widget=forms.RadioSelect, label="Your verdict"
    )
    verdict_reason = _words(400, "Why, if you decide otherwise")

    def __init__(
        self,
        *args: Any,
        versions: Iterable[Any],
        cloths: Iterable[Any],
        machines: Iterable[Any],
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        for name, rows in (("version_id", versions), ("cloth_id", cloths), ("machine_id", machines)):
            field = self.fields[name]
            assert isinstance(field, PickField)
            field.offer(rows)

    def propose(self, verdict: str) -> None:
        """Let the form come back with this verdict chosen."""
        self.data = {**self.data.dict(), "verdict": verdict}  # type: ignore[attr-defined]  # a QueryDict

    def figures(self) -> dict[str, Any]:
        """All but the decision."""
        return {key: value for key, value in self.cleaned_data.items() if not key.startswith("verdict")}
