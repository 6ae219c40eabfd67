"""The demo's paper: the school's own block, and the patterns that it drew from it. Everything here is invented."""

from dataclasses import dataclass
from decimal import Decimal as D
from uuid import UUID

from fitting.services import charts, patterns
from fitting.services.patterns import FlatGiven, IntakeGiven, PieceGiven, SizeGiven
from studio.config.demo import scenario as told
from studio.config.demo.scenario import Paper, cm
from studio.platform.rights import Actor

BLOCK = "Halyard Street block"
# The smallest size's body (cm) and the step from size to size (cm).
BLOCK_BODY = {
    "bust_girth": ("80", "4"),
    "waist_girth": ("64", "4"),
    "hip_girth": ("88", "4"),
    "back_waist_length": ("40.2", "0.4"),
    "waist_to_hip": ("20", "0.2"),
}
FROM_BLOCK = ("skirt", "dress", "trousers")  # the shirts are drawn loose of it
SIZES = ("34", "36", "38", "40", "42", "44", "46", "48")


@dataclass(frozen=True)
class FlatLine:
    """One piece at one level: width in the smallest size and step (cm), how often, allowances and dart (cm)."""

    measure: str
    width: tuple[str, str]
    times: int
    allowances: tuple[str, ...]
    dart: str = ""


# Half a front on the fold, and a back with a centre seam: the skirt is measured flat, not read from a table.
SKIRT_PIECES = {
    ("Front, on the fold", 1, True): (
        FlatLine("waist", ("20.7", "1"), 2, ("1.5",), "2.5"),
        FlatLine("hip", ("25", "1"), 2, ("1.5",)),
    ),
    ("Back", 2, False): (
        FlatLine("waist", ("22.7", "1"), 2, ("1.5", "1.5"), "3"),
        FlatLine("hip", ("26.5", "1"), 2, ("1.5", "1.5")),
    ),
}


def papers(instructor: Actor) -> dict[str, UUID]:
    """Record the block and every pattern; ids by name."""
    chart = charts.record_chart(
        instructor,
        name=BLOCK,
        source="Our own invention, for this demo",
        unit="cm",
        sizes=_run(SIZES, BLOCK_BODY),
        base_height_mm=cm("168"),
        base_cup_mm=cm("5"),
        notes="Whom the school's patterns are drawn for. It says nothing about how a body should be.",
    )
    return {
        paper.name: _paper(instructor, paper, chart.pk if paper.kind in FROM_BLOCK else None)
        for paper in told.PATTERNS
    }


def _run(sizes: tuple[str, ...], first: dict[str, tuple[str, str]]) -> list[SizeGiven]:
    return [
        SizeGiven(name, {code: cm(start) + cm(step) * place for code, (start, step) in first.items()})
        for place, name in enumerate(sizes)
    ]


def _paper(instructor: Actor, paper: Paper, chart: UUID | None) -> UUID:
    pieces = _pieces(paper.sizes) if paper.kind == "skirt" else []
    flat = {line.measure for lines in SKIRT_PIECES.values() for line in lines} if pieces else set()
    made = patterns.record_pattern(
        instructor,
        name=paper.name,
        kind=paper.kind,
        closeness=paper.closeness,
        structure=paper.structure,
        basis="finished",
        sizes=_run(paper.sizes, {zone: rule for zone, rule in paper.first.items() if zone not in flat}),
        pieces=pieces,
        chart_id=chart,
        base_height_mm=cm(paper.base_height),
        base_cup_mm=cm(paper.base_cup) if paper.base_cup else None,
        stretch_wanted_percent=D(paper.stretch_percent) if paper.stretch_percent else None,
        notes=paper.notes,
    )
    return made.pk


def _pieces(sizes: tuple[str, ...]) -> list[PieceGiven]:
    return [
        PieceGiven(
            name,
            cut=cut,
            on_fold=on_fold,
            flats=tuple(
                FlatGiven(
                    size,
                    line.measure,
                    cm(line.width[0]) + cm(line.width[1]) * place,
                    line.times,
                    tuple(cm(one) for one in line.allowances),
                    (IntakeGiven("dart", cm(line.dart)),) if line.dart else (),
                )
                for line in lines
                for place, size in enumerate(sizes)
            ),
        )
        for (name, cut, on_fold), lines in SKIRT_PIECES.items()
    ]
