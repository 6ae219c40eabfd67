"""What the try-ons' part of the API takes and gives."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_serializer
from rest_framework import serializers

from fitting.queries.fittings import PLACES
from fitting.services.told import Told
from studio.calc.units import parse_length

SESSION_HELP = "paper, toile, baste or final"
DECISION_HELP = "take_in, let_out, lengthen, shorten, reshape, leave or open"
AMOUNT_HELP = (
    "As typed, in all round the body or of the whole length: `1,5 cm`, `5/8 in`; without a unit in `unit`."
)


def _text(most: int, words: str) -> serializers.CharField:
    return serializers.CharField(
        required=False, allow_blank=True, default="", max_length=most, help_text=words
    )


def _length(field: str, typed: str, unit: str) -> Decimal | None:
    """Exact millimetres, None for nothing typed, or a reason of the field."""
    if not typed.strip():
        return None
    try:
        return parse_length(typed, unit)
    except ValueError as exc:
        raise serializers.ValidationError({field: [str(exc)]}) from exc


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A basted fitting",
            request_only=True,
            value={"kind": "baste", "held_at": "2026-11-21T15:30:00Z", "worn": "low shoes"},
        )
    ]
)
class SessionIn(serializers.Serializer):
    kind = serializers.CharField(help_text=SESSION_HELP)
    held_at = serializers.DateTimeField()
    worn = serializers.CharField(required=False, allow_blank=True, default="", max_length=160)
    posture = serializers.CharField(required=False, allow_blank=True, default="", max_length=80)


class _AmountTyped(serializers.Serializer):
    amount = serializers.CharField(
        required=False, allow_blank=True, default="", max_length=32, help_text=AMOUNT_HELP
    )
    unit = serializers.CharField(
        required=False, default="cm", help_text="cm, in or mm: for an amount without a unit"
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """The amount becomes exact millimetres, or a reason of its field."""
        typed, unit = attrs.pop("amount"), attrs.pop("unit")
        attrs["amount_mm"] = _length("amount", typed, unit)
        return attrs


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "The waist stands away",
            request_only=True,
            value={
                "place": "waist",
                "side": "both",
                "seen": "the band stands away when sitting",
                "decision": "take_in",
                "amount": "1,2 cm",
                "decided": "at the back seam",
            },
        )
    ]
)
class NoteIn(_AmountTyped):
    place = serializers.CharField(help_text=", ".join(PLACES))
    side = serializers.CharField(required=False, default="both", help_text="left, right or both")
    seen = serializers.CharField(
        required=False,
        allow_blank=True,
        default="",
        max_length=400,
        help_text="What is seen on the garment, in words; may be empty where a sign is named.",
    )
    sign = _text(24, "A sign of `/fit-signs/`.")
    direction = _text(16, "Its direction, where it has one.")
    pinched = _text(32, "The cloth taken up or let go until the sign was gone, as typed, in all.")
    view = _text(8, "front, back or side: the figure on which it was tapped.")
    mark = serializers.ListField(
        child=serializers.DecimalField(max_digits=5, decimal_places=4),
        min_length=2,
        max_length=2,
        required=False,
        allow_null=True,
        default=None,
        help_text="Where it was tapped: shares (0 to 1) of the figure's width and height.",
    )
    change = _text(40, "What is done on the paper: a change of `/fit-signs/`.")
    piece = _text(80, "The piece it is done on: one of the pattern's where it has pieces.")
    seam = _text(80, "The seam it is done at: one of that piece's where they are drawn.")
    decision = serializers.CharField(required=False, default="open", help_text=DECISION_HELP)
    decided = serializers.CharField(required=False, allow_blank=True, default="", max_length=400)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        unit = attrs.get("unit", "cm")
        attrs = super().validate(attrs)
        pinched = _length("pinched", attrs.pop("pinched"), unit)
        mark = attrs.pop("mark")
        told = {name: attrs.pop(name) for name in ("sign", "direction", "view", "change", "piece", "seam")}
        attrs["told"] = Told(pinched_mm=pinched, mark=tuple(mark) if mark else None, **told)
        return attrs


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Let the hip out",
            request_only=True,
            value={"decision": "let_out", "amount": "5/8 in", "decided": "side seams"},
        )
    ]
)
class DecisionIn(_AmountTyped):
    decision = serializers.CharField(help_text=DECISION_HELP)
    change = _text(40, "What is done on the paper: a change of `/fit-signs/`.")
    piece = _text(80, "The piece it is done on: one of the pattern's where it has pieces.")
    seam = _text(80, "The seam it is done at: one of that piece's where they are drawn.")
    decided = serializers.CharField(required=False, allow_blank=True, default="", max_length=400)


@extend_schema_serializer(
    examples=[OpenApiExample("Agreed", request_only=True, value={"client_agreed": True, "note": ""})]
)
class SignOffIn(serializers.Serializer):
    client_agreed = serializers.BooleanField()
    note = serializers.CharField(required=False, allow_blank=True, default="", max_length=400)


class FitNoteOut(serializers.Serializer):
    id = serializers.UUIDField()
    session = serializers.UUIDField(source="session_id")
    place = serializers.CharField()
    side = serializers.CharField()
    seen = serializers.CharField()
    decision = serializers.CharField(help_text=DECISION_HELP)
    amount_mm = serializers.DecimalField(max_digits=10, decimal_places=4, allow_null=True)
    decided = serializers.CharField()
    sign = serializers.CharField()
    direction = serializers.CharField()
    pinched_mm = serializers.DecimalField(max_digits=10, decimal_places=4, allow_null=True)
    view = serializers.CharField()
    mark_x = serializers.DecimalField(max_digits=5, decimal_places=4, allow_null=True)
    mark_y = serializers.DecimalField(max_digits=5, decimal_places=4, allow_null=True)
    change = serializers.CharField()
    piece = serializers.CharField()
    seam = serializers.CharField()
    noted_by = serializers.CharField()
    noted_at = serializers.DateTimeField()
    supersedes = serializers.UUIDField(source="supersedes_id", allow_null=True)
    is_superseded = serializers.BooleanField()


class SignOffOut(serializers.Serializer):
    signed_by = serializers.CharField(source="signed_by.name")
    signed_at = serializers.DateTimeField()
    client_agreed = serializers.BooleanField()
    note = serializers.CharField()


@extend_schema_serializer(
    examples=[OpenApiExample("Agreed in person", request_only=True, value={"name": "Ada Rook"})]
)
class ClientAgreementIn(serializers.Serializer):
    name = serializers.CharField(max_length=120, help_text="As whoever agrees types it.")
    by_guardian = serializers.BooleanField(
        required=False, default=False, help_text="For somebody under 18: a guardian agrees."
    )


class AgreedPointOut(serializers.Serializer):
    where = serializers.CharField()
    seen = serializers.CharField()
    done = serializers.CharField()
    decided = serializers.CharField()


class AgreedOut(serializers.Serializer):
    """What was read, frozen; lengths in words, in the client's unit then."""

    garment = serializers.CharField()
    kind = serializers.CharField()
    held_at = serializers.DateTimeField()
    worn = serializers.CharField()
    points = AgreedPointOut(many=True)
    sentence = serializers.CharField()


