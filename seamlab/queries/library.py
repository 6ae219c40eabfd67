"""The starting library: recipes from general knowledge of the trade, in the house's own words.

None of it is proven. A studio takes it in once (`services.library`); each recipe is untested there until a sample
of its own passes.
"""

import json
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db.models import Count, Q

from seamlab.calc.suits import POINT_WORDS
from seamlab.models import SeamRecipe
from seamlab.queries.tables import DATA, cloth_kinds, stitch_types
from studio.platform.rights import Actor, Right


@dataclass(frozen=True)
class LibraryThread:
    """A kind of thread that recipes name; ``extension_percent`` is the low figure usual for its kind."""

    key: str
    name: str
    fibre: str
    construction: str
    tex: Decimal
    extension_percent: Decimal | None


@dataclass(frozen=True)
class LibraryRecipe:
    """A recipe as it stands in the library. Lengths in mm; ``needle`` is (metric size, point), None by hand."""

    key: str
    name: str
    purpose: str
    seam_class: str
    structure: str
    written_for: tuple[str, ...]
    layers: tuple[int, int]
    stitch_type: str
    stitch_length_mm: Decimal
    stitch_width_mm: Decimal
    passes: int
    needle_thread: str
    needle_thread_ends: int
    under_thread: str | None
    needle: tuple[int, str] | None
    tension: str
    foot: str
    pressure: str
    differential_feed: str
    stabiliser: str
    pressing: str
    preparation: str
    allowance_mm: Decimal | None
    cautions: str
    note: str
    basis: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Library:
    about: str
    threads: dict[str, LibraryThread]
    recipes: tuple[LibraryRecipe, ...]


@dataclass(frozen=True)
class LibraryStanding:
    """How much of the library is in this studio."""

    recipes: int
    kinds: int
    taken_in: int

    @property
    def missing(self) -> int:
        return self.recipes - self.taken_in


@lru_cache(maxsize=1)
def library() -> Library:
    """The library, read once. Every recipe's ``basis`` is complete: the common one, and where it has its own, that."""
    table = json.loads((DATA / "library.json").read_text(encoding="utf-8"), parse_float=Decimal)
    common: dict[str, str] = table["bases"]
    return Library(
        table["about"],
        {row["key"]: _thread(row) for row in table["threads"]},
        tuple(_recipe(row, common) for row in table["recipes"]),
    )


def _thread(row: dict[str, Any]) -> LibraryThread:
    extension = row["extension_percent"]
    return LibraryThread(
        **(
            row
            | {
                "tex": Decimal(row["tex"]),
                "extension_percent": None if extension is None else Decimal(extension),
            }
        )
    )


def _recipe(row: dict[str, Any], common: dict[str, str]) -> LibraryRecipe:
    allowance = row["allowance_mm"]
    basis = common | row.get("basis", {})
    if not row["cautions"]:
        basis.pop("cautions", None)
    return LibraryRecipe(
        **(
            row
            | {
                "written_for": tuple(row["written_for"]),
                "layers": (row["layers"][0], row["layers"][1]),
                "needle": None if row["needle"] is None else (row["needle"][0], row["needle"][1]),
                "stitch_length_mm": Decimal(row["stitch_length_mm"]),
                "stitch_width_mm": Decimal(row["stitch_width_mm"]),
                "allowance_mm": None if allowance is None else Decimal(allowance),
                "basis": basis,
            }
        )
    )


def library_standing(actor: Actor) -> LibraryStanding:
    """How much of the library this studio has taken in; one query."""
    actor.need(Right.READ_SEAMS)
    keys = {recipe.key for recipe in library().recipes}
    taken = set(SeamRecipe.objects.exclude(library_key="").values_list("library_key", flat=True))
    kinds = {kind for recipe in library().recipes for kind in recipe.written_for}
    return LibraryStanding(len(keys), len(kinds), len(keys & taken))


def kind_words(keys: "list[str] | tuple[str, ...]") -> str:
    """Kinds of cloth by name: "voile or batiste, organza"."""
    known = cloth_kinds()
    return ", ".join(known[key].name.lower() if key in known else key for key in keys)


@dataclass(frozen=True)
class LibraryRow:
    """A recipe of the library as it stands here: ``recipe_id`` None is not taken in; passes of any version."""

    recipe: LibraryRecipe
    purpose: str
    stitch: str
    needle: str
    written_for: str
    recipe_id: UUID | None
    name: str
    passes: int

    @property
    def standing(self) -> str:
        if self.recipe_id is None:
            return "not taken in"
        return "proven here" if self.passes else "untested here"


def library_page(actor: Actor, kind: str = "") -> dict[str, Any]:
    """The library's recipes (for one kind of cloth, or all) and how they stand in this studio; two queries."""
    actor.need(Right.READ_SEAMS)
    here = {
        key: (pk, name, passes)
        for pk, key, name, passes in SeamRecipe.objects.exclude(library_key="")
        .annotate(
            passes=Count(
                "versions__trials",
                filter=Q(versions__trials__verdict="passes", versions__trials__withdrawals=None),
            )
        )
        .values_list("id", "library_key", "name", "passes")
    }
    purposes = {str(value): str(words) for value, words in SeamRecipe.Purpose.choices}
    rows = []
    for recipe in library().recipes:
        if kind and kind not in recipe.written_for:
            continue
        pk, name, passes = here.get(recipe.key, (None, recipe.name, 0))
        rows.append(
            LibraryRow(
                recipe,
                purposes[recipe.purpose],
                stitch_types()[recipe.stitch_type].words,
                needle_words(recipe),
                kind_words(recipe.written_for),
                pk,
                name,
                passes,
            )
        )
    counts: dict[str, int] = {}
    for recipe in library().recipes:
        for key in recipe.written_for:
            counts[key] = counts.get(key, 0) + 1
    kinds = [(row.key, row.name, counts[row.key]) for row in cloth_kinds().values() if row.key in counts]
    return {"rows": rows, "kinds": kinds, "standing": library_standing(actor)}


def needle_words(recipe: LibraryRecipe) -> str:
    if recipe.needle is None:
        return "by hand"
    metric, point = recipe.needle
    return f"{metric}, {POINT_WORDS[point]}"
