"""Trust in the API: errors, standardisation days, histories, estimates, the standard figure, keeping.

Figures are in ``unit``: millimetres, or kilograms for the weight.
"""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from studio.platform.choices import UNITS


@extend_schema_field({"type": "array", "items": {"type": "string"}, "example": ["waist_girth"]})
class TextsField(serializers.ListField):
    child = serializers.CharField()


class ErrorUsedOut(serializers.Serializer):
    measure = serializers.CharField()
    unit = serializers.CharField(help_text="mm or kg")
    value = serializers.FloatField(help_text="Technical error: the standard deviation of one taping.")
    own = serializers.BooleanField(help_text="The studio's own figure, no default.")
    pairs = serializers.IntegerField()
    error_source = serializers.CharField()


class RepeatsRowOut(serializers.Serializer):
    measure = serializers.CharField(source="measure.code")
    name = serializers.CharField(source="measure.name")
    unit = serializers.CharField(source="measure.unit")
    error = serializers.FloatField(source="own.error", allow_null=True)
    pairs = serializers.IntegerField(source="own.pairs")
    set_aside = serializers.IntegerField(source="own.set_aside", help_text="Pairs with a gross slip.")
    early = serializers.BooleanField(help_text="Fewer pairs than a figure is quoted from.")
    studio_error = serializers.FloatField(source="studio.error", allow_null=True)
    studio_pairs = serializers.IntegerField(source="studio.pairs")
    default = serializers.FloatField()
    reckoned_with = serializers.FloatField(source="used.value")
    error_source = serializers.CharField(source="used.source")


class RepeatabilityOut(serializers.Serializer):
    member = serializers.UUIDField(source="member_id")
    name = serializers.CharField()
    measures = RepeatsRowOut(many=True)
    practise = serializers.SerializerMethodField(help_text="Measures worth practising, the most first.")

    @extend_schema_field({"type": "array", "items": {"type": "string"}})
    def get_practise(self, found: Any) -> list[str]:
        return [row.measure.code for row in found.practise]


class MemberRepeatsOut(serializers.Serializer):
    member = serializers.UUIDField(source="member_id")
    name = serializers.CharField()
    pairs = serializers.IntegerField()
    measures = serializers.IntegerField()
    relative = serializers.FloatField(help_text="1: as reckoned with.", allow_null=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "two measures",
            {
                "name": "Autumn 2026",
                "held_on": "2026-10-03",
                "measures": ["waist_girth", "hip_girth"],
                "people": ["A", "B", "C", "D"],
                "reference_member": "0192f0c1-2f4e-7c3a-9d7e-8f0a4b6c2d1e",
            },
            request_only=True,
        )
    ]
)
class DayIn(serializers.Serializer):
    name = serializers.CharField(max_length=120)
    held_on = serializers.DateField()
    measures = TextsField(help_text="Codes of the catalogue, or of the studio's own measures.")
    people = TextsField(help_text="Labels of volunteers, no clients.")
    reference_member = serializers.UUIDField(source="reference_member_id")


class DayOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    held_on = serializers.DateField()
    measures = TextsField()
    people = TextsField()
    reference_member = serializers.UUIDField(source="reference_member_id")


class DayReadingIn(serializers.Serializer):
    person = serializers.CharField(max_length=40)
    member = serializers.UUIDField(source="member_id")
    measure = serializers.CharField(max_length=64)
    take = serializers.IntegerField(min_value=1, max_value=2, default=1)
    typed = serializers.CharField(max_length=32, help_text="As people type it: 97,5 cm or 38 1/4.")


class ShiftOut(serializers.Serializer):
    measure = serializers.CharField(source="measure.code")
    unit = serializers.CharField(source="measure.unit")
    shifts = serializers.DictField(
        source="by_model",
        child=serializers.FloatField(),
        help_text="By model, mm (weight: kg): how much larger the studio tapes than its people were taped.",
    )


class TapingOut(serializers.Serializer):
    people = serializers.DictField(source="habit.people", child=serializers.IntegerField())
    learnt_at = serializers.DateTimeField(source="habit.learnt_at", allow_null=True)
    measures = ShiftOut(source="shifts", many=True, help_text="The largest shift first; empty until learnt.")


