"""Body charts that paper is drawn for, and a studio's own ease rules."""

from django.db import models

from fitting.models.kinds import Closeness, GarmentKind
from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class BodyChart(EditableModel):
    """A table of bodies, small to large, with who states it; ``unit`` is the one in which it was stated."""

    name = models.CharField(max_length=120)
    source = models.CharField(max_length=300)
    unit = models.CharField(max_length=2, choices=[("cm", "centimetres"), ("in", "inches")], default="cm")
    base_height_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    base_cup_mm = models.DecimalField(
        max_digits=10, decimal_places=4, null=True, blank=True
    )  # full less high bust
    notes = models.TextField(max_length=2000, blank=True)

    class Meta:
        verbose_name = "body chart"
        constraints = [
            *tenant_rules("bodychart"),
            models.UniqueConstraint(fields=["studio", "name"], name="bodychart_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class ChartSize(TenantModel):
    """One size of a chart; ``place`` orders them from small to large."""

    chart = reference("fitting.BodyChart", related_name="sizes")
    name = models.CharField(max_length=16)
    place = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [
            *tenant_rules("chartsize", refers_to=["chart"]),
            models.UniqueConstraint(fields=["studio", "chart", "name"], name="chartsize_name_once"),
            models.UniqueConstraint(fields=["studio", "chart", "place"], name="chartsize_place_once"),
        ]


class ChartMeasure(TenantModel):
    """One body measure of one size, in millimetres, by the catalogue's code."""

    size = reference("fitting.ChartSize", related_name="measures")
    measure = models.CharField(max_length=64)
    value = models.DecimalField(max_digits=10, decimal_places=4)

    class Meta:
        constraints = [
            *tenant_rules("chartmeasure", refers_to=["size"]),
            models.UniqueConstraint(fields=["studio", "size", "measure"], name="chartmeasure_once"),
            models.CheckConstraint(condition=models.Q(value__gt=0), name="chartmeasure_is_positive"),
        ]


class OwnEaseSet(EditableModel):
    """A studio's own ease rules; ``follows`` is the sourced set that stands in for what this one lacks."""

    title = models.CharField(max_length=120)
    follows = models.CharField(max_length=64, blank=True)
    notes = models.TextField(max_length=2000, blank=True)

    class Meta:
        verbose_name = "ease set"
        constraints = [
            *tenant_rules("owneaseset"),
            models.UniqueConstraint(fields=["studio", "title"], name="owneaseset_title_once"),
        ]

    def __str__(self) -> str:
        return self.title


class OwnEaseRule(TenantModel):
    """Least, wanted and most ease of one zone in mm, and who says so."""

    ease_set = reference("fitting.OwnEaseSet", related_name="rules")
    kind = models.CharField(max_length=16, choices=GarmentKind.choices)
    zone = models.CharField(max_length=32)
    closeness = models.CharField(max_length=16, choices=Closeness.choices)
    structure = models.CharField(max_length=8, choices=[("woven", "Woven"), ("knit", "Knit")])
    stretch = models.CharField(max_length=16, blank=True)  # a class of knit, blank for any
    low_mm = models.DecimalField(max_digits=10, decimal_places=4)
    target_mm = models.DecimalField(max_digits=10, decimal_places=4)
    high_mm = models.DecimalField(max_digits=10, decimal_places=4)
    source = models.CharField(max_length=200)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name = "ease rule"
        constraints = [
            *tenant_rules("owneaserule", refers_to=["ease_set"]),
            models.UniqueConstraint(
                fields=["studio", "ease_set", "kind", "zone", "closeness", "structure", "stretch"],
                name="owneaserule_once",
            ),
            models.CheckConstraint(
                condition=models.Q(low_mm__lte=models.F("target_mm"))
                & models.Q(target_mm__lte=models.F("high_mm")),
                name="owneaserule_in_order",
            ),
        ]
