"""What people do with a fit plan: overrule it, carry it to the paper, print it for the cutting table."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import TenantModel, reference


class PlanOverrule(TenantModel):
    """An instructor's word against the reckoning, with her reason; the newest for a zone and ``what`` counts."""

    class What(models.TextChoices):
        SIZE = "size", "Size"
        AMOUNT = "amount", "Amount"

    plan = reference("fitting.FitPlan", related_name="overrules")
    what = models.CharField(max_length=8, choices=What.choices)
    zone = models.CharField(max_length=32)
    size = models.CharField(max_length=16, blank=True)
    amount_mm = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )  # in all, positive where the garment grows
    withdrawn = models.BooleanField(default=False)  # the reckoning holds again
    reason = models.CharField(max_length=400)
    by = reference("platform.Member")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "overrule"
        constraints = [
            *tenant_rules("planoverrule", refers_to=["plan", "by"], append_only=True),
            models.CheckConstraint(condition=~models.Q(reason=""), name="planoverrule_has_reason"),
        ]


class PlanTick(TenantModel):
    """Somebody carried one line of a plan to the paper, or takes that back; the newest for a line counts."""

    plan = reference("fitting.FitPlan", related_name="ticks")
    line = models.CharField(max_length=80)
    done = models.BooleanField(default=True)
    by = reference("platform.Member")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "tick"
        constraints = tenant_rules("plantick", refers_to=["plan", "by"], append_only=True)
        indexes = [models.Index(fields=["studio", "plan", "line", "-at"], name="plantick_newest")]


class CuttingSheet(TenantModel):
    """The cutting table's sheet of a plan as it was asked for; ``file`` is there once it is drawn."""

    plan = reference("fitting.FitPlan", related_name="sheets")
    client = reference("studio.Client")
    snapshot = models.JSONField()
    job = reference("platform.Job")
    file = reference("platform.StoredFile", null=True, blank=True)
    pages = models.PositiveSmallIntegerField(null=True, blank=True)
    asked_by = reference("platform.Member")
    asked_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "cutting sheet"
        constraints = tenant_rules("cuttingsheet", refers_to=["plan", "client", "job", "file", "asked_by"])
        indexes = [models.Index(fields=["studio", "client"], name="cuttingsheet_of_client")]
