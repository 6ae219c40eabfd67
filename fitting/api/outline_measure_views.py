"""What outlines measure, over the API: read, taken over, said of a read-in piece; and a piece that is taken out."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api.lay_serializers import OutlinesOut
from fitting.queries.outline_measures import OutlineMeasure, outline_measures
from fitting.services.outline_measures import LevelGiven, remove_piece, say_gauges, take_measures
from seamlab.api import fields
from studio.platform.api.base import HouseView
from studio.platform.rights import Right


class OutlinePartOut(serializers.Serializer):
    piece = serializers.CharField()
    places = serializers.CharField(help_text="The levels and edges that are measured.")
    times = serializers.IntegerField()
    width_mm = serializers.FloatField(help_text="Between the seam lines.")
    taken_mm = serializers.FloatField(help_text="What darts and overlaps take off it.")


class OutlineMeasureOut(serializers.Serializer):
    zone = serializers.CharField()
    size = serializers.CharField()
    size_id = serializers.UUIDField()
    parts = OutlinePartOut(many=True)
    outline_mm = serializers.FloatField(
        allow_null=True, help_text="Finished; null where no outline gives it."
    )
    recorded_mm = serializers.FloatField(allow_null=True)
    recorded_from = serializers.ChoiceField(choices=["", "stated", "pieces", "outline"])
    difference_mm = serializers.FloatField(allow_null=True)
    differs = serializers.BooleanField(help_text="By more than two tapings of paper do.")
    trouble = serializers.CharField(help_text="Why it can't be taken over, or empty.")


class OutlineMeasuresOut(serializers.Serializer):
    results = OutlineMeasureOut(many=True)
    why_not = serializers.CharField(help_text="Why nothing of this pattern can be taken over, or empty.")


class ChosenMeasureIn(serializers.Serializer):
    zone = serializers.CharField(max_length=64)
    size_id = serializers.UUIDField()


class TakeMeasuresIn(serializers.Serializer):
    chosen = ChosenMeasureIn(many=True)


class EdgeSaidIn(serializers.Serializer):
    number = serializers.IntegerField(min_value=1)
    name = serializers.CharField(max_length=40, required=False, default="", allow_blank=True)
    zone = serializers.CharField(max_length=64, required=False, default="", allow_blank=True)


class LevelIn(serializers.Serializer):
    zone = serializers.CharField(max_length=64)
    mm = fields.length_mm()
    from_foot = serializers.BooleanField(default=False)


class GaugesIn(serializers.Serializer):
    edges = EdgeSaidIn(many=True, required=False, default=list)
    levels = LevelIn(many=True, required=False, default=list)
    every_size = serializers.BooleanField(default=False)


def _out(one: OutlineMeasure) -> dict[str, Any]:
    kept = one.recorded
    return {
        "zone": one.zone,
        "size": one.size.name,
        "size_id": one.size.pk,
        "parts": [
            {
                "piece": part.piece.name,
                "places": part.places,
                "times": part.times,
                "width_mm": round(part.width, 4),
                "taken_mm": round(sum(mm for _, mm in part.taken), 4),
            }
            for part in one.parts
        ],
        "outline_mm": None if one.total is None else round(one.total, 4),
        "recorded_mm": None if kept is None else float(kept.value),
        "recorded_from": ""
        if kept is None
        else "outline"
        if kept.from_outline
        else "pieces"
        if kept.from_pieces
        else "stated",
        "difference_mm": None if one.difference is None else round(one.difference, 4),
        "differs": one.differs,
        "trouble": one.trouble,
    }


class OutlineMeasuresRead(HouseView):
    rights = {"GET": Right.READ_PAPER, "POST": Right.KEEP_PAPER}
    pagination_class = None

    @extend_schema(
        operation_id="outline_measures_list",
        summary="What a pattern's outlines measure in every size, beside what is recorded",
        responses=OutlineMeasuresOut,
    )
    def get(self, request: Request, pattern_id: UUID) -> Response:
        return self._answer_with(pattern_id)

    @extend_schema(
        operation_id="outline_measures_take",
        summary="Take measures over from the outlines; they say so from then on",
        request=TakeMeasuresIn,
        responses={200: OutlineMeasuresOut},
    )
    def post(self, request: Request, pattern_id: UUID) -> Response:
        chosen = [(one["zone"], one["size_id"]) for one in self.typed(TakeMeasuresIn)["chosen"]]
        take_measures(self.actor, pattern_id, chosen=chosen)
        return self._answer_with(pattern_id)

    def _answer_with(self, pattern_id: UUID) -> Response:
        found = outline_measures(self.actor, pattern_id)
        rows = [_out(one) for row in found.rows for one in row]
        return Response(OutlineMeasuresOut({"results": rows, "why_not": found.why_not}).data)


class OutlineGauges(HouseView):
    rights = {"PUT": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="outlines_say_gauges",
        summary="Say what the edges of a read-in piece are and which measures it feeds (If-Match: its version)",
        request=GaugesIn,
        responses={200: OutlinesOut},
    )
    def put(self, request: Request, outline_id: UUID) -> Response:
        given = self.typed(GaugesIn)
        rows = say_gauges(
            self.actor,
            outline_id,
            names={one["number"]: one["name"] for one in given["edges"]},
            feeds={one["number"]: one["zone"] for one in given["edges"]},
            levels=[LevelGiven(one["zone"], Decimal(one["mm"]), one["from_foot"]) for one in given["levels"]],
            every_size=given["every_size"],
            expected_version=self.expected_version(),
        )
        return Response(OutlinesOut({"results": rows}).data)


class PieceRemove(HouseView):
    rights = {"DELETE": Right.KEEP_PAPER}

    @extend_schema(
        operation_id="pieces_remove",
        summary="Take a piece with its outlines out of a pattern, where no finished measure rests on it",
        request=None,
        responses={204: None},
    )
    def delete(self, request: Request, pattern_id: UUID, piece_id: UUID) -> Response:
        remove_piece(self.actor, pattern_id, piece_id)
        return Response(status=204)
