"""Conversion tables, reckoned from the same functions as everything else, each with its source."""

import math
from dataclasses import dataclass
from decimal import Decimal

from seamlab.calc.thread import NEEDLE_SIZES, NEEDLE_TABLE, SYSTEMS, needle_number, to_system
from seamlab.queries.supplies import SYSTEM_WORDS, short_number
from seamlab.queries.tables import StitchType, seam_classes, stitch_types

COMMON_TEX = (10, 14, 16, 18, 21, 24, 27, 30, 35, 40, 45, 50, 60, 70, 80, 90, 105, 120, 135)
STITCHES_PER_INCH = (3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 16, 18, 20, 24)
OUNCES = (2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 16)
# By definition: 1 oz = 28.349523125 g, 1 yd2 = 0.83612736 m2.
GSM_PER_OUNCE = 28.349523125 / 0.83612736


@dataclass(frozen=True)
class Table:
    """A table: its heads and rows of text, and where its figures come from."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    source: str


def thread_table() -> Table:
    """Thread sizes from tex; exact figures, not the rounded labels that are sold."""
    return Table(
        "Thread sizes",
        tuple(SYSTEMS),
        tuple(
            tuple(f"{short_number(to_system(tex, system)).normalize():f}" for system in SYSTEMS) for tex in COMMON_TEX
        ),
        "Reckoned from the definitions: " + "; ".join(
            (
                "tex is grams per 1,000 m", "dtex 10 tex", "denier 9 tex", "Nm 1000 / tex", "Nec 590.54 / tex",
                "metric ticket 3 Nm", "cotton ticket 3 Nec",
            )
        )
        + ". Several textile teaching pages agree. A label that is sold is often rounded: tex 27 is 111, sold as 120.",
    )  # fmt: skip


def needle_table() -> Table:
    """Every needle size with its other number and its blade."""
    return Table(
        "Needle sizes",
        ("metric", "other number", "blade (mm)"),
        tuple((str(nm), str(needle_number(nm)), f"{nm / 100:.2f}") for nm in NEEDLE_SIZES),
        "The metric size is the blade in hundredths of a millimetre, measured above the scarf (two trade pages); "
        "the other number follows 60 + 5 × (number - 8) up to 18, and 19 is 120 (two trade pages).",
    )


def needle_for_thread_table() -> Table:
    """Which needles are tried first for a thread."""
    rows = []
    for low, high, first, last in NEEDLE_TABLE:
        thread = (
            f"{low:g} and more" if math.isinf(high) else f"{low:g}" if low == high else f"{low:g} to {high:g}"
        )
        numbers = f"{needle_number(first)} to {needle_number(last)}"
        rows.append((thread, f"{first} to {last}", numbers))
    return Table(
        "Needle for a thread",
        ("tex, all ends together", "metric", "other number"),
        tuple(rows),
        "Common practice, no source. Several ends through one eye add up; the sewn sample decides.",
    )


def stitch_length_table() -> Table:
    """Stitches per inch as stitch length."""
    return Table(
        "Stitch length",
        ("stitches per inch", "stitch length (mm)", "stitches per cm"),
        tuple((str(n), f"{25.4 / n:.1f}", f"{n / 2.54:.1f}") for n in STITCHES_PER_INCH),
        "By definition: 1 in = 25.4 mm.",
    )


def weight_table() -> Table:
    """Ounces per square yard as grams per square metre."""
    return Table(
        "Weight of cloth",
        ("oz per yd²", "g per m²"),
        tuple((str(n), f"{n * GSM_PER_OUNCE:.0f}") for n in OUNCES),
        "By definition: 1 oz = 28.3495 g, 1 yd² = 0.836127 m².",
    )


def seam_class_table() -> Table:
    """The classes of ISO 4916."""
    return Table(
        "Seam classes (ISO 4916)",
        ("class", "what it is"),
        tuple(seam_classes().items()),
        "ISO 4916, class names from memory: check before relying on them.",
    )


def stitch_table() -> list[StitchType]:
    """The stitch types that the house knows, in the order of their numbers."""
    return list(stitch_types().values())


def tex_rows() -> list[tuple[str, str]]:
    """The systems with their words, for the key of the thread table."""
    return [(system, SYSTEM_WORDS[system]) for system in SYSTEMS]


def ounces(gsm: Decimal) -> Decimal:
    """g/m2 as oz/yd2, one decimal."""
    return round(Decimal(repr(float(gsm) / GSM_PER_OUNCE)), 1)
