"""Standardisation days: several measurers tape the same people, to learn how well they agree."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class StandardisationDay(EditableModel):
    """A day on which measurers tape the same people; ``reference_member`` is whom the others are compared with."""

    name = models.CharField(max_length=120)
    held_on = models.DateField()
    measures = models.JSONField(default=list)
    people = models.JSONField(default=list)  # labels such as "A", "B": volunteers, not clients
    reference_member = reference("platform.Member")

    class Meta:
        verbose_name = "standardisation day"
        constraints = [
            *tenant_rules("standardday", refers_to=["reference_member"]),
            models.UniqueConstraint(fields=["studio", "name"], name="standardday_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class StandardisationReading(TenantModel):
    """One taping of one volunteer by one measurer; millimetres (weight: kilograms)."""

    day = reference("studio.StandardisationDay", related_name="readings")
    person = models.CharField(max_length=40)
    member = reference("platform.Member")
    measure = models.CharField(max_length=64)
    take = models.PositiveSmallIntegerField()
    value = models.DecimalField(max_digits=10, decimal_places=4)
    typed = models.CharField(max_length=32)
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "standardisation reading"
        constraints = [
            *tenant_rules("standardreading", refers_to=["day", "member"], append_only=True),
            models.UniqueConstraint(
                fields=["studio", "day", "person", "member", "measure", "take"], name="standardreading_once"
            ),
            models.CheckConstraint(condition=models.Q(value__gt=0), name="standardreading_is_positive"),
        ]
