"""Which proven recipe first: past trials on like cloths, weighed by how like they are.

Each trial counts with weight exp(-distance^2) of its cloth from the cloth at hand: 1 for the same cloth, 0.37
at one unit, 0.02 at two. With s the weighted passes and f the weighted failures, the pass rate has the
posterior Beta(1 + s, 1 + f) from a uniform prior, and recipes are ordered by its 5 % quantile: the rate that
is exceeded with 95 % probability. So three passes of three come before one of one, and nothing known (0.05)
before a failure. Example: three passes of three on the same cloth give Beta(4, 1), whose 5 % quantile is 0.05
** (1/4) = 0.473.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from operator import attrgetter
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from scipy.special import betaincinv

from seamlab.calc.bounds import whole
from seamlab.calc.cloth import ClothFigures
from seamlab.calc.seam import Verdict
from seamlab.calc.starting import StartingPoint, starting_point

Floats = npt.NDArray[np.float64]

# Scales of the distance: a difference of one scale is one unit. All common practice, no source.
WEIGHT_SCALE = math.log(1.5)
"""Half as heavy again (180 against 120 g/m2) is one unit. Common practice, no source."""
THICKNESS_SCALE = math.log(1.5)
"""Half as thick again is one unit. Common practice, no source."""
STRETCH_SCALE_PERCENT = 25.0
"""25 points of stretch, about one class of knits, are one unit, each way. Common practice, no source."""
UNTESTED_UNITS = 0.5
"""What a figure that is not tested on one of the cloths adds, so that it ranks behind a tested match. Common
practice, no source."""

OTHER_MACHINE_WEIGHT = 0.5
"""What a trial on another (or an unnamed) machine counts beside one on this machine, since dial settings
do not carry over. Common practice, no source."""
NEAR_WEIGHT = 0.01
"""From this weight of its cloth on (2.1 units away) a trial counts in `n` and `passes`; a lighter one adds
its weight to the posterior, but is not shown as evidence."""
LOWER_QUANTILE = 0.05


@dataclass(frozen=True, slots=True)
class RecipeFigures:
    """A recipe as far as ranking sees it: `key` names it; it serves `layers_low` to `layers_high` layers.

    `purpose` is the studio's word ("seam", "hem", "topstitching"), `seam_class` the ISO 4916 class, 1 to 8.
    """

    key: str
    purpose: str
    seam_class: int
    layers_low: int
    layers_high: int

    def __post_init__(self) -> None:
        if whole("seam_class", self.seam_class) > 8:
            raise ValueError(f"seam_class must be an ISO 4916 class from 1 to 8, got {self.seam_class!r}.")
        if whole("layers_high", self.layers_high) < whole("layers_low", self.layers_low):
            raise ValueError(
                f"layers_high ({self.layers_high}) must not be less than layers_low ({self.layers_low})."
            )


@dataclass(frozen=True, slots=True)
class PastTrial:
    """One judged trial: its recipe, cloth, machine (None: not noted), verdict and date."""

    recipe: str
    cloth: ClothFigures
    verdict: Verdict
    on: date
    machine: str | None = None

    def __post_init__(self) -> None:
        if self.verdict not in ("passes", "fails", "look again"):
            raise ValueError(f"verdict must be 'passes', 'fails' or 'look again', got {self.verdict!r}.")


@dataclass(frozen=True, slots=True)
class TrialColumns:
    """Many past trials as columns of equal length, for libraries of tens of thousands.

    `recipe` and `cloth` are places in the sequences given beside them, `verdict` a place in `VERDICTS`, `day` an
    ordinal (date.toordinal), `elsewhere` whether another machine sewed it than the one asked for.
    """

    recipe: npt.NDArray[np.intp]
    cloth: npt.NDArray[np.intp]
    verdict: npt.NDArray[np.intp]
    day: npt.NDArray[np.int64]
    elsewhere: npt.NDArray[np.bool_]


VERDICTS: tuple[Verdict, ...] = ("passes", "fails", "look again")


@dataclass(frozen=True, slots=True)
class Wanted:
    """The seam that is looked for: only recipes of this purpose and class, for so many layers, are ranked."""

    purpose: str
    seam_class: int
    layers: int

    def __post_init__(self) -> None:
        if whole("seam_class", self.seam_class) > 8:
            raise ValueError(f"seam_class must be an ISO 4916 class from 1 to 8, got {self.seam_class!r}.")
        whole("layers", self.layers)


@dataclass(frozen=True, slots=True)
class Ranked:
    """A recipe (or, where `recipe` is None, a starting point) with its evidence for the cloth at hand.

    `lower` is the 5 % quantile of the posterior Beta(`alpha`, `beta`), `mean` its mean. `n` trials that
    passed or failed on this cloth or near ones, `passes` of them passed, `undecided` still need another look;
    `weight` is what all decided trials weigh together, in trials on this very cloth. `nearest_cloth` is the
    key of the nearest cloth with a decided trial and `distance` its distance (None without one), `last_date`
    the date of the last of the `n`. `other_machine`: all of the `n` were sewn on other machines.
    """

    recipe: RecipeFigures | None
    status: Literal["tried", "untested"]
    lower: float
    mean: float
    alpha: float
    beta: float
    n: int
    passes: int
    undecided: int
    weight: float
    nearest_cloth: str | None
    distance: float | None
    last_date: date | None
    other_machine: bool
    words: str
    starting_point: StartingPoint | None = None


def cloth_distance(a: ClothFigures, b: ClothFigures) -> float:
    """How unlike two cloths are, in units of the scales above: 0 the same, infinite for woven against knit.

    Root of the sum of squares over log weight, log thickness and stretch each way. A figure that is not
    tested on both adds `UNTESTED_UNITS`. Two figures with the same (non-empty) key are the same cloth: 0.
    """
    return float(_distances(a, [b])[0])


def rank(
    recipes: Sequence[RecipeFigures],
    trials: Sequence[PastTrial],
    cloth: ClothFigures,
    machine: str | None = None,
    *,
    wanted: Wanted | None = None,
) -> list[Ranked]:
    """Recipes for `cloth`, best proven first, each with its evidence; see the module for the rule.

    `wanted` picks the recipes of that purpose, seam class and number of layers; without it all `recipes` must
    already serve one and the same seam. With a `machine`, trials on others count `OTHER_MACHINE_WEIGHT`.
    Trials of recipes that are not listed are passed over; "look again" counts neither way. Where no recipe is
    better than not knowing (lower quantile above 0.05), a starting point for this cloth takes its place in
    the order, marked "untested". Ties: more weight, then nearer cloth, then later trial, then the order
    given. Neither sequence need have entries. Raises ValueError for recipes of unlike seams, or two with the
    same key.
    """
    chosen = _choose(recipes, wanted)
    index = {recipe.key: i for i, recipe in enumerate(chosen)}
    if len(index) != len(chosen):
        raise ValueError("recipes must have different keys; one key is given twice.")
    mine = [trial for trial in trials if trial.recipe in index]
    columns = TrialColumns(
        recipe=np.array([index[trial.recipe] for trial in mine], dtype=np.intp),
        cloth=np.arange(len(mine), dtype=np.intp),
        verdict=np.array([VERDICTS.index(trial.verdict) for trial in mine], dtype=np.intp),
        day=np.array([trial.on.toordinal() for trial in mine], dtype=np.int64),
        elsewhere=np.array([machine is not None and trial.machine != machine for trial in mine], dtype=bool),
    )
    return _in_order(chosen, columns, [trial.cloth for trial in mine], cloth, wanted)


def rank_columns(
    recipes: Sequence[RecipeFigures],
    trials: TrialColumns,
    cloths: Sequence[ClothFigures],
    cloth: ClothFigures,
    *,
    wanted: Wanted | None = None,
) -> list[Ranked]:
    """As `rank`, for trials in columns; all of `recipes` must serve what is `wanted`, as `rank` checks.

    Raises ValueError as `rank`, and for columns of unequal length or places outside their sequences.
    """
    if len(_choose(recipes, wanted)) != len(recipes):
        raise ValueError("recipes must all be of the purpose, class and layers that are wanted.")
    if len({recipe.key for recipe in recipes}) != len(recipes):
        raise ValueError("recipes must have different keys; one key is given twice.")
    lengths = {
        len(column) for column in (trials.recipe, trials.cloth, trials.verdict, trials.day, trials.elsewhere)
    }
    if len(lengths) != 1:
        raise ValueError("the columns of trials must be of one length.")
    for name, places, most in (
        ("recipe", trials.recipe, len(recipes)),
        ("cloth", trials.cloth, len(cloths)),
        ("verdict", trials.verdict, len(VERDICTS)),
    ):
        if len(places) and not 0 <= int(places.min()) <= int(places.max()) < most:
            raise ValueError(f"{name} of trials must be places from 0 to {most - 1}.")
    return _in_order(list(recipes), trials, cloths, cloth, wanted)


def _in_order(
    recipes: list[RecipeFigures],
    trials: TrialColumns,
    cloths: Sequence[ClothFigures],
    cloth: ClothFigures,
    wanted: Wanted | None,
) -> list[Ranked]:
    ranked = _ranked(recipes, trials, cloths, cloth)
    if not any(entry.n and entry.lower > LOWER_QUANTILE for entry in ranked):
        ranked.append(_untested(cloth, wanted, recipes))
    ranked.sort(key=_order)
    return ranked


def _choose(recipes: Sequence[RecipeFigures], wanted: Wanted | None) -> list[RecipeFigures]:
    if wanted is not None:
        return [
            recipe
            for recipe in recipes
            if recipe.purpose == wanted.purpose
            and recipe.seam_class == wanted.seam_class
            and recipe.layers_low <= wanted.layers <= recipe.layers_high
        ]
    kinds = {(recipe.purpose, recipe.seam_class) for recipe in recipes}
    if len(kinds) > 1:
        some = "; ".join(f"{purpose}, class {number}" for purpose, number in sorted(kinds)[:3])
        raise ValueError(
            f"recipes must serve one purpose and seam class, or say which is wanted; got {some}."
        )
    if recipes and max(r.layers_low for r in recipes) > min(r.layers_high for r in recipes):
        raise ValueError("recipes must have a number of layers in common, or say how many are wanted.")
    return list(recipes)


def _ranked(
    recipes: list[RecipeFigures], trials: TrialColumns, cloths: Sequence[ClothFigures], cloth: ClothFigures
) -> list[Ranked]:
    """One entry per recipe, unsorted."""
    count = len(recipes)
    of, days, elsewhere = trials.recipe, trials.day, trials.elsewhere
    passed = trials.verdict == VERDICTS.index("passes")
    decided = trials.verdict != VERDICTS.index("look again")
    distance = _distances(cloth, cloths)[trials.cloth]
    likeness = np.exp(-(distance**2))
    weight = likeness * np.where(elsewhere, OTHER_MACHINE_WEIGHT, 1.0)
    near = likeness >= NEAR_WEIGHT

    def total(mask: npt.NDArray[np.bool_], weights: Floats | None = None) -> Floats:
        chosen = None if weights is None else weights[mask]
        return np.bincount(of[mask], weights=chosen, minlength=count).astype(np.float64)

    alpha = 1.0 + total(passed, weight)
    beta = 1.0 + total(decided & ~passed, weight)
    lower = np.asarray(betaincinv(alpha, beta, LOWER_QUANTILE), dtype=np.float64)
    n = total(decided & near).astype(int).tolist()
    passes = total(passed & near).astype(int).tolist()
    undecided = total(~decided & near).astype(int).tolist()
    here = total(decided & near & ~elsewhere).astype(int).tolist()
    last = np.zeros(count, dtype=np.int64)
    np.maximum.at(last, of[decided & near], days[decided & near])

    nearest = np.full(count, -1, dtype=np.intp)
    comparable = np.flatnonzero(decided & np.isfinite(distance))
    # Farthest first and, at one distance, oldest first: the last one written is the nearest and newest.
    by_distance = comparable[np.lexsort((trials.cloth[comparable], days[comparable], -distance[comparable]))]
    nearest[of[by_distance]] = by_distance

    entries = []
    columns = zip(recipes, lower.tolist(), alpha.tolist(), beta.tolist(), nearest.tolist(), strict=True)
    for i, (recipe, low, a, b, at) in enumerate(columns):
        near_cloth = cloths[trials.cloth[at]] if at >= 0 else None
        gap = float(distance[at]) if at >= 0 else None
        other = n[i] > 0 and here[i] == 0
        when = date.fromordinal(int(last[i])) if n[i] else None
        entries.append(
            Ranked(
                recipe=recipe,
                status="tried" if n[i] else "untested",
                lower=low,
                mean=a / (a + b),
                alpha=a,
                beta=b,
                n=n[i],
                passes=passes[i],
                undecided=undecided[i],
                weight=a + b - 2.0,
                nearest_cloth=near_cloth.key if near_cloth else None,
                distance=gap,
                last_date=when,
                other_machine=other,
                words=_words(
                    n=n[i],
                    passes=passes[i],
                    undecided=undecided[i],
                    distance=gap,
                    last=when,
                    other_machine=other,
                ),
            )
        )
    return entries


def _distances(cloth: ClothFigures, others: Sequence[ClothFigures]) -> Floats:
    """Distance of each of `others` from `cloth`; shape (len(others),)."""
    if not others:
        return np.zeros(0)
    figures = attrgetter(
        "weight_gsm", "thickness_mm", "stretch_lengthwise_percent", "stretch_crosswise_percent"
    )
    table = np.array([figures(other) for other in others], dtype=np.float64)  # None becomes NaN
    own = np.array(figures(cloth), dtype=np.float64)
    table[:, :2], own[:2] = np.log(table[:, :2]), np.log(own[:2])
    scales = np.array([WEIGHT_SCALE, THICKNESS_SCALE, STRETCH_SCALE_PERCENT, STRETCH_SCALE_PERCENT])
    units = (table - own) / scales
    units[np.isnan(units)] = UNTESTED_UNITS
    distance = np.sqrt((units**2).sum(axis=1))
    distance[np.array([other.structure != cloth.structure for other in others], dtype=bool)] = np.inf
    if cloth.key:
        distance[np.array([other.key == cloth.key for other in others], dtype=bool)] = 0.0
    return np.asarray(distance, dtype=np.float64)


def _words(
    *, n: int, passes: int, undecided: int, distance: float | None, last: date | None, other_machine: bool
) -> str:
    again = f" {undecided} more {'needs' if undecided == 1 else 'need'} another look." if undecided else ""
    if n == 0 or last is None:
        where = (
            "no trial on this cloth or one like it"
            if distance is None
            else "tried only on very unlike cloths"
        )
        return f"Untested: {where}.{again}"
    cloth = "this cloth" if distance == 0 else f"a cloth {distance:.1f} units away"
    noun = "trial" if n == 1 else "trials"
    text = f"{passes} of {n} {noun} passed, the nearest on {cloth}, last {last.day} {last:%B %Y}.{again}"
    return text + (" Sewn on another machine: set the tension again." if other_machine else "")


def _order(entry: Ranked) -> tuple[Any, ...]:
    """Sort key, best first. Quantiles are rounded so that a last bit of floating point can't part a tie."""
    return (
        -round(entry.lower, 12),
        -round(entry.weight, 9),
        math.inf if entry.distance is None else round(entry.distance, 9),
        0 if entry.last_date is None else -entry.last_date.toordinal(),
        entry.recipe is None,
    )


def _untested(cloth: ClothFigures, wanted: Wanted | None, recipes: list[RecipeFigures]) -> Ranked:
    layers = wanted.layers if wanted else max((recipe.layers_low for recipe in recipes), default=2)
    point = starting_point(cloth, layers)
    return Ranked(
        recipe=None,
        status="untested",
        lower=LOWER_QUANTILE,
        mean=0.5,
        alpha=1.0,
        beta=1.0,
        n=0,
        passes=0,
        undecided=0,
        weight=0.0,
        nearest_cloth=None,
        distance=None,
        last_date=None,
        other_machine=False,
        words=point.words,
        starting_point=point,
    )
