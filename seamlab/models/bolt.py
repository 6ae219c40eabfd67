"""Cloth as it lies on the shelf: bolts, and every cut and count of them."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class Bolt(EditableModel):
    """One length of a cloth on the shelf. What remains of it follows from its records."""

    cloth = reference("seamlab.Cloth", related_name="bolts")
    label = models.CharField(max_length=60)
    dye_lot = models.CharField(max_length=60, blank=True)
    colour = models.CharField(max_length=60, blank=True)
    length_at_start_mm = models.DecimalField(max_digits=10, decimal_places=4)
    place = models.CharField(max_length=120, blank=True)  # where it lies
    note = models.CharField(max_length=400, blank=True)
    is_hidden = models.BooleanField(default=False)

    class Meta:
        constraints = [
            *tenant_rules("bolt", refers_to=["cloth"]),
            models.UniqueConstraint(fields=["studio", "label"], name="bolt_label_once"),
            models.CheckConstraint(condition=models.Q(length_at_start_mm__gt=0), name="bolt_has_length"),
        ]
        indexes = [models.Index(fields=["studio", "cloth"], name="bolt_of_cloth")]

    def __str__(self) -> str:
        return self.label


class BoltRecord(TenantModel):
    """A length cut off a bolt, or the bolt counted again. What remains is stored beside it, to be read at once."""

    class Kind(models.TextChoices):
        CUT = "cut", "Cut off"
        COUNTED = "counted", "Counted again"

    bolt = reference("seamlab.Bolt", related_name="records")
    number = models.PositiveIntegerField()  # 1, 2, 3 ... in the order in which they were written
    kind = models.CharField(max_length=8, choices=Kind.choices)
    length_mm = models.DecimalField(max_digits=10, decimal_places=4)  # cut off, or found lying there
    remaining_mm = models.DecimalField(max_digits=10, decimal_places=4)
    reason = models.CharField(max_length=200)
    recorded_by = reference("platform.Member")
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "record of a bolt"
        constraints = [
            *tenant_rules("boltrecord", refers_to=["bolt", "recorded_by"], append_only=True),
            models.UniqueConstraint(fields=["studio", "bolt", "number"], name="boltrecord_number_once"),
            models.CheckConstraint(
                condition=models.Q(length_mm__gte=0) & models.Q(remaining_mm__gte=0),
                name="boltrecord_not_negative",
            ),
        ]
