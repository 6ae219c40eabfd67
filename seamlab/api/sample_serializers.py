"""Answers with what was left out, the library, photographs and withdrawals of trials, samples side by side."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from seamlab.api.seam_serializers import ProvenQuery, ProvenSeamOut


class AnswersQuery(ProvenQuery):
    runs = serializers.CharField(
        max_length=12,
        required=False,
        allow_blank=True,
        help_text="lengthwise or crosswise; left out: either way.",
    )
    most = serializers.IntegerField(
        required=False, min_value=1, max_value=100, help_text="Answers in full; left out: 8."
    )


class LeftOutSeamOut(serializers.Serializer):
    name = serializers.CharField()
    recipe_id = serializers.UUIDField()
    version_id = serializers.UUIDField()
    reason = serializers.CharField()


class LeftOutOut(serializers.Serializer):
    check = serializers.CharField(help_text="machine, stretch, point, ends or kind")
    words = serializers.CharField()
    count = serializers.IntegerField()
    seams = LeftOutSeamOut(many=True, help_text="The first by name.")


class AnswersOut(serializers.Serializer):
    """Which seam for this cloth, and what was left out with its reason."""

    answers = ProvenSeamOut(many=True)
    more = serializers.IntegerField(help_text="Further answers that are not told in full.")
    left_out = LeftOutOut(many=True)
    stretch_percent = serializers.FloatField(
        allow_null=True, help_text="How far the seam must stretch; null where that is not known or not asked."
    )
    kind_is_known = serializers.BooleanField()


class KnitChangeOut(serializers.Serializer):
    key = serializers.CharField()
    words = serializers.CharField()
    why = serializers.CharField()
    suggested = serializers.CharField(help_text="What the recipe says: done, to do, or empty.")


class ChecklistQuery(serializers.Serializer):
    cloth = serializers.UUIDField()


class LibraryOut(serializers.Serializer):
    recipes = serializers.IntegerField()
    kinds = serializers.IntegerField()
    taken_in = serializers.IntegerField()


class TakenInOut(serializers.Serializer):
    recipes = serializers.IntegerField(help_text="Added now; done twice it adds nothing.")
    threads = serializers.IntegerField()
    needles = serializers.IntegerField()


# --- trials that are kept ---


class TrialPhotoIn(serializers.Serializer):
    picture = serializers.FileField(max_length=400, help_text="JPEG, PNG or WebP, at most 20 MB.")
    side = serializers.CharField(max_length=8, required=False, help_text="top, under or detail")
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class TrialPhotoOut(serializers.Serializer):
    id = serializers.UUIDField()
    trial_id = serializers.UUIDField()
    side = serializers.CharField()
    note = serializers.CharField()
    added_at = serializers.DateTimeField()


class WithdrawalIn(serializers.Serializer):
    reason = serializers.CharField(max_length=400, help_text="What was recorded wrongly.")
    replaced_by_id = serializers.UUIDField(required=False, allow_null=True)


class WithdrawalOut(serializers.Serializer):
    trial_id = serializers.UUIDField()
    replaced_by_id = serializers.UUIDField(allow_null=True)
    reason = serializers.CharField()
    withdrawn_at = serializers.DateTimeField()


# --- side by side ---


class ComparisonIn(serializers.Serializer):
    question = serializers.CharField(max_length=200)
    trials = serializers.ListField(
        child=serializers.UUIDField(),
        max_length=20,
        help_text="2 to 6 trials of one purpose, from left to right.",
    )


class ComparisonChangeIn(serializers.Serializer):
    """What is left out stays."""

    question = serializers.CharField(max_length=200, required=False)
    trials = serializers.ListField(child=serializers.UUIDField(), max_length=20, required=False)


class ConclusionIn(serializers.Serializer):
    taken_id = serializers.UUIDField(required=False, allow_null=True, help_text="Null: none of them.")
    words = serializers.CharField(max_length=600, required=False, allow_blank=True)


class ConclusionOut(serializers.Serializer):
    taken_id = serializers.UUIDField(allow_null=True)
    words = serializers.CharField()
    concluded_by = serializers.CharField(source="concluded_by.name")
    concluded_at = serializers.DateTimeField()


class ComparisonRowOut(serializers.Serializer):
    id = serializers.UUIDField()
    question = serializers.CharField()
    cloth_id = serializers.UUIDField(allow_null=True)
    recipe_id = serializers.UUIDField(allow_null=True)
    asked_by = serializers.CharField(source="asked_by.name")
    created_at = serializers.DateTimeField()
    version = serializers.IntegerField(help_text="Counts the edits; the ETag.")
    conclusion = serializers.SerializerMethodField(help_text="The newest, or null.")

    @extend_schema_field(ConclusionOut(allow_null=True))
    def get_conclusion(self, row: Any) -> Any:
        return ConclusionOut(row.newest_first[0]).data if row.newest_first else None


class SampleCellOut(serializers.Serializer):
    words = serializers.CharField()
    source = serializers.CharField(  # type: ignore[assignment]  # a field by that name
        help_text="Measured or estimate, in words; empty for a setting."
    )


class SampleLineOut(serializers.Serializer):
    name = serializers.CharField()
    differs = serializers.BooleanField()
    cells = SampleCellOut(many=True, help_text="One for each sample, in order.")


class ComparisonOut(ComparisonRowOut):
    trials = serializers.SerializerMethodField(help_text="Ids, from left to right.")
    settings = SampleLineOut(
        many=True, source="table.settings", help_text="Settings in which the samples differ."
    )
    alike = SampleLineOut(many=True, source="table.alike", help_text="Settings that are the same for all.")
    cost = SampleLineOut(many=True, source="table.cost")
    measured = SampleLineOut(many=True, source="table.measured")

    @extend_schema_field(serializers.ListField(child=serializers.UUIDField()))
    def get_trials(self, row: Any) -> Any:
        return [str(trial.pk) for trial in row.trials]
