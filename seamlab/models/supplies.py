"""What a seam is sewn with."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel


class Thread(EditableModel):
    """A thread by fibre, construction and size; tex is grams per 1,000 m."""

    name = models.CharField(max_length=120)
    fibre = models.CharField(max_length=60)
    construction = models.CharField(max_length=60, blank=True)  # spun, core-spun, textured, filament
    tex = models.DecimalField(max_digits=7, decimal_places=2)
    extension_percent = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    strength_n = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    colours = models.JSONField(default=list, blank=True)

    class Meta:
        constraints = [
            *tenant_rules("thread"),
            models.UniqueConstraint(fields=["studio", "name"], name="thread_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class Needle(EditableModel):
    """A machine needle: metric size (hundredths of a millimetre of blade) and point."""

    class Point(models.TextChoices):
        ROUND = "round", "Round"
        SHARP = "sharp", "Fine sharp"
        LIGHT_BALL = "light_ball", "Light ball"
        MEDIUM_BALL = "medium_ball", "Medium ball"
        HEAVY_BALL = "heavy_ball", "Heavy ball"
        CUTTING = "cutting", "Cutting (leather)"

    metric = models.PositiveSmallIntegerField()
    point = models.CharField(max_length=16, choices=Point.choices)
    what_for = models.CharField(max_length=160, blank=True)

    class Meta:
        constraints = [
            *tenant_rules("needle"),
            models.UniqueConstraint(fields=["studio", "metric", "point"], name="needle_once"),
        ]

    def __str__(self) -> str:
        return f"{self.metric} {self.get_point_display().lower()}"


class Machine(EditableModel):
    """A sewing machine: which ISO 4915 stitch types it makes and how wide."""

    name = models.CharField(max_length=120)
    stitch_types = models.JSONField(default=list)  # ["301", "304"]
    largest_width_mm = models.DecimalField(max_digits=5, decimal_places=2, default=0)
    stitches_per_minute = models.PositiveIntegerField(default=800)
    notes = models.TextField(max_length=2000, blank=True)

    class Meta:
        constraints = [
            *tenant_rules("machine"),
            models.UniqueConstraint(fields=["studio", "name"], name="machine_name_once"),
        ]

    def __str__(self) -> str:
        return self.name
