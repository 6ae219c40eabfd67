"""What can be chosen, as (word, label), for forms: the models' own lists."""

from collections.abc import Iterable
from typing import Any

from seamlab.calc.thread import SYSTEMS
from seamlab.models import Cloth, ClothPhoto, LabFigure, Machine, Needle, SeamRecipe, SeamTrial
from seamlab.models.cloth import WAYS
from seamlab.queries.lab_table import MEASURABLE
from seamlab.queries.supplies import SYSTEM_WORDS
from seamlab.queries.tables import cloth_kinds, fibres, seam_classes, stitch_types

Choices = list[tuple[str, str]]


def _plain(choices: Iterable[tuple[Any, Any]]) -> Choices:
    return [(str(word), str(label)) for word, label in choices]


STRUCTURES = _plain(Cloth.Structure.choices)
DIRECTIONS = _plain(Cloth.Direction.choices)
WAY_CHOICES = _plain(WAYS)
TRIAL_DIRECTIONS: Choices = [*WAY_CHOICES, ("bias", "bias")]
PURPOSES = _plain(SeamRecipe.Purpose.choices)
POINTS = _plain(Needle.Point.choices)
ORIGINS = _plain(SeamRecipe.Origin.choices)
FEEDS = _plain(Machine.Feed.choices)
PHOTO_SIDES = _plain(ClothPhoto.Side.choices)
VERDICTS = _plain(SeamTrial.Verdict.choices)
BALANCES = _plain(SeamTrial.Balance.choices)
PULL_ENDS = _plain(SeamTrial.PullEnd.choices)
DAMAGES = _plain(SeamTrial.Damage.choices)
THREAD_SYSTEMS: Choices = [(system, SYSTEM_WORDS[system]) for system in SYSTEMS]
NUMBERINGS: Choices = [("metric", "metric (60 to 120)"), ("number", "the other number (8 to 19)")]


def fibre_choices() -> Choices:
    """Generic names in the order of the alphabet, each with its other names."""
    named = [(row.name, f"{row.name} ({', '.join(row.also)})" if row.also else row.name) for row in fibres()]
    return sorted(named)


def cloth_kind_choices() -> list[tuple[str, str | Choices]]:
    """Kinds of cloth, woven and knit apart; the first is none of them."""
    found: list[tuple[str, str | Choices]] = [("", "none of these")]
    for structure, label in STRUCTURES:
        found.append(
            (label, [(row.key, row.name) for row in cloth_kinds().values() if row.structure == structure])
        )
    return found


def lab_quantities() -> list[tuple[str, str, tuple[str, ...]]]:
    """Quantities of a laboratory report: (key, words with the unit, its ways or one empty one)."""
    ways = tuple(way for way, _ in WAYS)
    return [
        (quantity, str(LabFigure.Quantity(quantity).label), ways if known.by_way else ("",))
        for quantity, known in MEASURABLE.items()
    ]


def seam_class_choices() -> Choices:
    return [(code, f"{code} {name}") for code, name in seam_classes().items()]


def stitch_choices(*, by_hand: bool = True) -> Choices:
    return [(row.code, row.words) for row in stitch_types().values() if by_hand or not row.by_hand]
