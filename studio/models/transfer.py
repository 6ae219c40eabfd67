"""Readings that come in from a file: checked first, then taken over entirely or not at all."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, reference


class ReadingImport(EditableModel):
    """One file of readings: its column mapping, what the dry run found, and whether it was taken over."""

    class State(models.TextChoices):
        UPLOADED = "uploaded", "Uploaded"
        CHECKED = "checked", "Checked"
        TAKEN_OVER = "taken_over", "Taken over"

    file = reference("platform.StoredFile")
    name = models.CharField(max_length=160)
    columns = models.JSONField(default=list)  # the file's own heads
    mapping = models.JSONField(default=dict, blank=True)  # our field -> the file's column
    unit = models.CharField(max_length=2, default="cm")
    state = models.CharField(max_length=12, choices=State.choices, default=State.UPLOADED)
    rows = models.PositiveIntegerField(default=0)
    problems = models.JSONField(
        default=list, blank=True
    )  # [{"row": 7, "field": "typed", "reason": "..."}, ...]
    problem_count = models.PositiveIntegerField(default=0)
    # Readings that do not go together with the others: advice, never a reason to refuse. Shaped as the problems.
    remarks = models.JSONField(default=list, db_default=[], blank=True)
    counts = models.JSONField(default=dict, blank=True)
    uploaded_by = reference("platform.Member")
    job = reference("platform.Job", null=True, blank=True)

    class Meta:
        verbose_name = "import of readings"
        constraints = tenant_rules("readingimport", refers_to=["file", "uploaded_by", "job"])
