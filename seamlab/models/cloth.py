"""Cloth and the dated tests on it."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference

LENGTHWISE, CROSSWISE = "lengthwise", "crosswise"
WAYS = [(LENGTHWISE, "lengthwise"), (CROSSWISE, "crosswise")]


class Cloth(EditableModel):
    """A fabric and what is known of it. Lengths are millimetres, weight grams per square metre."""

    class Structure(models.TextChoices):
        WOVEN = "woven", "Woven"
        KNIT = "knit", "Knit"

    class Direction(models.TextChoices):
        NAP = "nap", "Nap or pile: one way"
        ONE_WAY_PRINT = "one_way_print", "One-way print"
        SHEEN = "sheen", "Sheen that shades: one way"
        TWO_WAY = "two_way", "Plain, tested two-way"
        NOT_KNOWN = "not_known", "Not known: treated as one-way"

    name = models.CharField(max_length=120)
    structure = models.CharField(max_length=8, choices=Structure.choices)
    construction = models.CharField(max_length=60, blank=True)  # e.g. twill, jersey, rib
    fibres = models.JSONField(default=list, blank=True)  # [{"fibre": "wool", "percent": 80}, ...]
    weight_gsm = models.DecimalField(max_digits=7, decimal_places=2)
    thickness_mm = models.DecimalField(max_digits=6, decimal_places=3, null=True, blank=True)  # of one layer
    width_mm = models.DecimalField(max_digits=10, decimal_places=4)
    usable_width_mm = models.DecimalField(max_digits=10, decimal_places=4)
    direction = models.CharField(max_length=16, choices=Direction.choices, default=Direction.NOT_KNOWN)
    repeat_lengthwise_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    repeat_crosswise_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    drape = models.CharField(max_length=120, blank=True)
    care = models.CharField(max_length=200, blank=True)
    notes = models.TextField(max_length=2000, blank=True)

    class Meta:
        constraints = [
            *tenant_rules("cloth"),
            models.UniqueConstraint(fields=["studio", "name"], name="cloth_name_once"),
            models.CheckConstraint(
                condition=models.Q(usable_width_mm__lte=models.F("width_mm")),
                name="cloth_usable_within_width",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_one_way(self) -> bool:
        return self.direction != self.Direction.TWO_WAY


class ClothTest(TenantModel):
    """One test on a cloth: readings as taken (mm) and the percent computed from them. Never overwritten."""

    class Kind(models.TextChoices):
        STRETCH = "stretch", "Stretch and recovery"
        WASH = "wash", "Wash"

    cloth = reference("seamlab.Cloth", related_name="tests")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    way = models.CharField(max_length=12, choices=WAYS)
    before_mm = models.DecimalField(max_digits=10, decimal_places=4)  # relaxed, or before the wash
    after_mm = models.DecimalField(max_digits=10, decimal_places=4)  # stretched, or after the wash
    released_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    # Stretch, or the signed change of the wash (smaller is negative).
    percent = models.DecimalField(max_digits=7, decimal_places=2)
    recovery_percent = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    tested_by = reference("platform.Member")
    tested_at = models.DateTimeField()
    note = models.CharField(max_length=400, blank=True)

    class Meta:
        verbose_name = "cloth test"
        constraints = tenant_rules("clothtest", refers_to=["cloth", "tested_by"], append_only=True)
        indexes = [
            models.Index(fields=["studio", "cloth", "kind", "way", "-tested_at"], name="clothtest_newest")
        ]
