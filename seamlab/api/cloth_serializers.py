"""Cloth in the API. Lengths are millimetres, as decimal text: exact."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from seamlab.api.fields import length_mm, percent
from seamlab.queries.cloth import DIRECTION_WORDS

WAY_HELP = "lengthwise (along the selvedge) or crosswise"
KIND_HELP = "A key of the table cloth-kinds, such as single_jersey; empty: none of them."
DIRECTION_HELP = f"One of {', '.join(DIRECTION_WORDS)}; all but two_way are laid in one direction."


class FibreIn(serializers.Serializer):
    fibre = serializers.CharField(
        max_length=60, help_text="A generic name: wool, cotton, polyester; no brand."
    )
    percent = serializers.DecimalField(max_digits=4, decimal_places=1)


class FibreOut(serializers.Serializer):
    fibre = serializers.CharField()
    percent = serializers.FloatField()


class ClothFactsIn(serializers.Serializer):
    """What can be changed of a cloth; what is left out stays as it is."""

    name = serializers.CharField(max_length=120, required=False)
    structure = serializers.CharField(max_length=8, required=False, help_text="woven or knit")
    construction = serializers.CharField(
        max_length=60, required=False, allow_blank=True, help_text="Twill, jersey, rib ..."
    )
    kind = serializers.CharField(max_length=40, required=False, allow_blank=True, help_text=KIND_HELP)
    colour = serializers.CharField(max_length=120, required=False, allow_blank=True)
    fibres = FibreIn(many=True, required=False, help_text="Shares add to exactly 100; empty: not known.")
    weight_gsm = serializers.DecimalField(
        max_digits=7, decimal_places=2, required=False, help_text="Grams per square metre."
    )
    thickness_mm = serializers.DecimalField(
        max_digits=6,
        decimal_places=3,
        required=False,
        allow_null=True,
        help_text="One layer; null: not measured.",
    )
    width_mm = length_mm(required=False, help_text="Selvedge to selvedge.")
    usable_width_mm = length_mm(required=False, help_text="Between the selvedges' holes or print edges.")
    direction = serializers.CharField(max_length=16, required=False, help_text=DIRECTION_HELP)
    repeat_lengthwise_mm = length_mm(required=False, allow_null=True)
    repeat_crosswise_mm = length_mm(required=False, allow_null=True)
    drape = serializers.CharField(max_length=120, required=False, allow_blank=True)
    care = serializers.CharField(max_length=200, required=False, allow_blank=True)
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class ClothChangeIn(ClothFactsIn):
    is_hidden = serializers.BooleanField(required=False, help_text="Put away: no longer offered.")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "a twill",
            request_only=True,
            value={
                "name": "Teal twill",
                "structure": "woven",
                "construction": "twill",
                "fibres": [{"fibre": "wool", "percent": "80"}, {"fibre": "polyamide", "percent": "20"}],
                "weight_gsm": "240",
                "thickness_mm": "0.55",
                "width_mm": "1500",
                "usable_width_mm": "1460",
                "direction": "not_known",
            },
        )
    ]
)
class ClothIn(ClothFactsIn):
    name = serializers.CharField(max_length=120)
    structure = serializers.CharField(max_length=8, help_text="woven or knit")
    fibres = FibreIn(many=True, help_text="Shares add to exactly 100; empty: not known.")
    weight_gsm = serializers.DecimalField(max_digits=7, decimal_places=2, help_text="Grams per square metre.")
    thickness_mm = serializers.DecimalField(
        max_digits=6, decimal_places=3, allow_null=True, help_text="One layer; null: not measured."
    )
    width_mm = length_mm(help_text="Selvedge to selvedge.")
    usable_width_mm = length_mm(help_text="Between the selvedges' holes or print edges.")


class ClothOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    structure = serializers.CharField()
    construction = serializers.CharField()
    kind = serializers.CharField(help_text="A kind of the table cloth-kinds, or empty.")
    colour = serializers.CharField()
    fibres = FibreOut(many=True)
    weight_gsm = serializers.DecimalField(max_digits=7, decimal_places=2)
    thickness_mm = serializers.DecimalField(max_digits=6, decimal_places=3, allow_null=True)
    width_mm = length_mm()
    usable_width_mm = length_mm()
    direction = serializers.CharField()
    one_way = serializers.BooleanField(source="is_one_way")
    direction_words = serializers.SerializerMethodField()
    repeat_lengthwise_mm = length_mm(allow_null=True)
    repeat_crosswise_mm = length_mm(allow_null=True)
    stretch_lengthwise_percent = percent(
        source="stretch_lengthwise", allow_null=True, help_text="Newest test; null: none."
    )
    stretch_crosswise_percent = percent(source="stretch_crosswise", allow_null=True)
    wash_lengthwise_percent = percent(
        source="wash_lengthwise", allow_null=True, help_text="Newest test; smaller is negative."
    )
    wash_crosswise_percent = percent(source="wash_crosswise", allow_null=True)
    drape = serializers.CharField()
    care = serializers.CharField()
    notes = serializers.CharField()
    is_hidden = serializers.BooleanField()
    version = serializers.IntegerField(help_text="Counts the edits; the ETag.")
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()

    def get_direction_words(self, cloth: Any) -> str:
        return DIRECTION_WORDS[cloth.direction]


class _TestIn(serializers.Serializer):
    way = serializers.CharField(max_length=12, help_text=WAY_HELP)
    tested_at = serializers.DateTimeField(required=False, help_text="Left out: now.")
    note = serializers.CharField(max_length=400, required=False, allow_blank=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "a jersey, pulled along a ruler",
            request_only=True,
            value={"way": "crosswise", "relaxed_mm": "100", "stretched_mm": "150", "released_mm": "102"},
        )
    ]
)
class StretchTestIn(_TestIn):
    relaxed_mm = length_mm(help_text="The marked length, relaxed, on a fold of the cloth.")
    stretched_mm = length_mm(help_text="The same marks, pulled as far as the cloth goes.")
    released_mm = length_mm(required=False, allow_null=True, help_text="A minute after letting go.")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "washed once",
            request_only=True,
            value={"way": "lengthwise", "before_mm": "500", "after_mm": "485"},
        )
    ]
)
class WashTestIn(_TestIn):
    before_mm = length_mm(help_text="The marked length before washing.")
    after_mm = length_mm(help_text="After washing, drying and pressing as the garment will be.")


class _TestOut(serializers.Serializer):
    id = serializers.UUIDField()
    cloth_id = serializers.UUIDField()
    way = serializers.CharField()
    tested_by = serializers.CharField(source="tested_by.name")
    tested_at = serializers.DateTimeField()
    note = serializers.CharField()


class StretchTestOut(_TestOut):
    relaxed_mm = length_mm(source="before_mm")
    stretched_mm = length_mm(source="after_mm")
    released_mm = length_mm(allow_null=True)
    stretch_percent = percent(source="percent")
    recovery_percent = percent(allow_null=True)


class WashTestOut(_TestOut):
    before_mm = length_mm()
    after_mm = length_mm()
    change_percent = percent(source="percent", help_text="Smaller is negative.")


class ClothKindOut(serializers.Serializer):
    key = serializers.CharField()
    name = serializers.CharField()
    structure = serializers.CharField()
    hint = serializers.CharField(help_text="Common practice, no source.")
