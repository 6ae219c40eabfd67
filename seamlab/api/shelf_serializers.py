"""Laboratory figures, photographs and bolts of a cloth, in the API. Lengths are millimetres, as decimal text."""

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from seamlab.api.cloth_serializers import WAY_HELP
from seamlab.api.fields import length_mm as millimetres
from seamlab.queries.laboratory import QUANTITY_WORDS

QUANTITY_HELP = f"One of {', '.join(QUANTITY_WORDS)}."

# --- laboratory ---


class LabFigureIn(serializers.Serializer):
    quantity = serializers.CharField(max_length=20, help_text=QUANTITY_HELP)
    way = serializers.CharField(
        max_length=12, required=False, allow_blank=True, help_text=f"{WAY_HELP}; empty where it has none."
    )
    value = serializers.DecimalField(max_digits=12, decimal_places=4)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "a report of the simple test set",
            request_only=True,
            value={
                "method": "Textile department, simple test set",
                "tested_on": "2026-03-02",
                "figures": [
                    {"quantity": "bias_extension", "value": "2.8"},
                    {"quantity": "extension_100", "way": "lengthwise", "value": "2.1"},
                    {"quantity": "extension_100", "way": "crosswise", "value": "3.4"},
                ],
            },
        )
    ]
)
class LabReportIn(serializers.Serializer):
    figures = LabFigureIn(many=True)
    method = serializers.CharField(
        max_length=160, required=False, allow_blank=True, help_text="The laboratory and the standard."
    )
    tested_on = serializers.DateField(required=False, help_text="Left out: today.")


class LabFigureOut(serializers.Serializer):
    id = serializers.UUIDField()
    cloth_id = serializers.UUIDField()
    quantity = serializers.CharField()
    words = serializers.CharField(source="get_quantity_display")
    way = serializers.CharField()
    value = serializers.DecimalField(max_digits=12, decimal_places=4)
    method = serializers.CharField()
    tested_on = serializers.DateField()
    recorded_by = serializers.CharField(source="recorded_by.name")
    recorded_at = serializers.DateTimeField()


class DerivedOut(serializers.Serializer):
    words = serializers.CharField()
    way = serializers.CharField()
    text = serializers.CharField()
    unit = serializers.CharField()
    tells = serializers.CharField()
    basis = serializers.CharField(source="source", help_text="Formula and where it comes from.")


class AngleOut(serializers.Serializer):
    angle_deg = serializers.FloatField(help_text="From the warp.")
    modulus = serializers.FloatField(help_text="N/m")
    give_percent = serializers.FloatField(help_text="Under 5 gf per cm of width.")


class LabReadingOut(serializers.Serializer):
    """The newest figure of each quantity and way, and what follows from them."""

    rows = LabFigureOut(many=True)
    older = serializers.IntegerField(help_text="Earlier figures that are kept.")
    derived = DerivedOut(many=True)
    table = AngleOut(many=True, help_text="Every 15 degrees; empty where figures are missing.")
    sentences = serializers.ListField(child=serializers.CharField())
    missing = serializers.ListField(child=serializers.CharField())
    trouble = serializers.CharField()


# --- photographs ---


class PhotoIn(serializers.Serializer):
    picture = serializers.FileField(max_length=400, help_text="JPEG, PNG or WebP, at most 20 MB.")
    side = serializers.CharField(max_length=8, required=False, help_text="face, back or detail")
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class PhotoOut(serializers.Serializer):
    id = serializers.UUIDField()
    cloth_id = serializers.UUIDField()
    side = serializers.CharField()
    note = serializers.CharField()
    added_by = serializers.CharField(source="added_by.name")
    added_at = serializers.DateTimeField()


# --- bolts ---


class BoltChangeIn(serializers.Serializer):
    """What can be changed of a bolt; its lengths are cut and counted."""

    label = serializers.CharField(max_length=60, required=False)  # type: ignore[assignment]
    dye_lot = serializers.CharField(max_length=60, required=False, allow_blank=True)
    colour = serializers.CharField(max_length=60, required=False, allow_blank=True)
    place = serializers.CharField(max_length=120, required=False, allow_blank=True)
    note = serializers.CharField(max_length=400, required=False, allow_blank=True)
    is_hidden = serializers.BooleanField(required=False)


class BoltIn(serializers.Serializer):
    cloth_id = serializers.UUIDField()
    label = serializers.CharField(max_length=60, help_text="As it is written on the bolt.")  # type: ignore[assignment]
    length_mm = millimetres(help_text="Its length when it came.")
    dye_lot = serializers.CharField(max_length=60, required=False, allow_blank=True)
    colour = serializers.CharField(max_length=60, required=False, allow_blank=True)
    place = serializers.CharField(max_length=120, required=False, allow_blank=True)
    note = serializers.CharField(max_length=400, required=False, allow_blank=True)


class BoltOut(serializers.Serializer):
    id = serializers.UUIDField()
    cloth_id = serializers.UUIDField()
    cloth = serializers.CharField(source="cloth.name")
    label = serializers.CharField()  # type: ignore[assignment]
    dye_lot = serializers.CharField()
    colour = serializers.CharField()
    length_at_start_mm = millimetres()
    remaining_mm = millimetres()
    place = serializers.CharField()
    note = serializers.CharField()
    is_hidden = serializers.BooleanField()
    version = serializers.IntegerField(help_text="Counts the edits; the ETag.")


class BoltRecordIn(serializers.Serializer):
    kind = serializers.CharField(
        max_length=8, help_text="cut: taken off the bolt; counted: found lying there."
    )
    length_mm = millimetres()
    reason = serializers.CharField(max_length=200, help_text="What for, or why counted.")


class BoltRecordOut(serializers.Serializer):
    id = serializers.UUIDField()
    bolt_id = serializers.UUIDField()
    number = serializers.IntegerField()
    kind = serializers.CharField()
    length_mm = millimetres()
    remaining_mm = millimetres()
    reason = serializers.CharField()
    recorded_by = serializers.CharField(source="recorded_by.name")
    recorded_at = serializers.DateTimeField()
