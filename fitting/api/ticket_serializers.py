"""Tickets and prices in the API. Lengths in mm; money in whole numbers of the currency's smallest unit."""

from typing import Any

from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from fitting.api.garment_serializers import NamedOut
from fitting.calc.money import MOST_MINOR
from fitting.calc.ticket_number import ticket_words

MINOR = "In the currency's smallest unit: 1250 is 12.50 EUR."
WAYS = "cash, card, transfer or other"
STATES = "taken_in, in_work, ready, handed_over or given_up"


def _mm(**options: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=10, decimal_places=4, **options)


class RoomOut(serializers.Serializer):
    words = serializers.CharField()
    keep_mm = serializers.FloatField(help_text="The least to leave where nothing else is said.")
    edges = serializers.ListField(child=serializers.IntegerField())


class AlterationJobOut(serializers.Serializer):
    code = serializers.CharField()
    name = serializers.CharField()
    amount = serializers.CharField(help_text="What is pinned; empty where nothing is.")
    needs_amount = serializers.BooleanField()
    room = serializers.SerializerMethodField(help_text="What must be measured inside first.")
    look = serializers.CharField()

    @extend_schema_field(RoomOut(allow_null=True))
    def get_room(self, row: Any) -> dict[str, Any] | None:
        room = row.room
        if room is None:
            return None
        return {"words": room.words, "keep_mm": room.keep_mm, "edges": [number for number, _ in room.edges]}


class CounterOut(serializers.Serializer):
    currency = serializers.CharField(help_text="Of ISO 4217; empty until it is chosen.")


class CounterIn(serializers.Serializer):
    currency = serializers.CharField(max_length=3)


class PriceIn(serializers.Serializer):
    job = serializers.CharField(max_length=24)
    kind = serializers.CharField(
        max_length=16, required=False, allow_blank=True, help_text="Empty: any garment."
    )
    words = serializers.CharField(max_length=80, required=False, allow_blank=True)
    minor = serializers.IntegerField(min_value=0, max_value=MOST_MINOR, help_text=MINOR)


class PriceChange(serializers.Serializer):
    minor = serializers.IntegerField(min_value=0, max_value=MOST_MINOR, required=False, help_text=MINOR)
    active = serializers.BooleanField(required=False)


class PriceOut(serializers.Serializer):
    id = serializers.UUIDField()
    job = serializers.CharField()
    kind = serializers.CharField()
    words = serializers.CharField()
    minor = serializers.IntegerField(help_text=MINOR)
    active = serializers.BooleanField()
    version = serializers.IntegerField(help_text="The ETag for If-Match.")


class TicketJobIn(serializers.Serializer):
    job = serializers.CharField(max_length=24, help_text="A code of alteration-jobs.")
    where = serializers.CharField(max_length=120, required=False, allow_blank=True)
    amount_mm = _mm(required=False, allow_null=True, help_text="Pinned, in all.")
    allowance_mm = _mm(required=False, allow_null=True, help_text="Measured inside, at each edge.")
    keep_mm = _mm(required=False, allow_null=True, help_text="The least to leave.")
    edges = serializers.IntegerField(required=False, allow_null=True)
    price_minor = serializers.IntegerField(
        min_value=0, max_value=MOST_MINOR, required=False, allow_null=True, help_text="Left out: the list's."
    )


class NewClientIn(serializers.Serializer):
    name = serializers.CharField(max_length=160)
    reach = serializers.CharField(
        max_length=254, required=False, allow_blank=True, help_text="Telephone or email."
    )
    same_name = serializers.BooleanField(required=False, help_text="Somebody else of a name that is known.")


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Trousers to shorten",
            request_only=True,
            value={
                "client": "019aa0b2-a1b2-7c3d-9e4f-5a6b7c8d9e0f",
                "words": "rust corduroy trousers",
                "kind": "trousers",
                "due": "2026-12-04",
                "jobs": [
                    {"job": "shorten_hem", "where": "both legs", "amount_mm": "32", "price_minor": 1450}
                ],
                "deposit_minor": 500,
                "deposit_way": "cash",
            },
        )
    ]
)
class TicketIn(serializers.Serializer):
    """Client or new_client; garment, or words and kind."""

    client = serializers.UUIDField(source="client_id", required=False, allow_null=True)
    new_client = NewClientIn(required=False, allow_null=True)
    garment = serializers.UUIDField(source="garment_id", required=False, allow_null=True)
    words = serializers.CharField(max_length=160, required=False, allow_blank=True)
    kind = serializers.CharField(max_length=16, required=False, allow_blank=True)
    for_child = serializers.BooleanField(required=False)
    due = serializers.DateField(required=False, allow_null=True)
    note = serializers.CharField(max_length=400, required=False, allow_blank=True)
    jobs = TicketJobIn(many=True)
    deposit_minor = serializers.IntegerField(
        min_value=0, max_value=MOST_MINOR, required=False, help_text=MINOR
    )
    deposit_way = serializers.CharField(required=False, help_text=WAYS)


class TicketChange(serializers.Serializer):
    due = serializers.DateField(required=False, allow_null=True)
    note = serializers.CharField(max_length=400, required=False, allow_blank=True)


class TicketStateIn(serializers.Serializer):
    state = serializers.CharField(help_text=STATES)
    reason = serializers.CharField(max_length=400, required=False, allow_blank=True)


