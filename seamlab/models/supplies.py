"""What a seam is sewn with."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class Thread(EditableModel):
    """A thread by fibre, construction and size; tex is grams per 1,000 m."""

    name = models.CharField(max_length=120)
    fibre = models.CharField(max_length=60)
    construction = models.CharField(max_length=60, blank=True)  # spun, core-spun, textured, filament
    tex = models.DecimalField(max_digits=7, decimal_places=2)
    extension_percent = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    strength_n = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    colours = models.JSONField(default=list, blank=True)  # [{"colour": "grey", "reels": 3 or None}, ...]
    reel_length_m = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)  # a full reel
    notes = models.TextField(max_length=2000, blank=True)
    is_hidden = models.BooleanField(default=False)

    class Meta:
        constraints = [
            *tenant_rules("thread"),
            models.UniqueConstraint(fields=["studio", "name"], name="thread_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class Needle(EditableModel):
    """A machine needle: metric size (hundredths of a millimetre of blade), point, and how many blades."""

    class Point(models.TextChoices):
        ROUND = "round", "Round"
        SHARP = "sharp", "Fine sharp"
        LIGHT_BALL = "light_ball", "Light ball"
        MEDIUM_BALL = "medium_ball", "Medium ball"
        HEAVY_BALL = "heavy_ball", "Heavy ball"
        CUTTING = "cutting", "Cutting (leather)"

    metric = models.PositiveSmallIntegerField()
    point = models.CharField(max_length=16, choices=Point.choices)
    blades = models.PositiveSmallIntegerField(default=1)  # 2: a twin needle
    gauge_mm = models.DecimalField(max_digits=4, decimal_places=2, default=0)  # between the outer blades
    what_for = models.CharField(max_length=160, blank=True)
    is_hidden = models.BooleanField(default=False)

    class Meta:
        constraints = [
            *tenant_rules("needle"),
            models.UniqueConstraint(
                fields=["studio", "metric", "point", "blades", "gauge_mm"], name="needle_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.metric} {self.get_point_display().lower()}"


class Machine(EditableModel):
    """A sewing machine: which ISO 4915 stitch types it makes and how wide, how it feeds, its feet."""

    class Feed(models.TextChoices):
        DROP = "drop", "Drop feed (teeth below)"
        DIFFERENTIAL = "differential", "Differential feed"
        WALKING = "walking", "Walking foot or upper feed"
        NEEDLE = "needle", "Needle feed"
        ROLLER = "roller", "Roller or wheel feed"
        FREE = "free", "Teeth can be lowered"

    name = models.CharField(max_length=120)
    stitch_types = models.JSONField(default=list)  # ["301", "304"]
    largest_width_mm = models.DecimalField(max_digits=5, decimal_places=2, default=0)
    stitches_per_minute = models.PositiveIntegerField(default=800)
    feeds = models.JSONField(default=list, blank=True)  # values of Feed
    feet = models.JSONField(default=list, blank=True)  # presser feet in words
    notes = models.TextField(max_length=2000, blank=True)
    is_hidden = models.BooleanField(default=False)

    class Meta:
        constraints = [
            *tenant_rules("machine"),
            models.UniqueConstraint(fields=["studio", "name"], name="machine_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class MachineService(TenantModel):
    """A machine was serviced: when, by whom and what was done. The newest date is "last serviced"."""

    machine = reference("seamlab.Machine", related_name="services")
    serviced_on = models.DateField()
    done_by = models.CharField(max_length=120, blank=True)  # a mechanic is seldom a member
    note = models.CharField(max_length=400, blank=True)
    recorded_by = reference("platform.Member")
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "service of a machine"
        constraints = tenant_rules("machineservice", refers_to=["machine", "recorded_by"], append_only=True)
        indexes = [models.Index(fields=["studio", "machine", "-serviced_on"], name="machineservice_newest")]
