"""Answers to "which seam for this cloth?" in words: a recipe with its evidence, or a starting point to try."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal
from uuid import UUID

from seamlab.calc import evidence, suits
from seamlab.calc.cloth import ClothFigures
from seamlab.models import SeamRecipe, SeamRecipeVersion
from seamlab.models.cloth import CROSSWISE, LENGTHWISE
from seamlab.queries.advice import (
    Note,
    Setting,
    layer_words,
    notes_for,
    seam_class_words,
    settings_of,
    stitch_words,
)
from seamlab.queries.mapping import HOLDING_PURPOSES

Standing = Literal["proven", "tried", "untested"]
STANDING_WORDS: dict[Standing, str] = {
    "proven": "Proven",
    "tried": "Tried, not proven",
    "untested": "Untested: sew a sample first",
}
UNTESTED_HERE = "Untested here: sew a sample first"
PLAIN_SEAMS = frozenset({SeamRecipe.Purpose.JOIN, SeamRecipe.Purpose.TOPSTITCH, SeamRecipe.Purpose.HEM})


@dataclass(frozen=True)
class ProvenSeam:
    """One answer to "which seam for this cloth?": a recipe's newest version, or a starting point to try.

    ``lower`` orders the answers: the pass rate that is exceeded with 95 % probability (see calc.evidence).
    For a starting point the ids, ``number`` and ``name`` of a recipe are empty. ``origin`` is own, library or rule.
    """

    place: int
    standing: Standing
    standing_words: str
    evidence: str
    name: str
    origin: str
    recipe_id: UUID | None
    version_id: UUID | None
    number: int | None
    seam_class: str
    seam_class_words: str
    layers: str
    stitch_type: str
    stitch_words: str
    stitch_length_mm: Decimal
    stitch_width_mm: Decimal
    settings: tuple[Setting, ...]
    cautions: str
    notes: tuple[Note, ...]
    trials: int
    passes: int
    undecided: int
    lower: float
    last_sewn: date | None
    nearest_cloth: str
    distance: float | None
    older: str

    @property
    def warnings(self) -> tuple[Note, ...]:
        return tuple(note for note in self.notes if note.kind == "warning")

    @property
    def is_starting_point(self) -> bool:
        return self.recipe_id is None


@dataclass(frozen=True)
class Asking:
    """The question, as far as an answer needs it."""

    cloth: ClothFigures
    kind: str
    purpose: str
    layers: int
    machine: suits.MachineFigures | None
    seam_runs: str

    @property
    def runs(self) -> suits.SeamRuns:
        return (
            "lengthwise"
            if self.seam_runs == LENGTHWISE
            else "crosswise"
            if self.seam_runs == CROSSWISE
            else ""
        )

    @property
    def holds(self) -> bool:
        return self.purpose in HOLDING_PURPOSES


def is_proven(entry: evidence.Ranked) -> bool:
    return entry.passes > 0 and entry.lower > evidence.LOWER_QUANTILE


def recipe_answer(
    place: int,
    entry: evidence.Ranked,
    *,
    version: SeamRecipeVersion,
    asking: Asking,
    names: Mapping[str, str],
    older: str | None,
) -> ProvenSeam:
    recipe = version.recipe
    standing: Standing = "proven" if is_proven(entry) else "tried" if entry.n else "untested"
    from_library = recipe.origin == SeamRecipe.Origin.LIBRARY
    return ProvenSeam(
        place=place,
        standing=standing,
        standing_words=UNTESTED_HERE if from_library and standing == "untested" else STANDING_WORDS[standing],
        evidence=entry.words,
        name=recipe.name,
        origin=recipe.origin,
        recipe_id=recipe.pk,
        version_id=version.pk,
        number=version.number,
        seam_class=recipe.seam_class,
        seam_class_words=seam_class_words(recipe.seam_class),
        layers=layer_words(recipe),
        stitch_type=version.stitch_type,
        stitch_words=stitch_words(version.stitch_type),
        stitch_length_mm=version.stitch_length_mm,
        stitch_width_mm=version.stitch_width_mm,
        settings=settings_of(version),
        cautions=version.cautions,
        notes=notes_for(version, asking.cloth, asking.layers),
        trials=entry.n,
        passes=entry.passes,
        undecided=entry.undecided,
        lower=entry.lower,
        last_sewn=entry.last_date,
        nearest_cloth=names.get(entry.nearest_cloth or "", ""),
        distance=entry.distance,
        older=""
        if standing == "proven" or older is None
        else f"{older} Version {version.number} is not yet.",
    )


def starting_answer(place: int, entry: evidence.Ranked, asking: Asking) -> ProvenSeam:
    point = entry.starting_point
    assert point is not None
    words = point.words
    if asking.purpose not in PLAIN_SEAMS:
        words += " For this purpose set the machine by its own handbook first."
    settings = [
        Setting("Stitch", stitch_words(point.stitch_type)),
        Setting("Stitch length", f"{point.stitch_length_mm:g} mm"),
        *([Setting("Stitch width", f"{point.stitch_width_mm:g} mm")] if point.stitch_width_mm else []),
        Setting("Needle", f"{point.needle_low} to {point.needle_high}, {point.needle_point}"),
        Setting("Needle and under thread", f"about tex {point.thread_tex:g}"),
    ]
    notes = [Note("estimate", "Common practice, no source.")]
    if asking.machine is not None:
        figures = suits.SeamSettings(
            point.stitch_type,
            point.stitch_length_mm,
            point.stitch_width_mm,
            needle_tex=point.thread_tex,
            needle_metric=point.needle_low,
        )
        notes = [Note("warning", o.text) for o in suits.machine_objections(figures, asking.machine)] + notes
    return ProvenSeam(
        place=place,
        standing="untested",
        standing_words=STANDING_WORDS["untested"],
        evidence=words,
        name="Starting point",
        origin="rule",
        recipe_id=None,
        version_id=None,
        number=None,
        seam_class="",
        seam_class_words="",
        layers=f"{asking.layers} layer{'s' if asking.layers > 1 else ''}",
        stitch_type=point.stitch_type,
        stitch_words=stitch_words(point.stitch_type),
        stitch_length_mm=Decimal(str(point.stitch_length_mm)),
        stitch_width_mm=Decimal(str(point.stitch_width_mm)),
        settings=tuple(settings),
        cautions="",
        notes=tuple(notes),
        trials=0,
        passes=0,
        undecided=0,
        lower=entry.lower,
        last_sewn=None,
        nearest_cloth="",
        distance=None,
        older="",
    )
