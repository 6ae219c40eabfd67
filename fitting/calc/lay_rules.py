"""Pieces for a lay, how they may be turned on a cloth, and why.

A lay has its own coordinates in mm: x along the selvedge, y across the cloth from one edge of the usable width.
A piece's shape is its cut line turned so that its grainline runs along x and its arrow points to greater x.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from shapely import Polygon, affinity
from shapely.validation import explain_validity

from fitting.calc import inputs

Point: TypeAlias = tuple[float, float]
Ring: TypeAlias = tuple[Point, ...]

ONE_WAY: dict[str, str] = {
    "nap": "The cloth has a nap or pile: stroked up and stroked down it shows two different colours, so every "
    "arrow points the same way.",
    "one_way_print": "The print has a top: a piece that is turned shows it upside down, so every arrow points "
    "the same way.",
    "sheen": "The cloth shines differently upside down, and that is only seen when it is worn, so every arrow "
    "points the same way.",
    "not_known": "Nobody has tested whether this cloth looks the same upside down. Plain satin and many dark "
    "plains shade, and that is only seen when worn, so every arrow points the same way.",
}
TWO_WAY = "two_way"
TWO_WAY_WORDS = "The cloth is plain and was tested two-way: a piece may be laid the other way up."
DIRECTIONS = (*ONE_WAY, TWO_WAY)
FOLD_SLACK = 0.5  # mm between a fold and the corner or edge that it is drawn on
SMALLEST_FOLD = 1.0  # mm
SMALLEST_AREA = 1.0  # mm2; below it a piece is a slip of the pen

# A grainline of 1 m that lies off by this much swings 9 mm out (common practice, no source).
GRAIN_TOLERANCE_DEG = 0.5


@dataclass(frozen=True)
class LayPiece:
    """One piece in one size.

    `shape` is the cut line (see above). `count` of it are cut as drawn and `mirrored` more as its true mirror
    image. `fold` is the straight edge that lies on a fold: then `shape` is one half. `arrow` "one" asks for one
    direction on every cloth, "both" leaves it to the cloth. `bias`: the grainline lies at 45 degrees to the
    selvedge. `grain_change` is the angle by which somebody with a name had it turned, degrees. `holes` must be
    empty: a piece with a hole can't be laid. Raises ValueError naming the piece.
    """

    key: str
    name: str
    shape: Ring
    count: int = 1
    mirrored: int = 0
    arrow: Literal["one", "both"] = "both"
    bias: bool = False
    grain_change: float = 0.0
    fold: tuple[Point, Point] | None = None
    holes: Sequence[Ring] = field(default=())

    def __post_init__(self) -> None:
        who = f"Piece {self.name}"
        if self.arrow not in ("one", "both"):
            raise ValueError(f"{who}: the arrow must be 'one' or 'both', not {self.arrow!r}.")
        for words, number in (("how often it is cut", self.count), ("its mirror images", self.mirrored)):
            if isinstance(number, bool) or number != int(number) or number < 0:
                raise ValueError(f"{who}: {words} must be a whole number, not {number!r}.")
        if self.count + self.mirrored < 1:
            raise ValueError(f"{who} is to be cut no times; leave it out of the lay.")
        inputs.number(f"{who}: grain change", self.grain_change)
        if len(self.holes) > 0:
            raise ValueError(
                f"{who} has a hole in it. A lay needs outlines without holes: mark the hole as a line inside, "
                "and cut it after the piece is cut out."
            )
        checked_ring(self.shape, who)
        if self.fold is not None:
            opened_out(self.shape, self.fold, who)

    @property
    def area(self) -> float:
        """Cloth that one copy takes, opened out, in mm2."""
        return float(Polygon(self.whole).area)

    @property
    def whole(self) -> Ring:
        """The shape that is cut: opened out where it lies on a fold."""
        if self.fold is None:
            return self.shape
        return opened_out(self.shape, self.fold, f"Piece {self.name}")


@dataclass(frozen=True)
class LayCloth:
    """The cloth on the table: its usable width in mm, its direction (a key of `ONE_WAY`, or "two_way"), and
    whether it lies folded in half along its length. Raises ValueError.
    """

    usable_width: float
    direction: str = "not_known"
    folded: bool = False

    def __post_init__(self) -> None:
        width = inputs.number("The usable width", self.usable_width)
        if width <= 0:
            raise ValueError("The cloth has no usable width; measure it between the selvedges first.")
        if self.direction not in DIRECTIONS:
            raise ValueError(f"The direction must be one of {', '.join(DIRECTIONS)}, not {self.direction!r}.")

    @property
    def strip(self) -> float:
        """The width that pieces are laid in: half of it on folded cloth."""
        return self.usable_width / 2 if self.folded else self.usable_width


def checked_ring(ring: Sequence[Point], who: str) -> Ring:
    """An outline that may be laid: at least three points, real numbers, an area, no crossing of itself.

    Returns it without the repeated last point. Raises ValueError with a sentence that begins with `who`.
    """
    points = tuple((inputs.number(f"{who}: x", x), inputs.number(f"{who}: y", y)) for x, y in ring)
    if len(points) > 1 and math.dist(points[0], points[-1]) <= inputs.HAIR:
        points = points[:-1]
    if len(points) < 3:
        raise ValueError(f"{who} needs an outline of at least three points, not {len(points)}.")
    polygon = Polygon(points)
    if not polygon.is_valid:
        reason = explain_validity(polygon)
        place = reason.partition("[")[2].rstrip("]").split()
        near = f" near ({float(place[0]):.0f}, {float(place[1]):.0f})" if len(place) == 2 else ""
        raise ValueError(f"{who} has an outline that crosses or touches itself{near}; draw it anew there.")
    if polygon.area < SMALLEST_AREA:
        raise ValueError(f"{who} has an outline without an area.")
    return points


def opened_out(shape: Ring, fold: tuple[Point, Point], who: str) -> Ring:
    """The whole of a half that lies on a fold: the half and its mirror image in the fold edge.

    Raises ValueError if the fold is no edge of the outline, or the half lies on both sides of it.
    """
    sides = [_side(point, fold) for point in shape]
    ends = [_nearest(shape, end) for end in fold]
    if ends[0] == ends[1] or any(
        math.dist(shape[i], end) > FOLD_SLACK for i, end in zip(ends, fold, strict=True)
    ):
        raise ValueError(
            f"{who}: its fold does not begin and end at corners of its outline; draw it on the edge."
        )
    forth = _run(len(shape), ends[0], ends[1])
    back = _run(len(shape), ends[1], ends[0])
    edge, body = sorted((forth, back), key=lambda run: max(abs(sides[i]) for i in run))
    if max(abs(sides[i]) for i in edge) > FOLD_SLACK:
        raise ValueError(f"{who}: its fold is not a straight edge of its outline; draw the fold on the edge.")
    inner = [sides[i] for i in body[1:-1]]
    if not inner or (min(inner) < -FOLD_SLACK and max(inner) > FOLD_SLACK):
        raise ValueError(f"{who} lies on both sides of its fold; draw one half of it.")
    half = [shape[i] for i in body]
    return (*half, *(mirrored_in(point, fold) for point in reversed(half[1:-1])))


def mirrored_in(point: Point, line: tuple[Point, Point]) -> Point:
    """The mirror image of a point in the line through two points."""
    (ax, ay), (bx, by) = line
    dx, dy = bx - ax, by - ay
    along = ((point[0] - ax) * dx + (point[1] - ay) * dy) / (dx * dx + dy * dy)
    return 2 * (ax + along * dx) - point[0], 2 * (ay + along * dy) - point[1]


def _side(point: Point, line: tuple[Point, Point]) -> float:
    """Signed distance of a point from a line, mm."""
    (ax, ay), (bx, by) = line
    length = math.hypot(bx - ax, by - ay)
    if length < SMALLEST_FOLD:
        return math.inf
    return ((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)) / length


def _nearest(shape: Ring, point: Point) -> int:
    return min(range(len(shape)), key=lambda i: math.dist(shape[i], point))


def _run(size: int, first: int, last: int) -> list[int]:
    return [(first + step) % size for step in range((last - first) % size + 1)]


def turns_allowed(piece: LayPiece, direction: str) -> tuple[float, ...]:
    """The turns in degrees, 0 to below 360, by which a piece may be laid on a cloth of this direction.

    0 has the grainline along the selvedge and the arrow to greater x. One-way cloth, or a piece whose arrow has
    one head, gives no half turn. A bias piece lies at 45 degrees to the selvedge, its upper end the same way. A
    recorded grain change adds its angle. Raises ValueError for an unknown direction.
    """
    if direction not in DIRECTIONS:
        raise ValueError(f"The direction must be one of {', '.join(DIRECTIONS)}, not {direction!r}.")
    half_turn = direction == TWO_WAY and piece.arrow == "both"
    base = (45.0, 315.0) if piece.bias else (0.0,)
    turns = [turn + half for half in ((0.0, 180.0) if half_turn else (0.0,)) for turn in base]
    return tuple(sorted({normal_turn(turn + piece.grain_change) for turn in turns}))


def why_turns(piece: LayPiece, direction: str) -> str:
    """In words, why a piece may be turned or not on a cloth of this direction."""
    parts = []
    if piece.bias:
        parts.append("It is marked bias: its grainline lies at 45 degrees to the selvedge.")
    if piece.grain_change:
        parts.append(f"Its grain was changed by {piece.grain_change:g} degrees, by somebody with a name.")
    if direction in ONE_WAY:
        parts.append(ONE_WAY[direction])
    elif piece.arrow == "one":
        parts.append("The arrow on the paper has one head: it asks for one direction on every cloth.")
    else:
        parts.append(TWO_WAY_WORDS)
    return " ".join(parts)


def normal_turn(turn: float) -> float:
    """A turn in degrees, 0 to below 360; what rounding left of a full turn is 0."""
    turned = round(turn % 360.0, 6)
    return 0.0 if turned >= 360.0 else turned


@dataclass(frozen=True)
class Placement:
    """One cut piece on the cloth: mirrored in x first if `mirrored`, then turned about (0, 0), then moved."""

    key: str
    mirrored: bool
    x: float
    y: float
    turn: float


def laid(piece: LayPiece, placement: Placement, *, folded: bool = False) -> Ring:
    """Where the outline of a placed piece lies. On folded cloth a fold piece is the half of it."""
    ring = piece.shape if folded else piece.whole
    return moved(ring, placement.mirrored, placement.turn, placement.x, placement.y)


def moved(ring: Sequence[Point], mirrored: bool, turn: float, x: float, y: float) -> Ring:
    """Points of a piece (outline, notches, grainline) as they lie on the cloth."""
    angle = math.radians(turn)
    c, s = _exact(math.cos(angle)), _exact(math.sin(angle))
    sign = -1.0 if mirrored else 1.0
    return tuple((c * px - s * sign * py + x, s * px + c * sign * py + y) for px, py in ring)


def _exact(value: float) -> float:
    """Cosines of quarter turns without a last bit."""
    return float(round(value)) if abs(value - round(value)) < 1e-12 else value


def is_own_mirror(piece: LayPiece) -> bool:
    """Whether the piece and its mirror image are the same shape, to half a millimetre."""
    here, there = Polygon(piece.whole), Polygon([(x, -y) for x, y in piece.whole])
    dx, dy = (a - b for a, b in zip(here.centroid.coords[0], there.centroid.coords[0], strict=True))
    return bool(affinity.translate(there, dx, dy).hausdorff_distance(here) <= FOLD_SLACK)
