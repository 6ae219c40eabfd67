"""Imports and exports of readings in the API. Columns of a file are counted from 1."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from studio.calc.transfer import FIELDS
from studio.platform.api.serializers import JobOut

UNITS = [("cm", "centimetres"), ("in", "inches with eighths"), ("mm", "millimetres")]
OVER = [("underwear", "Underwear"), ("close_clothing", "Close clothing"), ("clothing", "Ordinary clothing")]
FORMS = [("csv", "CSV"), ("xlsx", "XLSX")]
ORDERS = [("dmy", "day, month, year"), ("mdy", "month, day, year")]
MARKS = [("point", "96.8"), ("comma", "96,8")]


class UploadIn(serializers.Serializer):
    file = serializers.FileField(
        help_text="CSV or XLSX, at most 20 MB; with an Idempotency-Key at most 5 MB.", max_length=400
    )
    unit = serializers.ChoiceField(
        UNITS, required=False, help_text="Where the file names none; left out: the studio's."
    )


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "one reading a row",
            {"fields": {"client": 1, "born": 2, "date": 3, "measure": 4, "value": 5}, "date_order": "dmy"},
            request_only=True,
        ),
        OpenApiExample(
            "one measuring a row",
            {
                "fields": {"client": 1, "telephone": 2, "date": 3},
                "measures": {"4": "waist_girth", "5": "waist_girth", "6": "hip_girth"},
                "new_clients": True,
                "consent_stated": True,
            },
            request_only=True,
        ),
    ]
)
class MappingIn(serializers.Serializer):
    """What is left out stays as it was."""

    # DRF keeps an attribute called "fields" for itself: the field is added under its name below.
    measures = serializers.DictField(
        child=serializers.CharField(max_length=64),
        required=False,
        help_text="Column -> code of a measure, for files with one measuring a row.",
    )
    unit = serializers.ChoiceField(UNITS, required=False)
    date_order = serializers.ChoiceField(
        ORDERS, required=False, allow_blank=True, help_text="Empty: not said, 03/04/2026 is a problem."
    )
    decimal_mark = serializers.ChoiceField(MARKS, required=False, allow_blank=True)
    over = serializers.ChoiceField(
        OVER, required=False, help_text="What was worn where the file says nothing."
    )
    new_clients = serializers.BooleanField(required=False, help_text="Make clients who are not here yet.")
    consent_stated = serializers.BooleanField(
        required=False, help_text="Your word that each new client has consented to being measured."
    )

    def get_fields(self) -> Any:
        fields = super().get_fields()
        fields["fields"] = serializers.DictField(
            child=serializers.IntegerField(min_value=1),
            required=False,
            help_text=f"Our field -> column. Fields: {', '.join(FIELDS)}.",
        )
        return fields

    def validate_measures(self, given: dict[str, str]) -> dict[int, str]:
        for column in given:
            if not (column.isascii() and column.isdigit() and len(column) < 5):
                raise serializers.ValidationError(f"{column[:16]!r} is not the number of a column.")
        return {int(column): code for column, code in given.items()}


@extend_schema_field({"type": "object", "additionalProperties": True})
class AnyField(serializers.JSONField):
    pass


class ImportOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    state = serializers.CharField(help_text="uploaded, checked or taken_over")
    columns = serializers.ListField(child=serializers.CharField(), help_text="The file's own heads.")
    mapping = AnyField(help_text="Guessed at first; change it by PATCH on .../mapping/.")
    unit = serializers.ChoiceField(UNITS)
    rows = serializers.IntegerField()
    problem_count = serializers.IntegerField()
    counts = AnyField(help_text="What would be taken over, or was.")
    sha256 = serializers.CharField(
        source="file.sha256", help_text="Of the file; it is kept when the file is not."
    )
    uploaded_by = serializers.UUIDField(source="uploaded_by_id")
    created_at = serializers.DateTimeField()
    version = serializers.IntegerField(help_text="Counts the changes; the ETag.")
    job = JobOut(allow_null=True, help_text="The last dry run or take-over.")


class ProblemOut(serializers.Serializer):
    row = serializers.IntegerField(help_text="As a spreadsheet counts, from 1.")
    column = serializers.IntegerField(help_text="0: the row as a whole")
    reason = serializers.CharField()

    def get_fields(self) -> Any:
        fields = super().get_fields()
        fields["field"] = serializers.CharField(help_text="Our name of what the problem is about.")
        return fields


class ProblemsOut(serializers.Serializer):
    problems = ProblemOut(many=True)
    start = serializers.IntegerField()
    kept = serializers.IntegerField(help_text="How many can be read here.")
    count = serializers.IntegerField(help_text="How many there are.")
    remarks = ProblemOut(
        many=True,
        help_text="Readings that do not go together with the others of their measuring, some 200: advice, they "
        "hold nothing up.",
    )


class ExportIn(serializers.Serializer):
    form = serializers.ChoiceField(FORMS, required=False)
    client = serializers.UUIDField(required=False, help_text="Her readings alone.")
    course = serializers.UUIDField(required=False, help_text="Of everybody who is or was in it.")


class ExportOut(JobOut):
    """The job that makes the table; when it is done, .../file/ gives it, for seven days."""
