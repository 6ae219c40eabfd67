"""The fit report: a frozen snapshot, the issued file, the client's link."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import TenantModel, reference


class FitReport(TenantModel):
    """The client's summary as it was when it was asked for; a correction is a new one that names the old."""

    client = reference("studio.Client")
    garment = reference("fitting.Garment", related_name="reports")
    number = models.PositiveSmallIntegerField()
    snapshot = models.JSONField()
    corrects = reference("fitting.FitReport", null=True, blank=True)
    asked_by = reference("platform.Member")
    asked_at = models.DateTimeField(auto_now_add=True)
    job = reference("platform.Job")

    class Meta:
        verbose_name = "fit report"
        constraints = [
            *tenant_rules(
                "fitreport", refers_to=["client", "garment", "corrects", "asked_by", "job"], append_only=True
            ),
            models.UniqueConstraint(fields=["studio", "garment", "number"], name="fitreport_number_once"),
        ]
        indexes = [models.Index(fields=["studio", "client", "-asked_at"], name="fitreport_of_client")]


class IssuedReport(TenantModel):
    """The one PDF of a report, as issued, and what rendered it."""

    report = reference("fitting.FitReport", related_name="issues")
    file = reference("platform.StoredFile")
    sha256 = models.CharField(max_length=64)
    pages = models.PositiveSmallIntegerField()
    rendered_with = models.JSONField()
    issued_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "issued report"
        constraints = [
            *tenant_rules("issuedreport", refers_to=["report", "file"], append_only=True),
            models.UniqueConstraint(fields=["studio", "report"], name="issuedreport_once"),
        ]


class ReportLink(TenantModel):
    """A link that opens one report for one client until it expires or is revoked."""

    report = reference("fitting.FitReport", related_name="links")
    made_by = reference("platform.Member")
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    openings = models.PositiveIntegerField(default=0)
    last_opened_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = "report link"
        constraints = tenant_rules("reportlink", refers_to=["report", "made_by"])
