"""Seam recipes by version, and the trials that prove them."""

from django.db import models

from seamlab.models.cloth import WAYS
from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class SeamRecipe(EditableModel):
    """One kind of seam for one purpose; its settings stand in its versions."""

    class Purpose(models.TextChoices):
        JOIN = "join", "Join"
        TOPSTITCH = "topstitch", "Topstitch"
        HEM = "hem", "Hem"
        EDGE = "edge", "Finish an edge"
        ELASTIC = "elastic", "Attach elastic"
        BUTTONHOLE = "buttonhole", "Buttonhole"
        BASTE = "baste", "Baste"
        STAYSTITCH = "staystitch", "Staystitch an edge"
        UNDERSTITCH = "understitch", "Understitch a facing"
        GATHER = "gather", "Gather"
        BIND = "bind", "Bind an edge"
        ZIP = "zip", "Set in a zip"
        MEND = "mend", "Mend or reinforce"

    class Origin(models.TextChoices):
        OWN = "own", "This studio's own"
        LIBRARY = "library", "From the starting library"

    name = models.CharField(max_length=120)
    purpose = models.CharField(max_length=16, choices=Purpose.choices)
    seam_class = models.CharField(max_length=8)  # ISO 4916, e.g. "1"
    layers_low = models.PositiveSmallIntegerField(default=2)
    layers_high = models.PositiveSmallIntegerField(default=2)
    structure = models.CharField(max_length=8, choices=[("woven", "Woven"), ("knit", "Knit")])
    # A library recipe is untested here until a trial of this studio passes.
    origin = models.CharField(max_length=8, choices=Origin.choices, default=Origin.OWN)
    library_key = models.CharField(max_length=60, blank=True)  # which one of the library; own: empty
    source = models.CharField(max_length=400, blank=True)
    written_for = models.JSONField(default=list, blank=True)  # keys of data/cloth_kinds.json
    is_hidden = models.BooleanField(default=False)

    class Meta:
        verbose_name = "seam recipe"
        constraints = [
            *tenant_rules("recipe"),
            models.UniqueConstraint(fields=["studio", "name"], name="recipe_name_once"),
            models.UniqueConstraint(
                fields=["studio", "library_key"],
                condition=~models.Q(library_key=""),
                name="recipe_library_once",
            ),
            models.CheckConstraint(
                condition=models.Q(layers_low__gte=1) & models.Q(layers_high__gte=models.F("layers_low")),
                name="recipe_layers_ordered",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class SeamRecipeVersion(TenantModel):
    """The settings. A changed recipe is a new version; old trials stay with the old one."""

    recipe = reference("seamlab.SeamRecipe", related_name="versions")
    number = models.PositiveSmallIntegerField()
    stitch_type = models.CharField(max_length=8)  # ISO 4915
    stitch_length_mm = models.DecimalField(max_digits=5, decimal_places=2)
    stitch_width_mm = models.DecimalField(max_digits=5, decimal_places=2, default=0)
    passes = models.PositiveSmallIntegerField(default=1)
    needle_thread = reference("seamlab.Thread")
    needle_thread_ends = models.PositiveSmallIntegerField(default=1)
    under_thread = reference("seamlab.Thread", null=True, blank=True)
    needle = reference("seamlab.Needle", null=True, blank=True)  # none for a stitch by hand
    tension = models.CharField(max_length=80, blank=True)
    foot = models.CharField(max_length=80, blank=True)
    pressure = models.CharField(max_length=80, blank=True)
    differential_feed = models.CharField(max_length=80, blank=True)
    stabiliser = models.CharField(max_length=120, blank=True)
    pressing = models.CharField(max_length=200, blank=True)
    preparation = models.CharField(max_length=200, blank=True)  # of the cloth, before sewing
    allowance_mm = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)  # of the seam
    cautions = models.CharField(max_length=400, blank=True)
    basis = models.JSONField(default=dict, blank=True)  # {"stitch_length_mm": "source, or common practice"}
    note = models.CharField(max_length=400, blank=True)
    written_by = reference("platform.Member")
    written_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "version of a seam recipe"
        constraints = [
            *tenant_rules(
                "recipeversion",
                refers_to=["recipe", "needle_thread", "under_thread", "needle", "written_by"],
                append_only=True,
            ),
            models.UniqueConstraint(fields=["studio", "recipe", "number"], name="recipeversion_number_once"),
        ]


class SeamTrial(TenantModel):
    """One sewn sample of a version on a cloth: what was measured, what was proposed, what a person decided.

    What was not looked at is empty; the proposal then asks for another look. Lengths are millimetres.
    """

    class Verdict(models.TextChoices):
        PASSES = "passes", "Passes"
        FAILS = "fails", "Fails"
        LOOK_AGAIN = "look_again", "Needs another look"

    class Balance(models.TextChoices):
        EVEN = "even", "Threads meet inside the cloth"
        TOP_TIGHT = "top_tight", "Under thread shows on top"
        UNDER_TIGHT = "under_tight", "Needle thread shows underneath"

    class PullEnd(models.TextChoices):
        HELD = "held", "The seam held; it could have gone on"
        STOPPED = "stopped", "The seam would go no further"
        BROKE = "broke", "A thread broke"

    class Damage(models.TextChoices):
        NONE = "none", "No damage"
        MARKS = "marks", "Marks that may close"
        CUT = "cut", "Cut yarns"

    version = reference("seamlab.SeamRecipeVersion", related_name="trials")
    cloth = reference("seamlab.Cloth", related_name="trials")
    machine = reference("seamlab.Machine", null=True, blank=True)  # none for a stitch by hand
    layers = models.PositiveSmallIntegerField(default=2)
    direction = models.CharField(max_length=12, choices=[*WAYS, ("bias", "bias")], default="lengthwise")
    length_before_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    length_after_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    stretched_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    pull_end = models.CharField(max_length=8, choices=PullEnd.choices, blank=True)
    smoothness = models.DecimalField(max_digits=2, decimal_places=1, null=True, blank=True)  # 1 to 5 (best)
    balance = models.CharField(max_length=12, choices=Balance.choices, blank=True)
    skipped_stitches = models.PositiveSmallIntegerField(null=True, blank=True)
    needle_damage = models.CharField(max_length=8, choices=Damage.choices, blank=True)
    strength_n_per_cm = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    # What the garment asks of the seam; empty leaves it to the cloth and the usual limits.
    stretch_wanted_percent = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    strength_wanted_n_per_cm = models.DecimalField(max_digits=7, decimal_places=2, null=True, blank=True)
    smoothness_wanted = models.DecimalField(max_digits=2, decimal_places=1, null=True, blank=True)
    sewing_seconds = models.DecimalField(max_digits=7, decimal_places=1, null=True, blank=True)
    # Thread unpicked from a length of the sample: the whole need of a seam scales from it.
    unpicked_length_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    needle_thread_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    under_thread_mm = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    checklist = models.JSONField(default=list, blank=True)  # [{"key", "words", "answer", "note"}, ...]
    proposed = models.CharField(max_length=12, choices=Verdict.choices)
    reasons = models.JSONField(default=list)  # [{"check", "verdict", "text"}, ...]
    verdict = models.CharField(max_length=12, choices=Verdict.choices)
    verdict_reason = models.CharField(max_length=400, blank=True)  # where it differs from what was proposed
    note = models.CharField(max_length=400, blank=True)
    sewn_by = reference("platform.Member")
    sewn_at = models.DateTimeField()

    class Meta:
        verbose_name = "seam trial"
        constraints = [
            *tenant_rules("trial", refers_to=["version", "cloth", "machine", "sewn_by"], append_only=True),
            models.CheckConstraint(
                condition=models.Q(smoothness__gte=1) & models.Q(smoothness__lte=5),
                name="trial_smoothness_1_to_5",
            ),
            models.CheckConstraint(
                condition=models.Q(stretched_mm=None) | ~models.Q(pull_end=""), name="trial_pull_has_an_end"
            ),
        ]
        indexes = [
            models.Index(fields=["studio", "version", "-sewn_at"], name="trial_of_version"),
            models.Index(fields=["studio", "cloth", "-sewn_at"], name="trial_on_cloth"),
        ]


class TrialWithdrawal(TenantModel):
    """A trial was recorded wrongly. It stays as it was written and counts no longer."""

    trial = reference("seamlab.SeamTrial", related_name="withdrawals")
    replaced_by = reference("seamlab.SeamTrial", null=True, blank=True)
    reason = models.CharField(max_length=400)
    withdrawn_by = reference("platform.Member")
    withdrawn_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "withdrawal of a seam trial"
        constraints = [
            *tenant_rules("withdrawal", refers_to=["trial", "replaced_by", "withdrawn_by"], append_only=True),
            models.UniqueConstraint(fields=["studio", "trial"], name="withdrawal_once"),
        ]


class TrialPhoto(TenantModel):
    """A photograph of a sewn sample. ``is_hidden`` takes a wrong one from the pages."""

    class Side(models.TextChoices):
        TOP = "top", "From above"
        UNDER = "under", "From below"
        DETAIL = "detail", "Detail"

    trial = reference("seamlab.SeamTrial", related_name="photos")
    file = reference("platform.StoredFile")
    side = models.CharField(max_length=8, choices=Side.choices, default=Side.TOP)
    note = models.CharField(max_length=200, blank=True)
    added_by = reference("platform.Member")
    added_at = models.DateTimeField(auto_now_add=True)
    is_hidden = models.BooleanField(default=False)

    class Meta:
        verbose_name = "photograph of a trial"
        constraints = tenant_rules("trialphoto", refers_to=["trial", "file", "added_by"])
        indexes = [models.Index(fields=["studio", "trial", "-added_at"], name="trialphoto_newest")]
