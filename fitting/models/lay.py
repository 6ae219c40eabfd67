"""Lays: pieces on cloth, checked; grain at the table; what is left over."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class LayPlan(EditableModel):
    """Which pieces are cut from which cloth. Cloth and pieces are frozen as they were when it was asked for.

    ``pieces`` is a list of {"key", "name", "cut", "grain_change", "drawing"}; lengths are mm.
    """

    name = models.CharField(max_length=120)
    cloth = reference("seamlab.Cloth")
    direction = models.CharField(max_length=16)  # of the cloth, a choice of Cloth.Direction
    width_mm = models.DecimalField(max_digits=10, decimal_places=4)  # usable, as it lies on the table
    most_length_mm = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )  # a remnant's
    folded = models.BooleanField(default=False)
    washed_first = models.BooleanField(default=False)
    change_percent = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    repeat_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    matched = models.PositiveSmallIntegerField(default=0)
    end_allowance_mm = models.DecimalField(max_digits=10, decimal_places=4, default=0)
    cutting_unit_mm = models.DecimalField(max_digits=10, decimal_places=4, default=100)
    seconds = models.PositiveSmallIntegerField(default=20)
    pieces = models.JSONField()
    chosen = models.PositiveSmallIntegerField(null=True, blank=True)  # number of the drawing that is cut
    job = reference("platform.Job", null=True, blank=True)
    taken_from = reference(
        "fitting.LayPlan", related_name="taken_out", null=True, blank=True
    )  # the lay whose small pieces these are
    cut = reference("seamlab.BoltRecord", null=True, blank=True)  # that took its length off a bolt
    planned_by = reference("platform.Member")

    class Meta:
        verbose_name = "lay"
        constraints = [
            *tenant_rules("layplan", refers_to=["cloth", "job", "taken_from", "cut", "planned_by"]),
            models.CheckConstraint(condition=models.Q(width_mm__gt=0), name="layplan_has_width"),
        ]
        indexes = [models.Index(fields=["studio", "cloth"], name="layplan_of_cloth")]

    def __str__(self) -> str:
        return self.name


class LayLine(TenantModel):
    """One garment's worth of pieces in a lay: a pattern in a size, so many times."""

    lay = reference("fitting.LayPlan", related_name="lines")
    pattern = reference("fitting.Pattern")
    size = reference("fitting.PatternSize")
    garment = reference("fitting.Garment", null=True, blank=True)
    times = models.PositiveSmallIntegerField(default=1)

    class Meta:
        verbose_name = "line of a lay"
        constraints = [
            *tenant_rules("layline", refers_to=["lay", "pattern", "size", "garment"]),
            models.CheckConstraint(condition=models.Q(times__gte=1), name="layline_at_least_once"),
        ]
        indexes = [models.Index(fields=["studio", "garment"], name="layline_of_garment")]


class LayDrawing(TenantModel):
    """Where every piece lies. Only a lay that keeps every rule is kept; a later one does not overwrite it."""

    class Way(models.TextChoices):
        ONE_WAY = "one_way", "One way"
        TWO_WAY = "two_way", "Two ways"
        BY_HAND = "by_hand", "Laid by hand"

    lay = reference("fitting.LayPlan", related_name="drawings")
    number = models.PositiveSmallIntegerField()
    way = models.CharField(max_length=8, choices=Way.choices)
    placements = models.JSONField()  # [{"key", "mirrored", "x", "y", "turn"}], mm and degrees
    length_mm = models.DecimalField(max_digits=10, decimal_places=4)
    density_percent = models.DecimalField(max_digits=5, decimal_places=2)
    made_by = reference("platform.Member")
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "drawing of a lay"
        constraints = [
            *tenant_rules("laydrawing", refers_to=["lay", "made_by"], append_only=True),
            models.UniqueConstraint(fields=["studio", "lay", "number"], name="laydrawing_number_once"),
            models.CheckConstraint(condition=models.Q(length_mm__gt=0), name="laydrawing_has_length"),
        ]


class GrainChange(TenantModel):
    """Somebody with a name turned a piece off its grain, and why."""

    lay = reference("fitting.LayPlan", related_name="grain_changes")
    key = models.CharField(max_length=80)
    degrees = models.DecimalField(max_digits=6, decimal_places=2)
    reason = models.CharField(max_length=400)
    by = reference("platform.Member")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "grain change"
        constraints = [
            *tenant_rules("grainchange", refers_to=["lay", "by"], append_only=True),
            models.CheckConstraint(condition=~models.Q(reason=""), name="grainchange_has_reason"),
        ]


class GrainCheck(TenantModel):
    """Two tape readings from a pinned piece's grainline to the selvedge, and the angle that they make."""

    lay = reference("fitting.LayPlan", related_name="grain_checks")
    key = models.CharField(max_length=80)
    copy = models.PositiveSmallIntegerField(default=1)  # which of several alike
    distance_a_mm = models.DecimalField(max_digits=10, decimal_places=4)
    distance_b_mm = models.DecimalField(max_digits=10, decimal_places=4)
    line_mm = models.DecimalField(max_digits=10, decimal_places=4)  # between the two readings
    degrees = models.DecimalField(max_digits=6, decimal_places=2)
    tolerance = models.DecimalField(max_digits=4, decimal_places=2)
    within = models.BooleanField()
    by = reference("platform.Member")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "grain check"
        constraints = tenant_rules("graincheck", refers_to=["lay", "by"], append_only=True)
        indexes = [models.Index(fields=["studio", "lay", "key", "-at"], name="graincheck_newest")]


class LaySheet(TenantModel):
    """The table's sheet of a lay as it was asked for; ``file`` is there once it is drawn."""

    lay = reference("fitting.LayPlan", related_name="sheets")
    number = models.PositiveSmallIntegerField()  # of the drawing that it shows
    snapshot = models.JSONField()
    job = reference("platform.Job")
    file = reference("platform.StoredFile", null=True, blank=True)
    pages = models.PositiveSmallIntegerField(null=True, blank=True)
    asked_by = reference("platform.Member")
    asked_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "sheet of a lay"
        constraints = tenant_rules("laysheet", refers_to=["lay", "job", "file", "asked_by"])
        indexes = [models.Index(fields=["studio", "lay", "-asked_at"], name="laysheet_newest")]


class Remnant(EditableModel):
    """A piece of cloth that was left over; small pieces are offered from it first."""

    cloth = reference("seamlab.Cloth")
    length_mm = models.DecimalField(max_digits=10, decimal_places=4)  # along the selvedge
    width_mm = models.DecimalField(max_digits=10, decimal_places=4)
    is_washed = models.BooleanField(default=False)
    place = models.CharField(max_length=120, blank=True)  # where it lies
    note = models.CharField(max_length=200, blank=True)
    from_lay = reference("fitting.LayPlan", null=True, blank=True)  # that left it
    used_in = reference(
        "fitting.LayPlan", related_name="remnants", null=True, blank=True
    )  # that is laid on it
    is_gone = models.BooleanField(default=False)  # used otherwise, or thrown away
    kept_by = reference("platform.Member")

    class Meta:
        constraints = [
            *tenant_rules("remnant", refers_to=["cloth", "from_lay", "used_in", "kept_by"]),
            models.CheckConstraint(
                condition=models.Q(length_mm__gt=0) & models.Q(width_mm__gt=0), name="remnant_has_a_size"
            ),
        ]
        indexes = [models.Index(fields=["studio", "cloth"], name="remnant_of_cloth")]
