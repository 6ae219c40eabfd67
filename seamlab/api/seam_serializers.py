"""Seam recipes, trials and what is proven, in the API."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from seamlab.api.fields import length_mm, percent
from seamlab.queries.advice import seam_class_words, settings_of, stitch_words
from seamlab.queries.choices import PURPOSES
from seamlab.queries.supplies import needle_words, thread_words

PURPOSE_HELP = ", ".join(word for word, _ in PURPOSES)
CLASS_HELP = "1 to 8 (ISO 4916)"
VERDICT_HELP = "passes, fails or look_again"


def stitch_mm(**options: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=5, decimal_places=2, **options)


def grade(**options: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=2, decimal_places=1, **options)


def newtons(**options: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=7, decimal_places=2, **options)


def words(length: int, **options: Any) -> serializers.CharField:
    return serializers.CharField(max_length=length, required=False, allow_blank=True, **options)


def seconds(**options: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=7, decimal_places=1, **options)


class CheckIn(serializers.Serializer):
    """One answer to the changes for a knit."""

    key = serializers.CharField(
        max_length=40, help_text="ball_point, extensible_thread, looser_tension or stabiliser_under"
    )
    answer = serializers.CharField(max_length=8, help_text="done or left")
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class CheckOut(CheckIn):
    words = serializers.CharField()


class SettingsIn(serializers.Serializer):
    """The settings of a recipe."""

    stitch_type = serializers.CharField(max_length=8, help_text="ISO 4915")
    stitch_length_mm = stitch_mm(help_text="The advance from one needle hole to the next.")
    stitch_width_mm = stitch_mm(required=False, help_text="0 for a straight stitch.")
    passes = serializers.IntegerField(required=False, help_text="How often each stitch is sewn; triple: 3.")
    needle_thread_id = serializers.UUIDField()
    needle_thread_ends = serializers.IntegerField(required=False, help_text="Ends through one needle's eye.")
    under_thread_id = serializers.UUIDField(
        required=False, allow_null=True, help_text="Null: the same as the needle thread."
    )
    needle_id = serializers.UUIDField(required=False, allow_null=True, help_text="Null: a stitch by hand.")
    tension = words(80)
    foot = words(80)
    pressure = words(80)
    differential_feed = words(80)
    stabiliser = words(120)
    pressing = words(200)
    preparation = words(200, help_text="Of the cloth, before sewing.")
    allowance_mm = stitch_mm(required=False, allow_null=True, help_text="Seam allowance.")
    cautions = words(400)
    note = words(400)


_SETTINGS = {
    "stitch_type": "304",
    "stitch_length_mm": "2.5",
    "stitch_width_mm": "3",
    "needle_thread_id": "0199d2a0-0000-7000-8000-00000000000a",
    "needle_id": "0199d2a0-0000-7000-8000-00000000000b",
    "tension": "3.5",
}


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "a seam for jersey",
            request_only=True,
            value={
                "name": "Jersey side seam",
                "purpose": "join",
                "seam_class": "1",
                "structure": "knit",
                "layers_low": 2,
                "layers_high": 2,
                **_SETTINGS,
            },
        )
    ]
)
class RecipeIn(SettingsIn):
    name = serializers.CharField(max_length=120)
    purpose = serializers.CharField(max_length=16, help_text=PURPOSE_HELP)
    seam_class = serializers.CharField(max_length=8, help_text=CLASS_HELP)
    structure = serializers.CharField(max_length=8, help_text="woven or knit")
    layers_low = serializers.IntegerField(required=False)
    layers_high = serializers.IntegerField(required=False)


@extend_schema_serializer(examples=[OpenApiExample("a wider zigzag", request_only=True, value=_SETTINGS)])
class VersionIn(SettingsIn):
    """All settings of the new version."""


class RecipeWordsIn(serializers.Serializer):
    """What is left out stays."""

    name = serializers.CharField(max_length=120, required=False)
    written_for = serializers.ListField(
        child=serializers.CharField(max_length=40),
        required=False,
        max_length=40,
        help_text="Keys of kinds of cloth.",
    )
    is_hidden = serializers.BooleanField(
        required=False, help_text="Put away: no longer offered; trials stay."
    )


class SettingOut(serializers.Serializer):
    name = serializers.CharField()
    words = serializers.CharField()


class VersionOut(serializers.Serializer):
    id = serializers.UUIDField()
    recipe_id = serializers.UUIDField()
    number = serializers.IntegerField()
    stitch_type = serializers.CharField()
    stitch_words = serializers.SerializerMethodField()
    stitch_length_mm = stitch_mm()
    stitch_width_mm = stitch_mm()
    passes = serializers.IntegerField()
    needle_thread_id = serializers.UUIDField()
    needle_thread_words = serializers.SerializerMethodField()
    needle_thread_ends = serializers.IntegerField()
    under_thread_id = serializers.UUIDField(allow_null=True)
    needle_id = serializers.UUIDField(allow_null=True)
    needle_words = serializers.SerializerMethodField()
    tension = serializers.CharField()
    foot = serializers.CharField()
    pressure = serializers.CharField()
    differential_feed = serializers.CharField()
    stabiliser = serializers.CharField()
    pressing = serializers.CharField()
    preparation = serializers.CharField()
    allowance_mm = stitch_mm(allow_null=True)
    cautions = serializers.CharField()
    basis = serializers.DictField(
        child=serializers.CharField(), help_text="What figures, thread, needle and cautions rest on."
    )
    note = serializers.CharField()
    settings = serializers.SerializerMethodField(help_text="The same in words, in the order of setting up.")
    written_by = serializers.CharField(source="written_by.name")
    written_at = serializers.DateTimeField()

    def get_stitch_words(self, version: Any) -> str:
        return stitch_words(version.stitch_type)

    def get_needle_thread_words(self, version: Any) -> str:
        return thread_words(version.needle_thread, version.needle_thread_ends)

    def get_needle_words(self, version: Any) -> str:
        return needle_words(version.needle)

    @extend_schema_field(SettingOut(many=True))
    def get_settings(self, version: Any) -> Any:
        return SettingOut(settings_of(version), many=True).data


class RecipeRowOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    purpose = serializers.CharField()
    seam_class = serializers.CharField()
    seam_class_words = serializers.SerializerMethodField()
    structure = serializers.CharField()
    layers_low = serializers.IntegerField()
    layers_high = serializers.IntegerField()
    origin = serializers.CharField(
        help_text="own, or library: untested here until a trial of this studio passes"
    )
    written_for = serializers.ListField(child=serializers.CharField(), help_text="Keys of kinds of cloth.")
    is_hidden = serializers.BooleanField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field by that name
    version = serializers.IntegerField(help_text="Counts the edits; the ETag.")

    def get_seam_class_words(self, recipe: Any) -> str:
        return seam_class_words(recipe.seam_class)


class RecipeListOut(RecipeRowOut):
    number = serializers.IntegerField(help_text="Of the newest version.")


class RecipeOut(RecipeRowOut):
    versions = VersionOut(many=True, help_text="Newest first.")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "a sample on jersey",
            request_only=True,
            value={
                "version_id": "0199d2a0-0000-7000-8000-00000000000c",
                "cloth_id": "0199d2a0-0000-7000-8000-00000000000d",
                "machine_id": "0199d2a0-0000-7000-8000-00000000000e",
                "layers": 2,
                "direction": "crosswise",
                "length_before_mm": "200",
                "length_after_mm": "201",
                "stretched_mm": "300",
                "pull_end": "stopped",
                "smoothness": "4.5",
                "balance": "even",
                "skipped_stitches": 0,
                "needle_damage": "none",
            },
        )
    ]
)
class TrialIn(serializers.Serializer):
    """One sewn sample. What was not looked at is left out."""

    version_id = serializers.UUIDField(help_text="The version of the recipe that was sewn.")
    cloth_id = serializers.UUIDField()
    machine_id = serializers.UUIDField(required=False, allow_null=True, help_text="Null: by hand.")
    layers = serializers.IntegerField(required=False)
    direction = serializers.CharField(
        max_length=12, required=False, help_text="How the seam runs: lengthwise, crosswise or bias."
    )
    length_before_mm = length_mm(required=False, allow_null=True, help_text="Marked length before sewing.")
    length_after_mm = length_mm(required=False, allow_null=True, help_text="The same marks after, relaxed.")
    stretched_mm = length_mm(
        required=False, allow_null=True, help_text="The same marks, pulled along the seam."
    )
    pull_end = words(8, help_text="What ended the pull: held, stopped or broke.")
    smoothness = grade(required=False, allow_null=True, help_text="1 (worst) to 5 (best), in halves.")
    balance = words(12, help_text="even, top_tight (under thread on top) or under_tight.")
    skipped_stitches = serializers.IntegerField(required=False, allow_null=True)
    needle_damage = words(8, help_text="none, marks or cut.")
    strength_n_per_cm = newtons(required=False, allow_null=True)
    stretch_wanted_percent = percent(
        required=False, allow_null=True, help_text="Null: as far as the cloth itself stretches."
    )
    strength_wanted_n_per_cm = newtons(required=False, allow_null=True)
    smoothness_wanted = grade(required=False, allow_null=True)
    sewing_seconds = seconds(
        required=False, allow_null=True, help_text="At the machine, for the whole sample."
    )
    unpicked_length_mm = length_mm(
        required=False, allow_null=True, help_text="The length of seam from which thread was unpicked."
    )
    needle_thread_mm = length_mm(
        required=False, allow_null=True, help_text="Needle thread that came out of it."
    )
    under_thread_mm = length_mm(
        required=False, allow_null=True, help_text="Under thread that came out of it."
    )
    checklist = CheckIn(many=True, required=False, help_text="Answers to the changes for a knit.")
    verdict = serializers.CharField(
        max_length=12, required=False, allow_null=True, help_text=f"{VERDICT_HELP}; null: as proposed."
    )
    verdict_reason = words(400, help_text="Needed where the verdict differs from what is proposed.")
    sewn_at = serializers.DateTimeField(required=False, help_text="Left out: now.")
    note = words(400)


class ReasonOut(serializers.Serializer):
    check = serializers.CharField()
    verdict = serializers.CharField()
    text = serializers.CharField()


class TrialOut(serializers.Serializer):
    id = serializers.UUIDField()
    version_id = serializers.UUIDField()
    recipe_id = serializers.UUIDField(source="version.recipe_id")
    recipe_name = serializers.CharField(source="version.recipe.name")
    version_number = serializers.IntegerField(source="version.number")
    cloth_id = serializers.UUIDField()
    cloth_name = serializers.CharField(source="cloth.name")
    machine_id = serializers.UUIDField(allow_null=True)
    layers = serializers.IntegerField()
    direction = serializers.CharField()
    length_before_mm = length_mm(allow_null=True)
    length_after_mm = length_mm(allow_null=True)
    stretched_mm = length_mm(allow_null=True)
    pull_end = serializers.CharField()
    smoothness = grade(allow_null=True)
    balance = serializers.CharField()
    skipped_stitches = serializers.IntegerField(allow_null=True)
    needle_damage = serializers.CharField()
    strength_n_per_cm = newtons(allow_null=True)
    stretch_wanted_percent = percent(allow_null=True)
    strength_wanted_n_per_cm = newtons(allow_null=True)
    smoothness_wanted = grade(allow_null=True)
    sewing_seconds = seconds(allow_null=True)
    unpicked_length_mm = length_mm(allow_null=True)
    needle_thread_mm = length_mm(allow_null=True)
    under_thread_mm = length_mm(allow_null=True)
    checklist = CheckOut(many=True)
    is_withdrawn = serializers.BooleanField(help_text="Recorded wrongly: it counts no longer.")
    proposed = serializers.CharField(help_text=VERDICT_HELP)
    reasons = ReasonOut(many=True)
    verdict = serializers.CharField(help_text=VERDICT_HELP)
    verdict_reason = serializers.CharField()
    note = serializers.CharField()
    sewn_by = serializers.CharField(source="sewn_by.name")
    sewn_at = serializers.DateTimeField()


# --- what is proven ---


class ProvenQuery(serializers.Serializer):
    purpose = serializers.CharField(max_length=16, help_text=PURPOSE_HELP)
    seam_class = serializers.CharField(
        max_length=8, required=False, help_text=f"{CLASS_HELP}; left out: every class."
    )
    layers = serializers.IntegerField(required=False, default=2)
    machine = serializers.UUIDField(required=False, help_text="Trials on other machines then count less.")


class NoteOut(serializers.Serializer):
    kind = serializers.CharField(help_text="warning or estimate")
    words = serializers.CharField()


class ProvenSeamOut(serializers.Serializer):
    """A recipe with its evidence for this cloth, or (without ids) a starting point to try."""

    place = serializers.IntegerField()
    standing = serializers.CharField(help_text="proven, tried or untested")
    standing_words = serializers.CharField()
    evidence = serializers.CharField()
    name = serializers.CharField()
    origin = serializers.CharField(help_text="own, library, or rule for a starting point")
    recipe_id = serializers.UUIDField(allow_null=True)
    version_id = serializers.UUIDField(allow_null=True)
    number = serializers.IntegerField(allow_null=True)
    seam_class = serializers.CharField()
    seam_class_words = serializers.CharField()
    layers = serializers.CharField()
    stitch_type = serializers.CharField()
    stitch_words = serializers.CharField()
    stitch_length_mm = stitch_mm()
    stitch_width_mm = stitch_mm()
    settings = SettingOut(many=True)
    cautions = serializers.CharField()
    notes = NoteOut(many=True)
    trials = serializers.IntegerField(help_text="Decided trials on this cloth or near ones.")
    passes = serializers.IntegerField()
    undecided = serializers.IntegerField()
    lower = serializers.FloatField(
        help_text="The pass rate exceeded with 95 % probability; it sets the order."
    )
    last_sewn = serializers.DateField(allow_null=True)
    nearest_cloth = serializers.CharField()
    distance = serializers.FloatField(allow_null=True, help_text="Units of unlikeness; 0: this cloth.")
    older = serializers.CharField(help_text="Where only an older version is proven, that in words.")
