"""Measures, sets, courses and the class grid in the API. Figures going out are mm (weight: kg) as decimal text."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from studio.api.serializers import OVER, UNITS, MeasureOut, MeasureSetOut
from studio.queries.courses import ClassGrid

LAYOUTS = [("pages", "a page for each student"), ("table", "one table for the class")]


class MeasureChoiceOut(MeasureOut):
    own: bool = serializers.SerializerMethodField(help_text="Did the studio make it itself?")  # type: ignore[assignment]
    hidden: bool = serializers.SerializerMethodField(help_text="Is it no longer offered?")  # type: ignore[assignment]
    order = serializers.IntegerField(help_text="Its place on the walk round the body.")

    def to_representation(self, choice: Any) -> dict[str, Any]:
        self._choice = choice
        found: dict[str, Any] = super().to_representation(choice.measure)
        return found

    def get_own(self, _: Any) -> bool:
        return bool(self._choice.own)

    def get_hidden(self, _: Any) -> bool:
        return bool(self._choice.hidden)


class FigureIn(serializers.Serializer):
    """How a measure is drawn, in the words of the catalogue's figure vocabulary."""

    view = serializers.CharField(max_length=16, help_text="front, back or side")
    kind = serializers.CharField(max_length=16, help_text="girth, line or height")
    to = serializers.CharField(
        max_length=32, help_text="A level or point of the body; of a ring the same as from."
    )

    def get_fields(self) -> dict[str, Any]:
        # "from" is a word of the language, so it can't be written as the others are.
        fields: dict[str, Any] = super().get_fields()
        fields["from"] = serializers.CharField(max_length=32, help_text="A level or point of the body.")
        return fields


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "a length of our own",
            {
                "name": "Cuff depth",
                "kind": "length",
                "side": "left",
                "instruction": "From the wrist bone up the arm to where the cuff ends.",
                "technical_error": 3,
                "range_adult": [20, 200],
                "range_child": [10, 150],
                "garments": ["shirt"],
                "figure": {"view": "back", "kind": "line", "from": "elbow", "to": "wrist"},
                "after": "arm_length",
            },
            request_only=True,
        )
    ]
)
class MeasureIn(serializers.Serializer):
    """A measure of the studio's own; all lengths in mm."""

    name = serializers.CharField(max_length=80)
    kind = serializers.CharField(max_length=16, help_text="girth, length, width or height")
    side = serializers.CharField(max_length=16, required=False, help_text="left, right or centre")
    instruction = serializers.CharField(
        max_length=1000, help_text="Where the tape begins, where it passes, where it ends."
    )
    technical_error = serializers.FloatField(help_text="Standard deviation of one taping by one measurer.")
    between_error = serializers.FloatField(
        required=False, help_text="The same between measurers; left out: the same."
    )
    technical_error_source = serializers.CharField(max_length=200, required=False, allow_blank=True)
    range_adult = serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2)
    range_child = serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2)
    range_source = serializers.CharField(max_length=200, required=False, allow_blank=True)
    garments = serializers.ListField(
        child=serializers.CharField(max_length=32), required=False, max_length=20
    )
    figure = FigureIn(required=False, allow_null=True, help_text="Left out: it is not drawn.")
    after = serializers.CharField(
        max_length=64, required=False, allow_blank=True, help_text="The measure that it follows on the walk."
    )
    note = serializers.CharField(max_length=500, required=False, allow_blank=True)
    code = serializers.CharField(
        max_length=60, required=False, help_text="Left out, the name makes one; own_ is put before it."
    )


class HiddenIn(serializers.Serializer):
    hidden = serializers.BooleanField()


class SetChoiceOut(MeasureSetOut):
    own: bool = serializers.SerializerMethodField()  # type: ignore[assignment]
    hidden: bool = serializers.SerializerMethodField()  # type: ignore[assignment]

    def to_representation(self, choice: Any) -> dict[str, Any]:
        self._choice = choice
        found: dict[str, Any] = super().to_representation(choice.set)
        return found

    def get_own(self, _: Any) -> bool:
        return bool(self._choice.own)

    def get_hidden(self, _: Any) -> bool:
        return bool(self._choice.hidden)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "cuffs",
            {"name": "Cuffs", "measures": ["arm_length", "wrist_girth"], "repeat": ["wrist_girth"]},
            request_only=True,
        )
    ]
)
class SetIn(serializers.Serializer):
    name = serializers.CharField(max_length=80)
    measures = serializers.ListField(
        child=serializers.CharField(max_length=64), max_length=300, help_text="Codes, in walking order."
    )
    repeat = serializers.ListField(
        child=serializers.CharField(max_length=64), max_length=300, required=False, help_text="Taken twice."
    )
    code = serializers.CharField(max_length=60, required=False)


class SetChangeIn(serializers.Serializer):
    """What is given is changed; hidden alone also holds for a set of the catalogue."""

    name = serializers.CharField(max_length=80, required=False)
    measures = serializers.ListField(
        child=serializers.CharField(max_length=64), required=False, max_length=300
    )
    repeat = serializers.ListField(child=serializers.CharField(max_length=64), required=False, max_length=300)
    hidden = serializers.BooleanField(required=False)


