"""Measurings and their readings: written once, superseded, never edited."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import TenantModel, reference


class Measuring(TenantModel):
    """One occasion on which a client was measured."""

    class Over(models.TextChoices):
        UNDERWEAR = "underwear", "Underwear"
        CLOSE_CLOTHING = "close_clothing", "Close clothing"
        CLOTHING = "clothing", "Ordinary clothing"

    client = reference("studio.Client", related_name="measurings")
    measured_at = models.DateTimeField()
    measured_by = reference("platform.Member")  # who answers for it
    # An imported one whose measurer is nobody who works here: her name, if the file says it.
    measurer_known = models.BooleanField(default=True, db_default=True)
    measurer_told = models.CharField(max_length=120, blank=True, default="", db_default="")
    over = models.CharField(max_length=20, choices=Over.choices, default=Over.CLOSE_CLOTHING)
    shoes = models.BooleanField(default=False)
    posture = models.CharField(max_length=80, default="standing, relaxed")
    tape = models.CharField(max_length=80, blank=True)
    guardian_present = models.CharField(max_length=160, blank=True)  # who, where the client is a minor
    notes = models.TextField(max_length=2000, blank=True)
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = tenant_rules("measuring", refers_to=["client", "measured_by"], append_only=True)
        indexes = [models.Index(fields=["studio", "client", "-measured_at"], name="measuring_newest")]

    @property
    def measurer(self) -> str:
        """Whose hand it was, in words; needs ``measured_by``."""
        if self.measurer_known:
            return str(self.measured_by.name)
        return self.measurer_told or f"an unknown hand (brought in by {self.measured_by.name})"


class Reading(TenantModel):
    """One number taken in a measuring. ``value`` is millimetres (weight: kilograms); what was typed stays beside it."""

    measuring = reference("studio.Measuring", related_name="readings")
    client = reference("studio.Client")  # the measuring's, so that a history is one index
    measure = models.CharField(max_length=64)  # a code of the catalogue, studio/data/measures.json
    take = models.PositiveSmallIntegerField(default=1)  # first, second, third time
    value = models.DecimalField(max_digits=10, decimal_places=4)
    typed = models.CharField(max_length=32)
    supersedes = reference("studio.Reading", null=True, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    kept_because = models.CharField(max_length=200, blank=True)  # a flagged value that was right after all
    recorded_by = reference("platform.Member")
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            *tenant_rules(
                "reading", refers_to=["measuring", "client", "supersedes", "recorded_by"], append_only=True
            ),
            models.CheckConstraint(condition=models.Q(value__gt=0), name="reading_is_positive"),
            models.UniqueConstraint(
                fields=["studio", "measuring", "measure", "take"],
                condition=models.Q(supersedes=None),
                name="reading_take_once",
            ),
            models.UniqueConstraint(fields=["studio", "supersedes"], name="reading_superseded_once"),
            models.CheckConstraint(
                condition=models.Q(supersedes=None) | ~models.Q(reason=""), name="correction_has_reason"
            ),
        ]
        indexes = [
            models.Index(fields=["studio", "client", "measure", "-recorded_at"], name="reading_history")
        ]
