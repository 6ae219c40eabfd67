"""What the paper's part of the API takes and gives."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from fitting.queries.paper_zones import paper_zones, zone_name
from fitting.queries.patterns import not_ready
from fitting.services.pattern_pieces import INTAKES
from fitting.services.patterns import FlatGiven, IntakeGiven, PieceGiven, SizeGiven
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


INTAKE_HELP = ", ".join(INTAKES)


class PatternMeasureIn(serializers.Serializer):
    measure = serializers.CharField(max_length=64, help_text=MEASURE_HELP)
    typed = serializers.CharField(
        max_length=32, help_text="As typed: `100 cm`, `39 3/8 in`; without a unit in `unit`."
    )


class PatternSizeIn(serializers.Serializer):
    name = serializers.CharField(max_length=16)
    measures = PatternMeasureIn(many=True, default=list)


class IntakeIn(serializers.Serializer):
    what = serializers.CharField(help_text=INTAKE_HELP)
    typed = serializers.CharField(max_length=32, help_text="All the cloth that it swallows at this level.")


class FlatIn(serializers.Serializer):
    """One piece in one size at one level, as typed."""

    size = serializers.CharField(max_length=16)
    measure = serializers.CharField(max_length=64, help_text=MEASURE_HELP)
    width = serializers.CharField(
        max_length=32, help_text="The paper's width there, seam allowances included."
    )
    times = serializers.IntegerField(default=1, help_text="How often it goes into the measure.")
    allowances = serializers.ListField(child=serializers.CharField(max_length=32), default=list)
    intakes = IntakeIn(many=True, default=list)


class PieceIn(serializers.Serializer):
    name = serializers.CharField(max_length=60)
    cut = serializers.IntegerField(default=2)
    on_fold = serializers.BooleanField(default=False)
    flats = FlatIn(many=True)


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
    chart = serializers.UUIDField(
        required=False, allow_null=True, help_text="The body chart that it was drawn for."
    )
    sizes = PatternSizeIn(
        many=True,
        default=list,
        help_text="From small to large, each with the same measures; none where they are the chart's.",
    )
    pieces = PieceIn(
        many=True, default=list, help_text="Measured flat: the finished measures are worked out from them."
    )

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
        given["pieces"] = [
            PieceGiven(
                piece["name"],
                piece["cut"],
                piece["on_fold"],
                tuple(
                    _flat(flat, unit, f"pieces.{place}.flats.{row}", reasons)
                    for row, flat in enumerate(piece["flats"])
                ),
            )
            for place, piece in enumerate(given["pieces"])
        ]
        if reasons:
            raise serializers.ValidationError(reasons)
        given["sizes"] = sizes
        given["chart_id"] = given.pop("chart", None)
        return given


def _flat(flat: dict[str, Any], unit: str, at: str, reasons: dict[str, Any]) -> FlatGiven:
    def length(text: str, field: str) -> Decimal:
        return typed_mm(text, unit, f"{at}.{field}", reasons) or Decimal(0)

    return FlatGiven(
        flat["size"],
        flat["measure"],
        length(flat["width"], "width"),
        flat["times"],
        tuple(length(text, "allowances") for text in flat["allowances"]),
        tuple(IntakeGiven(one["what"], length(one["typed"], "intakes")) for one in flat["intakes"]),
    )


class IntakeOut(serializers.Serializer):
    what = serializers.CharField(help_text=INTAKE_HELP)
    mm = serializers.DecimalField(max_digits=10, decimal_places=4, coerce_to_string=False)


class FlatOut(serializers.Serializer):
    size = serializers.CharField(source="size.name")
    measure = serializers.CharField()
    width_mm = serializers.DecimalField(max_digits=10, decimal_places=4, coerce_to_string=False)
    times = serializers.IntegerField()
    allowances_mm = serializers.ListField(
        child=serializers.DecimalField(max_digits=10, decimal_places=4, coerce_to_string=False),
        source="allowances",
    )
    intakes = IntakeOut(many=True)


class PieceOut(serializers.Serializer):
    name = serializers.CharField()
    cut = serializers.IntegerField()
    on_fold = serializers.BooleanField()
    flats = serializers.SerializerMethodField()

    @extend_schema_field(FlatOut(many=True))
    def get_flats(self, piece: Any) -> Any:
        return FlatOut(piece.flats.all(), many=True).data


class PatternChange(serializers.Serializer):
    name = serializers.CharField(max_length=120, required=False)
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class PatternMeasureOut(serializers.Serializer):
    measure = serializers.CharField(help_text=MEASURE_HELP)
    name = serializers.SerializerMethodField()
    from_pieces = serializers.BooleanField(help_text="Worked out from what was measured flat.")
    from_outline = serializers.BooleanField(help_text="And that was measured from the outlines, not by tape.")
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
    chart = serializers.UUIDField(source="chart_id", allow_null=True)
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


class PatternWithPieces(PatternOut):
    """One pattern with what was measured flat on its pieces."""

    pieces = serializers.SerializerMethodField()

    @extend_schema_field(PieceOut(many=True))
    def get_pieces(self, pattern: Any) -> Any:
        return PieceOut(pattern.pieces.all(), many=True).data
