"""What the garments' part of the API takes and gives."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, extend_schema_field, extend_schema_serializer
from rest_framework import serializers

from fitting.queries.checkpoints import CODES, CheckpointState
from fitting.queries.reports import issued_of, link_address, link_state
from studio.platform.choices import LANGUAGES

KIND_HELP = "skirt, trousers, bodice, dress, shirt, jacket or tshirt"


class NamedOut(serializers.Serializer):
    """A row that is pointed at, with its name."""

    id = serializers.UUIDField()
    name = serializers.CharField()


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Teal trousers",
            request_only=True,
            value={
                "client": "019aa0b2-7c3e-7a51-8f0e-2b1d5c6a7e90",
                "kind": "trousers",
                "words": "teal trousers",
                "due": "2026-12-18",
            },
        )
    ]
)
class GarmentIn(serializers.Serializer):
    client = serializers.UUIDField()
    kind = serializers.CharField(help_text=KIND_HELP)
    words = serializers.CharField(max_length=160, help_text="By which it is found again: `teal trousers`.")
    pattern = serializers.UUIDField(required=False, allow_null=True, default=None)
    cloth = serializers.UUIDField(required=False, allow_null=True, default=None)
    due = serializers.DateField(required=False, allow_null=True, default=None)
    for_child = serializers.BooleanField(required=False, default=False)
    notes = serializers.CharField(required=False, allow_blank=True, default="", max_length=2000)


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Tie the plan and the cloth",
            request_only=True,
            value={
                "plan": "019aa0b2-9d10-7c44-b8f2-0d4e6f8a1b23",
                "cloth": "019aa0b2-8a7b-7e12-9c3d-5e6f7a8b9c01",
            },
        )
    ]
)
class GarmentChange(serializers.Serializer):
    """What is left out stays as it is."""

    words = serializers.CharField(required=False, max_length=160)
    pattern = serializers.UUIDField(required=False, allow_null=True)
    cloth = serializers.UUIDField(required=False, allow_null=True)
    plan = serializers.UUIDField(required=False, allow_null=True, help_text="A fit plan of this client.")
    due = serializers.DateField(required=False, allow_null=True)
    for_child = serializers.BooleanField(required=False)
    notes = serializers.CharField(required=False, allow_blank=True, max_length=2000)
    given_up = serializers.BooleanField(required=False)


class GarmentOut(serializers.Serializer):
    id = serializers.UUIDField()
    client = serializers.SerializerMethodField()
    kind = serializers.CharField(help_text=KIND_HELP)
    words = serializers.CharField()
    pattern = serializers.SerializerMethodField()
    cloth = serializers.SerializerMethodField()
    plan = serializers.UUIDField(source="plan_id", allow_null=True)
    for_child = serializers.BooleanField()
    due = serializers.DateField(allow_null=True)
    state = serializers.CharField(help_text="open, handed_over or given_up")
    notes = serializers.CharField()
    version = serializers.IntegerField(help_text="The ETag for If-Match.")
    created_at = serializers.DateTimeField()

    @extend_schema_field(NamedOut)
    def get_client(self, row: Any) -> dict[str, Any]:
        return {"id": row.client_id, "name": row.client.name}

    @extend_schema_field(NamedOut(allow_null=True))
    def get_pattern(self, row: Any) -> dict[str, Any] | None:
        return {"id": row.pattern_id, "name": row.pattern.name} if row.pattern else None

    @extend_schema_field(NamedOut(allow_null=True))
    def get_cloth(self, row: Any) -> dict[str, Any] | None:
        return {"id": row.cloth_id, "name": row.cloth.name} if row.cloth else None


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Side seams",
            request_only=True,
            value={"place": "side seams", "version": "019aa0b2-a1b2-7c3d-9e4f-5a6b7c8d9e0f"},
        )
    ]
)
class SeamIn(serializers.Serializer):
    place = serializers.CharField(
        max_length=80, help_text="Which seam; one that is chosen already is chosen anew."
    )
    version = serializers.UUIDField(help_text="A version of a seam recipe.")


class GarmentSeamOut(serializers.Serializer):
    id = serializers.UUIDField()
    place = serializers.CharField()
    recipe = serializers.CharField()
    version = serializers.UUIDField(source="version_id")
    number = serializers.IntegerField()
    settings = serializers.CharField()
    proven_on = serializers.DateField(
        allow_null=True, help_text="Newest passing trial on the garment's cloth."
    )
    newest_verdict = serializers.CharField(help_text="Of any trial on that cloth; empty where there is none.")


class GarmentSeamsOut(serializers.Serializer):
    results = GarmentSeamOut(many=True)


@extend_schema_serializer(
    examples=[
        OpenApiExample("Done", request_only=True, value={"checkpoint": "lay_and_grain", "answer": "done"}),
        OpenApiExample(
            "Gone past",
            request_only=True,
            value={
                "checkpoint": "seams_proven",
                "answer": "passed_by",
                "reason": "The same cloth and recipe as the first pair.",
            },
        ),
    ]
)
class CheckpointIn(serializers.Serializer):
    checkpoint = serializers.CharField(help_text=", ".join(CODES))
    answer = serializers.CharField(help_text="done, passed_by (an instructor, with a reason) or reopened")
    reason = serializers.CharField(required=False, allow_blank=True, default="", max_length=400)


class AnswerOut(serializers.Serializer):
    answer = serializers.CharField()
    reason = serializers.CharField()
    by = serializers.CharField()
    at = serializers.DateTimeField()
    missing = serializers.ListField(
        child=serializers.CharField(), help_text="What was missing when it was gone past."
    )


class CheckpointOut(serializers.Serializer):
    checkpoint = serializers.CharField(source="code")
    name = serializers.CharField(source="checkpoint.name")
    question = serializers.CharField(source="checkpoint.question")
    stops = serializers.CharField(
        source="checkpoint.stop", help_text="cutting, sewing or empty: what waits for it"
    )
    state = serializers.CharField(
        help_text="open, done, passed_by or in_doubt (done, but something came up since)"
    )
    needs = serializers.ListField(child=serializers.CharField(), help_text="What is missing, in words.")
    remarks = serializers.ListField(child=serializers.CharField())
    answer = AnswerOut(allow_null=True)


class StopOut(serializers.Serializer):
    before = serializers.CharField(help_text="cutting or sewing")
    clear = serializers.BooleanField()
    open = serializers.SerializerMethodField()
    passed_by = serializers.SerializerMethodField()

    def get_open(self, stop: Any) -> list[str]:
        return _codes(stop.open)

    def get_passed_by(self, stop: Any) -> list[str]:
        return _codes(stop.passed_by)


class CheckpointsOut(serializers.Serializer):
    results = CheckpointOut(many=True)
    stops = StopOut(many=True)


def _codes(states: tuple[CheckpointState, ...]) -> list[str]:
    return [state.code for state in states]


@extend_schema_serializer(examples=[OpenApiExample("A first report", request_only=True, value={})])
class ReportIn(serializers.Serializer):
    corrects = serializers.UUIDField(
        required=False,
        allow_null=True,
        default=None,
        help_text="An earlier report of this garment that it replaces.",
    )
    language = serializers.ChoiceField(
        LANGUAGES,
        required=False,
        allow_blank=True,
        default="",
        help_text="The language that it is written in; left out, the client's.",
    )
    photos = serializers.ListField(
        child=serializers.UUIDField(),
        required=False,
        default=list,
        help_text="Photographs of signed-off fittings that it shows; the consent to photographs must hold.",
    )


class PreviewAsked(serializers.Serializer):
    language = serializers.ChoiceField(
        LANGUAGES, required=False, default="", help_text="Left out, the client's."
    )


class PreviewOut(serializers.Serializer):
    """A report as it would be frozen now; nothing is kept."""

    snapshot = serializers.DictField(
        help_text="Sections of text in the language asked for, as a report freezes them."
    )


class IssuedOut(serializers.Serializer):
    issued_at = serializers.DateTimeField()
    pages = serializers.IntegerField()
    sha256 = serializers.CharField()
    rendered_with = serializers.DictField(child=serializers.CharField())


class LinkOut(serializers.Serializer):
    id = serializers.UUIDField()
    address = serializers.SerializerMethodField(
        help_text="What is sent to the client; empty once it opens nothing."
    )
    state = serializers.SerializerMethodField(help_text="open, expired or revoked")
    made_at = serializers.DateTimeField()
    expires_at = serializers.DateTimeField()
    openings = serializers.IntegerField()
    last_opened_at = serializers.DateTimeField(allow_null=True)

    def get_state(self, link: Any) -> str:
        return link_state(link, self.context["now"])

    @extend_schema_field(OpenApiTypes.STR)
    def get_address(self, link: Any) -> str:
        return link_address(link) if self.get_state(link) == "open" else ""


class ReportOut(serializers.Serializer):
    id = serializers.UUIDField()
    garment = serializers.UUIDField(source="garment_id")
    number = serializers.IntegerField()
    language = serializers.CharField(source="snapshot.language")
    corrects = serializers.UUIDField(source="corrects_id", allow_null=True)
    asked_at = serializers.DateTimeField()
    job = serializers.UUIDField(source="job_id")
    job_state = serializers.CharField(source="job.state")
    progress = serializers.IntegerField(source="job.progress", help_text="percent")
    issued = serializers.SerializerMethodField(help_text="What was issued; null while it is being made.")
    links = serializers.SerializerMethodField()

    @extend_schema_field(IssuedOut(allow_null=True))
    def get_issued(self, report: Any) -> Any:
        issued = issued_of(report)
        return IssuedOut(issued).data if issued else None

    @extend_schema_field(LinkOut(many=True))
    def get_links(self, report: Any) -> Any:
        return LinkOut(report.links.all(), many=True, context=self.context).data


@extend_schema_serializer(examples=[OpenApiExample("A month", request_only=True, value={"days": 30})])
class LinkIn(serializers.Serializer):
    days = serializers.IntegerField(required=False, default=30, help_text="1 to 365")


class MadeLinkOut(LinkOut):
    send_to = serializers.CharField(help_text="A minor's link goes to the guardian.")
    send_by = serializers.CharField(help_text="Email or telephone, if known.")


class SizeOut(serializers.Serializer):
    zone = serializers.CharField()
    size = serializers.CharField()


class EaseOut(serializers.Serializer):
    zone = serializers.CharField()
    ease_mm = serializers.DecimalField(max_digits=10, decimal_places=4)


class ChangeMadeOut(serializers.Serializer):
    on = serializers.DateField()
    place = serializers.CharField()
    words = serializers.CharField()


class PastGarmentOut(serializers.Serializer):
    id = serializers.UUIDField()
    words = serializers.CharField()
    kind = serializers.CharField()
    state = serializers.CharField()
    year = serializers.IntegerField()
    due = serializers.DateField(allow_null=True)
    pattern = serializers.CharField()
    cloth = serializers.CharField()
    sizes = serializers.SerializerMethodField()
    ease = EaseOut(many=True)
    changes = ChangeMadeOut(many=True)

    @extend_schema_field(SizeOut(many=True))
    def get_sizes(self, garment: Any) -> list[dict[str, str]]:
        return [{"zone": zone, "size": size} for zone, size in garment.sizes]


class PastFitOut(serializers.Serializer):
    client = serializers.UUIDField(source="client_id")
    name = serializers.CharField()
    telephone = serializers.CharField()
    garments = PastGarmentOut(many=True)


class PastFitsOut(serializers.Serializer):
    results = PastFitOut(many=True)
