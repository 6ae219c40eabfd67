"""The tables in which cloth, supplies, recipes and trials travel: their columns, in words that people read.

In the order in which they depend on each other. Every row is named as people name it (a cloth by its name, a needle
by size and point), so that a file can be written by hand and read in another studio.
"""

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from seamlab.calc.thread import SYSTEMS
from seamlab.calc.transfer_cells import Column, Table
from seamlab.models import Cloth, ClothTest, Machine, Needle, SeamRecipe, SeamTrial
from seamlab.models.cloth import WAYS


def _choice(key: str, head: str, choices: Iterable[tuple[Any, Any]], **more: Any) -> Column:
    return Column(key, head, "choice", choices={str(kept): (str(words),) for kept, words in choices}, **more)


NAME = Column("name", "Name", needed=True)

THREADS = Table(
    "threads", "Threads", "thread",
    (
        Column("name", "Thread", needed=True, also=("name",)),
        Column("fibre", "Fibre", needed=True),
        Column("construction", "Construction"),
        Column("size", "Size", "number", needed=True, also=("number", "tex")),
        _choice("system", "Numbering", [(system, system) for system in SYSTEMS], also=("numbering system",)),
        Column("extension_percent", "Stretch at break (%)", "number", also=("extension",)),
        Column("strength_n", "Strength (N)", "number"),
        Column("colours", "Colours", "list", also=("colors",)),
        Column("reel_length_m", "Reel (m)", "number", also=("reel length",)),
        Column("notes", "Notes"),
    ),
)  # fmt: skip
NEEDLES = Table(
    "needles", "Needles", "needle",
    (
        Column("size", "Needle", "whole", needed=True, also=("size", "metric size")),
        _choice("numbering", "Numbering", [("metric", "metric"), ("number", "number")]),
        _choice("point", "Point", Needle.Point.choices, needed=True),
        Column("blades", "Blades", "whole"),
        Column("gauge_mm", "Between blades (mm)", "length", also=("gauge",)),
        Column("what_for", "What for"),
    ),
)  # fmt: skip
MACHINES = Table(
    "machines", "Machines", "machine",
    (
        Column("name", "Machine", needed=True, also=("name",)),
        Column("stitch_types", "Stitch types", "list", needed=True, also=("stitches",)),
        Column("largest_width_mm", "Widest stitch (mm)", "length", also=("largest width",)),
        Column("stitches_per_minute", "Stitches a minute", "whole", also=("speed",)),
        Column("feeds", "Feeds", "list"),
        Column("feet", "Presser feet", "list", also=("feet",)),
        Column("notes", "Notes"),
    ),
)  # fmt: skip
CLOTHS = Table(
    "cloths", "Cloths", "cloth",
    (
        Column("name", "Cloth", needed=True, also=("name",)),
        _choice("structure", "Structure", Cloth.Structure.choices, needed=True),
        Column("construction", "Weave or knit", also=("construction",)),
        Column("kind", "Kind"),
        Column("colour", "Colour", also=("color",)),
        Column("fibres", "Fibres", "fibres"),
        Column("weight_gsm", "Weight (g/m²)", "number", needed=True),
        Column("thickness_mm", "Thickness of one layer (mm)", "length", also=("thickness",)),
        Column("width_mm", "Width (mm)", "length", needed=True),
        Column("usable_width_mm", "Usable width (mm)", "length"),
        _choice("direction", "Direction", Cloth.Direction.choices),
        Column("repeat_lengthwise_mm", "Repeat lengthwise (mm)", "length"),
        Column("repeat_crosswise_mm", "Repeat crosswise (mm)", "length"),
        Column("drape", "Drape"),
        Column("care", "Care"),
        Column("notes", "Notes"),
    ),
)  # fmt: skip
CLOTH_TESTS = Table(
    "cloth_tests", "Cloth tests", "cloth test",
    (
        Column("cloth", "Cloth", needed=True),
        _choice("kind", "Test", ClothTest.Kind.choices, needed=True),
        _choice("way", "Way", WAYS, needed=True),
        Column("before_mm", "Before (mm)", "length", needed=True, also=("relaxed",)),
        Column("after_mm", "After (mm)", "length", needed=True, also=("stretched",)),
        Column("released_mm", "Let go (mm)", "length", also=("released",)),
        Column("tested_at", "Tested", "moment", needed=True, also=("date",)),
        Column("note", "Note"),
        Column("percent", "Percent", "number", is_told=True),
        Column("tested_by", "Tested by", is_told=True),
    ),
)  # fmt: skip
RECIPES = Table(
    "recipes", "Recipes", "version of a recipe",
    (
        Column("recipe", "Recipe", needed=True, also=("name",)),
        Column("number", "Version", "whole"),
        _choice("purpose", "Purpose", SeamRecipe.Purpose.choices, needed=True),
        Column("seam_class", "Seam class (ISO 4916)", needed=True),
        _choice("structure", "Cloth structure", Cloth.Structure.choices, needed=True, also=("structure",)),
        Column("layers_low", "Layers from", "whole", also=("layers",)),
        Column("layers_high", "Layers to", "whole"),
        Column("stitch_type", "Stitch type (ISO 4915)", needed=True, also=("stitch",)),
        Column("stitch_length_mm", "Stitch length (mm)", "length", needed=True),
        Column("stitch_width_mm", "Stitch width (mm)", "length"),
        Column("passes", "Sewn over each stitch", "whole", also=("passes",)),
        Column("needle_thread", "Needle thread", needed=True),
        Column("needle_thread_ends", "Ends of needle thread", "whole", also=("ends",)),
        Column("under_thread", "Under thread"),
        Column("needle", "Needle"),
        Column("tension", "Tension"),
        Column("foot", "Foot"),
        Column("pressure", "Foot pressure", also=("pressure",)),
        Column("differential_feed", "Differential feed"),
        Column("stabiliser", "Stabiliser", also=("stabilizer",)),
        Column("pressing", "Pressing"),
        Column("preparation", "Preparation"),
        Column("allowance_mm", "Seam allowance (mm)", "length"),
        Column("cautions", "Cautions"),
        Column("note", "Note"),
        Column("library_key", "Of the starting library", also=("library",)),
        Column("written_by", "Written by", is_told=True),
        Column("written_at", "Written", "moment", is_told=True),
    ),
)  # fmt: skip
TRIALS = Table(
    "trials", "Trials", "trial",
    (
        Column("recipe", "Recipe", needed=True),
        Column("number", "Version", "whole"),
        Column("cloth", "Cloth", needed=True),
        Column("machine", "Machine"),
        Column("layers", "Layers", "whole"),
        _choice("direction", "Seam runs", SeamTrial._meta.get_field("direction").flatchoices, also=("direction",)),
        Column("length_before_mm", "Length before (mm)", "length"),
        Column("length_after_mm", "Length after (mm)", "length"),
        Column("stretched_mm", "Stretched (mm)", "length"),
        _choice("pull_end", "Pull ended", SeamTrial.PullEnd.choices),
        Column("smoothness", "Smoothness (1 to 5)", "number"),
        _choice("balance", "Balance", SeamTrial.Balance.choices),
        Column("skipped_stitches", "Skipped stitches", "whole"),
        _choice("needle_damage", "Needle damage", SeamTrial.Damage.choices),
        Column("strength_n_per_cm", "Strength (N/cm)", "number"),
        Column("stretch_wanted_percent", "Stretch wanted (%)", "number"),
        Column("strength_wanted_n_per_cm", "Strength wanted (N/cm)", "number"),
        Column("smoothness_wanted", "Smoothness wanted", "number"),
        Column("sewing_seconds", "Sewing (s)", "number"),
        Column("unpicked_length_mm", "Seam unpicked (mm)", "length"),
        Column("needle_thread_mm", "Needle thread unpicked (mm)", "length"),
        Column("under_thread_mm", "Under thread unpicked (mm)", "length"),
        _choice("proposed", "Proposed then", SeamTrial.Verdict.choices),
        _choice("verdict", "Verdict", SeamTrial.Verdict.choices, needed=True),
        Column("verdict_reason", "Why other than proposed"),
        Column("note", "Note"),
        Column("sewn_at", "Sewn", "moment", needed=True, also=("date",)),
        Column("sewn_by", "Sewn by"),
    ),
)  # fmt: skip

TABLES: tuple[Table, ...] = (THREADS, NEEDLES, MACHINES, CLOTHS, CLOTH_TESTS, RECIPES, TRIALS)
FEEDS = {str(kept): str(words) for kept, words in Machine.Feed.choices}


@lru_cache(maxsize=1)
def by_code() -> dict[str, Table]:
    return {table.code: table for table in TABLES}
