"""Reading patterns: the list, one with its sizes, and its table in somebody's unit."""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from fitting.models import (
    Closeness,
    FlatMeasure,
    GarmentKind,
    Pattern,
    PatternMeasure,
    PatternPiece,
    PatternSize,
)
from fitting.queries.ease_rules import rules_for
from fitting.queries.paper_zones import lacking, listed, needs_of, paper_zones, zone_name
from studio.calc.units import format_length
from studio.calc.wording import searchable
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right

KINDS = GarmentKind.choices
CLOSENESS = Closeness.choices
STRUCTURES = [("woven", "Woven"), ("knit", "Knit")]
BASES = Pattern.Basis.choices


@dataclass(frozen=True)
class SizeLine:
    """One line of a size table: a measure, and its length in each size ("" where a size has none).

    `from_pieces` tells that it was worked out from what was measured flat, `from_outline` that this was measured
    from the outlines; `drawn_ease` is the ease over the
    pattern's body chart, where that is known.
    """

    code: str
    name: str
    how: str
    values: tuple[str, ...]
    from_pieces: bool = False
    from_outline: bool = False
    drawn_ease: tuple[str, ...] = ()


@dataclass(frozen=True)
class SizeTable:
    """The sizes across, small to large, and the measures down, in one unit."""

    sizes: tuple[str, ...]
    lines: tuple[SizeLine, ...]


def pattern_list(actor: Actor, *, words: str = "") -> "QuerySet[Pattern]":
    """Patterns, newest first, with sizes and measures; `words` are letters of the name. Three queries."""
    actor.need(Right.READ_PAPER)
    rows = Pattern.objects.prefetch_related(
        Prefetch("sizes", PatternSize.objects.order_by("place")),
        Prefetch("sizes__measures", PatternMeasure.objects.order_by("id")),
    ).order_by("-id")
    for word in searchable(words).split():
        rows = rows.filter(name__icontains=word)
    return rows


def pattern_get(actor: Actor, pattern_id: UUID) -> Pattern:
    """One pattern with its chart, sizes, measures and pieces. Five queries; raises NotHere."""
    found: Pattern | None = (
        pattern_list(actor)
        .select_related("chart")
        .prefetch_related(
            Prefetch("pieces", PatternPiece.objects.order_by("place")),
            Prefetch(
                "pieces__flats", FlatMeasure.objects.select_related("size").order_by("size__place", "id")
            ),
        )
        .filter(pk=pattern_id)
        .first()
    )
    if found is None:
        raise NotHere("pattern")
    return found


def measures_of(pattern: Pattern) -> dict[str, dict[str, float]]:
    """Size name to measure code to mm, sizes small to large; uses what was prefetched."""
    return {
        size.name: {row.measure: float(row.value) for row in size.measures.all()}
        for size in pattern.sizes.all()
    }


def darts_of(pattern: Pattern) -> dict[str, dict[str, float]]:
    """Measure code to size name to the widest dart that was measured flat at that level, mm."""
    found: dict[str, dict[str, float]] = {}
    for piece in pattern.pieces.all():
        for row in piece.flats.all():
            widest = max((float(one["mm"]) for one in row.intakes if one["what"] == "dart"), default=0.0)
            if widest:
                by_size = found.setdefault(row.measure, {})
                by_size[row.size.name] = max(widest, by_size.get(row.size.name, 0.0))
    return found


def size_table(
    pattern: Pattern, unit: str, drawn_ease: Mapping[str, tuple[str, ...]] | None = None
) -> SizeTable:
    """The pattern's sizes as a table of texts in `unit` ("cm" or "in"); `drawn_ease` as `queries.charts` has it."""
    sizes = measures_of(pattern)
    flat = {row.measure for size in pattern.sizes.all() for row in size.measures.all() if row.from_pieces}
    drawn = {row.measure for size in pattern.sizes.all() for row in size.measures.all() if row.from_outline}
    codes = [code for code in paper_zones() if any(code in row for row in sizes.values())]
    return SizeTable(
        sizes=tuple(sizes),
        lines=tuple(
            SizeLine(
                code=code,
                name=zone_name(code),
                how=paper_zones()[code].how,
                values=tuple(format_length(row[code], unit) if code in row else "" for row in sizes.values()),
                from_pieces=code in flat,
                from_outline=code in drawn,
                drawn_ease=(drawn_ease or {}).get(code, ()),
            )
            for code in codes
        ),
    )


def not_ready(pattern: Pattern, ease_set: str = "") -> list[str]:
    """Why no plan can be made from this pattern, each in one sentence; empty where one can."""
    measures = [frozenset(row) for row in measures_of(pattern).values()]
    common = frozenset.intersection(*measures) if measures else frozenset()
    reasons = []
    lacks = lacking(pattern.kind, common)
    if lacks:
        reasons.append(lacks_words(pattern.kind, lacks))
    rules = rules_for(
        pattern.kind,
        pattern.closeness,
        pattern.structure,
        ease_set,
        stretch_percent=_percent(pattern),
    )
    for group in needs_of(pattern.kind).needed:
        have = [code for code in group if code in common]
        if have and not any(code in rules for code in have):
            reasons.append(no_rule_words(pattern, have[0]))
    return reasons


def lacks_words(kind: str, lacks: list[str]) -> str:
    """ "The pattern lacks the hip measure that a skirt needs." """
    needs = needs_of(kind)
    plural = "s" if len(lacks) > 1 else ""
    return f"The pattern lacks the {listed(lacks)} measure{plural} that {needs.words} {needs.needs}."


def no_rule_words(pattern: Pattern, zone: str) -> str:
    closeness = pattern.get_closeness_display().lower()
    return (
        f"No ease set has a rule for the {zone_name(zone).lower()} of {closeness} "
        f"{needs_of(pattern.kind).many} in {pattern.structure} cloth."
    )


def _percent(pattern: Pattern) -> float | None:
    return None if pattern.stretch_wanted_percent is None else float(pattern.stretch_wanted_percent)
