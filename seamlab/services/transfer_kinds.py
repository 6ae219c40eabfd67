"""One kind of row after another: how it is told from others, what it is compared with, which act records it.

Every row goes through the same act as one typed on a page, so that a file is held to the same rules.
"""

import re
from collections.abc import Callable, Hashable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any
from uuid import UUID

from seamlab.calc.thread import needle_metric, tex_from
from seamlab.models import Cloth, Machine, Needle, SeamRecipe, SeamRecipeVersion, Thread
from seamlab.queries.library import library
from seamlab.queries.tables import fibre_named
from seamlab.queries.transfer_rows import Values, needle_name
from seamlab.services import cloth, machines, seams, supplies
from seamlab.services.checks import hundredths
from seamlab.services.library import SOURCE
from seamlab.services.settings import SETTING_NAMES
from studio.calc.transfer_words import fold
from studio.platform.errors import Refused
from studio.platform.rights import Actor

_REELS = re.compile(r"(.+\S) +[x×] *([0-9]{1,5})")
SETTINGS_BY_NAME = ("needle_thread_id", "under_thread_id", "needle_id")


@dataclass
class Names:
    """Rows by their names: exactly as written, else without regard to capitals where only one fits."""

    noun: str
    exact: dict[str, UUID] = field(default_factory=dict)
    near: dict[str, UUID | None] = field(default_factory=dict)

    def add(self, name: str, pk: UUID) -> None:
        self.exact[name] = pk
        key = fold(name)
        self.near[key] = pk if self.near.get(key, pk) == pk else None

    def find(self, name: str, key: str) -> UUID:
        """Raises Refused, naming the column ``key``."""
        found = self.exact.get(name) or self.near.get(fold(name))
        if found is None:
            raise Refused(
                {key: f"There is no {self.noun} called “{name[:80]}”, neither here nor in this file."}
            )
        return found


@dataclass
class Shelf:
    """What a row may refer to: what is here, and what came from the tables before."""

    threads: Names = field(default_factory=lambda: Names("thread"))
    needles: Names = field(default_factory=lambda: Names("needle"))
    machines: Names = field(default_factory=lambda: Names("machine"))
    cloths: Names = field(default_factory=lambda: Names("cloth"))
    recipes: Names = field(default_factory=lambda: Names("recipe"))

    @classmethod
    def stocked(cls) -> "Shelf":
        """As the studio in scope has it: five queries."""
        shelf = cls()
        for names, model in (
            (shelf.threads, Thread),
            (shelf.machines, Machine),
            (shelf.cloths, Cloth),
            (shelf.recipes, SeamRecipe),
        ):
            for pk, name in model.objects.values_list("pk", "name"):
                names.add(name, pk)
        for needle in Needle.objects.all():
            shelf.add_needle(needle)
        return shelf

    def add_needle(self, needle: Needle) -> None:
        for point in (needle.point, str(needle.get_point_display())):
            self.needles.add(needle_name(needle.metric, point, needle.blades, needle.gauge_mm), needle.pk)


@dataclass(frozen=True)
class Kind:
    """``key`` of a row's values (raises Refused), ``same`` values to compare, ``record`` it."""

    key: Callable[[Shelf, Values], Hashable]
    same: Callable[[Values], Values]
    record: Callable[[Actor, Shelf, Values], None]


def differing(given: Values, there: Values, same: Callable[[Values], Values]) -> list[str]:
    """The keys in which what is given differs from what is there; what is not given is not compared."""
    ours, theirs = same(given), same(there)
    return [key for key, value in ours.items() if key in theirs and not _alike(value, theirs[key])]


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, Decimal) and isinstance(other, int | float | Decimal):
        return abs(one - Decimal(other)) < Decimal("0.00005")
    return bool(one == other) or (one in ("", None, []) and other in ("", None, []))


def _named(shelf: Shelf, values: Values) -> Hashable:
    return fold(str(values["name"]))


def _as_it_is(values: Values) -> Values:
    return values


# --- threads, needles, machines ---


def _same_thread(values: Values) -> Values:
    found = {key: value for key, value in values.items() if key not in ("name", "system")}
    with suppress(ValueError):  # its act will say what is wrong with it
        found["size"] = hundredths(tex_from(float(values["size"]), values.get("system") or "tex"))
    if "fibre" in found:
        found["fibre"] = fibre_named(found["fibre"]) or found["fibre"]
    return found


