"""The paper: patterns, sizes, finished measures, and the fit plan against a body."""

from django.db import models

from fitting.models.kinds import Closeness, GarmentKind
from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class Pattern(EditableModel):
    """A paper pattern with its run of sizes."""

    class Basis(models.TextChoices):
        FINISHED = "finished", "Finished garment measures"
        CHART = "chart", "Body chart that it was drafted for"

    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=16, choices=GarmentKind.choices)
    closeness = models.CharField(max_length=16, choices=Closeness.choices)
    structure = models.CharField(
        max_length=8, choices=[("woven", "Woven"), ("knit", "Knit")], default="woven"
    )
    stretch_wanted_percent = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    basis = models.CharField(max_length=12, choices=Basis.choices, default=Basis.FINISHED)
    chart = reference("fitting.BodyChart", null=True, blank=True)  # that it was drawn for, where it is known
    base_height_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    base_cup_mm = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )  # full less high bust
    seam_allowance_mm = models.DecimalField(max_digits=10, decimal_places=4, default=15)
    notes = models.TextField(max_length=2000, blank=True)

    class Meta:
        constraints = [
            *tenant_rules("pattern", refers_to=["chart"]),
            models.UniqueConstraint(fields=["studio", "name"], name="pattern_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class PatternSize(TenantModel):
    """One size of the run; ``place`` orders them from small to large."""

    pattern = reference("fitting.Pattern", related_name="sizes")
    name = models.CharField(max_length=16)
    place = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [
            *tenant_rules("patternsize", refers_to=["pattern"]),
            models.UniqueConstraint(fields=["studio", "pattern", "name"], name="patternsize_name_once"),
            models.UniqueConstraint(fields=["studio", "pattern", "place"], name="patternsize_place_once"),
        ]


class PatternMeasure(TenantModel):
    """One measure of one size, in millimetres; what it measures is named by the body measure that it must serve."""

    size = reference("fitting.PatternSize", related_name="measures")
    measure = models.CharField(max_length=64)
    value = models.DecimalField(max_digits=10, decimal_places=4)
    from_pieces = models.BooleanField(default=False)  # the sum of what was measured flat, see FlatMeasure
    from_outline = models.BooleanField(default=False)  # that sum was measured from the outlines

    class Meta:
        constraints = [
            *tenant_rules("patternmeasure", refers_to=["size"]),
            models.UniqueConstraint(fields=["studio", "size", "measure"], name="patternmeasure_once"),
            models.CheckConstraint(condition=models.Q(value__gt=0), name="patternmeasure_is_positive"),
        ]


class PatternPiece(TenantModel):
    """One piece of the paper: how often it is cut, and whether on the fold."""

    pattern = reference("fitting.Pattern", related_name="pieces")
    name = models.CharField(max_length=60)
    place = models.PositiveSmallIntegerField()
    cut = models.PositiveSmallIntegerField(default=2)
    on_fold = models.BooleanField(default=False)

    class Meta:
        constraints = [
            *tenant_rules("patternpiece", refers_to=["pattern"]),
            models.UniqueConstraint(fields=["studio", "pattern", "name"], name="patternpiece_name_once"),
        ]


class FlatMeasure(TenantModel):
    """One piece in one size at one level, measured flat in mm: what it adds to a finished measure.

    ``times`` it goes into that measure; ``allowances`` are lengths in mm, ``intakes`` {"what", "mm"}, both of
    one piece, as texts of decimal numbers.
    """

    piece = reference("fitting.PatternPiece", related_name="flats")
    size = reference("fitting.PatternSize", related_name="flats")
    measure = models.CharField(max_length=64)
    width_mm = models.DecimalField(max_digits=10, decimal_places=4)
    times = models.PositiveSmallIntegerField(default=1)
    allowances = models.JSONField(default=list, blank=True)
    intakes = models.JSONField(default=list, blank=True)
    from_outline = models.BooleanField(default=False)  # measured from the outline, not by tape

    class Meta:
        constraints = [
            *tenant_rules("flatmeasure", refers_to=["piece", "size"]),
            models.UniqueConstraint(fields=["studio", "piece", "size", "measure"], name="flatmeasure_once"),
            models.CheckConstraint(
                condition=models.Q(width_mm__gt=0) & models.Q(times__gte=1), name="flatmeasure_is_positive"
            ),
        ]


class FitPlan(EditableModel):
    """Pattern against body. The inputs are frozen as they were; a new plan supersedes, it does not overwrite."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        APPROVED = "approved", "Approved for the paper"
        REPLACED = "replaced", "Replaced by a later plan"

    client = reference("studio.Client")
    pattern = reference("fitting.Pattern", related_name="plans")
    garment = reference("fitting.Garment", null=True, blank=True)
    number = models.PositiveSmallIntegerField(default=1)  # counts the plans of this client and pattern
    supersedes = reference("fitting.FitPlan", null=True, blank=True)
    inputs = models.JSONField()  # body, paper, rules, errors, with where each comes from
    result = models.JSONField()  # sizes per zone, alterations, warnings
    state = models.CharField(max_length=12, choices=State.choices, default=State.DRAFT)
    planned_by = reference("platform.Member")
    approved_by = reference("platform.Member", null=True, blank=True)
    approved_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = "fit plan"
        constraints = [
            *tenant_rules(
                "fitplan",
                refers_to=["client", "pattern", "garment", "supersedes", "planned_by", "approved_by"],
            ),
            models.UniqueConstraint(
                fields=["studio", "client", "pattern", "number"], name="fitplan_number_once"
            ),
        ]