class DayReadingsIn(serializers.Serializer):
    """All of them are kept, or none; nothing is changed afterwards, only superseded."""

    readings = DayReadingIn(many=True)
    unit = serializers.ChoiceField(UNITS, required=False, help_text="Left out: the studio's.")
    as_read = serializers.BooleanField(
        default=False, help_text="Keep two takes that lie far apart as well: the tape read so."
    )


class DayReadingOut(serializers.Serializer):
    id = serializers.UUIDField()
    person = serializers.CharField()
    member = serializers.UUIDField(source="member_id")
    measure = serializers.CharField()
    take = serializers.IntegerField()
    value = serializers.DecimalField(max_digits=10, decimal_places=4)
    typed = serializers.CharField()
    supersedes = serializers.UUIDField(source="supersedes_id", allow_null=True)
    reason = serializers.CharField(help_text="Why it supersedes another.")
    recorded_at = serializers.DateTimeField()


class DayCorrectionIn(serializers.Serializer):
    typed = serializers.CharField(max_length=32, help_text="As people type it.")
    reason = serializers.CharField(max_length=200)
    unit = serializers.ChoiceField(UNITS, required=False, help_text="Left out: the studio's.")


class BetweenUsedOut(serializers.Serializer):
    value = serializers.FloatField(help_text="mm; weight: kg; each measurer's own error is not in it")
    own = serializers.BooleanField(help_text="The studio's own, or the catalogue's.")
    comparisons = serializers.IntegerField()
    between_source = serializers.CharField(source="source")


class AgreementOut(serializers.Serializer):
    low = serializers.FloatField()
    high = serializers.FloatField()
    within = serializers.BooleanField()


class MeasurerOut(serializers.Serializer):
    member = serializers.UUIDField(source="member_id")
    name = serializers.CharField()
    reference = serializers.BooleanField()
    own_error = serializers.FloatField(allow_null=True)
    pairs = serializers.IntegerField()
    set_aside = serializers.IntegerField()
    people = serializers.IntegerField()
    mean_error = serializers.FloatField(allow_null=True)
    sd = serializers.FloatField(allow_null=True)
    agreement = AgreementOut(source="judged", allow_null=True, help_text="By ISO 20685.")
    words = serializers.CharField()


class DayMeasureOut(serializers.Serializer):
    measure = serializers.CharField(source="measure.code")
    unit = serializers.CharField(source="measure.unit")
    limit = serializers.FloatField(source="measure.iso_20685_limit_mm", allow_null=True)
    measurers = MeasurerOut(many=True)
    columns = serializers.IntegerField(help_text="Measurers compared.")
    people = serializers.IntegerField(help_text="Volunteers taped by every one of them.")
    set_aside = TextsField()
    between_error = serializers.FloatField(allow_null=True)
    between_percent = serializers.FloatField(allow_null=True)
    total_error = serializers.FloatField(allow_null=True)
    between_used = BetweenUsedOut(help_text="Reckoned with between two measurers, from all days together.")
    reliability = serializers.FloatField(allow_null=True, help_text="By the spread of all readings.")
    reliability_people = serializers.FloatField(
        allow_null=True, help_text="By the spread of the people's means."
    )


class DayResultOut(serializers.Serializer):
    day = DayOut()
    readings = serializers.IntegerField()
    measures = DayMeasureOut(many=True)


class RateOut(serializers.Serializer):
    since = serializers.DateField()
    per_year = serializers.FloatField()
    half_width = serializers.FloatField(help_text="95 %")


class HistoryChangeOut(serializers.Serializer):
    difference = serializers.DecimalField(max_digits=10, decimal_places=4)
    beyond = serializers.BooleanField()
    words = serializers.CharField()
    threshold = serializers.FloatField()
    other_measurer = serializers.BooleanField()
    between_source = serializers.CharField(
        help_text="Where the error between measurers is from; empty where the same hand taped both."
    )


