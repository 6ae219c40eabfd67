"""Fittings that are agreed on for a time to come, and the private address at which a calendar reads them."""

from django.db import models

from fitting.models.garment import FittingSession
from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class Appointment(EditableModel):
    """A try-on to come, of one garment."""

    class State(models.TextChoices):
        AGREED = "agreed", "Agreed"
        CALLED_OFF = "called_off", "Called off"

    garment = reference("fitting.Garment", related_name="appointments")
    kind = models.CharField(max_length=8, choices=FittingSession.Kind.choices)
    starts_at = models.DateTimeField()
    minutes = models.PositiveSmallIntegerField(default=45)
    fitter = reference("platform.Member", null=True, blank=True)
    state = models.CharField(max_length=12, choices=State.choices, default=State.AGREED)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            *tenant_rules("appointment", refers_to=["garment", "fitter"]),
            models.CheckConstraint(
                condition=models.Q(minutes__gte=5) & models.Q(minutes__lte=480),
                name="appointment_5_to_480_minutes",
            ),
        ]
        indexes = [models.Index(fields=["studio", "starts_at"], name="appointment_by_time")]


class CalendarFeed(TenantModel):
    """A member's private calendar address; whoever has it reads the agreed fittings, until it is revoked."""

    member = reference("platform.Member")
    mine_only = models.BooleanField(default=False)
    made_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = "calendar address"
        constraints = tenant_rules("calendarfeed", refers_to=["member"])
