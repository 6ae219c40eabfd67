"""What the paper's part of the API takes and gives."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from fitting.queries.paper_zones import paper_zones, zone_name
from fitting.queries.patterns import not_ready
from fitting.services.patterns import SizeGiven
from studio.calc.units import parse_length

KIND_HELP = "skirt, trousers, bodice, dress, shirt, jacket or tshirt"
CLOSENESS_HELP = "close, fitted, semi_fitted or loose"
BASIS_HELP = (
    "`finished` (sewn garment, or paper net of allowances and darts) or `chart` (body chart it was drawn for)"
)
MEASURE_HELP = ", ".join(paper_zones())


def typed_mm(text: str, unit: str, field: str, reasons: dict[str, Any]) -> Decimal | None:
    """What was typed in millimetres; a text that can't be read becomes a reason of this field."""
    if not text.strip():
        return None
    try:
        return parse_length(text, unit)
    except ValueError as exc:
        reasons[field] = [str(exc)]
        return None


class PatternMeasureIn(serializers.Serializer):
    measure = serializers.CharField(max_length=64, help_text=MEASURE_HELP)
    typed = serializers.CharField(
        max_length=32, help_text="As typed: `100 cm`, `39 3/8 in`; without a unit in `unit`."
    )


class PatternSizeIn(serializers.Serializer):
    name = serializers.CharField(max_length=16)
    measures = PatternMeasureIn(many=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A panelled skirt in two sizes",
            request_only=True,
            value={
                "name": "Panelled skirt",
                "kind": "skirt",
                "closeness": "fitted",
                "structure": "woven",
                "basis": "finished",
                "unit": "cm",
                "seam_allowance": "1.5",
                "sizes": [
                    {
                        "name": "12",
                        "measures": [
                            {"measure": "waist", "typed": "71,5"},
                            {"measure": "hip", "typed": "102"},
                        ],
                    },
                    {
                        "name": "14",
                        "measures": [
                            {"measure": "waist", "typed": "75.5"},
                            {"measure": "hip", "typed": "106 cm"},
                        ],
                    },
                ],
            },
        )
    ]
)
class PatternIn(serializers.Serializer):
    name = serializers.CharField(max_length=120)
    kind = serializers.CharField(help_text=KIND_HELP)
    closeness = serializers.CharField(help_text=CLOSENESS_HELP)
    structure = serializers.CharField(default="woven", help_text="woven or knit")
    basis = serializers.CharField(default="finished", help_text=BASIS_HELP)
    unit = serializers.CharField(default="cm", help_text="cm, in or mm: for what is typed without a unit")
    seam_allowance = serializers.CharField(
        default="15 mm", help_text="As typed; what each piece has beyond its stitching line."
    )
    base_height = serializers.CharField(
        default="", allow_blank=True, help_text="As typed; height it was drawn for."
    )
    base_cup = serializers.CharField(
        default="", allow_blank=True, help_text="As typed; full less high bust that it was drawn for."
    )
    stretch_wanted_percent = serializers.DecimalField(
        max_digits=6,
        decimal_places=2,
        required=False,
        allow_null=True,
        help_text="For a knit: the stretch that it was drawn for.",
    )
    notes = serializers.CharField(max_length=2000, default="", allow_blank=True)
    sizes = PatternSizeIn(many=True, help_text="From small to large, each with the same measures.")

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        """Read every typed length once; the answer holds what the service takes."""
        reasons: dict[str, Any] = {}
        unit = given.pop("unit")
        if unit not in {"cm", "in", "mm"}:
            raise serializers.ValidationError({"unit": ["Choose cm, in or mm."]})
        for field in ("seam_allowance", "base_height", "base_cup"):
            given[f"{field}_mm"] = typed_mm(given.pop(field), unit, field, reasons)
        if given["seam_allowance_mm"] is None and "seam_allowance" not in reasons:
            given["seam_allowance_mm"] = Decimal(15)
        sizes = []
        for place, size in enumerate(given["sizes"]):
            measures: dict[str, Decimal] = {}
            for row in size["measures"]:
                field = f"sizes.{place}.measures.{row['measure']}"
                if row["measure"] in measures:
                    reasons[field] = [f"Size {size['name']} has this measure twice; give it once."]
                value = typed_mm(row["typed"], unit, field, reasons)
                if value is not None:
                    measures[row["measure"]] = value
            sizes.append(SizeGiven(size["name"], measures))
        if reasons:
            raise serializers.ValidationError(reasons)
        given["sizes"] = sizes
        return given


