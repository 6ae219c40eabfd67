"""Fit reports of a whole class over the API: what could be asked for, asking for many at once, how far they are."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.queries.class_reports import report_batch, report_candidates
from fitting.services.class_reports import MOST_AT_ONCE, ask_reports
from studio.platform.api.base import HouseView
from studio.platform.rights import Right


class CourseAsked(serializers.Serializer):
    course = serializers.UUIDField(
        required=False, default=None, help_text="The garments of its students; left out, those on the bench."
    )


class CandidateOut(serializers.Serializer):
    garment = serializers.UUIDField(source="garment.pk")
    words = serializers.CharField(source="garment.words")
    client = serializers.UUIDField(source="garment.client_id")
    client_name = serializers.CharField(source="garment.client.name")
    missing = serializers.CharField(help_text="Why there can be no report now; empty where there can.")
    newest = serializers.IntegerField(
        source="newest.number", default=None, allow_null=True, help_text="Number of its newest report."
    )


class CandidatesOut(serializers.Serializer):
    results = CandidateOut(source="rows", many=True)
    without = serializers.ListField(
        child=serializers.CharField(), help_text="Students of the course who have no garment."
    )


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "Two garments",
            request_only=True,
            value={
                "garments": ["019aa0b2-7c3e-7a51-8f0e-2b1d5c6a7e90", "019aa0b2-7c3e-7a51-8f0e-2b1d5c6a7e91"]
            },
        )
    ]
)
class BatchIn(serializers.Serializer):
    garments = serializers.ListField(
        child=serializers.UUIDField(), min_length=1, max_length=MOST_AT_ONCE, help_text="At most 60."
    )


class AskedOut(serializers.Serializer):
    garment = serializers.UUIDField(source="garment.pk")
    report = serializers.UUIDField(source="report.pk", default=None, allow_null=True)
    job = serializers.UUIDField(source="report.job_id", default=None, allow_null=True)
    missing = serializers.CharField(help_text="Why none was asked for; empty where one was.")


class AskedBatchOut(serializers.Serializer):
    id = serializers.UUIDField()
    results = AskedOut(source="rows", many=True)


class BatchLineOut(serializers.Serializer):
    report = serializers.UUIDField(
        source="report.pk", default=None, allow_null=True, help_text="Null where the client was erased since."
    )
    garment = serializers.UUIDField(source="report.garment_id", default=None, allow_null=True)
    number = serializers.IntegerField(source="report.number", default=None, allow_null=True)
    job = serializers.UUIDField(source="job.pk")
    job_state = serializers.CharField(source="job.state")
    issued = serializers.SerializerMethodField(help_text="Whether its PDF is there.")
    amiss = serializers.CharField(help_text="Why there is no report, in words; empty otherwise.")

    def get_issued(self, line: Any) -> bool:
        return line.issued is not None


class BatchOut(serializers.Serializer):
    id = serializers.UUIDField()
    done = serializers.IntegerField(help_text="How many PDFs are there.")
    ended = serializers.BooleanField(help_text="Whether nothing is being made any more.")
    results = BatchLineOut(source="lines", many=True)


class ReportBatches(HouseView):
    rights = {"GET": Right.ISSUE_REPORTS, "POST": Right.ISSUE_REPORTS}

    @extend_schema(
        operation_id="report_batches_candidates",
        summary="The garments of a course or of the bench, and what each lacks for a fit report",
        parameters=[CourseAsked],
        responses=CandidatesOut,
    )
    def get(self, request: Request) -> Response:
        asked = CourseAsked(data=request.query_params)
        asked.is_valid(raise_exception=True)
        return Response(CandidatesOut(report_candidates(self.actor, asked.validated_data["course"])).data)

    @extend_schema(
        operation_id="report_batches_ask",
        summary="Ask for the fit reports of several garments; one job for each",
        request=BatchIn,
        responses={202: AskedBatchOut},
    )
    def post(self, request: Request) -> Response:
        given = self.typed(BatchIn)
        made = ask_reports(self.actor, given["garments"])
        return Response(
            AskedBatchOut(made).data,
            status=202,
            headers={"Location": reverse("report-batch-read", args=[made.id])},
        )


class ReportBatchRead(HouseView):
    rights = {"GET": Right.ISSUE_REPORTS}

    @extend_schema(
        operation_id="report_batches_read",
        summary="How far the reports of one act are",
        responses={200: BatchOut},
    )
    def get(self, request: Request, batch_id: UUID) -> Response:
        return Response(BatchOut(report_batch(self.actor, batch_id)).data)
