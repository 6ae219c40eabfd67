"""The drawings of a fit report, made from its snapshot; page and PDF share them."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fitting.figures.alterations import AlterationRow, alteration_figure, kinds, marker_layout, places
from fitting.figures.zones import WORDS, ZoneRow, zone_figure, zone_sentence
from fitting.reports.voice import Voice
from studio.calc.units import MM_PER_UNIT, format_length
from studio.figures.body import body_figure
from studio.figures.tape import tape_line

MOST_LINES = 14  # tape lines on one view, beyond which the numbers crowd
# What the plan calls a place, and what the schematic of the pieces calls it.
PLACE_ON_PIECES = {
    "leg": "leg_length",
    "sleeve": "sleeve_length",
    "seat": "hip",
    "chest": "bust",
    "back_waist": "shoulder_to_waist",
}
VIEWS = {
    "front": "Body from the front with numbered tape lines: {lines}.",
    "back": "Body from the back with numbered tape lines: {lines}.",
    "side": "Body from the side with numbered tape lines: {lines}.",
}
PIECES = ("front", "back", "sleeve")
GARMENT_LENGTH = {"skirt": "skirt_length", "shirt": "body_length", "tshirt": "body_length"}


@dataclass(frozen=True)
class Picture:
    """One drawing: the SVG, and what a screen reader says instead."""

    svg: str
    says: str


@dataclass(frozen=True)
class Pictures:
    """The drawings of one report; ``undrawn`` are the alterations that the schematic has no place for."""

    body: tuple[Picture, ...]
    numbers: Mapping[str, int]  # of the tape lines, by the measure's code
    zones: Picture | None
    paper: Picture | None
    undrawn: tuple[Mapping[str, Any], ...]


def pictures(snapshot: Mapping[str, Any], voice: Voice | None = None) -> Pictures:
    """Draw what the snapshot holds, in its language; what it does not hold is not drawn."""
    voice = voice or Voice(snapshot["language"], snapshot["client"]["unit"])
    paper, undrawn = _paper(snapshot, voice)
    body, numbers = _body(snapshot, voice)
    return Pictures(body, numbers, _zones(snapshot, voice), paper, undrawn)


def _body(snapshot: Mapping[str, Any], voice: Voice) -> tuple[tuple[Picture, ...], dict[str, int]]:
    """One view of the body with numbered tape lines, or two where a line needs the other.

    A girth lies level and a height is straight, so both can be shown on whichever view is drawn; a length along the
    body keeps to its own. The numbers run down the table, first view first.
    """
    rows = [row for row in snapshot["measures"] if row["figure"]]
    if not rows:
        return (), {}
    views = Counter(row["figure"]["view"] for row in rows)
    main = "front" if views["front"] else views.most_common(1)[0][0]
    lying = [
        row for row in rows if row["figure"]["view"] == main or row["figure"]["kind"] in ("girth", "height")
    ]
    left = [row for row in rows if row not in lying]
    other = Counter(row["figure"]["view"] for row in left).most_common(1)
    sheets = [(main, lying[:MOST_LINES])]
    if other:
        sheets.append(
            (other[0][0], [row for row in left if row["figure"]["view"] == other[0][0]][:MOST_LINES])
        )
    build = "child" if snapshot["client"]["is_child"] else "adult"
    found: list[Picture] = []
    numbers: dict[str, int] = {}
    for view, mine in sheets:
        lines = []
        for row in mine:
            numbers[row["code"]] = len(numbers) + 1
            figure = {**row["figure"], "view": view}
            lines.append(
                tape_line(
                    numbers[row["code"]], figure, body_side=row["side"], label=row["name"], value=row["text"]
                )
            )
        said = "; ".join(f"{line.number} {line.label}" for line in lines)
        says = voice(VIEWS[view], lines=said)
        drawing = body_figure(view, lines, build=build, labels=False, title=says, description=said)
        found.append(Picture(drawing, says))
    return tuple(found), numbers


def _zones(snapshot: Mapping[str, Any], voice: Voice) -> Picture | None:
    if not snapshot["zones"]:
        return None
    rows = [ZoneRow(**row) for row in snapshot["zones"]]
    unit = snapshot["client"]["unit"]
    words = {key: voice(text, "figure") for key, text in WORDS.items()}

    def tick(value: float) -> str:
        text = (
            format_length(abs(value) * 25.4, "in").removesuffix(" in")
            if unit == "in"
            else voice.number(abs(value))
        )
        return f"\u2212{text}" if value < 0 else text

    svg = zone_figure(rows, voice.unit_word(), scale=float(MM_PER_UNIT[unit]), words=words, tick_text=tick)
    said = "; ".join(zone_sentence(row, words) for row in rows)
    return Picture(svg, f"{words['title']}. {said}.")


def _paper(snapshot: Mapping[str, Any], voice: Voice) -> tuple[Picture | None, tuple[Mapping[str, Any], ...]]:
    kind, rows = snapshot["garment"]["kind"], snapshot["alterations"]
    if kind not in kinds() or not rows:
        return None, tuple(rows)
    drawn: list[AlterationRow] = []
    undrawn: list[Mapping[str, Any]] = []
    for row in rows:
        whole = row["place"].removesuffix("_left").removesuffix("_right")
        place = PLACE_ON_PIECES.get(whole, whole)
        place = GARMENT_LENGTH.get(kind, place) if place == "garment_length" else place
        mark = AlterationRow(row["number"], place, row["change"], row["label"], row["value"])
        if place in places(kind) and _makes_sense(kind, mark):
            drawn.append(mark)
        else:
            undrawn.append(row)
    if not drawn:
        return None, tuple(undrawn)
    title = voice("Pieces with the alterations marked.")
    names = {name: voice(name, "piece") for name in PIECES}
    svg = alteration_figure(kind, drawn, names=names, title=title, description=_said(drawn))
    return Picture(svg, f"{title} {_said(drawn)}"), tuple(undrawn)


def _makes_sense(kind: str, row: AlterationRow) -> bool:
    try:
        marker_layout(kind, [row])
    except ValueError:
        return False
    return True


def _said(rows: Sequence[AlterationRow]) -> str:
    return "; ".join(f"{row.number}. {row.label}, {row.value}" for row in rows) + "."
