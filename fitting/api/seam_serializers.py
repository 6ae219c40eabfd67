"""A garment's seams before they are sewn, in the API. Lengths in mm."""

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from seamlab.queries.needs import STANDING_WORDS


class SewingAsked(serializers.Serializer):
    allowance_percent = serializers.DecimalField(
        max_digits=5,
        decimal_places=2,
        required=False,
        help_text="Thread beyond the seams; 15 where not said.",
    )
    machine = serializers.UUIDField(required=False, help_text="Left out: the machine of each sample.")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Two side seams in grey",
            {"length_mm": "1040", "times": 2, "needle_colour": "grey"},
            request_only=True,
        )
    ]
)
class SeamLengthIn(serializers.Serializer):
    """What is left out stays as it was."""

    length_mm = serializers.DecimalField(
        max_digits=10, decimal_places=4, required=False, allow_null=True, help_text="Of one such seam."
    )
    times = serializers.IntegerField(required=False)
    cloth = serializers.UUIDField(
        source="cloth_id", required=False, allow_null=True, help_text="Where it is not the garment's own."
    )
    needle_colour = serializers.CharField(max_length=60, required=False, allow_blank=True)
    under_colour = serializers.CharField(
        max_length=60, required=False, allow_blank=True, help_text="Empty: as above."
    )


class SewingSeamOut(serializers.Serializer):
    id = serializers.UUIDField(source="asked.id")
    place = serializers.CharField(source="asked.place")
    recipe = serializers.CharField()
    version = serializers.UUIDField(source="asked.version_id")
    number = serializers.IntegerField()
    cloth = serializers.UUIDField(source="asked.cloth_id", allow_null=True)
    length_mm = serializers.DecimalField(
        source="asked.length_mm", max_digits=10, decimal_places=4, allow_null=True
    )
    times = serializers.IntegerField(source="asked.times")
    needle_colour = serializers.CharField(source="asked.needle_colour")
    under_colour = serializers.CharField(source="asked.under_colour")
    standing = serializers.ChoiceField(list(STANDING_WORDS.items()))
    owes_a_sample = serializers.BooleanField()
    proven_on = serializers.DateField(allow_null=True)
    trial = serializers.UUIDField(source="trial_id", allow_null=True)
    thread_mm = serializers.FloatField(allow_null=True, help_text="All threads, without allowance.")
    basis = serializers.CharField(help_text="What its thread rests on.")
    minutes = serializers.FloatField(allow_null=True, help_text="At the needle alone; an estimate.")
    machine = serializers.CharField()


class SewingThreadOut(serializers.Serializer):
    thread = serializers.UUIDField(source="thread_id")
    name = serializers.CharField(source="thread")
    colour = serializers.CharField()
    sewn_m = serializers.FloatField()
    needed_m = serializers.FloatField(help_text="With the allowance.")
    reels = serializers.IntegerField(allow_null=True)
    on_shelf = serializers.IntegerField(allow_null=True)
    seams = serializers.ListField(child=serializers.CharField())
    lacking = serializers.ListField(
        child=serializers.CharField(), help_text="Seams whose use of this thread is not known."
    )


class GarmentSewingOut(serializers.Serializer):
    allowance_percent = serializers.DecimalField(max_digits=5, decimal_places=2)
    seams = SewingSeamOut(many=True)
    threads = SewingThreadOut(many=True)
    minutes = serializers.FloatField(allow_null=True)
    untimed = serializers.ListField(child=serializers.CharField())
    unmeasured = serializers.ListField(child=serializers.CharField())
