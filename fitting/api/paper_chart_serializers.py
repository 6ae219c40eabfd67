"""What the API of body charts and of files of paper takes and gives."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from fitting.api.paper_serializers import typed_mm
from fitting.services.patterns import SizeGiven


class ChartMeasureIn(serializers.Serializer):
    measure = serializers.CharField(max_length=64, help_text="A measure of the catalogue.")
    typed = serializers.CharField(max_length=32, help_text="As typed, in the chart's unit.")


class ChartSizeIn(serializers.Serializer):
    name = serializers.CharField(max_length=16)
    measures = ChartMeasureIn(many=True)


class ChartIn(serializers.Serializer):
    name = serializers.CharField(max_length=120)
    source = serializers.CharField(max_length=300, help_text="Who states it, and where it was read.")  # type: ignore[assignment]
    unit = serializers.CharField(default="cm", help_text="cm or in: one unit for the whole chart.")
    base_height = serializers.CharField(default="", allow_blank=True, help_text="As typed.")
    base_cup = serializers.CharField(default="", allow_blank=True, help_text="As typed; full less high bust.")
    notes = serializers.CharField(max_length=2000, default="", allow_blank=True)
    sizes = ChartSizeIn(many=True, help_text="From small to large, each with the same measures.")

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        """Read every typed length once; the answer holds what the service takes."""
        unit = given["unit"]
        if unit not in {"cm", "in"}:
            raise serializers.ValidationError({"unit": ["Choose cm or in."]})
        reasons: dict[str, Any] = {}
        for field in ("base_height", "base_cup"):
            given[f"{field}_mm"] = typed_mm(given.pop(field), unit, field, reasons)
        sizes = []
        for place, size in enumerate(given["sizes"]):
            measures: dict[str, Decimal] = {}
            for row in size["measures"]:
                value = typed_mm(row["typed"], unit, f"sizes.{place}.measures.{row['measure']}", reasons)
                if value is not None:
                    measures[row["measure"]] = value
            sizes.append(SizeGiven(size["name"], measures))
        if reasons:
            raise serializers.ValidationError(reasons)
        return {**given, "sizes": sizes}


class ChartChange(serializers.Serializer):
    name = serializers.CharField(max_length=120, required=False)
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class TakeChartIn(serializers.Serializer):
    code = serializers.CharField(max_length=64, help_text="A code of /body-charts/sourced/.")


class ChartMeasureOut(serializers.Serializer):
    measure = serializers.CharField()
    mm = serializers.DecimalField(max_digits=10, decimal_places=4, source="value", coerce_to_string=False)


class ChartSizeOut(serializers.Serializer):
    name = serializers.CharField()
    place = serializers.IntegerField(help_text="1 is the smallest.")
    measures = serializers.SerializerMethodField()

    @extend_schema_field(ChartMeasureOut(many=True))
    def get_measures(self, size: Any) -> Any:
        return ChartMeasureOut(size.measures.all(), many=True).data


class ChartOut(serializers.Serializer):
    id = serializers.UUIDField()
    version = serializers.IntegerField(help_text="The ETag without its quotes.")
    name = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]
    unit = serializers.CharField()
    base_height_mm = serializers.DecimalField(
        max_digits=10, decimal_places=4, allow_null=True, coerce_to_string=False
    )
    base_cup_mm = serializers.DecimalField(
        max_digits=10, decimal_places=4, allow_null=True, coerce_to_string=False
    )
    notes = serializers.CharField()
    sizes = serializers.SerializerMethodField()

    @extend_schema_field(ChartSizeOut(many=True))
    def get_sizes(self, chart: Any) -> Any:
        return ChartSizeOut(chart.sizes.all(), many=True).data


class SourcedChartOut(serializers.Serializer):
    code = serializers.CharField()
    name = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]
    unit = serializers.CharField()
    notes = serializers.CharField()


class SourcedChartsOut(serializers.Serializer):
    results = SourcedChartOut(many=True)


class PaperFileIn(serializers.Serializer):
    file = serializers.FileField(help_text="CSV or XLSX, at most 2 MB; an export shows the columns.")
    dry_run = serializers.BooleanField(
        default=True, help_text="Only look; false takes it over, all or nothing."
    )


class PaperProblemOut(serializers.Serializer):
    row = serializers.IntegerField(help_text="As a spreadsheet counts; 0: the file.")
    column = serializers.CharField()
    reason = serializers.CharField()


class PaperFoundOut(serializers.Serializer):
    what = serializers.CharField(help_text="charts or patterns")
    names = serializers.ListField(child=serializers.CharField())
    problems = PaperProblemOut(many=True)
    taken_over = serializers.BooleanField()
