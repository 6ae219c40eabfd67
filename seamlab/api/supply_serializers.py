"""What cloth is sewn with, in the API."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from seamlab.api.fields import percent
from seamlab.queries.supplies import SYSTEM_WORDS, needle_words

SYSTEM_HELP = f"One of {', '.join(SYSTEM_WORDS)}."
POINT_HELP = "round, sharp, light_ball, medium_ball, heavy_ball or cutting"


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "by the ticket on the reel",
            request_only=True,
            value={
                "name": "Grey all-purpose",
                "fibre": "polyester",
                "construction": "spun",
                "size": "120",
                "system": "metric ticket",
            },
        )
    ]
)
class ThreadIn(serializers.Serializer):
    name = serializers.CharField(max_length=120)
    fibre = serializers.CharField(max_length=60, help_text="A generic name, never a brand.")
    construction = serializers.CharField(max_length=60, required=False, allow_blank=True)
    size = serializers.DecimalField(max_digits=9, decimal_places=3, help_text="The number on the reel.")
    system = serializers.CharField(max_length=16, required=False, help_text=SYSTEM_HELP)
    extension_percent = percent(required=False, allow_null=True, help_text="Stretch at break.")
    strength_n = serializers.DecimalField(max_digits=7, decimal_places=2, required=False, allow_null=True)
    colours = serializers.ListField(
        child=serializers.CharField(max_length=60), required=False, max_length=100
    )


class ThreadOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    fibre = serializers.CharField()
    construction = serializers.CharField()
    tex = serializers.DecimalField(max_digits=7, decimal_places=2, help_text="Grams per 1,000 m.")
    extension_percent = percent(allow_null=True)
    strength_n = serializers.DecimalField(max_digits=7, decimal_places=2, allow_null=True)
    colours = serializers.ListField(child=serializers.DictField())


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "by the other number",
            request_only=True,
            value={"size": 14, "numbering": "number", "point": "medium_ball", "what_for": "jersey"},
        )
    ]
)
class NeedleIn(serializers.Serializer):
    size = serializers.IntegerField(min_value=0, max_value=1000)
    numbering = serializers.CharField(max_length=8, required=False, help_text="metric (90) or number (14)")
    point = serializers.CharField(max_length=16, help_text=POINT_HELP)
    what_for = serializers.CharField(max_length=160, required=False, allow_blank=True)


class NeedleOut(serializers.Serializer):
    id = serializers.UUIDField()
    metric = serializers.IntegerField(help_text="Hundredths of a millimetre of blade.")
    point = serializers.CharField()
    words = serializers.SerializerMethodField()
    what_for = serializers.CharField()

    def get_words(self, needle: Any) -> str:
        return needle_words(needle)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "a household machine",
            request_only=True,
            value={
                "name": "Table three",
                "stitch_types": ["301", "304"],
                "largest_width_mm": "7",
                "stitches_per_minute": 850,
            },
        )
    ]
)
class MachineIn(serializers.Serializer):
    name = serializers.CharField(max_length=120)
    stitch_types = serializers.ListField(
        child=serializers.CharField(max_length=8), max_length=40, help_text="ISO 4915 numbers."
    )
    largest_width_mm = serializers.DecimalField(max_digits=5, decimal_places=2, required=False)
    stitches_per_minute = serializers.IntegerField(required=False, max_value=1_000_000)
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class MachineOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    stitch_types = serializers.ListField(child=serializers.CharField())
    largest_width_mm = serializers.DecimalField(max_digits=5, decimal_places=2)
    stitches_per_minute = serializers.IntegerField()
    notes = serializers.CharField()


class StitchTypeOut(serializers.Serializer):
    code = serializers.CharField(help_text="ISO 4915")
    name = serializers.CharField()
    class_name = serializers.CharField()
    threads = serializers.IntegerField()
    by_hand = serializers.BooleanField()
    needs_width = serializers.BooleanField()
    thread_ratio = serializers.FloatField(
        allow_null=True, help_text="Thread per length of seam, all threads: an estimate; null: not known."
    )
    ratio_source = serializers.CharField()
    note = serializers.CharField()


class ThreadSizeQuery(serializers.Serializer):
    value = serializers.DecimalField(max_digits=9, decimal_places=3, help_text="The number on the reel.")
    system = serializers.CharField(max_length=16, help_text=SYSTEM_HELP)


class ThreadSizeOut(serializers.Serializer):
    system = serializers.CharField()
    words = serializers.CharField()
    number = serializers.DecimalField(
        max_digits=12, decimal_places=None, help_text="Computed; the label that is sold may be rounded."
    )
