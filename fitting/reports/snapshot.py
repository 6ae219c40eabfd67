"""The frozen snapshot of a fit report: a plain dict that JSON can hold, from which page and PDF are made.

Everything is text by now, in the client's language and unit and the studio's time zone, so that the document says for
ever what it said on the day; only its headings come from the renderer's catalogue. Weight is never in it; figures of
the body only if the client wishes so. Photographs are named by file and hash, their bytes stay in the store.
"""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from fitting.reports.voice import Voice
from studio.reports.pdf import made_with

SHAPE = 2  # counts the shapes that a snapshot has had; `newest` brings older ones up to it
MOST_NOTES = 60  # a document to keep, not an archive: beyond this the newest are told
MOST_MEASURES = 40
MOST_PHOTOS = 6


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
    """A seam in plain words: where, which recipe, ``settings`` (stitch, length, needle, thread), and its proof."""

    place: str
    words: str
    settings: str
    proof: str


@dataclass(frozen=True)
class CareFact:
    """What to know about a cloth: ``sentences`` under ``title``."""

    title: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class NoteFact:
    """What was seen and decided; ``how`` tells more of the decision, ``by`` who decided it where that was another
    person, or another day, than the fitting's.
    """

    where: str
    seen: str
    decision: str
    how: str
    by: str = ""


@dataclass(frozen=True)
class FittingFact:
    kind: str
    held_on: str
    held_by: str
    worn: str
    notes: tuple[NoteFact, ...]
    signed: str  # who signed it off and when, in words; "" while it is not


@dataclass(frozen=True)
class UsualFact:
    """A change that this client's garments usually need."""

    place: str
    words: str


@dataclass(frozen=True)
class PhotoFact:
    """A photograph that was chosen for the report: the rows that hold it, its bytes' hash, and what it shows."""

    photo: str
    file: str
    sha256: str
    caption: str


@dataclass(frozen=True)
class CautionFact:
    title: str
    text: str
    refer: tuple[str, ...]


@dataclass(frozen=True)
class ReportFacts:
    """Everything that a fit report tells, gathered from the record (see queries.report_facts)."""

    studio_name: str
    studio_address: str
    client_name: str
    language: str
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
    is_planned: bool = False  # there is a plan: nothing to alter is then worth saying
    seams: tuple[SeamFact, ...] = ()
    care: tuple[CareFact, ...] = ()
    fittings: tuple[FittingFact, ...] = ()
    photos: tuple[PhotoFact, ...] = ()
    usual: tuple[UsualFact, ...] = ()
    cautions: tuple[CautionFact, ...] = ()
    next_step: str = ""
    keep_months: int | None = None
    studio_colour: str = ""  # #rrggbb; "" is the house's own


def freeze(facts: ReportFacts) -> dict[str, Any]:
    """The snapshot of these facts; the same facts give the same snapshot."""
    figures = facts.with_figures
    voice = Voice(facts.language, facts.unit)
    return {
        "shape": SHAPE,
        "language": facts.language,
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
            "issued_on": voice.day(facts.issued_at),
            "issued_at": facts.issued_at.replace(microsecond=0).isoformat(),
            "corrects": facts.corrects,
        },
        "measured_on": facts.measured_on if figures else "",
        "measures": _measures(facts.measures[:MOST_MEASURES]) if figures else [],
        "sizes": [{"zone": zone, "size": size} for zone, size in facts.sizes],
        "blends": list(facts.blends),
        "zones": [asdict(zone) for zone in facts.zones] if figures else [],
        "alterations": [asdict(row) for row in facts.alterations],
        "is_planned": facts.is_planned,
        "seams": [asdict(seam) for seam in facts.seams],
        "care": [{"title": row.title, "sentences": list(row.sentences)} for row in facts.care],
        "fittings": _fittings(facts.fittings),
        "photos": [asdict(row) for row in facts.photos[:MOST_PHOTOS]],
        "usual": [asdict(row) for row in facts.usual],
        "cautions": [
            {"title": row.title, "text": row.text, "refer": list(row.refer)} for row in facts.cautions
        ],
        "next_step": facts.next_step,
        "keeps": _keeps(voice, facts),
        "made_with": made_with(),
    }


def newest(snapshot: Mapping[str, Any]) -> dict[str, Any]:
    """A snapshot of any shape so far in today's; raises ValueError for one that this version does not know."""
    shape = snapshot.get("shape")
    if shape == SHAPE:
        return dict(snapshot)
    if shape != 1:
        raise ValueError(f"This version can't read a snapshot of shape {shape!r}.")
    return {
        **snapshot,
        "shape": SHAPE,
        "is_planned": bool(snapshot["sizes"] or snapshot["alterations"]),
        "seams": [{"settings": "", **row} for row in snapshot["seams"]],
        "fittings": [
            {
                **row,
                "held_by": "",
                "notes": [{**note, "how": note["decided"], "by": ""} for note in row["notes"]],
            }
            for row in snapshot["fittings"]
        ],
        "care": [],
        "photos": [],
        "usual": [],
    }


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
                "held_by": row.held_by,
                "worn": row.worn,
                "signed": row.signed,
                "notes": [asdict(note) for note in notes],
                "left_out": len(row.notes) - len(notes),
            }
        )
    return kept[::-1]


def _keeps(voice: Voice, facts: ReportFacts) -> list[str]:
    """What the studio keeps and for how long, said plainly."""
    found = [
        voice(
            "{studio} keeps your measurements with the day on which they were taken, the changes made at your "
            "fittings, and this summary as it was issued.",
            studio=facts.studio_name,
        )
    ]
    if facts.photos:
        found.append(
            voice(
                "The photographs are kept because you allowed it. Take that back at any time, and they are shown to "
                "nobody any more."
            )
        )
    found.append(
        voice(
            "Only those who measure and fit see the figures of your body. The counter sees which garments you had and "
            "what was changed on them."
        )
    )
    if facts.keep_months is None:
        found.append(
            voice("No end is set for the keeping: what is kept stays until you ask for it to be erased.")
        )
    else:
        found.append(
            voice(
                "When nothing has been made or measured for {count} months, the studio decides whether it still needs "
                "to keep it, and erases what it does not need.",
                count=facts.keep_months,
            )
        )
    found.append(
        voice(
            "You may ask the studio at any time to see what it keeps, to put something right, or to erase it. What the "
            "law makes it keep, such as bills, stays for as long as the law says."
        )
    )
    return found