class OccasionOut(serializers.Serializer):
    on = serializers.DateField()
    measuring = serializers.UUIDField(source="figure.measuring_id")
    value = serializers.DecimalField(source="figure.value", max_digits=10, decimal_places=4)
    takes = serializers.IntegerField(source="figure.takes")
    half_width = serializers.FloatField(help_text="How far the figure can be trusted, 95 %.")
    measured_by = serializers.UUIDField(source="figure.measured_by_id")
    change = HistoryChangeOut(allow_null=True, help_text="Against the time before; all of a visit together.")
    age = serializers.CharField(help_text="In years and months; empty where the birthday is not known.")
    growth = RateOut(source="rate", allow_null=True, help_text="A child's, from her own readings alone.")


class HistoryReadingOut(serializers.Serializer):
    id = serializers.UUIDField(source="reading.id")
    measuring = serializers.UUIDField(source="reading.measuring_id")
    take = serializers.IntegerField(source="reading.take")
    value = serializers.DecimalField(source="reading.value", max_digits=10, decimal_places=4)
    typed = serializers.CharField(source="reading.typed")
    stands = serializers.BooleanField()
    reason = serializers.CharField(source="reading.reason")


class MeasureHistoryOut(serializers.Serializer):
    measure = serializers.CharField(source="measure.code")
    name = serializers.CharField(source="measure.name")
    unit = serializers.CharField(source="measure.unit")
    technical_error = serializers.FloatField(source="error.value")
    error_source = serializers.CharField(source="error.source")
    occasions = OccasionOut(many=True, help_text="The oldest first.")


class MeasureHistoryWithReadingsOut(MeasureHistoryOut):
    readings = HistoryReadingOut(many=True, help_text="All of them, superseded ones too; the newest first.")


class EstimateOut(serializers.Serializer):
    measure = serializers.CharField(source="measure.code")
    name = serializers.CharField(source="measure.name")
    unit = serializers.CharField(source="measure.unit")
    estimate = serializers.FloatField(source="value", help_text="Never a reading.")
    low = serializers.FloatField(help_text="95 of 100 such people lie between low and high.")
    high = serializers.FloatField()


class EstimatesOut(serializers.Serializer):
    estimates = EstimateOut(source="missing", many=True)
    rests_on = TextsField(source="known")
    basis = serializers.CharField()
    words = serializers.CharField(help_text="Why there are none.")


class DifferenceOut(serializers.Serializer):
    part = serializers.CharField()
    body = serializers.FloatField(allow_null=True)
    paper = serializers.ListField(
        child=serializers.FloatField(), allow_null=True, help_text="From and to, mm."
    )
    difference = serializers.FloatField(allow_null=True)
    verdict = serializers.CharField(help_text="differs, as drawn, not taken, not told")
    words = serializers.CharField()


class StandardFigureOut(serializers.Serializer):
    chart = serializers.CharField(source="chart.code")
    size = serializers.CharField(source="size.name")
    nearest = serializers.CharField(source="nearest.name", allow_null=True, default=None)
    differences = DifferenceOut(many=True)


class KeepingIn(serializers.Serializer):
    months = serializers.IntegerField(allow_null=True, help_text="1 to 240 months, or null for no limit.")


class KeepingOut(serializers.Serializer):
    months = serializers.IntegerField(allow_null=True)
    due_before = serializers.DateField(allow_null=True, help_text="Whose last act was earlier is due.")


class AskedAboutOut(serializers.Serializer):
    """A client about whom the owner is asked; ``why`` is due, withdrawn or of_age."""

    client = serializers.UUIDField(source="pk")
    name = serializers.CharField()
    why = serializers.SerializerMethodField()
    since = serializers.SerializerMethodField(help_text="The last act, or the withdrawal.")

    def get_why(self, client: Any) -> str:
        return str(self.context["why"])

    @extend_schema_field({"type": "string", "format": "date-time", "nullable": True})
    def get_since(self, client: Any) -> str | None:
        at = getattr(client, "withdrawn_at", None) or getattr(client, "last_act", None)
        return at.isoformat() if at else None


class KeepIn(serializers.Serializer):
    reason = serializers.CharField(max_length=200)


class KeptOut(serializers.Serializer):
    client = serializers.UUIDField(source="pk")
    name = serializers.CharField()