class CourseFactsIn(serializers.Serializer):
    """What can be changed of a course; what is left out stays as it is."""

    name = serializers.CharField(max_length=120, required=False)
    measure_set = serializers.CharField(max_length=64, required=False, help_text="A code of /measure-sets/.")
    starts = serializers.DateField(
        required=False, allow_null=True, help_text="Readings from this day on count for the course."
    )
    ends = serializers.DateField(required=False, allow_null=True)
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "skirts",
            {"name": "Skirts in spring", "measure_set": "skirt", "starts": "2026-03-02"},
            request_only=True,
        )
    ]
)
class CourseIn(CourseFactsIn):
    name = serializers.CharField(max_length=120)
    measure_set = serializers.CharField(max_length=64, help_text="A code of /measure-sets/.")


class CourseOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    measure_set = serializers.CharField()
    starts = serializers.DateField(allow_null=True)
    ends = serializers.DateField(allow_null=True)
    notes = serializers.CharField()
    students = serializers.IntegerField(help_text="How many are in it.")
    version = serializers.IntegerField(help_text="Counts the edits; the ETag.")


class StudentIn(serializers.Serializer):
    client = serializers.UUIDField()


class StudentOut(serializers.Serializer):
    client = serializers.UUIDField(source="client_id")
    name = serializers.CharField(source="client.name")
    joined_at = serializers.DateTimeField()


class CellTakeOut(serializers.Serializer):
    reading = serializers.UUIDField(source="reading_id")
    measuring = serializers.UUIDField(source="measuring_id")
    take = serializers.IntegerField()
    value = serializers.DecimalField(max_digits=10, decimal_places=4, help_text="mm; weight: kg")
    measurer = serializers.CharField(source="by")
    measured_by = serializers.UUIDField(source="by_id")
    measured_at = serializers.DateTimeField()


class CellOut(serializers.Serializer):
    measure = serializers.CharField(source="measure.code")
    value = serializers.DecimalField(
        max_digits=10,
        decimal_places=4,
        allow_null=True,
        help_text="Of two takes the mean, of three the median.",
    )
    wants = serializers.ChoiceField(
        ["first", "second", "third", ""], help_text="What is still to be taken; empty: nothing."
    )
    seen = serializers.IntegerField(help_text="Takes of the day; send it back with what is typed.")
    takes = CellTakeOut(many=True)


class StudentRowOut(serializers.Serializer):
    client = serializers.UUIDField(source="client.pk")
    name = serializers.CharField(source="client.name")
    minor = serializers.BooleanField()
    may_be_measured = serializers.BooleanField(help_text="Is there consent, for a minor a guardian's?")
    guardian_present = serializers.CharField(help_text="Who was noted on the day.")
    mark = serializers.CharField(help_text="Changes whenever something in this line does.")
    lacks = serializers.SerializerMethodField(help_text="Measures without a reading in the course.")
    cells = CellOut(many=True)

    @extend_schema_field({"type": "array", "items": {"type": "string"}})
    def get_lacks(self, row: Any) -> list[str]:
        return [found.code for found in row.lacks]


class GridOut(serializers.Serializer):
    course = serializers.UUIDField(source="course.pk")
    day = serializers.DateField()
    measure_set = serializers.CharField(source="chosen.code")
    measures = serializers.SerializerMethodField(help_text="Codes, in walking order.")
    rows = StudentRowOut(many=True)

    @extend_schema_field({"type": "array", "items": {"type": "string"}})
    def get_measures(self, grid: ClassGrid) -> list[str]:
        return list(grid.chosen.measures)


class TypedCellIn(serializers.Serializer):
    measure = serializers.CharField(max_length=64)
    typed = serializers.CharField(max_length=32, help_text="As people type it: 97,5 or 38 1/4 in.")
    seen = serializers.IntegerField(
        required=False,
        min_value=0,
        max_value=9,
        help_text="The cell's seen when it was typed: a line that comes twice is then kept once.",
    )
    kept_because = serializers.CharField(
        max_length=200, required=False, allow_blank=True, help_text="Why a flagged reading is kept."
    )


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "two cells",
            {
                "client": "0199d2a0-0000-7000-8000-00000000000a",
                "unit": "cm",
                "cells": [
                    {"measure": "waist_girth", "typed": "76", "seen": 0},
                    {"measure": "hip_girth", "typed": "102,5", "seen": 0},
                ],
            },
            request_only=True,
        )
    ]
)
class LineIn(serializers.Serializer):
    """What one instructor typed into one student's line."""

    client = serializers.UUIDField()
    cells = TypedCellIn(many=True)
    day = serializers.DateField(required=False, help_text="Left out: today.")
    unit = serializers.ChoiceField(UNITS, required=False, help_text="Left out: the studio's.")
    over = serializers.ChoiceField(OVER, required=False)
    guardian_present = serializers.CharField(max_length=160, required=False, allow_blank=True)


class LineOut(serializers.Serializer):
    measuring = serializers.UUIDField(source="measuring.pk", default=None, allow_null=True)
    first = serializers.ListField(child=serializers.CharField(), help_text="Began the day's readings.")
    further = serializers.ListField(
        child=serializers.CharField(), help_text="Became the next take beside what was there."
    )
    there_before = serializers.ListField(
        child=serializers.CharField(), help_text="Had been saved when the same line came before."
    )


class SheetIn(serializers.Serializer):
    layout = serializers.ChoiceField(LAYOUTS, required=False)


class SheetOut(serializers.Serializer):
    job = serializers.UUIDField(source="pk", help_text="See /jobs/.")
    state = serializers.CharField()
    progress = serializers.IntegerField(help_text="Percent.")
    asked_at = serializers.DateTimeField()
    layout = serializers.CharField(source="arguments.layout")
    file = serializers.UUIDField(source="result.file", default=None, allow_null=True)
    pages = serializers.IntegerField(source="result.pages", default=None, allow_null=True)