class PatternChange(serializers.Serializer):
    name = serializers.CharField(max_length=120, required=False)
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class PatternMeasureOut(serializers.Serializer):
    measure = serializers.CharField(help_text=MEASURE_HELP)
    name = serializers.SerializerMethodField()
    mm = serializers.DecimalField(max_digits=10, decimal_places=4, source="value", coerce_to_string=False)

    def get_name(self, row: Any) -> str:
        return zone_name(row.measure)


class PatternSizeOut(serializers.Serializer):
    name = serializers.CharField()
    place = serializers.IntegerField(help_text="1 is the smallest.")
    measures = serializers.SerializerMethodField()

    @extend_schema_field(PatternMeasureOut(many=True))
    def get_measures(self, size: Any) -> Any:
        return PatternMeasureOut(size.measures.all(), many=True).data


class PatternOut(serializers.Serializer):
    id = serializers.UUIDField()
    version = serializers.IntegerField(help_text="The ETag without its quotes.")
    name = serializers.CharField()
    kind = serializers.CharField(help_text=KIND_HELP)
    closeness = serializers.CharField(help_text=CLOSENESS_HELP)
    structure = serializers.CharField(help_text="woven or knit")
    basis = serializers.CharField(help_text=BASIS_HELP)
    stretch_wanted_percent = serializers.DecimalField(
        max_digits=6, decimal_places=2, allow_null=True, coerce_to_string=False
    )
    seam_allowance_mm = serializers.DecimalField(max_digits=10, decimal_places=4, coerce_to_string=False)
    base_height_mm = serializers.DecimalField(
        max_digits=10, decimal_places=4, allow_null=True, coerce_to_string=False
    )
    base_cup_mm = serializers.DecimalField(
        max_digits=10, decimal_places=4, allow_null=True, coerce_to_string=False
    )
    notes = serializers.CharField()
    created_at = serializers.DateTimeField()
    sizes = serializers.SerializerMethodField()
    not_ready = serializers.SerializerMethodField(
        help_text="Why no plan can be made from it; empty where one can."
    )

    @extend_schema_field(PatternSizeOut(many=True))
    def get_sizes(self, pattern: Any) -> Any:
        return PatternSizeOut(pattern.sizes.all(), many=True).data

    def get_not_ready(self, pattern: Any) -> list[str]:
        return not_ready(pattern)


class EaseSetOut(serializers.Serializer):
    code = serializers.CharField()
    title = serializers.CharField()
    author = serializers.CharField()
    year = serializers.IntegerField(allow_null=True)
    status = serializers.CharField(help_text="How the figures were come by.")
    rules = serializers.IntegerField(help_text="How many rules the set has.")
    chosen = serializers.BooleanField(help_text="This studio follows it.")


class EaseSetsOut(serializers.Serializer):
    results = EaseSetOut(many=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "By the studio's own ease set",
            request_only=True,
            value={
                "client": "01936f2e-7c7a-7b64-9f3a-1f2b7a5f0c11",
                "pattern": "01936f2e-8d10-7a3c-8a54-6f0f3c2b9d22",
            },
        )
    ]
)
class FitPlanIn(serializers.Serializer):
    client = serializers.UUIDField()
    pattern = serializers.UUIDField()
    garment = serializers.UUIDField(required=False, allow_null=True)
    ease_set = serializers.CharField(
        max_length=64,
        default="",
        allow_blank=True,
        help_text="A code of /ease-sets/; blank: the studio's own.",
    )


class FitPlanLine(serializers.Serializer):
    """A plan in a list."""

    id = serializers.UUIDField()
    version = serializers.IntegerField()
    number = serializers.IntegerField(help_text="Counts the plans of this client and pattern.")
    state = serializers.CharField(help_text="draft, approved or replaced")
    client = serializers.UUIDField(source="client_id")
    client_name = serializers.CharField(source="client.name")
    pattern = serializers.UUIDField(source="pattern_id")
    pattern_name = serializers.CharField(source="pattern.name")
    garment = serializers.UUIDField(source="garment_id", allow_null=True)
    summary = serializers.CharField()
    planned_by = serializers.CharField(source="planned_by.name")
    planned_at = serializers.DateTimeField(source="created_at")
    approved_at = serializers.DateTimeField(allow_null=True)


