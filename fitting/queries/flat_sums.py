"""A finished measure as the sum of what was measured flat, so that a fitter can follow it with a pencil."""

from collections.abc import Sequence
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
    from_outline: bool = False


@dataclass(frozen=True)
class FlatSum:
    """One finished measure of one size: its parts and the total."""

    code: str
    name: str
    terms: tuple[SumTerm, ...]
    total: str

    @property
    def from_outline(self) -> bool:
        return all(term.from_outline for term in self.terms)


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
    panel = _panel(flat)
    intakes = [(one["what"], float(one["mm"])) for one in flat.intakes]
    words = panel_words(panel.width, panel.count, panel.allowances, intakes, unit)
    return SumTerm(piece, words, format_length(finished_girth([panel]), unit), flat.from_outline)


def panel_words(
    width: float,
    times: int,
    allowances: Sequence[float],
    intakes: Sequence[tuple[str, float]],
    unit: str,
) -> str:
    """One piece's part of a sum: "2 × (26.5 − 1.5 − 1.5 seam allowance − 2.0 dart)"."""

    def bare(mm: float) -> str:
        return format_length(mm, unit).removesuffix(f" {unit}")

    parts = [bare(width)]
    for place, mm in enumerate(allowances, start=1):
        last = " seam allowance" if place == len(allowances) else ""
        parts.append(f"{bare(mm)}{last}")
    parts += [f"{bare(mm)} {what}" for what, mm in intakes]
    inner = f" {MINUS} ".join(parts)
    if len(parts) > 1:
        inner = f"({inner})"
    return f"{times} {TIMES} {inner}" if times > 1 else inner.strip("()")
