"""What can be chosen about recipes and samples, as (word, label), for forms."""

from seamlab.models import SeamRecipe, TrialPhoto
from seamlab.queries.tables import cloth_kinds

Choices = list[tuple[str, str]]

ORIGINS: Choices = [(str(word), str(label)) for word, label in SeamRecipe.Origin.choices]
SAMPLE_SIDES: Choices = [(str(word), str(label)) for word, label in TrialPhoto.Side.choices]


def written_for_choices(structure: str = "") -> Choices:
    """The kinds of cloth of the table, or those of one structure."""
    return [
        (kind.key, kind.name)
        for kind in cloth_kinds().values()
        if not structure or kind.structure == structure
    ]
