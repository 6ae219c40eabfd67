"""What can be chosen on the pages of a garment: paper, cloth, plans, recipes; (id, words) in the order of use."""

from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from fitting.models import FitPlan, Garment, Pattern
from seamlab.models import Cloth, SeamRecipeVersion, SeamTrial
from studio.platform.rights import Actor, Right

MOST_CHOICES = 500
Choices = list[tuple[str, str]]


@dataclass(frozen=True)
class GarmentChoices:
    """``plans`` are empty for whoever may not choose one."""

    patterns: Choices
    cloths: Choices
    plans: Choices


def garment_choices(actor: Actor, *, kind: str = "", client_id: UUID | None = None) -> GarmentChoices:
    """Patterns (of one kind), cloths, and the plans of a client for that kind."""
    actor.need(Right.READ_PAPER, Right.READ_SEAMS)
    patterns = Pattern.objects.order_by("name", "id")
    plans: Choices = []
    if kind:
        patterns = patterns.filter(kind=kind)
    if client_id and actor.may(Right.KEEP_PAPER):
        rows = FitPlan.objects.filter(
            ~Q(state=FitPlan.State.REPLACED), client_id=client_id, pattern__kind=kind
        ).select_related("pattern")
        plans = [
            (str(row.pk), f"{row.pattern.name}, plan {row.number} ({row.get_state_display().lower()})")
            for row in rows.order_by("-id")[:MOST_CHOICES]
        ]
    return GarmentChoices(
        patterns=[
            (str(row.pk), f"{row.name} ({row.get_kind_display().lower()})") for row in patterns[:MOST_CHOICES]
        ],
        cloths=[(str(row.pk), row.name) for row in Cloth.objects.order_by("name", "id")[:MOST_CHOICES]],
        plans=plans,
    )


def seam_choices(actor: Actor, garment: Garment) -> Choices:
    """The newest version of every recipe, those proven on the garment's cloth first; two queries."""
    actor.need(Right.READ_SEAMS)
    versions = list(
        SeamRecipeVersion.objects.select_related("recipe")
        .order_by("recipe_id", "-number")
        .distinct("recipe_id")[:MOST_CHOICES]
    )
    proven = (
        set(
            SeamTrial.objects.filter(
                cloth_id=garment.cloth_id, verdict=SeamTrial.Verdict.PASSES, version__in=versions
            ).values_list("version_id", flat=True)
        )
        if garment.cloth_id
        else set()
    )
    versions.sort(key=lambda row: (row.pk not in proven, row.recipe.name.lower(), row.pk))
    return [
        (
            str(row.pk),
            f"{row.recipe.name}, version {row.number}"
            + (" (proven on this cloth)" if row.pk in proven else " (not tried on this cloth)"),
        )
        for row in versions
    ]
