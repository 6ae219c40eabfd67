"""What the API of ease rules and fit plans takes and gives."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from fitting.api.paper_serializers import CLOSENESS_HELP, KIND_HELP
from fitting.queries.plan_reckon import AMOUNT, SIZE, Overrule
from studio.calc.units import parse_length


def signed_length(text: str, unit: str) -> Decimal:
    """A change as it is typed, in mm; raises ValueError in a sentence."""
    text = text.strip().replace("\u2212", "-")
    sign = -1 if text.startswith("-") else 1
    return sign * parse_length(text.lstrip("+-").strip(), unit)


class EaseSetOut(serializers.Serializer):
    code = serializers.CharField()
    title = serializers.CharField()
    author = serializers.CharField()
    year = serializers.IntegerField(allow_null=True)
    status = serializers.CharField(help_text="How the figures were come by.")
    rules = serializers.IntegerField(help_text="How many rules the set has.")
    chosen = serializers.BooleanField(help_text="This studio follows it.")
    own = serializers.BooleanField(help_text="The studio's own, which it can edit.")


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
        help_text="A code of /ease-sets/; blank: the one that the studio follows.",
    )
    with_estimates = serializers.BooleanField(
        default=False, help_text="Let estimates stand in for what was not taped (adults), named as such."
    )
    growing_months = serializers.IntegerField(
        default=0, min_value=0, help_text="Room for a child to grow, from her own yearly rates."
    )


class EaseSetIn(serializers.Serializer):
    title = serializers.CharField(max_length=120)
    follows = serializers.CharField(
        max_length=64,
        default="",
        allow_blank=True,
        help_text="The sourced set that stands in for what it lacks.",
    )
    copy_of = serializers.CharField(
        max_length=64, default="", allow_blank=True, help_text="Begin with the rules of this set."
    )
    notes = serializers.CharField(max_length=2000, default="", allow_blank=True)


class FollowIn(serializers.Serializer):
    code = serializers.CharField(max_length=64, help_text="The set that plans follow from now on.")


class EaseRuleIn(serializers.Serializer):
    kind = serializers.CharField(help_text=KIND_HELP)
    zone = serializers.CharField(max_length=32)
    closeness = serializers.CharField(help_text=CLOSENESS_HELP)
    structure = serializers.CharField(default="woven", help_text="woven or knit")
    stretch = serializers.CharField(default="", allow_blank=True, help_text="A class of knit; blank for any.")
    low_mm = serializers.DecimalField(max_digits=10, decimal_places=4)
    target_mm = serializers.DecimalField(max_digits=10, decimal_places=4)
    high_mm = serializers.DecimalField(max_digits=10, decimal_places=4)
    source = serializers.CharField(max_length=200, help_text="Who says so.")  # type: ignore[assignment]
    note = serializers.CharField(max_length=300, default="", allow_blank=True)


class EaseRuleOut(serializers.Serializer):
    id = serializers.UUIDField(source="key", allow_null=True, help_text="Of a rule of the studio's own.")
    kind = serializers.CharField(help_text=KIND_HELP)
    zone = serializers.CharField()
    closeness = serializers.CharField(help_text=CLOSENESS_HELP)
    structure = serializers.CharField()
    stretch = serializers.CharField(allow_null=True)
    low_mm = serializers.FloatField(source="rule.low")
    target_mm = serializers.FloatField(source="rule.target")
    high_mm = serializers.FloatField(source="rule.high")
    source = serializers.CharField(source="rule.source")  # type: ignore[assignment]
    note = serializers.CharField()


class EaseRulesOut(EaseSetOut):
    results = EaseRuleOut(many=True)


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
    growing = serializers.CharField(help_text="Room to grow, in words.")
    estimated = serializers.BooleanField(help_text="The body's figure is an estimate.")
    sums = serializers.ListField(child=serializers.CharField(), help_text="The finished measure as a sum.")
    by_hand = serializers.BooleanField(help_text="Size or amount was overruled.")
    reckoned = serializers.CharField(help_text="The change in all that the rule asks for; blank for none.")
    change_mm = serializers.FloatField()


class ShareOut(serializers.Serializer):
    piece = serializers.CharField()
    edges = serializers.IntegerField()
    each = serializers.CharField()
    total = serializers.CharField()


class TickOut(serializers.Serializer):
    by = serializers.CharField()
    at = serializers.DateTimeField()


class BlendOut(serializers.Serializer):
    line = serializers.CharField(help_text="Its key when it is ticked off.")
    words = serializers.CharField()
    ticked = TickOut(allow_null=True)


class OverruleOut(serializers.Serializer):
    what = serializers.CharField(help_text="size or amount")
    zone = serializers.CharField()
    words = serializers.CharField()
    reason = serializers.CharField()
    by = serializers.CharField()
    at = serializers.DateTimeField(allow_null=True)


class OverruleIn(serializers.Serializer):
    """Either a size, or a change in all as typed: "1.2 cm", "-3/8 in", "0" to leave it."""

    zone = serializers.CharField(max_length=32)
    size = serializers.CharField(max_length=16, required=False)
    amount = serializers.CharField(max_length=32, required=False)
    reason = serializers.CharField(max_length=400, default="", allow_blank=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A size and an amount",
            request_only=True,
            value={
                "overrules": [
                    {"zone": "hip", "size": "16", "reason": "She wears it over a petticoat."},
                    {"zone": "waist", "amount": "1 cm", "reason": "Likes it loose after meals."},
                ]
            },
        )
    ]
)
class OverrulesIn(serializers.Serializer):
    overrules = OverruleIn(many=True, help_text="All that are to be in force; one left out is withdrawn.")

    def validate(self, given: dict[str, Any]) -> dict[str, Any]:
        """The overrules as the service takes them."""
        found, reasons = [], {}
        for place, row in enumerate(given["overrules"]):
            at = f"overrules.{place}"
            if ("size" in row) == ("amount" in row):
                reasons[at] = ["Give either a size or an amount."]
            elif "size" in row:
                found.append(Overrule(SIZE, row["zone"], row["reason"], size=row["size"]))
            else:
                try:
                    amount = signed_length(row["amount"], "cm")
                    found.append(Overrule(AMOUNT, row["zone"], row["reason"], amount_mm=float(amount)))
                except ValueError as exc:
                    reasons[f"{at}.amount"] = [str(exc)]
        if reasons:
            raise serializers.ValidationError(reasons)
        return {"given": found}


class TickIn(serializers.Serializer):
    line = serializers.CharField(max_length=80)
    done = serializers.BooleanField(default=True)


class CuttingSheetOut(serializers.Serializer):
    id = serializers.UUIDField()
    job = serializers.UUIDField(source="job_id")
    asked_by = serializers.CharField()
    asked_at = serializers.DateTimeField()
    ready = serializers.BooleanField(help_text="It can be fetched.")


class CuttingSheetsOut(serializers.Serializer):
    results = CuttingSheetOut(many=True)


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
    line = serializers.CharField(help_text="Its key when it is ticked off.")
    by_hand = serializers.BooleanField()
    ticked = TickOut(allow_null=True, help_text="Who carried it to the paper.")


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
    estimated = serializers.BooleanField()
    how = serializers.CharField(help_text="Where the figure was not simply taped.")


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
    would_change = serializers.ListField(
        child=serializers.CharField(), help_text="What the newer readings would change on this plan."
    )
    overrules = OverruleOut(many=True)
    blend_lines = BlendOut(many=True)
    carried = serializers.IntegerField(help_text="Lines that are on the paper already.")
    lines = serializers.IntegerField()
    growing_months = serializers.IntegerField()
    planned_by = serializers.CharField()
    planned_at = serializers.DateTimeField()
    approved_by = serializers.CharField()
    approved_at = serializers.DateTimeField(allow_null=True)
    supersedes = serializers.UUIDField(source="supersedes_id", allow_null=True)
