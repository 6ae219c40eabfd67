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
    kind = models.CharField(max_length=40, blank=True)  # a key of data/cloth_kinds.json, e.g. "single_jersey"
    colour = models.CharField(max_length=120, blank=True)
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
    is_hidden = models.BooleanField(default=False)  # put away: no longer offered, its records stay

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


class LabFigure(TenantModel):
    """One figure that a laboratory gave for a cloth, with its method. Never overwritten; the newest counts."""

    class Quantity(models.TextChoices):
        BIAS_EXTENSION = "bias_extension", "Bias extension under 5 gf/cm (%)"
        EXTENSION_5 = "extension_5", "Extension under 5 gf/cm (%)"
        EXTENSION_20 = "extension_20", "Extension under 20 gf/cm (%)"
        EXTENSION_100 = "extension_100", "Extension under 100 gf/cm (%)"
        MODULUS = "modulus", "Tensile modulus (N/m)"
        POISSON = "poisson", "Poisson's ratio"
        BENDING_FACE = "bending_face", "Bending length, face up (mm)"
        BENDING_BACK = "bending_back", "Bending length, back up (mm)"
        GRAB_STRENGTH = "grab_strength", "Strength, grab (N)"
        STRIP_STRENGTH = "strip_strength", "Strength, strip of 50 mm (N)"
        THREADS = "threads", "Threads per cm"
        YARN_TEX = "yarn_tex", "Tex of the yarn"
        THICKNESS_2 = "thickness_2", "Thickness under 2 gf/cm² (mm)"
        THICKNESS_100 = "thickness_100", "Thickness under 100 gf/cm² (mm)"

    cloth = reference("seamlab.Cloth", related_name="lab_figures")
    quantity = models.CharField(max_length=20, choices=Quantity.choices)
    way = models.CharField(max_length=12, choices=WAYS, blank=True)  # empty where it has no way
    value = models.DecimalField(max_digits=12, decimal_places=4)
    method = models.CharField(max_length=160, blank=True)  # the laboratory and the standard it worked by
    tested_on = models.DateField()
    recorded_by = reference("platform.Member")
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "laboratory figure"
        constraints = [
            *tenant_rules("labfigure", refers_to=["cloth", "recorded_by"], append_only=True),
            models.CheckConstraint(condition=models.Q(value__gte=0), name="labfigure_not_negative"),
        ]
        indexes = [
            models.Index(fields=["studio", "cloth", "quantity", "way", "-tested_on"], name="labfigure_newest")
        ]


class ClothPhoto(TenantModel):
    """A photograph of a cloth. ``is_hidden`` takes a wrong one from the pages."""

    class Side(models.TextChoices):
        FACE = "face", "Right side"
        BACK = "back", "Wrong side"
        DETAIL = "detail", "Detail"

    cloth = reference("seamlab.Cloth", related_name="photos")
    file = reference("platform.StoredFile")
    small = reference("platform.StoredFile", null=True, blank=True)  # the same, small, for lists
    side = models.CharField(max_length=8, choices=Side.choices, default=Side.FACE)
    note = models.CharField(max_length=200, blank=True)
    added_by = reference("platform.Member")
    added_at = models.DateTimeField(auto_now_add=True)
    is_hidden = models.BooleanField(default=False)

    class Meta:
        verbose_name = "photograph of a cloth"
        constraints = tenant_rules("clothphoto", refers_to=["cloth", "file", "small", "added_by"])
        indexes = [models.Index(fields=["studio", "cloth", "-added_at"], name="clothphoto_newest")]
