"""Schematic pieces of each garment, drawn by us, not to scale, and the places on them where alterations lie.

A piece has its own coordinates: centre line on the left, side seam on the right, y downwards. A point given
twice in an edge is a corner.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from studio.figures.svg import Point


@dataclass(frozen=True)
class Mark:
    """Where one alteration lies on a piece. `form` says how it is drawn: a double line across ("length"), the
    lower edge ("hem"), a stretch of side seam ("side"), another seam or dart ("seam"), or a cut to a point
    ("slash").
    """

    form: Literal["length", "hem", "side", "seam", "slash"]
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Piece:
    """One piece: its name, size, closed edge, inner lines, grainline (x, top, bottom) and marks by place."""

    name: str
    width: float
    height: float
    edge: tuple[Point, ...]
    inner: tuple[tuple[Point, ...], ...]
    grain: tuple[float, float, float]
    marks: Mapping[str, Mark]


def corners(*runs: tuple[Point, ...]) -> tuple[Point, ...]:
    """Smooth runs joined at corners, closed. Each run begins where the last one ended."""
    points: list[Point] = list(runs[0])
    for run in (*runs[1:], (runs[0][0],)):
        points += [points[-1], *(run if run[0] != points[-1] else run[1:])]
    return tuple(points)


def level(y: float, left: float, right: float) -> Mark:
    return Mark("length", ((left, y), (right, y)))


_SKIRT_SIDE: tuple[Point, ...] = ((104, 0), (122, 34), (130, 78), (134, 160), (138, 300))


def _skirt(name: str, dart: float, dip: float) -> Piece:
    return Piece(
        name=name,
        width=140,
        height=306,
        edge=corners(
            ((0, 306), (0, dip)),
            ((0, dip), (50, dip - 2), (104, 0)),
            _SKIRT_SIDE,
            ((138, 300), (70, 305), (0, 306)),
        ),
        inner=(((54, dip - 2), (60, dart), (66, dip - 3)),),
        grain=(26, 120, 270),
        marks={
            "waist_to_hip": level(46, 0, 125),
            "skirt_length": level(206, 0, 135),
            "waist": Mark("side", ((104, 0), (114, 18), (122, 34))),
            "hip": Mark("side", ((124, 42), (130, 78), (132, 116))),
            "dart": Mark("seam", ((54, dip - 2), (54, dip - 2), (60, dart), (60, dart), (66, dip - 3))),
            "hem": Mark("hem", ((0, 306), (70, 305), (138, 300))),
        },
    )


def _trousers(name: str, fork: float, dart: float) -> Piece:
    """One leg; the fork (crotch point) reaches to the left, further on the back."""
    c = 34 + fork  # centre line at the waist
    side: tuple[Point, ...] = (
        (c + 84, 0),
        (c + 98, 38),
        (c + 104, 84),
        (c + 100, 150),
        (c + 90, 230),
        (c + 82, 340),
    )
    inner_leg: tuple[Point, ...] = ((c + 4, 340), (c - 4, 230), (c - 14, 160), (c - fork - 18, 112))
    rise: tuple[Point, ...] = ((c - fork - 18, 112), (c - 12, 100), (c - 3, 74), (c + 4, 4))
    return Piece(
        name=name,
        width=c + 106,
        height=340,
        edge=corners(rise, ((c + 4, 4), (c + 84, 0)), side, ((c + 82, 340), (c + 4, 340)), inner_leg),
        inner=(((c + 40, 3), (c + 46, dart), (c + 52, 2)),),
        grain=(c + 44, 130, 310),
        marks={
            "rise": level(52, c, c + 100),
            "leg_length": level(256, c - 2, c + 88),
            "waist": Mark("side", ((c + 84, 0), (c + 93, 20), (c + 98, 38))),
            "hip": Mark("side", ((c + 99, 46), (c + 104, 84), (c + 102, 114))),
            "thigh": Mark("side", ((c + 102, 118), (c + 99, 160), (c + 94, 200))),
            "crotch": Mark("seam", rise[:3]),
            "dart": Mark("seam", ((c + 40, 3), (c + 40, 3), (c + 46, dart), (c + 46, dart), (c + 52, 2))),
            "hem": Mark("hem", ((c + 4, 340), (c + 82, 340))),
        },
    )


def _top(
    name: str,
    *,
    neck: float,
    end: float,
    waist: float,
    bust_dart: bool = False,
    waist_dart: bool = False,
    shaped: float = 8,
    place_of_length: str,
) -> Piece:
    """Front or back of a top. `neck` is the depth of the neckline, `end` the lower edge."""
    at_waist = 116 - shaped
    side: tuple[Point, ...] = ((116, 108), (at_waist, waist))
    if end > waist + 20:
        side = ((116, 108), (at_waist, waist), (118, end - 4))
    armhole: tuple[Point, ...] = ((98, 20), (90, 58), (98, 92), (116, 108))
    neckline: tuple[Point, ...] = ((0, neck), (20, neck - 4), (36, neck * 0.45), (40, 0))
    low = side[-1]
    inner: list[tuple[Point, ...]] = []
    marks: dict[str, Mark] = {
        "neck": Mark("seam", neckline),
        "shoulder": Mark("seam", ((40, 0), (98, 20))),
        "armhole": Mark("seam", armhole),
        place_of_length: level(waist - 52 if end <= waist + 20 else waist + 34, 0, at_waist + 4),
    }
    if end > waist + 20:
        marks["shoulder_to_waist"] = level(waist - 48, 0, at_waist + 4)
    if bust_dart:
        apex = (56.0, 132.0)
        inner.append(((115, 138), (70, 132), (114, 152)))
        marks["bust_adjustment"] = Mark("slash", ((56, end), apex, (92, 62)))
    if waist_dart:
        top_of_dart = 152 if bust_dart else 136
        inner.append(((48, waist), (56, top_of_dart), (64, waist)))
        marks["dart"] = Mark(
            "seam", ((48, waist), (48, waist), (56, top_of_dart), (56, top_of_dart), (64, waist))
        )
    marks["bust"] = Mark("side", ((116, 108), (116 - shaped * 0.2, 124), (116 - shaped * 0.45, 146)))
    marks["waist"] = Mark(
        "side", ((116 - shaped * 0.6, waist - 44), (at_waist + 1, waist - 20), (at_waist, waist))
    )
    if end > waist + 20:
        marks["hip"] = Mark("side", ((at_waist + 4, waist + 44), (115, end - 28), low))
        marks["hem"] = Mark("hem", ((0, end), (60, end), low))
    return Piece(
        name=name,
        width=120,
        height=end,
        edge=corners(
            ((0, end), (0, neck)), neckline, ((40, 0), (98, 20)), armhole, side, (low, (60, end), (0, end))
        ),
        inner=tuple(inner),
        grain=(20, 92, 190),
        marks=marks,
    )


def sleeve(long: bool) -> Piece:
    end = 290.0 if long else 150.0
    wrist = 112.0 if long else 124.0
    cap: tuple[Point, ...] = ((0, 92), (18, 74), (34, 26), (68, 0), (102, 26), (118, 74), (136, 92))
    marks = {
        "upper_arm": Mark("side", ((136, 92), (134, 112), (131, 134))),
        "sleeve_length": level(196 if long else 112, 136 - wrist, wrist + 6),
        "sleeve_cap": Mark("seam", cap),
        "sleeve_hem": Mark("hem", ((136 - wrist, end), (wrist, end))),
    }
    return Piece(
        name="sleeve",
        width=136,
        height=end,
        edge=corners(
            cap, ((136, 92), (wrist, end)), ((wrist, end), (136 - wrist, end)), ((136 - wrist, end), (0, 92))
        ),
        inner=(),
        grain=(68, 40, end - 24),
        marks=marks,
    )


GARMENTS: Mapping[str, tuple[Piece, ...]] = {
    "skirt": (_skirt("front", 74, 14), _skirt("back", 104, 10)),
    "trousers": (_trousers("front", 6, 66), _trousers("back", 22, 92)),
    "bodice": (
        _top(
            "front",
            neck=54,
            end=236,
            waist=232,
            bust_dart=True,
            waist_dart=True,
            place_of_length="shoulder_to_waist",
        ),
        _top("back", neck=14, end=236, waist=232, waist_dart=True, place_of_length="shoulder_to_waist"),
        sleeve(long=True),
    ),
    "shirt": (
        _top("front", neck=46, end=320, waist=212, shaped=5, place_of_length="body_length"),
        _top("back", neck=12, end=320, waist=212, shaped=5, place_of_length="body_length"),
        sleeve(long=True),
    ),
    "tshirt": (
        _top("front", neck=40, end=300, waist=206, shaped=4, place_of_length="body_length"),
        _top("back", neck=14, end=300, waist=206, shaped=4, place_of_length="body_length"),
        sleeve(long=False),
    ),
}