class TicketJobStateIn(serializers.Serializer):
    state = serializers.CharField(help_text="to_do, done or left_out")
    reason = serializers.CharField(max_length=200, required=False, allow_blank=True)


class TicketPaymentIn(serializers.Serializer):
    minor = serializers.IntegerField(min_value=1, max_value=MOST_MINOR, help_text=MINOR)
    way = serializers.CharField(help_text=WAYS)
    deposit = serializers.BooleanField(required=False)
    give_back = serializers.BooleanField(required=False)
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class PaymentCorrectionIn(serializers.Serializer):
    note = serializers.CharField(max_length=200)


class HandOverIn(serializers.Serializer):
    paid_minor = serializers.IntegerField(min_value=0, max_value=MOST_MINOR, required=False, help_text=MINOR)
    way = serializers.CharField(required=False, help_text=WAYS)
    unpaid_reason = serializers.CharField(max_length=200, required=False, allow_blank=True)


class TicketNoticeIn(serializers.Serializer):
    by = serializers.CharField(help_text="email or telephone")
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)


class TicketNoticeOut(serializers.Serializer):
    by = serializers.CharField()
    job = serializers.UUIDField(allow_null=True, help_text="The work that sends the email.")


class TicketLineOut(serializers.Serializer):
    """A ticket without its parts."""

    id = serializers.UUIDField()
    number = serializers.SerializerMethodField()
    client = serializers.SerializerMethodField()
    garment = serializers.SerializerMethodField()
    state = serializers.CharField(help_text=STATES)
    due = serializers.DateField(allow_null=True)
    currency = serializers.CharField()
    total_minor = serializers.IntegerField(source="total", help_text=MINOR)
    paid_minor = serializers.IntegerField(source="paid", help_text=MINOR)
    note = serializers.CharField()
    taken_in_at = serializers.DateTimeField(source="created_at")
    taken_in_by = serializers.CharField(source="taken_in_by.name")
    version = serializers.IntegerField(help_text="The ETag for If-Match.")

    def get_number(self, row: Any) -> str:
        return ticket_words(row.number)

    @extend_schema_field(NamedOut)
    def get_client(self, row: Any) -> dict[str, Any]:
        return {"id": row.garment.client_id, "name": row.garment.client.name}

    @extend_schema_field(NamedOut)
    def get_garment(self, row: Any) -> dict[str, Any]:
        return {"id": row.garment_id, "name": row.garment.words}


class TicketJobOut(serializers.Serializer):
    id = serializers.UUIDField(source="row.id")
    job = serializers.CharField(source="row.job")
    name = serializers.CharField()
    where = serializers.CharField(source="row.where")
    amount_mm = _mm(source="row.amount_mm", allow_null=True)
    allowance_mm = _mm(source="row.allowance_mm", allow_null=True)
    keep_mm = _mm(source="row.keep_mm", allow_null=True)
    edges = serializers.IntegerField(source="row.edges", allow_null=True)
    most_mm = serializers.SerializerMethodField(help_text="The most that can be let out.")
    price_minor = serializers.IntegerField(source="row.price_minor", help_text=MINOR)
    state = serializers.CharField(source="row.state", help_text="to_do, done or left_out")
    reason = serializers.CharField(source="row.reason")

    def get_most_mm(self, line: Any) -> float | None:
        return line.reach.most if line.reach else None


class TicketPaymentOut(serializers.Serializer):
    id = serializers.UUIDField(source="row.id")
    minor = serializers.IntegerField(source="row.minor", help_text=MINOR + " Below zero: given back.")
    way = serializers.CharField(source="row.way", help_text=WAYS)
    deposit = serializers.BooleanField(source="row.deposit")
    corrects = serializers.UUIDField(source="row.corrects_id", allow_null=True)
    corrected = serializers.BooleanField()
    note = serializers.CharField(source="row.note")
    taken_by = serializers.CharField(source="row.taken_by.name")
    at = serializers.DateTimeField(source="row.at")


class TicketEventOut(serializers.Serializer):
    what = serializers.CharField(help_text="state, job, changed, told_by_email or told_by_telephone")
    state = serializers.CharField(help_text=STATES)
    words = serializers.CharField()
    by = serializers.CharField(source="by.name", allow_null=True, default=None)
    at = serializers.DateTimeField()


class TicketSlipOut(serializers.Serializer):
    id = serializers.UUIDField()
    number = serializers.IntegerField()
    job = serializers.UUIDField(source="job_id")
    sha256 = serializers.CharField(help_text="Of the PDF; empty until it is drawn.")
    pages = serializers.IntegerField(allow_null=True)
    asked_at = serializers.DateTimeField()


class TicketOut(serializers.Serializer):
    """A ticket with everything that ties to it."""

    ticket = TicketLineOut()
    jobs = TicketJobOut(many=True)
    payments = TicketPaymentOut(many=True)
    events = TicketEventOut(many=True)
    slips = TicketSlipOut(many=True)
    owed_minor = serializers.IntegerField(source="sums.owed", help_text=MINOR)
    may_become = serializers.ListField(source="moves", child=serializers.CharField())
    told_to = serializers.CharField(help_text="Who is told when it is ready; a minor's guardian.")
