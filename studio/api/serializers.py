"""People and bodies in the API. Figures going out are mm (weight: kg) as decimal text, which is exact."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from studio.platform.choices import LANGUAGES, UNITS
from studio.queries.catalogue import catalogue

OVER = [("underwear", "Underwear"), ("close_clothing", "Close clothing"), ("clothing", "Ordinary clothing")]
BODY_MODELS = [
    ("both", "not said: only where both models would ask, a reading is asked for again"),
    ("female", "the women's"),
    ("male", "the men's"),
    ("none", "left out; no reason is asked or kept"),
]
CONSENTS = [("measure", "Being measured, and the figures kept"), ("photograph", "Photographs")]


class ClientFactsIn(serializers.Serializer):
    """What can be changed of a client; what is left out stays as it is."""

    name = serializers.CharField(max_length=160, required=False)
    telephone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    email = serializers.EmailField(max_length=254, required=False, allow_blank=True)
    born = serializers.DateField(
        required=False, allow_null=True, help_text="Under 18 a guardian must be named; null: not known."
    )
    unit = serializers.ChoiceField(UNITS, required=False, help_text="The unit in which she reads lengths.")
    language = serializers.ChoiceField(
        LANGUAGES,
        required=False,
        allow_blank=True,
        help_text="The language of her reports and letters; empty: the studio's.",
    )
    body_model = serializers.ChoiceField(
        BODY_MODELS,
        required=False,
        help_text="Which fitted model of adult bodies her readings are compared with.",
    )
    guardian_name = serializers.CharField(max_length=160, required=False, allow_blank=True)
    guardian_telephone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    guardian_email = serializers.EmailField(max_length=254, required=False, allow_blank=True)
    figures_in_report = serializers.BooleanField(
        required=False, help_text="May body figures stand in the report that her link opens?"
    )
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "with consent",
            {"name": "Olia Duarte", "telephone": "0555 014 277", "unit": "cm", "consent_by": "Olia Duarte"},
            request_only=True,
        ),
        OpenApiExample(
            "under 18",
            {
                "name": "Tomas Duarte",
                "born": "2016-04-12",
                "guardian_name": "Olia Duarte",
                "guardian_telephone": "0555 014 277",
                "consent_by": "Olia Duarte",
                "consent_by_guardian": True,
            },
            request_only=True,
        ),
    ]
)
class ClientIn(ClientFactsIn):
    name = serializers.CharField(max_length=160)
    consent_by = serializers.CharField(
        max_length=160,
        required=False,
        allow_blank=True,
        help_text="Who consents to her being measured; left out, nobody has yet.",
    )
    consent_by_guardian = serializers.BooleanField(required=False)


class ClientOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    telephone = serializers.CharField()
    email = serializers.CharField()
    born = serializers.DateField(allow_null=True)
    unit = serializers.ChoiceField(UNITS)
    language = serializers.ChoiceField(LANGUAGES, allow_blank=True)
    body_model = serializers.ChoiceField(BODY_MODELS)
    guardian_name = serializers.CharField()
    guardian_telephone = serializers.CharField()
    guardian_email = serializers.CharField()
    figures_in_report = serializers.BooleanField()
    notes = serializers.CharField()
    version = serializers.IntegerField(help_text="Counts the edits; the ETag.")
    created_at = serializers.DateTimeField()
    changed_at = serializers.DateTimeField()
    erased_at = serializers.DateTimeField(allow_null=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "teal trousers",
            {
                "client": "0199d2a0-0000-7000-8000-00000000000a",
                "name": "Olia Duarte",
                "source": "garment",
                "source_id": "0199d2a0-0000-7000-8000-00000000000b",
                "words": "teal trousers",
                "score": 0.75,
            },
            response_only=True,
        )
    ]
)
class FoundOut(serializers.Serializer):
    client = serializers.UUIDField(source="client_id")
    name = serializers.CharField()
    # "source" is the word here, as in the service; DRF keeps an attribute of that name for itself.
    source = serializers.CharField(help_text="client or garment: what the words were found in")  # type: ignore[assignment]
    source_id = serializers.UUIDField()
    words = serializers.CharField(help_text="The words that were found.")
    score = serializers.FloatField(help_text="From 0 to 1; best first.")


class ConsentIn(serializers.Serializer):
    kind = serializers.ChoiceField(CONSENTS)
    given = serializers.BooleanField(help_text="false withdraws")
    given_by = serializers.CharField(max_length=160, help_text="Who said so.")
    by_guardian = serializers.BooleanField(required=False)
    note = serializers.CharField(max_length=400, required=False, allow_blank=True)


class ConsentOut(serializers.Serializer):
    id = serializers.UUIDField()
    client = serializers.UUIDField(source="client_id")
    kind = serializers.ChoiceField(CONSENTS)
    given = serializers.BooleanField()
    given_by = serializers.CharField()
    by_guardian = serializers.BooleanField()
    recorded_by = serializers.UUIDField(source="recorded_by_id")
    at = serializers.DateTimeField()
    note = serializers.CharField()


class TypedReadingIn(serializers.Serializer):
    measure = serializers.CharField(max_length=64, help_text="A code of the catalogue, see /measures/.")
    typed = serializers.CharField(
        max_length=32, help_text="As people type it: 97,5 or 38 1/4 in; a weight as 60.5 kg."
    )
    take = serializers.IntegerField(required=False, help_text="1 for the first time, 2 for its repeat.")
    kept_because = serializers.CharField(
        max_length=200, required=False, allow_blank=True, help_text="Why a flagged reading is kept."
    )


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "two measures, one of them twice",
            {
                "client": "0199d2a0-0000-7000-8000-00000000000a",
                "measured_at": "2026-05-04T10:30:00+01:00",
                "unit": "cm",
                "over": "close_clothing",
                "readings": [
                    {"measure": "waist_girth", "typed": "76", "take": 1},
                    {"measure": "waist_girth", "typed": "76,4 cm", "take": 2},
                    {"measure": "back_waist_length", "typed": "16 1/8 in"},
                ],
            },
            request_only=True,
        )
    ]
)
class MeasuringIn(serializers.Serializer):
    client = serializers.UUIDField()
    measured_at = serializers.DateTimeField()
    measured_by = serializers.UUIDField(
        required=False,
        help_text="The member who measured. Only she may send it; left out, it is whoever sends.",
    )
    readings = TypedReadingIn(many=True)
    unit = serializers.ChoiceField(
        UNITS, required=False, help_text="Where a reading names none; left out: the client's own."
    )
    over = serializers.ChoiceField(OVER, required=False)
    shoes = serializers.BooleanField(required=False)
    posture = serializers.CharField(max_length=80, required=False)
    tape = serializers.CharField(max_length=80, required=False, allow_blank=True)
    guardian_present = serializers.CharField(
        max_length=160, required=False, allow_blank=True, help_text="Who, where the client is under 18."
    )
    notes = serializers.CharField(max_length=2000, required=False, allow_blank=True)


class MeasuringOut(serializers.Serializer):
    id = serializers.UUIDField()
    client = serializers.UUIDField(source="client_id")
    measured_at = serializers.DateTimeField()
    measured_by = serializers.UUIDField(source="measured_by_id")
    measurer = serializers.CharField(help_text="In words, also where it is nobody who works here.")
    measurer_known = serializers.BooleanField(
        help_text="false: brought in from a hand unknown here; measured_by then answers for it."
    )
    over = serializers.ChoiceField(OVER)
    shoes = serializers.BooleanField()
    posture = serializers.CharField()
    tape = serializers.CharField()
    guardian_present = serializers.CharField()
    notes = serializers.CharField()
    recorded_at = serializers.DateTimeField()


class MeasuringRowOut(MeasuringOut):
    measures_taken = serializers.IntegerField(help_text="How many different measures.")


class ReadingOut(serializers.Serializer):
    """``value`` is mm (weight: kg); a reading that was superseded stays, with ``stands`` false."""

    id = serializers.UUIDField()
    client = serializers.UUIDField(source="client_id")
    measuring = serializers.UUIDField(source="measuring_id")
    measure = serializers.CharField()
    take = serializers.IntegerField()
    value = serializers.DecimalField(max_digits=10, decimal_places=4)
    unit = serializers.SerializerMethodField()
    typed = serializers.CharField()
    stands = serializers.SerializerMethodField(help_text="Was it not superseded?")
    supersedes = serializers.UUIDField(source="supersedes_id", allow_null=True)
    reason = serializers.CharField()
    kept_because = serializers.CharField()
    recorded_by = serializers.UUIDField(source="recorded_by_id")
    recorded_at = serializers.DateTimeField()

    def get_unit(self, reading: Any) -> str:
        known = catalogue().measures.get(reading.measure)
        return known.unit if known else "mm"

    def get_stands(self, reading: Any) -> bool:
        return reading.pk not in self.context.get("superseded", ())


@extend_schema_field({"type": "array", "items": {"type": "string"}, "example": ["waist_girth"]})
class CodesField(serializers.ListField):
    child = serializers.CharField()


class MeasuringWithReadingsOut(MeasuringOut):
    readings = ReadingOut(many=True)
    asks_again = CodesField(help_text="Measures whose two takes differ by more than the tape explains.")


class TakeIn(serializers.Serializer):
    measure = serializers.CharField(max_length=64)
    typed = serializers.CharField(max_length=32)
    unit = serializers.ChoiceField(UNITS, required=False)


@extend_schema_serializer(
    examples=[
        OpenApiExample("a slip", {"typed": "97,5 cm", "reason": "79 was written for 97"}, request_only=True)
    ]
)
class CorrectionIn(serializers.Serializer):
    typed = serializers.CharField(max_length=32)
    reason = serializers.CharField(max_length=200)
    unit = serializers.ChoiceField(UNITS, required=False)


class BodyMeasureOut(serializers.Serializer):
    code = serializers.CharField()
    name = serializers.CharField()
    value = serializers.DecimalField(max_digits=10, decimal_places=4, help_text="mm; weight: kg")
    unit = serializers.CharField()
    takes = serializers.IntegerField(help_text="Of two the mean counts, of three the median.")
    measured_at = serializers.DateTimeField()
    measuring = serializers.UUIDField(source="measuring_id")
    readings = serializers.ListField(child=serializers.UUIDField(), source="reading_ids")
    measured_by = serializers.UUIDField(source="measured_by_id")
    measurer = serializers.CharField(source="measured_by")


class ChangeOut(serializers.Serializer):
    code = serializers.CharField()
    name = serializers.CharField()
    before = serializers.DecimalField(max_digits=10, decimal_places=4)
    after = serializers.DecimalField(max_digits=10, decimal_places=4)
    difference = serializers.DecimalField(max_digits=10, decimal_places=4)
    unit = serializers.CharField(help_text="mm or kg")
    threshold = serializers.FloatField(help_text="The smallest difference that would have counted.")
    beyond = serializers.BooleanField()
    words = serializers.CharField(help_text="beyond the tape, or within the tape")
    before_at = serializers.DateTimeField()
    after_at = serializers.DateTimeField()
    other_measurer = serializers.BooleanField()


class MeasureOut(serializers.Serializer):
    """Errors and ranges are in ``unit``."""

    code = serializers.CharField()
    name = serializers.CharField()
    iso_8559 = serializers.CharField(allow_null=True, help_text="The name in ISO 8559:1989.")
    kind = serializers.CharField()
    side = serializers.CharField()
    unit = serializers.CharField()
    instruction = serializers.CharField()
    note = serializers.CharField()
    technical_error = serializers.FloatField()
    between_error = serializers.FloatField(help_text="Between measurers.")
    technical_error_source = serializers.CharField()
    range_adult = serializers.ListField(child=serializers.FloatField(), source="adult")
    range_child = serializers.ListField(child=serializers.FloatField(), source="child")
    range_source = serializers.CharField()
    garments = serializers.ListField(child=serializers.CharField())


class MeasureSetOut(serializers.Serializer):
    code = serializers.CharField()
    name = serializers.CharField()
    measures = serializers.ListField(child=serializers.CharField())
    repeat = serializers.SerializerMethodField(help_text="Those that are taken twice.")

    def get_repeat(self, chosen: Any) -> list[str]:
        return [code for code in chosen.measures if code in chosen.repeat]


class ErasureIn(serializers.Serializer):
    reason = serializers.CharField(max_length=200, help_text="Without the client's name: it is kept.")


class ErasureOut(serializers.Serializer):
    id = serializers.UUIDField()
    client = serializers.UUIDField(source="client_id")
    reason = serializers.CharField()
    at = serializers.DateTimeField()