def _colour(words: str) -> dict[str, Any]:
    """ "grey x 3" is three reels of grey; "grey" says nothing of how many."""
    found = _REELS.fullmatch(words)
    return {"colour": found[1], "reels": int(found[2])} if found else {"colour": words, "reels": None}


def _record_thread(actor: Actor, shelf: Shelf, values: Values) -> None:
    if "colours" in values:
        values = {**values, "colours": [_colour(each) for each in values["colours"]]}
    made = supplies.record_thread(actor, **values)
    shelf.threads.add(made.name, made.pk)


def _metric(values: Values) -> int:
    size = int(values["size"])
    if values.get("numbering") != "number":
        return size
    try:
        return needle_metric(size)
    except ValueError:
        return size


def _needle_key(shelf: Shelf, values: Values) -> Hashable:
    blades = values.get("blades", 1)
    return (
        _metric(values),
        values["point"],
        blades,
        values.get("gauge_mm", Decimal(0)) if blades > 1 else Decimal(0),
    )


def _same_needle(values: Values) -> Values:
    return {"what_for": values["what_for"]} if "what_for" in values else {}


def _record_needle(actor: Actor, shelf: Shelf, values: Values) -> None:
    shelf.add_needle(supplies.record_needle(actor, **values))


def _same_machine(values: Values) -> Values:
    found = {key: value for key, value in values.items() if key != "name"}
    for key in ("stitch_types", "feeds"):
        if key in found:
            found[key] = sorted({fold(str(each)) for each in found[key]})
    return found


def _key(words: str) -> str:
    return fold(words).replace(" ", "_")


def _record_machine(actor: Actor, shelf: Shelf, values: Values) -> None:
    if "feeds" in values:
        values = {**values, "feeds": [_key(each) for each in values["feeds"]]}
    made = machines.record_machine(actor, **values)
    shelf.machines.add(made.name, made.pk)


# --- cloth ---


def _same_cloth(values: Values) -> Values:
    found = {key: value for key, value in values.items() if key != "name"}
    if "kind" in found:
        found["kind"] = _key(found["kind"])
    if "fibres" in found:
        parts = [(fibre_named(str(each["fibre"])), Decimal(str(each["percent"]))) for each in found["fibres"]]
        found["fibres"] = sorted((name or "", percent.normalize()) for name, percent in parts)
    return found


def _record_cloth(actor: Actor, shelf: Shelf, values: Values) -> None:
    if "kind" in values:
        values = {**values, "kind": _key(values["kind"])}
    made = cloth.record_cloth(
        actor,
        **{
            "fibres": [],
            "thickness_mm": None,
            "usable_width_mm": values["width_mm"],
            **values,
        },
    )
    shelf.cloths.add(made.name, made.pk)


def _test_key(shelf: Shelf, values: Values) -> Hashable:
    names = ("kind", "way", "before_mm", "after_mm", "tested_at")
    return (
        shelf.cloths.find(values["cloth"], "cloth"),
        *(values[name] for name in names),
        values.get("released_mm"),
    )


def _record_test(actor: Actor, shelf: Shelf, values: Values) -> None:
    facts = {"way": values["way"], "tested_at": values["tested_at"], "note": values.get("note", "")}
    cloth_id = shelf.cloths.find(values["cloth"], "cloth")
    if values["kind"] == "stretch":
        renamed = {"relaxed_mm": "before_mm", "stretched_mm": "after_mm"}
        act: Any = cloth.test_stretch
        facts |= {"released_mm": values.get("released_mm")}
    else:
        renamed, act = {"before_mm": "before_mm", "after_mm": "after_mm"}, cloth.test_wash
    facts |= {name: values[key] for name, key in renamed.items()}
    try:
        act(actor, cloth_id, **facts)
    except Refused as exc:
        raise Refused({renamed.get(name, name): words for name, words in exc.reasons.items()}) from exc


# --- recipes: each row is a version ---


def _recipe_key(shelf: Shelf, values: Values) -> Hashable:
    return (fold(values["recipe"]), values.get("number"))


def _same_version(values: Values) -> Values:
    """Names of threads and needles are compared as names; what the file does not say is what an act takes for it."""
    return {
        key: fold(value) if key in ("recipe", "needle_thread", "under_thread", "needle") else value
        for key, value in values.items()
        if key not in ("number", "written_by", "written_at")
    }


