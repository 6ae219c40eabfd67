"""How far a studio's tape can be trusted: standardisation days, and where the studio tapes what."""

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
    supersedes = reference("studio.StandardisationReading", null=True, blank=True)
    reason = models.CharField(max_length=200, blank=True, default="", db_default="")
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "standardisation reading"
        constraints = [
            *tenant_rules("standardreading", refers_to=["day", "member", "supersedes"], append_only=True),
            models.UniqueConstraint(
                fields=["studio", "day", "person", "member", "measure", "take"],
                condition=models.Q(supersedes=None),
                name="standardreading_take_once",
            ),
            models.UniqueConstraint(fields=["studio", "supersedes"], name="standardreading_superseded_once"),
            models.CheckConstraint(
                condition=models.Q(supersedes=None) | ~models.Q(reason=""),
                name="standardreading_correction_has_reason",
            ),
            models.CheckConstraint(condition=models.Q(value__gt=0), name="standardreading_is_positive"),
        ]


class TapingHabit(TenantModel):
    """How much larger this studio tapes each measure than the fitted people were taped; one row a studio.

    ``shifts`` holds mm by model and measure, {"female": {"thigh_girth": 18.2}}; ``people`` how many each was learnt
    from; ``learnt_until`` is the newest measuring that was there.
    """

    shifts = models.JSONField(default=dict, blank=True)
    people = models.JSONField(default=dict, blank=True)
    learnt_until = models.UUIDField(null=True, blank=True)
    learnt_at = models.DateTimeField()

    class Meta:
        constraints = [
            *tenant_rules("tapinghabit"),
            models.UniqueConstraint(fields=["studio"], name="tapinghabit_once"),
        ]
