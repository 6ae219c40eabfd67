"""Bringing cloth, supplies, recipes and trials in as tables, and taking them out, in the API."""

from drf_spectacular.utils import extend_schema_serializer
from rest_framework import serializers

from seamlab.queries.transfer_tables import TABLES
from studio.platform.api.serializers import JobOut

TABLE_CODES = [(table.code, table.title) for table in TABLES]
FORMS = [("xlsx", "XLSX"), ("csv", "CSV")]
STATES = [("working", "Working"), ("failed", "Failed"), ("checked", "Checked"), ("taken_over", "Taken over")]


@extend_schema_serializer(component_name="SeamTableUploadIn")
class UploadIn(serializers.Serializer):
    file = serializers.FileField(help_text="CSV or XLSX, at most 20 MB.", max_length=400)
    table = serializers.ChoiceField(
        TABLE_CODES, required=False, help_text="What a single table holds, where its heads leave it open."
    )


@extend_schema_serializer(component_name="SeamTableCountOut")
class TableOut(serializers.Serializer):
    table = serializers.ChoiceField(TABLE_CODES)
    title = serializers.CharField()
    rows = serializers.IntegerField()
    new = serializers.IntegerField()
    there = serializers.IntegerField(help_text="Here already, passed over.")
    unknown = serializers.ListField(child=serializers.CharField(), help_text="Heads that say nothing to us.")


@extend_schema_serializer(component_name="SeamTableProblemOut")
class ProblemOut(serializers.Serializer):
    table = serializers.ChoiceField(TABLE_CODES)
    title = serializers.CharField()
    row = serializers.IntegerField(help_text="As a spreadsheet counts, from 1.")
    column = serializers.CharField(help_text="The column's head; empty where the whole row is meant.")
    reason = serializers.CharField()


@extend_schema_serializer(component_name="SeamTableImportOut")
class ImportOut(serializers.Serializer):
    id = serializers.UUIDField()
    name = serializers.CharField()
    state = serializers.ChoiceField(STATES)
    error = serializers.CharField(help_text="Why the newest work on it came to nothing.")
    tables = TableOut(many=True)
    new = serializers.IntegerField()
    problem_count = serializers.IntegerField()
    problems = ProblemOut(many=True, help_text="At most a thousand.")
    is_kept = serializers.BooleanField(help_text="Are the uploaded bytes still here?")
    may_take_over = serializers.BooleanField()
    job = JobOut(source="newest")


@extend_schema_serializer(component_name="SeamTableExportIn")
class ExportIn(serializers.Serializer):
    form = serializers.ChoiceField(FORMS, required=False, help_text="xlsx where nothing is said.")
    table = serializers.ChoiceField(
        TABLE_CODES, required=False, help_text="One table; needed for CSV. Left out: all, one on each sheet."
    )


@extend_schema_serializer(component_name="SeamTableExportOut")
class ExportOut(serializers.Serializer):
    id = serializers.UUIDField(source="pk")
    form = serializers.CharField(source="arguments.form")
    table = serializers.CharField(source="arguments.table", help_text="Empty: all.")
    rows = serializers.IntegerField(source="result.rows", default=None, allow_null=True)
    job = JobOut(source="*")
