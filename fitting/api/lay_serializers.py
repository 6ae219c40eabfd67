"""What the API takes and gives of outlines and lays. Lengths are millimetres, as decimal text: exact."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from fitting.queries.garment_lays import garments_in, paper_altered
from fitting.queries.lays import LayView
from fitting.services.lays import LineGiven
from seamlab.api import fields

TURN_HELP = "Degrees, 0 to below 360, against the clock; 0 has the grainline along the selvedge."


class OutlineOut(serializers.Serializer):
    id = serializers.UUIDField(source="pk")
    piece = serializers.CharField(source="piece.name")
    size = serializers.CharField(source="size.name")
    cut = serializers.IntegerField(source="piece.cut")
    source = serializers.CharField(help_text="drafted, svg or dxf")  # type: ignore[assignment]
    drawing = serializers.JSONField(
        help_text="Lines in mm: cut, seam, grain (tail, arrow), fold, notches, darts, drills, inner, edges."
    )
    version = serializers.IntegerField()


class OutlinesOut(serializers.Serializer):
    results = OutlineOut(many=True)


class DraftIn(serializers.Serializer):
    length_mm = fields.length_mm(
        required=False, allow_null=True, default=None, help_text="A skirt's, waist to hem."
    )


class DraftOut(serializers.Serializer):
    outlines = serializers.IntegerField(help_text="How many outlines there are now.")


class DrawingFileIn(serializers.Serializer):
    file = serializers.FileField(
        help_text="SVG, or a DXF for garment pieces (ASTM D6673 / AAMA layers); at most 8 MB."
    )


class ChoiceOut(serializers.Serializer):
    code = serializers.CharField()
    words = serializers.CharField()


class DoubtOut(serializers.Serializer):
    code = serializers.CharField()
    words = serializers.CharField()
    piece = serializers.CharField(help_text="Empty where it is about the whole drawing.")
    choices = serializers.SerializerMethodField()

    @extend_schema_field(ChoiceOut(many=True))
    def get_choices(self, doubt: Any) -> list[dict[str, str]]:
        return [{"code": code, "words": words} for code, words in doubt.choices]


class DrawingOut(serializers.Serializer):
    """A given drawing with its questions."""

    id = serializers.UUIDField(source="row.pk")
    name = serializers.CharField(source="row.file.name")
    pattern = serializers.UUIDField(source="row.pattern_id")
    pieces = serializers.SerializerMethodField(help_text="Names, in the drawing's order.")
    answers = serializers.DictField(source="row.answers", child=serializers.CharField())
    doubts = DoubtOut(many=True, source="reading.doubts")
    open = serializers.SerializerMethodField(help_text="Codes of the questions without an answer.")
    used_at = serializers.DateTimeField(source="row.used_at", allow_null=True)
    version = serializers.IntegerField(source="row.version")

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_pieces(self, opened: Any) -> list[str]:
        return [piece.name for piece in opened.reading.pieces]

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_open(self, opened: Any) -> list[str]:
        return [doubt.code for doubt in opened.still]


class AnswersIn(serializers.Serializer):
    answers = serializers.DictField(child=serializers.CharField(max_length=40))


class UseIn(serializers.Serializer):
    size_id = serializers.UUIDField(help_text="For pieces whose size the drawing does not name.")


class LayLineIn(serializers.Serializer):
    pattern_id = serializers.UUIDField()
    size_id = serializers.UUIDField()
    times = serializers.IntegerField(default=1)
    garment_id = serializers.UUIDField(required=False, allow_null=True, default=None)


class LayIn(serializers.Serializer):
    cloth_id = serializers.UUIDField()
    lines = LayLineIn(many=True)
    name = serializers.CharField(max_length=120, required=False, default="", allow_blank=True)
    folded = serializers.BooleanField(default=False)
    washed_first = serializers.BooleanField(default=False)
    matched = serializers.IntegerField(default=0, help_text="Matched pieces that lie above each other.")
    end_allowance_mm = fields.length_mm(default=Decimal(0))
    cutting_unit_mm = fields.length_mm(default=Decimal(100))
    seconds = serializers.IntegerField(default=20)
    remnant_id = serializers.UUIDField(required=False, allow_null=True, default=None)

    def validate_lines(self, lines: list[dict[str, Any]]) -> list[LineGiven]:
        return [LineGiven(**line) for line in lines]


class PlacementIn(serializers.Serializer):
    key = serializers.CharField(max_length=80)
    mirrored = serializers.BooleanField()
    x = serializers.FloatField(help_text="mm along the selvedge, after mirroring (in x) and turning.")
    y = serializers.FloatField(help_text="mm across the cloth.")
    turn = serializers.FloatField(help_text=TURN_HELP)


class DrawingByHandIn(serializers.Serializer):
    placements = PlacementIn(many=True)


class LayDrawingOut(serializers.Serializer):
    number = serializers.IntegerField()
    way = serializers.CharField(help_text="one_way, two_way or by_hand")
    length_mm = fields.length_mm()
    density_percent = fields.percent()
    made_at = serializers.DateTimeField()
    placements = PlacementIn(many=True)


class LayBriefOut(serializers.Serializer):
    id = serializers.UUIDField(source="pk")
    name = serializers.CharField()
    cloth = serializers.UUIDField(source="cloth_id")
    folded = serializers.BooleanField()
    chosen = serializers.IntegerField(allow_null=True, help_text="Number of the drawing that is cut.")
    state = serializers.CharField(source="job.state", help_text="Of its search: waiting, working, done ...")
    created_at = serializers.DateTimeField()
    version = serializers.IntegerField()


class StepOut(serializers.Serializer):
    words = serializers.CharField()
    added = serializers.FloatField(help_text="mm")
    length = serializers.FloatField(help_text="mm, after it")


class BuyOut(serializers.Serializer):
    length = serializers.FloatField(help_text="mm to ask for")
    steps = StepOut(many=True)
    notes = serializers.ListField(child=serializers.CharField())


class ReachOut(serializers.Serializer):
    bolt = serializers.UUIDField(source="bolt.pk")
    label = serializers.CharField(source="bolt.label")  # type: ignore[assignment]
    remaining = serializers.FloatField(help_text="mm on it")
    left = serializers.FloatField(help_text="mm left after it is cut; negative: missing")


class LayOut(LayBriefOut):
    """A lay with its drawings, newest first, and what to buy for the chosen one."""

    direction = serializers.CharField()
    why = serializers.CharField(help_text="The direction in words.")
    width_mm = fields.length_mm(help_text="Usable, as the cloth lies on the table.")
    garments = serializers.ListField(
        child=serializers.UUIDField(), help_text="The garments whose pieces it holds."
    )
    altered = serializers.CharField(
        help_text="Where a fit plan alters the paper and the outlines here don't; empty otherwise."
    )
    error = serializers.CharField(help_text="Why the search found nothing; empty otherwise.")
    price_of_one_way = serializers.FloatField(allow_null=True, help_text="mm longer than two ways")
    drawings = LayDrawingOut(many=True)
    buy = BuyOut(allow_null=True)
    reach = ReachOut(many=True)
    cut = serializers.UUIDField(
        source="cut_id", allow_null=True, help_text="The record of the bolt that its length was taken off."
    )
    taken_from = serializers.UUIDField(
        source="taken_from_id", allow_null=True, help_text="The lay whose pieces were laid anew, partly here."
    )


class CutIn(serializers.Serializer):
    bolt_id = serializers.UUIDField()


class OnRemnantIn(serializers.Serializer):
    remnant_id = serializers.UUIDField()
    keys = serializers.ListField(
        child=serializers.CharField(max_length=80),
        min_length=1,
        max_length=400,
        help_text="Pieces of this lay that are cut from the remnant.",
    )


class OnRemnantOut(serializers.Serializer):
    on_remnant = serializers.UUIDField(help_text="The lay on the remnant.")
    rest = serializers.UUIDField(help_text="The lay of the other pieces.")


def lay_out(view: LayView) -> dict[str, Any]:
    """What `LayOut` writes, from what the page shows; one query."""
    lay = view.lay
    garments = garments_in(lay)
    return {
        "pk": lay.pk,
        "name": lay.name,
        "cloth_id": lay.cloth_id,
        "folded": lay.folded,
        "chosen": lay.chosen,
        "job": lay.job,
        "created_at": lay.created_at,
        "version": lay.version,
        "direction": lay.direction,
        "why": view.why,
        "width_mm": lay.width_mm,
        "garments": [garment.pk for garment in garments],
        "altered": paper_altered(garments),
        "error": lay.job.error if lay.job else "",
        "price_of_one_way": view.price_mm,
        "drawings": view.drawings,
        "buy": view.buy,
        "reach": view.reach,
        "cut_id": lay.cut_id,
        "taken_from_id": lay.taken_from_id,
    }


class GarmentLayOut(serializers.Serializer):
    """A lay with pieces of a garment, and the grain of its pieces."""

    id = serializers.UUIDField(source="lay.pk")
    name = serializers.CharField(source="lay.name")
    cloth = serializers.UUIDField(source="lay.cloth_id")
    chosen = serializers.IntegerField(source="lay.chosen", allow_null=True)
    length_mm = fields.length_mm(
        source="chosen.length_mm", allow_null=True, default=None, help_text="Of the chosen drawing."
    )
    is_on_remnant = serializers.BooleanField()
    pieces = serializers.IntegerField(help_text="To be pinned, copies counted.")
    checked = serializers.IntegerField(help_text="Grainlines with a check.")
    off = serializers.IntegerField(help_text="Of them off grain at their newest check.")


class GarmentLaysOut(serializers.Serializer):
    results = GarmentLayOut(many=True)


class SearchIn(serializers.Serializer):
    seconds = serializers.IntegerField(required=False, allow_null=True, default=None)


class ChosenIn(serializers.Serializer):
    number = serializers.IntegerField()


class GrainCheckIn(serializers.Serializer):
    key = serializers.CharField(max_length=80)
    copy = serializers.IntegerField(default=1)
    distance_a_mm = fields.length_mm(help_text="Top of the grainline to the selvedge, square to it.")
    distance_b_mm = fields.length_mm(help_text="Its foot to the same selvedge.")
    line_mm = fields.length_mm(help_text="Between the two places, along the grainline.")
    tolerance_degrees = serializers.DecimalField(
        max_digits=4, decimal_places=2, required=False, allow_null=True, default=None
    )


class GrainCheckOut(serializers.Serializer):
    id = serializers.UUIDField(source="pk")
    key = serializers.CharField()
    copy = serializers.IntegerField()
    degrees = serializers.DecimalField(max_digits=6, decimal_places=2)
    tolerance = serializers.DecimalField(max_digits=4, decimal_places=2)
    within = serializers.BooleanField()
    at = serializers.DateTimeField()


class GrainChangeIn(serializers.Serializer):
    key = serializers.CharField(max_length=80)
    degrees = serializers.DecimalField(max_digits=6, decimal_places=2)
    reason = serializers.CharField(max_length=400, allow_blank=True)


class RemnantIn(serializers.Serializer):
    cloth_id = serializers.UUIDField()
    length_mm = fields.length_mm()
    width_mm = fields.length_mm()
    is_washed = serializers.BooleanField(default=False)
    place = serializers.CharField(max_length=120, required=False, default="", allow_blank=True)
    note = serializers.CharField(max_length=200, required=False, default="", allow_blank=True)
    lay_id = serializers.UUIDField(required=False, allow_null=True, default=None)


class RemnantOut(serializers.Serializer):
    id = serializers.UUIDField(source="pk")
    cloth = serializers.UUIDField(source="cloth_id")
    length_mm = fields.length_mm()
    width_mm = fields.length_mm()
    is_washed = serializers.BooleanField()
    place = serializers.CharField()
    note = serializers.CharField()
    version = serializers.IntegerField()


class RemnantsOut(serializers.Serializer):
    results = RemnantOut(many=True)


class LaySheetOut(serializers.Serializer):
    id = serializers.UUIDField()
    job = serializers.UUIDField(source="job_id")
    number = serializers.IntegerField(help_text="of the drawing that it shows")
    asked_by = serializers.CharField()
    asked_at = serializers.DateTimeField()
    ready = serializers.BooleanField(help_text="can be opened")
