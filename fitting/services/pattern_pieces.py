"""What was measured flat on the pieces: checked, added up to finished measures, kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from fitting.calc.flat import Panel, finished_girth
from fitting.models import FlatMeasure, Pattern, PatternPiece, PatternSize
from fitting.queries.paper_zones import paper_zones, zone_name
from fitting.services.size_runs import SizeGiven
from studio.calc.units import format_length

INTAKES = ("dart", "tuck", "pleat", "gather", "extension")
MOST_PIECES = 40
MOST_TIMES = 24
MOST_TAKEN = 12  # allowances or intakes of one piece at one level


@dataclass(frozen=True)
class IntakeGiven:
    """What one dart, tuck, pleat, gather or overlap swallows at a level, mm; of a pleat twice its depth."""

    what: str
    mm: Decimal


@dataclass(frozen=True)
class FlatGiven:
    """One piece in one size at one level: its width in mm, how often it goes in, and what is taken from it."""

    size: str
    measure: str
    width: Decimal
    times: int = 1
    allowances: tuple[Decimal, ...] = ()
    intakes: tuple[IntakeGiven, ...] = ()


@dataclass(frozen=True)
class PieceGiven:
    """One piece of the paper; ``cut`` is how often it is cut."""

    name: str
    cut: int = 2
    on_fold: bool = False
    flats: tuple[FlatGiven, ...] = field(default_factory=tuple)


def with_flats(
    sizes: Sequence[SizeGiven], pieces: Sequence[PieceGiven], unit: str
) -> tuple[Sequence[SizeGiven], dict[str, str]]:
    """The sizes with the finished measures that the pieces add up to, and what is wrong with the pieces."""
    if not pieces:
        return sizes, {}
    reasons = _reasons(sizes, pieces, unit)
    if reasons:
        return sizes, reasons
    panels: dict[tuple[str, str], list[Panel]] = {}
    for piece in pieces:
        for flat in piece.flats:
            panels.setdefault((flat.size, flat.measure), []).append(_panel(flat))
    added = {where: Decimal(str(round(finished_girth(rows), 4))) for where, rows in panels.items()}
    whole = []
    for place, size in enumerate(sizes):
        name = size.name.strip()
        own = {measure: value for (of, measure), value in added.items() if of == name}
        for measure in set(own) & set(size.measures):
            reasons[f"sizes.{place}.measures.{measure}"] = (
                f"Size {name}: the {zone_name(measure).lower()} is stated and measured flat; give one of the two."
            )
        whole.append(replace(size, measures={**size.measures, **own}))
    return whole, reasons


def keep_pieces(pattern: Pattern, sizes: Mapping[str, PatternSize], pieces: Sequence[PieceGiven]) -> None:
    """Store pieces that were checked before."""
    rows = [
        PatternPiece(
            pattern=pattern, name=" ".join(one.name.split()), place=place, cut=one.cut, on_fold=one.on_fold
        )
        for place, one in enumerate(pieces, 1)
    ]
    PatternPiece.objects.bulk_create(rows)
    FlatMeasure.objects.bulk_create(
        FlatMeasure(
            piece=row,
            size=sizes[flat.size],
            measure=flat.measure,
            width_mm=flat.width,
            times=flat.times,
            allowances=[str(mm) for mm in flat.allowances],
            intakes=[{"what": one.what, "mm": str(one.mm)} for one in flat.intakes],
        )
        for row, piece in zip(rows, pieces, strict=True)
        for flat in piece.flats
    )


def _panel(flat: FlatGiven) -> Panel:
    return Panel(
        float(flat.width),
        flat.times,
        [float(mm) for mm in flat.allowances],
        [float(one.mm) for one in flat.intakes],
    )


def _reasons(sizes: Sequence[SizeGiven], pieces: Sequence[PieceGiven], unit: str) -> dict[str, str]:
    if len(pieces) > MOST_PIECES:
        return {"pieces": f"A pattern has at most {MOST_PIECES} pieces, not {len(pieces)}."}
    reasons: dict[str, str] = {}
    names = [" ".join(piece.name.split()) for piece in pieces]
    known_sizes = {size.name.strip() for size in sizes}
    for place, (name, piece) in enumerate(zip(names, pieces, strict=True)):
        if not name or len(name) > 60:
            reasons[f"pieces.{place}.name"] = "A piece needs a name of 1 to 60 letters."
        elif name.lower() in {other.lower() for other in names[:place]}:
            reasons[f"pieces.{place}.name"] = f"The piece {name} is named twice; each piece once."
        if not 1 <= piece.cut <= MOST_TIMES:
            reasons[f"pieces.{place}.cut"] = (
                f"{name}: a piece is cut 1 to {MOST_TIMES} times, not {piece.cut}."
            )
        seen: set[tuple[str, str]] = set()
        for row, flat in enumerate(piece.flats):
            at = f"pieces.{place}.flats.{row}"
            if (flat.size, flat.measure) in seen:
                reasons[at] = f"{name}, size {flat.size}: give the {zone_name(flat.measure).lower()} once."
            seen.add((flat.size, flat.measure))
            reasons |= {
                f"{at}.{what}": text for what, text in _flat_reasons(name, flat, known_sizes, unit).items()
            }
    return reasons


def _flat_reasons(name: str, flat: FlatGiven, sizes: set[str], unit: str) -> dict[str, str]:
    level = zone_name(flat.measure).lower()
    what = f"{name}, {level}, size {flat.size}"
    if flat.size not in sizes:
        return {"size": f"{name}: there is no size {flat.size} in this pattern."}
    if flat.measure not in paper_zones():
        return {
            "measure": f"{name}: there is no measure {flat.measure!r} here; known are {', '.join(paper_zones())}."
        }
    if not 1 <= flat.times <= MOST_TIMES:
        return {"times": f"{what}: it goes in 1 to {MOST_TIMES} times, not {flat.times}."}
    if len(flat.allowances) > MOST_TAKEN or len(flat.intakes) > MOST_TAKEN:
        return {"intakes": f"{what}: at most {MOST_TAKEN} allowances and {MOST_TAKEN} intakes of one piece."}
    wrong = next((one.what for one in flat.intakes if one.what not in INTAKES), None)
    if wrong is not None:
        return {"intakes": f"{what}: {wrong!r} is no intake; choose {', '.join(INTAKES)}."}
    figures = [flat.width, *flat.allowances, *(one.mm for one in flat.intakes)]
    if any(not mm.is_finite() or mm < 0 or mm > 5000 for mm in figures):
        return {"width": f"{what}: every length lies between 0 and {format_length(5000, unit)}."}
    taken = sum(flat.allowances, Decimal(0)) + sum((one.mm for one in flat.intakes), Decimal(0))
    if flat.width <= taken:
        return {
            "intakes": f"{what}: seam allowances and intakes of {format_length(taken, unit)} are larger than the "
            f"piece, {format_length(flat.width, unit)} there; nothing would be left."
        }
    return {}
