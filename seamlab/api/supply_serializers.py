"""What cloth is sewn with, in the API."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from seamlab.api.fields import percent
from seamlab.queries.supplies import SYSTEM_WORDS, needle_words

SYSTEM_HELP = f"One of {', '.join(SYSTEM_WORDS)}."
FEED_HELP = "drop, differential, walking, needle, roller, free (teeth can be lowered)"
POINT_HELP = "round, sharp, light_ball, medium_ball, heavy_ball or cutting"


class ColourField(serializers.Serializer):
    """A colour on the shelf. A bare word is taken as one that was not counted."""

    colour = serializers.CharField(max_length=60)
    reels = serializers.IntegerField(
        min_value=0, max_value=10_000, required=False, allow_null=True, help_text="null: not counted."
    )

    def to_internal_value(self, data: Any) -> Any:
        return super().to_internal_value({"colour": data} if isinstance(data, str) else data)


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
                "colours": [{"colour": "grey", "reels": 4}, {"colour": "black", "reels": None}],
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
    colours = ColourField(many=True, required=False)
    reel_length_m = serializers.DecimalField(
        max_digits=8, decimal_places=2, required=False, allow_null=True, help_text="Metres on a full reel."
    )
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class ThreadChangeIn(ThreadIn):
    """What can be changed of a thread; what is left out stays as it is."""

    name = serializers.CharField(max_length=120, required=False)
    fibre = serializers.CharField(max_length=60, required=False)
    size = serializers.DecimalField(max_digits=9, decimal_places=3, required=False)
    is_hidden = serializers.BooleanField(required=False, help_text="Put away: no longer offered.")


class ThreadOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    fibre = serializers.CharField()
    construction = serializers.CharField()
    tex = serializers.DecimalField(max_digits=7, decimal_places=2, help_text="Grams per 1,000 m.")
    extension_percent = percent(allow_null=True)
    strength_n = serializers.DecimalField(max_digits=7, decimal_places=2, allow_null=True)
    colours = ColourField(many=True)
    reel_length_m = serializers.DecimalField(max_digits=8, decimal_places=2, allow_null=True)
    notes = serializers.CharField()
    is_hidden = serializers.BooleanField()
    version = serializers.IntegerField(help_text="Counts the edits; the ETag.")


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
    blades = serializers.IntegerField(
        required=False, min_value=0, max_value=100, help_text="2: a twin needle."
    )
    gauge_mm = serializers.DecimalField(
        max_digits=4, decimal_places=2, required=False, help_text="Between the outer blades; 0 for one blade."
    )


class NeedleChangeIn(NeedleIn):
    """What can be changed of a needle; what is left out stays as it is."""

    size = serializers.IntegerField(min_value=0, max_value=1000, required=False)
    point = serializers.CharField(max_length=16, required=False, help_text=POINT_HELP)
    is_hidden = serializers.BooleanField(required=False, help_text="Put away: no longer offered.")


class NeedleOut(serializers.Serializer):
    id = serializers.UUIDField()
    metric = serializers.IntegerField(help_text="Hundredths of a millimetre of blade.")
    point = serializers.CharField()
    blades = serializers.IntegerField()
    gauge_mm = serializers.DecimalField(max_digits=4, decimal_places=2)
    words = serializers.SerializerMethodField()
    what_for = serializers.CharField()
    is_hidden = serializers.BooleanField()
    version = serializers.IntegerField(help_text="Counts the edits; the ETag.")

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
    feeds = serializers.ListField(
        child=serializers.CharField(max_length=16), required=False, max_length=10, help_text=FEED_HELP
    )
    feet = serializers.ListField(
        child=serializers.CharField(max_length=80), required=False, max_length=40, help_text="Presser feet."
    )
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class MachineChangeIn(MachineIn):
    """What can be changed of a machine; what is left out stays as it is."""

    name = serializers.CharField(max_length=120, required=False)
    stitch_types = serializers.ListField(
        child=serializers.CharField(max_length=8),
        max_length=40,
        required=False,
        help_text="ISO 4915 numbers.",
    )
    is_hidden = serializers.BooleanField(required=False, help_text="Put away: no longer offered.")


class MachineOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    stitch_types = serializers.ListField(child=serializers.CharField())
    largest_width_mm = serializers.DecimalField(max_digits=5, decimal_places=2)
    stitches_per_minute = serializers.IntegerField()
    feeds = serializers.ListField(child=serializers.CharField())
    feet = serializers.ListField(child=serializers.CharField())
    last_serviced = serializers.DateField(allow_null=True, help_text="null: not recorded.")
    notes = serializers.CharField()
    is_hidden = serializers.BooleanField()
    version = serializers.IntegerField(help_text="Counts the edits; the ETag.")


class ServiceIn(serializers.Serializer):
    serviced_on = serializers.DateField(required=False, help_text="Left out: today.")
    done_by = serializers.CharField(max_length=120, required=False, allow_blank=True)
    note = serializers.CharField(max_length=400, required=False, allow_blank=True)


class ServiceOut(serializers.Serializer):
    id = serializers.UUIDField()
    machine_id = serializers.UUIDField()
    serviced_on = serializers.DateField()
    done_by = serializers.CharField()
    note = serializers.CharField()
    recorded_by = serializers.CharField(source="recorded_by.name")
    recorded_at = serializers.DateTimeField()


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
