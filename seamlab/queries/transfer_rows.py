"""The rows that travel, by table: values by the keys of the table's columns, in a lasting order.

Other rows are named in words (a needle as "80 round"). What an import compares with is the same as what is exported.
"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from seamlab.models import Cloth, ClothTest, Machine, Needle, SeamRecipeVersion, SeamTrial, Thread

Values = dict[str, Any]
CHUNK = 5000

_VERSION = (
    "stitch_type", "stitch_length_mm", "stitch_width_mm", "passes", "needle_thread_ends", "tension", "foot", "pressure",
    "differential_feed", "stabiliser", "pressing", "preparation", "allowance_mm", "cautions", "note",
)  # fmt: skip
TRIAL_FIGURES = (
    "layers", "direction", "length_before_mm", "length_after_mm", "stretched_mm", "pull_end", "smoothness", "balance",
    "skipped_stitches", "needle_damage", "strength_n_per_cm", "stretch_wanted_percent", "strength_wanted_n_per_cm",
    "smoothness_wanted", "sewing_seconds", "unpicked_length_mm", "needle_thread_mm", "under_thread_mm", "verdict",
    "verdict_reason", "note", "sewn_at",
)  # fmt: skip


def needle_name(metric: int, point: str, blades: int = 1, gauge_mm: Decimal | None = None) -> str:
    """ "80 light ball"; "75 round, 2 blades 4 mm"."""
    words = f"{metric} {point.replace('_', ' ')}"
    return words if blades == 1 else f"{words}, {blades} blades {(gauge_mm or Decimal(0)).normalize():f} mm"


def rows_of(code: str) -> Iterator[Values]:
    """Every row of a table (``queries.transfer_tables``) of the studio in scope; a constant number of queries."""
    return _ROWS[code]()


def _threads() -> Iterator[Values]:
    for row in Thread.objects.order_by("name", "id"):
        yield {
            "name": row.name, "fibre": row.fibre, "construction": row.construction, "size": row.tex, "system": "tex",
            "extension_percent": row.extension_percent, "strength_n": row.strength_n,
            "colours": [_colour(each) for each in row.colours],
            "reel_length_m": row.reel_length_m, "notes": row.notes,
        }  # fmt: skip


def _colour(colour: Any) -> str:
    """ "grey", or "grey x 3" where its reels are counted."""
    reels = colour.get("reels")
    return str(colour["colour"]) if reels is None else f"{colour['colour']} x {reels}"


def _needles() -> Iterator[Values]:
    for row in Needle.objects.order_by("metric", "point", "blades", "gauge_mm", "id"):
        yield {
            "size": row.metric, "numbering": "metric", "point": row.point, "blades": row.blades,
            "gauge_mm": row.gauge_mm, "what_for": row.what_for,
        }  # fmt: skip


def _machines() -> Iterator[Values]:
    for row in Machine.objects.order_by("name", "id"):
        yield {
            "name": row.name, "stitch_types": row.stitch_types, "largest_width_mm": row.largest_width_mm,
            "stitches_per_minute": row.stitches_per_minute, "feeds": row.feeds, "feet": row.feet, "notes": row.notes,
        }  # fmt: skip


def _cloths() -> Iterator[Values]:
    names = (
        "name", "structure", "construction", "kind", "colour", "fibres", "weight_gsm", "thickness_mm", "width_mm",
        "usable_width_mm", "direction", "repeat_lengthwise_mm", "repeat_crosswise_mm", "drape", "care", "notes",
    )  # fmt: skip
    for row in Cloth.objects.order_by("name", "id"):
        yield {name: getattr(row, name) for name in names}


def _cloth_tests() -> Iterator[Values]:
    rows = ClothTest.objects.order_by("cloth__name", "tested_at", "id").select_related("cloth", "tested_by")
    for row in rows.iterator(CHUNK):
        yield {
            "cloth": row.cloth.name, "kind": row.kind, "way": row.way, "before_mm": row.before_mm,
            "after_mm": row.after_mm, "released_mm": row.released_mm, "tested_at": row.tested_at, "note": row.note,
            "percent": row.percent, "tested_by": row.tested_by.name,
        }  # fmt: skip


def _recipes() -> Iterator[Values]:
    rows = SeamRecipeVersion.objects.order_by("recipe__name", "recipe_id", "number").select_related(
        "recipe", "needle_thread", "under_thread", "needle", "written_by"
    )
    for row in rows.iterator(CHUNK):
        recipe, needle = row.recipe, row.needle
        yield {
            "recipe": recipe.name, "number": row.number, "purpose": recipe.purpose, "seam_class": recipe.seam_class,
            "structure": recipe.structure, "layers_low": recipe.layers_low, "layers_high": recipe.layers_high,
            "needle_thread": row.needle_thread.name,
            "under_thread": row.under_thread.name if row.under_thread else "",
            "needle": needle_name(needle.metric, needle.point, needle.blades, needle.gauge_mm) if needle else "",
            "library_key": recipe.library_key,
            "written_by": row.written_by.name, "written_at": row.written_at,
            **{name: getattr(row, name) for name in _VERSION},
        }  # fmt: skip


def _trials() -> Iterator[Values]:
    """What was recorded wrongly and withdrawn stays behind."""
    named = (
        "version__recipe__name",
        "version__number",
        "cloth__name",
        "machine__name",
        "sewn_by__name",
        "proposed",
    )
    keys = ("recipe", "number", "cloth", "machine", "sewn_by", "proposed", *TRIAL_FIGURES)
    rows = SeamTrial.objects.filter(withdrawals=None).order_by("sewn_at", "id")
    for row in rows.values_list(*named, *TRIAL_FIGURES).iterator(CHUNK):
        yield dict(zip(keys, row, strict=True))


_ROWS = {
    "threads": _threads,
    "needles": _needles,
    "machines": _machines,
    "cloths": _cloths,
    "cloth_tests": _cloth_tests,
    "recipes": _recipes,
    "trials": _trials,
}
