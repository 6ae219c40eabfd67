"""The frozen snapshot of a fit report: a plain dict that JSON can hold, from which page and PDF are made.

Everything is text by now, in the client's unit and the studio's time zone, so that the document says for ever what
it said on the day. Weight is never in it; figures of the body only if the client wishes so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from studio.reports.pdf import made_with

SHAPE = 1  # counts the shapes that a snapshot has had; the renderer must know each
MOST_NOTES = 60  # a document to keep, not an archive: beyond this the newest are told
MOST_MEASURES = 40


@dataclass(frozen=True)
class MeasureFact:
    """One measure of the body: ``figure`` is how the catalogue draws it, ``change`` what truly changed, if anything."""

    code: str
    name: str
    text: str
    change: str = ""
    figure: Mapping[str, str] | None = None
    side: str = "centre"


@dataclass(frozen=True)
class ZoneFact:
    """One zone of the fit: numbers in mm for the figure, texts as they are printed (see figures.zones.ZoneRow)."""

    zone: str
    low: float
    target: float
    high: float
    before: float
    after: float | None
    error: float
    verdict: str
    body_text: str
    range_text: str
    before_text: str
    after_text: str


@dataclass(frozen=True)
class AlterationFact:
    """One thing done on the paper: ``place`` is the zone's code, ``change`` one of the figure's words."""

    number: int
    place: str
    change: str
    label: str
    value: str


@dataclass(frozen=True)
class SeamFact:
    place: str
    words: str
    proof: str


@dataclass(frozen=True)
class NoteFact:
    where: str
    seen: str
    decision: str
    decided: str


@dataclass(frozen=True)
class FittingFact:
    kind: str
    held_on: str
    worn: str
    notes: tuple[NoteFact, ...]
    signed: str  # who signed it off and when, in words; "" while it is not


@dataclass(frozen=True)
class CautionFact:
    title: str
    text: str
    refer: tuple[str, ...]


@dataclass(frozen=True)
class ReportFacts:
    """Everything that a fit report tells, gathered from the record (see queries.reports.report_facts)."""

    studio_name: str
    studio_address: str
    client_name: str
    unit: str  # "cm" or "in"
    with_figures: bool
    is_child: bool  # draws the smaller body
    garment_words: str
    garment_kind: str
    garment_kind_words: str
    pattern: str
    cloth: str
    due: str
    number: int
    issued_at: datetime  # in the studio's time zone
    corrects: int | None
    measured_on: str
    measures: tuple[MeasureFact, ...] = ()
    sizes: tuple[tuple[str, str], ...] = ()
    blends: tuple[str, ...] = ()
    zones: tuple[ZoneFact, ...] = ()
    alterations: tuple[AlterationFact, ...] = ()
    seams: tuple[SeamFact, ...] = ()
    fittings: tuple[FittingFact, ...] = ()
    cautions: tuple[CautionFact, ...] = ()
    next_step: str = ""
    studio_colour: str = ""  # #rrggbb; "" is the house's own


def freeze(facts: ReportFacts) -> dict[str, Any]:
    """The snapshot of these facts; the same facts give the same snapshot."""
    figures = facts.with_figures
    return {
        "shape": SHAPE,
        "language": "en",
        "studio": {"name": facts.studio_name, "address": facts.studio_address},
        "studio_colour": facts.studio_colour,
        "client": {
            "name": facts.client_name,
            "unit": facts.unit,
            "with_figures": figures,
            "is_child": facts.is_child,
        },
        "garment": {
            "words": facts.garment_words,
            "kind": facts.garment_kind,
            "kind_words": facts.garment_kind_words,
            "pattern": facts.pattern,
            "cloth": facts.cloth,
            "due": facts.due,
        },
        "report": {
            "number": facts.number,
            "issued_on": day_words(facts.issued_at),
            "issued_at": facts.issued_at.replace(microsecond=0).isoformat(),
            "corrects": facts.corrects,
        },
        "measured_on": facts.measured_on if figures else "",
        "measures": _measures(facts.measures[:MOST_MEASURES]) if figures else [],
        "sizes": [{"zone": zone, "size": size} for zone, size in facts.sizes],
        "blends": list(facts.blends),
        "zones": [asdict(zone) for zone in facts.zones] if figures else [],
        "alterations": [asdict(row) for row in facts.alterations],
        "seams": [asdict(seam) for seam in facts.seams],
        "fittings": _fittings(facts.fittings),
        "cautions": [
            {"title": row.title, "text": row.text, "refer": list(row.refer)} for row in facts.cautions
        ],
        "next_step": facts.next_step,
        "keeps": _keeps(facts),
        "made_with": made_with(),
    }


def day_words(when: date) -> str:
    """A day as the report writes it: 25 November 2026."""
    return f"{when.day} {when:%B %Y}"


def _measures(measures: Sequence[MeasureFact]) -> list[dict[str, Any]]:
    return [
        {
            "code": row.code,
            "name": row.name,
            "text": row.text,
            "change": row.change,
            "figure": dict(row.figure) if row.figure else None,
            "side": row.side,
        }
        for row in measures
    ]


def _fittings(fittings: Sequence[FittingFact]) -> list[dict[str, Any]]:
    left = MOST_NOTES
    kept = []
    for row in reversed(fittings):  # the newest come first into the allowance
        notes = list(row.notes[:left])
        left -= len(notes)
        kept.append(
            {
                "kind": row.kind,
                "held_on": row.held_on,
                "worn": row.worn,
                "signed": row.signed,
                "notes": [asdict(note) for note in notes],
                "left_out": len(row.notes) - len(notes),
            }
        )
    return kept[::-1]


def _keeps(facts: ReportFacts) -> list[str]:
    """What the studio keeps, said plainly."""
    return [
        f"{facts.studio_name} keeps your measurements with the day on which they were taken, the changes made at "
        "your fittings, and this summary as it was issued.",
        "Only those who measure and fit see the figures of your body. The counter sees which garments you had and what "
        "was changed on them.",
        "You may ask the studio at any time to see what it keeps, to put something right, or to erase it.",
    ]
