"""A finished measure as the sum of what was measured flat, so that a fitter can follow it with a pencil."""

from dataclasses import dataclass

from fitting.calc.flat import Panel, finished_girth
from fitting.models import FlatMeasure, Pattern
from fitting.queries.paper_zones import paper_zones, zone_name
from studio.calc.units import format_length

MINUS, TIMES = "\u2212", "\u00d7"


@dataclass(frozen=True)
class SumTerm:
    """One piece's part: "2 × (26.5 − 1.5 − 1.5 seam allowance − 2.0 dart)" and what it gives."""

    piece: str
    words: str
    gives: str


@dataclass(frozen=True)
class FlatSum:
    """One finished measure of one size: its parts and the total."""

    code: str
    name: str
    terms: tuple[SumTerm, ...]
    total: str


def flat_sums(pattern: Pattern, size: str, unit: str) -> list[FlatSum]:
    """The finished measures of one size that were worked out from the pieces; uses what was prefetched."""
    rows: dict[str, list[tuple[str, FlatMeasure]]] = {}
    for piece in pattern.pieces.all():
        for flat in piece.flats.all():
            if flat.size.name == size:
                rows.setdefault(flat.measure, []).append((piece.name, flat))
    return [
        FlatSum(
            code=code,
            name=zone_name(code),
            terms=tuple(_term(piece, flat, unit) for piece, flat in rows[code]),
            total=format_length(finished_girth([_panel(flat) for _, flat in rows[code]]), unit),
        )
        for code in paper_zones()
        if code in rows
    ]


def _panel(flat: FlatMeasure) -> Panel:
    return Panel(
        float(flat.width_mm),
        flat.times,
        [float(mm) for mm in flat.allowances],
        [float(one["mm"]) for one in flat.intakes],
    )


def _term(piece: str, flat: FlatMeasure, unit: str) -> SumTerm:
    def bare(mm: float) -> str:
        return format_length(mm, unit).removesuffix(f" {unit}")

    parts = [bare(float(flat.width_mm))]
    for place, mm in enumerate(flat.allowances, start=1):
        last = " seam allowance" if place == len(flat.allowances) else ""
        parts.append(f"{bare(float(mm))}{last}")
    parts += [f"{bare(float(one['mm']))} {one['what']}" for one in flat.intakes]
    inner = f" {MINUS} ".join(parts)
    if len(parts) > 1:
        inner = f"({inner})"
    words = f"{flat.times} {TIMES} {inner}" if flat.times > 1 else inner.strip("()")
    return SumTerm(piece, words, format_length(finished_girth([_panel(flat)]), unit))