class VerdictOut(serializers.Serializer):
    code = serializers.CharField(help_text="within, too tight, too loose or cannot tell")
    words = serializers.CharField()


class PlannedZoneOut(serializers.Serializer):
    """One measure of the plan; texts are in the client's unit, the same figures in mm end in `_mm`."""

    zone = serializers.CharField()
    name = serializers.CharField()
    kind = serializers.CharField(help_text="width, length or detail")
    size = serializers.CharField()
    reason = serializers.CharField(help_text="Why this size; empty where another zone gives it.")
    body = serializers.CharField()
    body_mm = serializers.FloatField()
    reading = serializers.CharField()
    error_mm = serializers.FloatField(help_text="95 % half-width of the tape's error.")
    ease_range = serializers.CharField()
    low_mm = serializers.FloatField()
    target_mm = serializers.FloatField()
    high_mm = serializers.FloatField()
    paper_before = serializers.CharField()
    paper_before_mm = serializers.FloatField()
    ease_before_mm = serializers.FloatField()
    paper_after = serializers.CharField()
    paper_after_mm = serializers.FloatField()
    ease_after_mm = serializers.FloatField()
    changed = serializers.BooleanField()
    before = VerdictOut()
    after = VerdictOut()
    rule_source = serializers.CharField(source="source", help_text="Who states the ease rule.")
    learned = serializers.CharField(help_text="How accepted garments shifted the target.")


class ShareOut(serializers.Serializer):
    piece = serializers.CharField()
    edges = serializers.IntegerField()
    each = serializers.CharField()
    total = serializers.CharField()


class PlannedAlterationOut(serializers.Serializer):
    number = serializers.IntegerField(help_text="Its place in the fitter's order.")
    zone = serializers.CharField()
    title = serializers.CharField()
    change = serializers.CharField(help_text="lengthen, shorten, let out or take in")
    total = serializers.CharField()
    total_mm = serializers.FloatField()
    per_edge_words = serializers.CharField()
    shares = ShareOut(many=True)
    method = serializers.CharField()
    reason = serializers.CharField()
    result = serializers.CharField(help_text="The finished measure; empty where the plan does not know it.")


class NoticeOut(serializers.Serializer):
    code = serializers.CharField()
    zone = serializers.CharField()
    words = serializers.CharField()


class RestOut(serializers.Serializer):
    zone = serializers.CharField()
    name = serializers.CharField()
    value = serializers.CharField()
    takes = serializers.IntegerField()
    measured_at = serializers.DateTimeField()
    measured_by = serializers.CharField()
    readings = serializers.ListField(child=serializers.CharField(), source="reading_ids")


class FitPlanOut(serializers.Serializer):
    id = serializers.UUIDField()
    version = serializers.IntegerField(help_text="The ETag without its quotes.")
    number = serializers.IntegerField(help_text="Counts the plans of this client and pattern.")
    state = serializers.CharField(help_text="draft, approved or replaced")
    client = serializers.UUIDField(source="client_id")
    client_name = serializers.CharField()
    pattern = serializers.UUIDField(source="pattern_id")
    pattern_name = serializers.CharField()
    garment = serializers.UUIDField(source="garment_id", allow_null=True)
    kind = serializers.CharField(help_text=KIND_HELP)
    unit = serializers.CharField(help_text="The unit of all texts: the client's.")
    ease_set = serializers.CharField()
    summary = serializers.CharField()
    rounding = serializers.CharField()
    sizes = serializers.DictField(
        child=serializers.CharField(), help_text="Zone to size, from top to bottom."
    )
    sizes_reason = serializers.CharField()
    alternatives = serializers.ListField(child=serializers.CharField())
    blends = serializers.ListField(child=serializers.CharField())
    zones = PlannedZoneOut(many=True)
    alterations = PlannedAlterationOut(many=True)
    notices = NoticeOut(many=True)
    rests_on = RestOut(many=True)
    high_bust = serializers.CharField()
    outdated = serializers.ListField(child=serializers.CharField(), help_text="Measures taken anew since.")
    planned_by = serializers.CharField()
    planned_at = serializers.DateTimeField()
    approved_by = serializers.CharField()
    approved_at = serializers.DateTimeField(allow_null=True)
    supersedes = serializers.UUIDField(source="supersedes_id", allow_null=True)
