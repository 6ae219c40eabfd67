"""The body to tap at a try-on: where something is seen, and what was noted there already.

The outline is the same as that of the measures. Each place is a link of its own, so that it works with a finger,
a keyboard, a screen reader, and without a script. Sides are the wearer's.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from studio.figures import palette
from studio.figures.body import silhouette
from studio.figures.landmarks import landmark
from studio.figures.outline import HEIGHT, Outline, outline
from studio.figures.svg import Point, document, el, escape, text

VIEW_WORDS = {"front": "From the front", "back": "From behind", "side": "From the side"}
HALF_WIDTH = 215.0
TOP, BOTTOM = -24.0, HEIGHT + 24.0
REACH = 27.0
"""How far a finger may miss the middle of a place, in drawing units."""

# Where a place lies: (level, side of the picture, across, down). In the front view the picture's left is the wearer's
# right. Drawn by hand for the finger's sake; nothing is measured from it.
Spot = tuple[str, int, float, float]
_FRONT: dict[str, tuple[Spot, ...]] = {
    "neck": (("neck_front", 0, 0, -14),),
    "shoulder": (("shoulder", -1, -18, -6), ("shoulder", 1, 18, -6)),
    "armhole": (("front_arm_crease", -1, 2, 0), ("front_arm_crease", 1, -2, 0)),
    "front": (("chest", 0, 0, -26),),
    "bust": (("bust_point", -1, 0, 6), ("bust_point", 1, 0, 6)),
    "chest": (("bust_point", -1, 0, 6), ("bust_point", 1, 0, 6)),
    "sleeve_cap": (("shoulder_point", -1, -17, 18), ("shoulder_point", 1, 17, 18)),
    "upper_arm": (("upper_arm", -1, -6, 12), ("upper_arm", 1, 6, 12)),
    "sleeve": (("forearm", -1, -4, 22), ("forearm", 1, 4, 22)),
    "shoulder_to_waist": (("underbust", 0, 0, 4),),
    "waist": (("waist", -1, 16, 0), ("waist", 1, -16, 0)),
    "fastening": (("waist", 0, 0, 0),),
    "abdomen": (("abdomen", 0, 0, 8),),
    "hip": (("hip", -1, 18, -4), ("hip", 1, -18, -4)),
    "waist_to_hip": (("high_hip", -1, 8, -22), ("high_hip", 1, -8, -22)),
    "rise": (("hip", 0, 0, 0),),
    "crotch": (("crotch", 0, 0, 10),),
    "thigh": (("mid_thigh", -1, 20, -16), ("mid_thigh", 1, -20, -16)),
    "knee": (("knee", -1, 14, 0), ("knee", 1, -14, 0)),
    "leg": (("calf", -1, 16, 14), ("calf", 1, -16, 14)),
    "hem": (("ankle", -1, 14, -24), ("ankle", 1, -14, -24)),
}
_BACK: dict[str, tuple[Spot, ...]] = {
    "neck": (("nape", 0, 0, -8),),
    "shoulder": (("shoulder", -1, -18, -6), ("shoulder", 1, 18, -6)),
    "armhole": (("back_arm_crease", -1, 4, 0), ("back_arm_crease", 1, -4, 0)),
    "back": (("chest", 0, 0, -14),),
    "sleeve_cap": (("shoulder_point", -1, -17, 18), ("shoulder_point", 1, 17, 18)),
    "upper_arm": (("upper_arm", -1, -6, 12), ("upper_arm", 1, 6, 12)),
    "sleeve": (("forearm", -1, -4, 22), ("forearm", 1, 4, 22)),
    "waist": (("waist", -1, 16, 0), ("waist", 1, -16, 0)),
    "fastening": (("waist", 0, 0, 0),),
    "waist_to_hip": (("high_hip", 0, 0, -26),),
    "seat": (("hip", -1, 34, 2), ("hip", 1, -34, 2)),
    "crotch": (("crotch", 0, 0, 12),),
    "thigh": (("mid_thigh", -1, 20, -16), ("mid_thigh", 1, -20, -16)),
    "knee": (("knee", -1, 14, 0), ("knee", 1, -14, 0)),
    "leg": (("calf", -1, 16, 14), ("calf", 1, -16, 14)),
    "hem": (("ankle", -1, 14, -24), ("ankle", 1, -14, -24)),
}
_SIDE: dict[str, tuple[Spot, ...]] = {
    "shoulder": (("shoulder_point", 0, 0, -14),),
    "armhole": (("armpit", 0, 0, -14),),
    "bust": (("bust", -1, 10, 0),),
    "chest": (("bust", -1, 10, 0),),
    "back": (("chest", 1, -8, -16),),
    "waist": (("waist", 0, 0, 0),),
    "abdomen": (("abdomen", -1, 10, 8),),
    "hip": (("hip", 0, 0, -4),),
    "seat": (("hip", 1, -10, 8),),
    "balance": (("mid_thigh", 0, 0, 0),),
    "knee": (("knee", 0, 0, 0),),
    "hem": (("ankle", 0, 0, -24),),
}
SPOTS: Mapping[str, Mapping[str, tuple[Spot, ...]]] = {"front": _FRONT, "back": _BACK, "side": _SIDE}

_UPPER = frozenset({
    "neck", "shoulder", "armhole", "front", "back", "sleeve_cap", "upper_arm", "sleeve", "shoulder_to_waist", "bust",
    "chest",
})  # fmt: skip
_MIDDLE = frozenset({"waist", "abdomen", "hip", "seat", "waist_to_hip", "fastening", "balance", "hem"})
_LEGS = frozenset({"rise", "crotch", "thigh", "knee", "leg"})
PLACES_OF: Mapping[str, frozenset[str]] = {
    "skirt": _MIDDLE,
    "trousers": _MIDDLE | _LEGS,
    "bodice": (_UPPER - {"chest"}) | _MIDDLE,
    "dress": (_UPPER - {"chest"}) | _MIDDLE,
    "shirt": (_UPPER - {"bust"}) | _MIDDLE,
    "jacket": (_UPPER - {"bust"}) | _MIDDLE,
    "tshirt": (_UPPER - {"bust"}) | _MIDDLE,
}
"""What can be tapped on a garment of each kind; chest and bust share a spot, so a kind has one of them."""
HEMS: Mapping[str, tuple[str, float]] = {
    "skirt": ("knee", 10), "dress": ("knee", 10), "shirt": ("crotch", 0), "jacket": ("crotch", 0),
    "tshirt": ("hip", 34), "bodice": ("hip", 34),
}  # fmt: skip
"""Where the hem of a kind lies on the figure, if not at the ankle."""


@dataclass(frozen=True)
class Region:
    """Something to tap: a place, the wearer's side, its middle in the drawing, and where it leads."""

    place: str
    side: str
    x: float
    y: float
    words: str
    href: str = ""