class ClientAgreementOut(serializers.Serializer):
    name = serializers.CharField()
    by_guardian = serializers.BooleanField()
    witness = serializers.CharField(source="witness.name", help_text="The member who was signed in.")
    at = serializers.DateTimeField()
    agreed = AgreedOut()


class SessionOut(serializers.Serializer):
    id = serializers.UUIDField()
    garment = serializers.UUIDField(source="garment_id")
    kind = serializers.CharField(help_text=SESSION_HELP)
    held_at = serializers.DateTimeField()
    fitted_by = serializers.CharField()
    worn = serializers.CharField()
    posture = serializers.CharField()
    notes = FitNoteOut(many=True, help_text="Those that hold.")
    earlier = FitNoteOut(many=True, help_text="Those that later ones superseded.")
    sign_off = SignOffOut(allow_null=True)
    agreement = ClientAgreementOut(allow_null=True, help_text="The client's own word on it.")


class MeaningOut(serializers.Serializer):
    """A likely cause of a sign, with the usual change; amounts in mm in all, and at each edge."""

    cause = serializers.CharField()
    change = serializers.CharField(source="change.code")
    change_name = serializers.CharField(source="change.name")
    how = serializers.CharField(source="change.how")
    decision = serializers.CharField(source="change.decision")
    zone = serializers.CharField(source="change.zone", help_text="The fit plan's zone, where it has one.")
    amount_mm = serializers.FloatField(source="amount", allow_null=True)
    each_mm = serializers.FloatField(source="each", allow_null=True)
    why = serializers.CharField()
    nearness = serializers.CharField(help_text="here: at this place; general: what the sign means anywhere")
    source = serializers.CharField()  # type: ignore[assignment]


class SignOut(serializers.Serializer):
    code = serializers.CharField()
    name = serializers.CharField()
    how = serializers.CharField()
    directions = serializers.ListField(child=serializers.CharField())


class SignsOut(serializers.Serializer):
    """The signs; with a place and a sign asked for, what it may mean there, the nearest first."""

    signs = SignOut(many=True)
    meanings = MeaningOut(many=True)


class FitPhotoIn(serializers.Serializer):
    picture = serializers.FileField(help_text="JPEG, PNG or WebP; drawn anew before it is kept.")


class FitPhotoOut(serializers.Serializer):
    id = serializers.UUIDField()
    note = serializers.UUIDField(source="note_id")
    taken_at = serializers.DateTimeField()
