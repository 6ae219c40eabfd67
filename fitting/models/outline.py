"""Outlines of pieces, and files that they are read from."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, reference


class PieceOutline(EditableModel):
    """One piece of a pattern in one size, as it is drawn. ``drawing`` is what ``outline_data`` keeps, in mm."""

    class Source(models.TextChoices):
        DRAFTED = "drafted", "Drafted from the size table"
        SVG = "svg", "Read from an SVG drawing"
        DXF = "dxf", "Read from a DXF"

    piece = reference("fitting.PatternPiece", related_name="outlines")
    size = reference("fitting.PatternSize", related_name="outlines")
    drawing = models.JSONField()
    source = models.CharField(max_length=8, choices=Source.choices)
    recorded_by = reference("platform.Member")

    class Meta:
        verbose_name = "outline"
        constraints = [
            *tenant_rules("pieceoutline", refers_to=["piece", "size", "recorded_by"]),
            models.UniqueConstraint(fields=["studio", "piece", "size"], name="pieceoutline_once"),
        ]


class OutlineFile(EditableModel):
    """A drawing that was given to read pieces from; its questions are answered before a piece is used."""

    pattern = reference("fitting.Pattern", related_name="outline_files")
    file = reference("platform.StoredFile")
    kind = models.CharField(max_length=4, choices=[("svg", "SVG"), ("dxf", "DXF")])
    answers = models.JSONField(default=dict, blank=True)  # doubt's code to answer's code
    used_at = models.DateTimeField(null=True, blank=True)  # its pieces are outlines of the pattern
    added_by = reference("platform.Member")

    class Meta:
        verbose_name = "drawing"
        constraints = tenant_rules("outlinefile", refers_to=["pattern", "file", "added_by"])
        indexes = [models.Index(fields=["studio", "pattern", "-created_at"], name="outlinefile_of_pattern")]
