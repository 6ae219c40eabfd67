"""Sample sheets in the API."""

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from seamlab.queries.choices import PURPOSES
from studio.platform.api.serializers import JobOut


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "What to try for a hem",
            {"cloth": "019aa0b2-a1b2-7c3d-9e4f-5a6b7c8d9e0f", "purpose": "hem"},
            request_only=True,
        ),
        OpenApiExample(
            "Samples side by side", {"comparison": "019aa0b2-a1b2-7c3d-9e4f-5a6b7c8d9e10"}, request_only=True
        ),
    ]
)
class SampleSheetIn(serializers.Serializer):
    """A cloth or a comparison, not both."""

    cloth = serializers.UUIDField(required=False)
    purpose = serializers.ChoiceField(
        PURPOSES,
        required=False,
        help_text="With a cloth: the best recipes for it. Left out: what was sewn on it.",
    )
    layers = serializers.IntegerField(required=False, min_value=1, max_value=20)
    comparison = serializers.UUIDField(required=False)


class SampleSheetOut(serializers.Serializer):
    id = serializers.UUIDField(source="pk")
    title = serializers.CharField(source="arguments.snapshot.title", default="")
    samples = serializers.IntegerField(source="result.samples", default=None, allow_null=True)
    pages = serializers.IntegerField(source="result.pages", default=None, allow_null=True)
    sha256 = serializers.CharField(source="result.sha256", default="", help_text="Empty until it is drawn.")
    job = JobOut(source="*")