@dataclass(frozen=True)
class Mark:
    """A note that was made: its number, its place as shares of the drawing, and whether it is still open."""

    number: int
    x: float
    y: float
    words: str
    open: bool = False
    href: str = ""


def regions(view: str, kind: str, words: Mapping[str, str], *, build: str = "adult") -> list[Region]:
    """The places that can be tapped in a view of a kind of garment; raises ValueError for an unknown view."""
    if view not in SPOTS:
        raise ValueError(f"{view!r} is not a view of the figure; choose {', '.join(SPOTS)}.")
    body = outline(view, build)
    found = []
    for place, spots in SPOTS[view].items():
        if kind in PLACES_OF and place not in PLACES_OF[kind]:
            continue
        for spot in spots:
            x, y = _middle(body, view, kind, place, spot)
            side = _side(view, spot[1] if view != "side" else 0)
            found.append(Region(place, side, x, y, words[place] + ("" if side == "both" else f", {side}")))
    return found


def _middle(body: Outline, view: str, kind: str, place: str, spot: Spot) -> Point:
    level, side, across, down = spot
    if place == "hem" and kind in HEMS:
        level, down = HEMS[kind]
        across = across if level == "knee" else across * 2
    x, y = landmark(body, view, level, side)
    if view == "side" and side == 0:
        front, back = landmark(body, view, level, -1)[0], landmark(body, view, level, 1)[0]
        x = (front + back) / 2
    return x + across, y + down


def _side(view: str, side: int) -> str:
    if side == 0:
        return "both"
    left = side > 0 if view == "front" else side < 0
    return "left" if left else "right"


def share(view: str, x: float, y: float) -> Point:
    """A point of the drawing as shares (0 to 1) of its width and height, as a note keeps it."""
    return (x + HALF_WIDTH) / (2 * HALF_WIDTH), (y - TOP) / (BOTTOM - TOP)


def try_on_figure(
    view: str,
    places: Sequence[Region] = (),
    marks: Sequence[Mark] = (),
    *,
    build: str = "adult",
    chosen: str = "",
) -> str:
    """SVG of one view with its places to tap and the notes that stand. `chosen` is "place/side", drawn filled."""
    body = outline(view, build)
    parts = [silhouette(body), *(_place(region, chosen) for region in places)]
    parts += [_mark(mark) for mark in marks]
    title = f"Body, {VIEW_WORDS[view].lower()}"
    said = "; ".join(f"{mark.number}: {mark.words}" for mark in marks) or "Nothing is noted here."
    return document((-HALF_WIDTH, TOP, 2 * HALF_WIDTH, BOTTOM - TOP), title, said, *parts)


def _place(region: Region, chosen: str) -> str:
    is_chosen = f"{region.place}/{region.side}" == chosen
    ring = el(
        "circle",
        cx=region.x,
        cy=region.y,
        r=REACH * 0.55,
        fill=palette.THREAD if is_chosen else palette.SHEET,
        fill_opacity=0.9 if is_chosen else 0.55,
        stroke=palette.THREAD,
        stroke_width=1.8,
        stroke_dasharray=None if is_chosen else "5 4",
    )
    # What the finger may hit is larger than what is drawn.
    reach = el("circle", cx=region.x, cy=region.y, r=REACH, fill="transparent")
    inner = el("title", escape(region.words)) + ring + reach
    if not region.href:
        return el("g", inner)
    return el("a", inner, href=region.href, class_="spot", aria_label=region.words)


def _mark(mark: Mark) -> str:
    x, y = mark.x * 2 * HALF_WIDTH - HALF_WIDTH, mark.y * (BOTTOM - TOP) + TOP
    disc = el(
        "circle",
        cx=x,
        cy=y,
        r=15,
        fill=palette.CARE_PALE if mark.open else palette.INK,
        stroke=palette.CARE if mark.open else palette.SHEET,
        stroke_width=2,
    )
    digits = text(
        x,
        y + 6,
        str(mark.number),
        17,
        anchor="middle",
        bold=True,
        fill=palette.CARE if mark.open else palette.SHEET,
    )
    inner = el("title", escape(f"{mark.number}: {mark.words}")) + disc + digits
    return (
        el("a", inner, href=mark.href, aria_label=f"Note {mark.number}: {mark.words}")
        if mark.href
        else el("g", inner)
    )