def settings_from(shelf: Shelf, values: Values) -> seams.RecipeSettings:
    """Raises Refused where a thread or needle is not known."""
    facts = {name: values[name] for name in SETTING_NAMES if name in values}
    facts["needle_thread_id"] = shelf.threads.find(values["needle_thread"], "needle_thread")
    if values.get("under_thread"):
        facts["under_thread_id"] = shelf.threads.find(values["under_thread"], "under_thread")
    if values.get("needle"):
        facts["needle_id"] = shelf.needles.find(values["needle"], "needle")
    return seams.RecipeSettings(**facts)


def _record_version(actor: Actor, shelf: Shelf, values: Values) -> None:
    settings = settings_from(shelf, values)
    name = values["recipe"]
    recipe_id = shelf.recipes.exact.get(name) or shelf.recipes.near.get(fold(name))
    number = values.get("number")
    try:
        if recipe_id is None:
            if number not in (None, 1):
                raise Refused({"number": f"Version {number} of “{name[:80]}” comes before its version 1."})
            head: Values = {
                key: values[key]
                for key in ("purpose", "seam_class", "structure", "layers_low", "layers_high")
                if key in values
            }
            made = seams.write_recipe(actor, name=name, settings=settings, **_layers(head))
            if values.get("library_key"):
                _mark_as_library(made.recipe, str(values["library_key"]))
            shelf.recipes.add(made.recipe.name, made.recipe_id)
            return
        last = SeamRecipeVersion.objects.filter(recipe_id=recipe_id).order_by("-number")[0].number
        if number != last + 1:
            raise Refused(
                {"number": f"“{name[:80]}” has {last} here: the next version is {last + 1}, not {number}."}
            )
        _check_head(SeamRecipe.objects.get(pk=recipe_id), values)
        seams.change_recipe(actor, recipe_id, settings=settings)
    except Refused as exc:
        renamed = {name: name.removesuffix("_id") for name in SETTINGS_BY_NAME}
        raise Refused({renamed.get(name, name): words for name, words in exc.reasons.items()}) from exc


def _mark_as_library(recipe: SeamRecipe, key: str) -> None:
    """A recipe of the starting library stays one: untested until a sample of this studio passes, for its cloths."""
    row = next((row for row in library().recipes if row.key == key), None)
    if row is None:
        raise Refused(
            {
                "library_key": f"The starting library has no “{key[:60]}”: leave it empty for a recipe of your own."
            }
        )
    there = SeamRecipe.objects.filter(library_key=key).exclude(pk=recipe.pk).first()
    if there is not None:
        raise Refused(
            {"library_key": f"This recipe of the starting library is here already as {there.name}."}
        )
    recipe.origin, recipe.library_key = SeamRecipe.Origin.LIBRARY, key
    recipe.source, recipe.written_for = SOURCE, list(row.written_for)
    recipe.save(update_fields=["origin", "library_key", "source", "written_for", "changed_at"])


def _layers(head: Values) -> Values:
    """One of the two alone is meant for both."""
    if "layers_low" in head:
        return {"layers_high": head["layers_low"], **head}
    return head


def _check_head(recipe: SeamRecipe, values: Values) -> None:
    """All versions of a recipe are for one purpose, class, structure and number of layers."""
    for key in ("purpose", "seam_class", "structure", "layers_low", "layers_high"):
        if key in values and values[key] != getattr(recipe, key):
            raise Refused(
                {
                    key: f"{recipe.name} has {getattr(recipe, key)} here: another one is another recipe, not a version."
                }
            )


KINDS: Mapping[str, Kind] = {
    "threads": Kind(_named, _same_thread, _record_thread),
    "needles": Kind(_needle_key, _same_needle, _record_needle),
    "machines": Kind(_named, _same_machine, _record_machine),
    "cloths": Kind(_named, _same_cloth, _record_cloth),
    "cloth_tests": Kind(_test_key, lambda values: {}, _record_test),
    "recipes": Kind(_recipe_key, _same_version, _record_version),
}


def keyed(kind: Kind, shelf: Shelf, rows: Iterable[Values]) -> dict[Hashable, Values]:
    """Rows by key; the last version of a recipe also stands under no number."""
    found: dict[Hashable, Values] = {}
    for values in rows:
        found[kind.key(shelf, values)] = values
        if "recipe" in values:
            numbered = {**values, "number": values.get("number") or 1}
            found[kind.key(shelf, numbered)] = values
            found[kind.key(shelf, {**values, "number": None})] = values
    return found
