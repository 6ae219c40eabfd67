"""Forms about trials: one sewn sample, its photographs, samples side by side. They hold no rules."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django import forms

from seamlab.calc.suits import KnitChange
from seamlab.queries import choices, seam_choices
from seamlab.web.fields import LengthField, NumberField, PickField, UnitForm, lines, one_line, words_field

# What the recipe says is told, never ticked: whoever sews has looked.
SUGGESTED = {"done": " The recipe asks for it.", "to do": " Not in this recipe's settings yet.", "": ""}
CHECK_CHOICES = [("", "not looked at"), ("done", "done"), ("left", "left as it is")]


class TrialForm(UnitForm):
    version_id = PickField(label="Recipe")
    cloth_id = PickField(label="Cloth")
    machine_id = PickField(required=False, nothing="none, by hand: or choose", label="Machine")
    layers = forms.IntegerField(initial=2, label="Layers", widget=one_line(inputmode="numeric"))
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
        widget=one_line(inputmode="numeric"),
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
    sewing_seconds = NumberField(
        max_digits=7,
        decimal_places=1,
        required=False,
        label="Time at the machine (seconds)",
        help_text="For the whole sample, foot down to foot down.",
    )
    unpicked_length_mm = LengthField(
        required=False,
        label="Seam unpicked",
        help_text="Cut out a length of the seam, 10 cm or more; unpick it.",
    )
    needle_thread_mm = LengthField(
        required=False,
        label="Needle thread from it",
        help_text="Laid straight, not stretched; all ends together.",
    )
    under_thread_mm = LengthField(
        required=False, label="Under thread from it", help_text="Bobbin or loopers, all together."
    )
    note = words_field(400, "Note")
    verdict = forms.ChoiceField(
        choices=choices.VERDICTS, required=False, widget=forms.RadioSelect, label="Your verdict"
    )
    verdict_reason = words_field(400, "Why, if you decide otherwise")

    def __init__(
        self,
        *args: Any,
        versions: Iterable[Any],
        cloths: Iterable[Any],
        machines: Iterable[Any],
        changes: Iterable[KnitChange] = (),
        **options: Any,
    ) -> None:
        super().__init__(*args, **options)
        self.changes = tuple(changes)
        for change in self.changes:
            self.fields[f"check_{change.key}"] = forms.ChoiceField(
                choices=CHECK_CHOICES,
                required=False,
                widget=forms.RadioSelect,
                label=change.words,
                help_text=f"{change.why}{SUGGESTED[change.suggested]}",
            )
        for name, rows in (("version_id", versions), ("cloth_id", cloths), ("machine_id", machines)):
            field = self.fields[name]
            assert isinstance(field, PickField)
            field.offer(rows)

    def propose(self, verdict: str) -> None:
        """Let the form come back with this verdict chosen."""
        self.data = {**self.data.dict(), "verdict": verdict}  # type: ignore[attr-defined]  # a QueryDict

    @property
    def checklist_fields(self) -> list[Any]:
        return [self[f"check_{change.key}"] for change in self.changes]

    def figures(self) -> dict[str, Any]:
        """All but the decision; the answers to the checklist as rows."""
        given = {
            key: value
            for key, value in self.cleaned_data.items()
            if not key.startswith(("verdict", "check_"))
        }
        answers = ((change.key, self.cleaned_data[f"check_{change.key}"]) for change in self.changes)
        given["checklist"] = [{"key": key, "answer": answer} for key, answer in answers if answer]
        return given


class WithdrawForm(forms.Form):
    reason = forms.CharField(
        max_length=400,
        label="What was recorded wrongly",
        help_text="The trial stays as it was written and counts no longer.",
        widget=one_line(),
    )


class PhotoForm(forms.Form):
    picture = forms.FileField(
        label="Photograph of the sample",
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    side = forms.ChoiceField(choices=seam_choices.SAMPLE_SIDES, label="Seen", initial="top")


class ComparisonForm(forms.Form):
    """Keep samples under a question; which samples stands in hidden fields of the page."""

    question = forms.CharField(
        max_length=200,
        label="What is compared",
        help_text="Such as: one row or three on this denim?",
        widget=one_line(),
    )


class ConclusionForm(forms.Form):
    taken_id = forms.ChoiceField(label="We take", widget=forms.RadioSelect)
    words = forms.CharField(
        max_length=600,
        required=False,
        label="Why",
        help_text="Needed where none is taken, or one that did not pass.",
        widget=lines(2),
    )

    def __init__(self, *args: Any, samples: Iterable[tuple[Any, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        field = self.fields["taken_id"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [*((str(key), words) for key, words in samples), ("none", "None of these")]

    @property
    def taken(self) -> UUID | None:
        found = self.cleaned_data["taken_id"]
        return None if found == "none" else UUID(found)
