"""A run of sizes as it is given, for a pattern or a body chart: what makes it one, and what is wrong with it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from fitting.queries.paper_zones import paper_zones
from studio.calc.units import format_length
from studio.queries.catalogue import CatalogueMeasure

MOST_SIZES = 30
FEW = 20  # measures that can be told in a sentence
LEAST_MM, MOST_MM = 10, 3000  # of a body's measure; only catches slips of typing (common practice, no source)


@dataclass(frozen=True)
class SizeGiven:
    """One size as it is given: its name, and measure code to millimetres."""

    name: str
    measures: Mapping[str, Decimal]


@dataclass(frozen=True)
class KnownMeasure:
    """What a measure is called within a sentence, and between which mm it lies."""

    name: str
    least_mm: float
    most_mm: float


def paper_known() -> dict[str, KnownMeasure]:
    """The measures of paper."""
    return {
        code: KnownMeasure(zone.name.lower(), zone.least_mm, zone.most_mm)
        for code, zone in paper_zones().items()
    }


def body_known(measures: Mapping[str, CatalogueMeasure]) -> dict[str, KnownMeasure]:
    """The lengths among the measures of a body."""
    return {
        code: KnownMeasure(f"{one.name[0].lower()}{one.name[1:]}", LEAST_MM, MOST_MM)
        for code, one in measures.items()
        if one.unit == "mm"
    }


def run_reasons(sizes: Sequence[SizeGiven], unit: str, known: Mapping[str, KnownMeasure]) -> dict[str, str]:
    """What is wrong with a run of sizes; the reasons for single cells before those for the run."""
    if not sizes:
        return {"sizes": "Give at least one size."}
    if len(sizes) > MOST_SIZES:
        return {"sizes": f"A run has at most {MOST_SIZES} sizes, not {len(sizes)}."}
    reasons: dict[str, str] = {}
    names = [size.name.strip() for size in sizes]
    for place, name in enumerate(names):
        if not name or len(name) > 16:
            reasons[f"sizes.{place}.name"] = "A size needs a name of 1 to 16 letters or figures."
        elif name in names[:place]:
            reasons[f"sizes.{place}.name"] = f"Size {name} is named twice; each size once."
    wanted = list(dict.fromkeys(code for size in sizes for code in size.measures))
    if not wanted:
        reasons["sizes"] = "Give at least one measure of each size."
    for place, size in enumerate(sizes):
        for code in wanted:
            field = f"sizes.{place}.measures.{code}"
            value = size.measures.get(code)
            if code not in known:
                listed = f"; known are {', '.join(known)}" if len(known) <= FEW else ""
                reasons[field] = f"There is no measure {code!r} here{listed}."
            elif value is None:
                reasons[field] = f"Size {names[place]} lacks the {known[code].name} that other sizes have."
            elif not value.is_finite() or not known[code].least_mm <= value <= known[code].most_mm:
                low, high = (
                    format_length(known[code].least_mm, unit),
                    format_length(known[code].most_mm, unit),
                )
                reasons[field] = (
                    f"Size {names[place]}: the {known[code].name} must lie between {low} and {high}."
                )
    return reasons or _order_reasons(sizes, names, wanted, unit, known)


def _order_reasons(
    sizes: Sequence[SizeGiven],
    names: Sequence[str],
    wanted: Sequence[str],
    unit: str,
    known: Mapping[str, KnownMeasure],
) -> dict[str, str]:
    reasons: dict[str, str] = {}
    for place in range(1, len(sizes)):
        before, here = sizes[place - 1].measures, sizes[place].measures
        for code in wanted:
            if here[code] < before[code]:
                reasons[f"sizes.{place}.measures.{code}"] = (
                    f"Sizes out of order: the {known[code].name} of size {names[place]}, "
                    f"{format_length(here[code], unit)}, is less than that of size {names[place - 1]}, "
                    f"{format_length(before[code], unit)}. Give sizes from small to large."
                )
        if all(here[code] == before[code] for code in wanted):
            reasons[f"sizes.{place}.name"] = (
                f"Sizes {names[place - 1]} and {names[place]} are alike in every measure; leave one out."
            )
    return reasons
