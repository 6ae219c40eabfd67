"""Samples laid side by side: a question, the trials that answer it, and what was taken."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import EditableModel, TenantModel, reference


class SeamComparison(EditableModel):
    """A question put to several trials, such as: one row or two on this denim?"""

    question = models.CharField(max_length=200)
    cloth = reference("seamlab.Cloth", null=True, blank=True, related_name="comparisons")
    recipe = reference("seamlab.SeamRecipe", null=True, blank=True, related_name="comparisons")
    asked_by = reference("platform.Member")
    is_hidden = models.BooleanField(default=False)

    class Meta:
        verbose_name = "comparison of samples"
        constraints = tenant_rules("comparison", refers_to=["cloth", "recipe", "asked_by"])
        indexes = [models.Index(fields=["studio", "-created_at"], name="comparison_newest")]

    def __str__(self) -> str:
        return self.question


class ComparisonSample(TenantModel):
    """A trial in a comparison; ``place`` orders them from left to right. Rows go and come with edits."""

    comparison = reference("seamlab.SeamComparison", related_name="samples")
    trial = reference("seamlab.SeamTrial", related_name="comparison_samples")
    place = models.PositiveSmallIntegerField()

    class Meta:
        verbose_name = "sample in a comparison"
        constraints = [
            *tenant_rules("sample", refers_to=["comparison", "trial"]),
            models.UniqueConstraint(fields=["studio", "comparison", "trial"], name="sample_once"),
        ]


class ComparisonConclusion(TenantModel):
    """What was concluded, by whom. A later one takes its place on the page; the earlier stays."""

    comparison = reference("seamlab.SeamComparison", related_name="conclusions")
    taken = reference("seamlab.SeamTrial", null=True, blank=True)  # none: none of these
    words = models.CharField(max_length=600)
    concluded_by = reference("platform.Member")
    concluded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        verbose_name = "conclusion of a comparison"
        constraints = tenant_rules(
            "conclusion", refers_to=["comparison", "taken", "concluded_by"], append_only=True
        )
        indexes = [models.Index(fields=["studio", "comparison", "-concluded_at"], name="conclusion_newest")]
