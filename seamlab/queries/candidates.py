"""Which recipes come into question for a cloth, and what is left out beforehand with which reason."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from seamlab.calc import suits
from seamlab.calc.cloth import ClothFigures
from seamlab.models import SeamRecipe, SeamRecipeVersion
from seamlab.queries.library import kind_words
from seamlab.queries.mapping import number
from seamlab.queries.tables import cloth_kinds

LEFT_OUT_SHOWN = 30
Why = suits.Objection | str  # an objection, or for which other cloth it was written
OTHER_CLOTH, MAY_BE_SHORT = "kind", "stretch maybe"
GROUP_WORDS: dict[str, str] = {
    "machine": "{machine} can't sew these",
    "stretch": "These seams can't stretch as far as the cloth",
    MAY_BE_SHORT: "Not tried on a cloth like this, and by the estimate too short more likely than not",
    "point": "Their needle's point can harm a knit",
    "ends": "Their thread is too thick for the needle's eye",
    OTHER_CLOTH: "From the library, written for other cloth and not tried on one like this",
}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A recipe's newest version as far as sifting and ranking see it; ``suits_kind`` 0 is best."""

    recipe_id: UUID
    version_id: UUID
    number: int  # of the version
    key: str
    name: str
    seam_class: str
    layers_low: int
    layers_high: int
    from_library: bool
    written_for: tuple[str, ...]
    suits_kind: int
    settings: suits.SeamSettings


@dataclass(frozen=True)
class LeftOutSeam:
    """One recipe that was left out, and why."""

    name: str
    recipe_id: UUID
    version_id: UUID
    reason: str


@dataclass(frozen=True)
class LeftOut:
    """Recipes that were left out for one reason: the first ``LEFT_OUT_SHOWN`` by name, and how many in all."""

    check: str
    words: str
    seams: tuple[LeftOutSeam, ...]
    count: int


COLUMNS = (
    "id",
    "recipe_id",
    "number",
    "recipe__name",
    "recipe__seam_class",
    "recipe__layers_low",
    "recipe__layers_high",
    "recipe__origin",
    "recipe__written_for",
    "stitch_type",
    "stitch_length_mm",
    "stitch_width_mm",
    "passes",
    "needle_thread_ends",
    "needle_thread__tex",
    "needle_thread__extension_percent",
    "under_thread_id",
    "under_thread__extension_percent",
    "needle__metric",
    "needle__point",
)


def candidates_for(
    purpose: str, seam_class: str | None, layers: int, structure: str, kind: str
) -> list[Candidate]:
    """Newest versions of the recipes for this purpose, class, layers and structure; hidden ones apart. One query.

    Those written for this kind of cloth come first, then the studio's own, then the rest, each by name.
    """
    found = SeamRecipeVersion.objects.filter(
        recipe__purpose=purpose,
        recipe__structure=structure,
        recipe__layers_low__lte=layers,
        recipe__layers_high__gte=layers,
        recipe__is_hidden=False,
    )
    if seam_class is not None:
        found = found.filter(recipe__seam_class=seam_class)
    rows = found.order_by("recipe_id", "-number").distinct("recipe_id").values_list(*COLUMNS)
    return sorted((_candidate(row, kind) for row in rows), key=lambda c: (c.suits_kind, c.name.casefold()))


def _candidate(row: tuple[Any, ...], kind: str) -> Candidate:
    (version_id, recipe_id, count, name, seam_class, low, high, origin, written_for, *rest) = row
    stitch, length, width, passes, ends, tex, extension, under_id, under_extension, metric, point = rest
    from_library = origin == SeamRecipe.Origin.LIBRARY
    suits_kind = 0 if kind and kind in written_for else 2 if from_library else 1
    return Candidate(
        recipe_id=recipe_id,
        version_id=version_id,
        number=count,
        key=str(recipe_id),
        name=name,
        seam_class=seam_class,
        layers_low=low,
        layers_high=high,
        from_library=from_library,
        written_for=tuple(written_for),
        suits_kind=suits_kind,
        settings=suits.SeamSettings(
            stitch_type=stitch,
            stitch_length_mm=float(length),
            stitch_width_mm=float(width),
            passes=passes,
            needle_tex=float(tex),
            ends=ends,
            needle_extension_percent=number(extension),
            under_extension_percent="same" if under_id is None else number(under_extension),
            needle_metric=metric,
            needle_point=point or "",
        ),
    )


def likely_kind(name: str, construction: str, structure: str) -> str:
    """The kind of cloth that its own words name ("single jersey", "calico"), where none is recorded; else nothing.

    Good enough to put fitting recipes first, not to leave any out. The longest name that fits is taken.
    """
    words = f" {construction} {name} ".casefold().replace(",", " ")
    fits = [
        kind.key
        for kind in cloth_kinds().values()
        if kind.structure == structure and f" {kind.key.replace('_', ' ')} " in words
    ]
    return max(fits, key=len, default="")


@dataclass(frozen=True, slots=True)
class Sifted:
    """What speaks against a candidate: what rules it out, and a doubt that only a trial can settle."""

    out: suits.Objection | None = None
    doubt: suits.Objection | None = None


def sift(
    candidate: Candidate,
    cloth: ClothFigures,
    *,
    layers: int,
    machine: suits.MachineFigures | None,
    runs: suits.SeamRuns,
    must_stretch: bool,
    passed_here: bool,
) -> Sifted:
    """What rules this recipe out, if anything. What passed on this very cloth is ruled out by the machine alone."""
    if passed_here:
        found = suits.machine_objections(candidate.settings, machine) if machine is not None else []
    else:
        found = list(
            suits.objections(
                candidate.settings,
                cloth,
                layers=layers,
                machine=machine,
                runs=runs,
                must_stretch=must_stretch,
            )
        )
    out = next((objection for objection in found if objection.weight == "rules out"), None)
    doubt = next((objection for objection in found if objection.weight == "doubts"), None)
    return Sifted(out, doubt)


def written_for_another(candidate: Candidate) -> str:
    """Where the library wrote a recipe for other kinds of cloth than the one at hand: for which, else nothing."""
    if not candidate.from_library or not candidate.written_for or candidate.suits_kind == 0:
        return ""
    return f"Written for {kind_words(candidate.written_for)}."


def group_left_out(
    out: Iterable[tuple[Candidate, Why]], machine: suits.MachineFigures | None
) -> tuple[LeftOut, ...]:
    """What was left out, by reason."""
    groups: dict[str, list[LeftOutSeam]] = {}
    for candidate, why in out:
        if isinstance(why, str):
            check, reason = OTHER_CLOTH, why
        else:
            check, reason = why.check if why.weight == "rules out" else MAY_BE_SHORT, why.text
        seam = LeftOutSeam(candidate.name, candidate.recipe_id, candidate.version_id, reason)
        groups.setdefault(check, []).append(seam)
    name = machine.name if machine else "This machine"
    return tuple(
        LeftOut(
            check,
            words.format(machine=name),
            tuple(sorted(groups[check], key=lambda seam: seam.name.casefold())[:LEFT_OUT_SHOWN]),
            len(groups[check]),
        )
        for check, words in GROUP_WORDS.items()
        if check in groups
    )
