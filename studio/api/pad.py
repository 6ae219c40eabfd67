"""Judging readings while they are typed, for the pad and for any other program."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from studio.api.serializers import UNITS, TypedReadingIn
from studio.platform.api.base import HouseView
from studio.platform.rights import Right
from studio.queries import plausibility


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "a slip between tape and keyboard",
            {
                "unit": "cm",
                "readings": [
                    {"measure": "bust_girth", "typed": "102"},
                    {"measure": "hip_girth", "typed": "108"},
                    {"measure": "waist_girth", "typed": "48"},
                ],
            },
            request_only=True,
        )
    ]
)
class PlausibilityIn(serializers.Serializer):
    readings = TypedReadingIn(many=True, max_length=300)  # type: ignore[call-arg] # its ListSerializer takes it
    unit = serializers.ChoiceField(
        UNITS, required=False, help_text="Where a reading names none; left out: the client's own."
    )


class OtherMeantOut(serializers.Serializer):
    measure = serializers.CharField()
    value = serializers.FloatField(help_text="mm; weight: kg")
    typed = serializers.CharField()
    unit = serializers.CharField()


class MeantOut(serializers.Serializer):
    value = serializers.FloatField(help_text="mm; weight: kg")
    typed = serializers.CharField(help_text="As it would be typed, in `unit`.")
    unit = serializers.CharField()
    words = serializers.CharField()
    partner = OtherMeantOut(
        allow_null=True, help_text="What was meant in the other field, where two changed places."
    )


class TapeAgainOut(serializers.Serializer):
    measure = serializers.CharField(source="code")
    name = serializers.CharField()
    z = serializers.FloatField(help_text="How many standard deviations off; negative below.")
    low = serializers.FloatField(help_text="mm; weight: kg. Between low and high nothing would be said.")
    high = serializers.FloatField()
    words = serializers.CharField()
    suggestions = MeantOut(many=True, help_text="What was probably meant, best first.")


class LimitsOut(serializers.Serializer):
    measure = serializers.CharField()
    low = serializers.FloatField(help_text="mm; weight: kg")
    high = serializers.FloatField()


class PlausibilityOut(serializers.Serializer):
    flags = TapeAgainOut(many=True, help_text="Readings to tape again, most surprising first.")
    limits = LimitsOut(many=True, help_text="Between which readings pass beside those given.")
    basis = serializers.CharField(help_text="What the readings were compared with, in words.")


class Plausibility(HouseView):
    serializer_class = PlausibilityOut
    rights = {"POST": Right.RECORD_MEASURING}

    @extend_schema(
        operation_id="client_plausibility", request=PlausibilityIn, responses={200: PlausibilityOut}
    )
    def post(self, request: Request, client_id: UUID) -> Response:
        """Which of these readings should be taped again? Nothing is kept."""
        given = self.typed(PlausibilityIn)
        readings = [(each["measure"], each["typed"]) for each in given["readings"]]
        found = plausibility.judge(self.actor, client_id, readings=readings, unit=given.get("unit"))
        return Response(_shown(found))


def _shown(found: plausibility.Judgement) -> dict[str, Any]:
    limits = [{"measure": code, "low": low, "high": high} for code, (low, high) in found.limits.items()]
    shown: dict[str, Any] = PlausibilityOut(
        {"flags": found.flags, "limits": limits, "basis": found.basis}
    ).data
    return shown
