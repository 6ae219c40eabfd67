"""The lays of a garment: which hold its pieces, how far they are, and where its plan alters the paper they show."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from shapely import Polygon, affinity

from fitting.calc.lay_rules import LayPiece
from fitting.models import (
    Garment,
    GrainCheck,
    LayDrawing,
    LayLine,
    LayPlan,
    PatternSize,
    PieceOutline,
    Remnant,
)
from fitting.queries.paper_zones import zone_name
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right

MOST_FILLED = 0.7  # of a remnant's area; a few odd pieces rarely lie closer. Common practice, no source.


@dataclass(frozen=True)
class GarmentLay:
    """A lay with pieces of a garment. `chosen` keeps every rule: no other drawing can be chosen."""

    lay: LayPlan
    chosen: LayDrawing | None
    pieces: int  # to be pinned, copies counted
    checked: int = 0  # grainlines with a check
    off: int = 0  # of them off grain at their newest one

    @property
    def is_on_remnant(self) -> bool:
        return self.lay.most_length_mm is not None


@dataclass(frozen=True)
class LayStart:
    """What is filled in when a garment is to be laid; `drawn` is false where that size lacks outlines."""

    garment: Garment
    size: PatternSize | None
    drawn: bool
    altered: str  # what its plan changes on the paper, as a sentence; "" where nothing


def lays_of(garment_ids: Sequence[UUID]) -> dict[UUID, list[GarmentLay]]:
    """The lays of some garments, oldest first; four queries. A lay that was laid anew in two makes room for those."""
    pairs = list(
        LayLine.objects.filter(garment_id__in=garment_ids, lay__taken_out=None)
        .values_list("garment_id", "lay_id")
        .order_by("lay_id")
        .distinct()
    )
    ids = {lay_id for _, lay_id in pairs}
    lays = {row.pk: row for row in LayPlan.objects.filter(pk__in=ids).select_related("cloth", "job")}
    drawings = {
        (row.lay_id, row.number): row
        for row in LayDrawing.objects.filter(lay_id__in=ids).defer("placements")
        if row.number == lays[row.lay_id].chosen
    }
    newest: dict[UUID, dict[tuple[str, int], bool]] = defaultdict(dict)
    for lay_id, key, copy, within in (
        GrainCheck.objects.filter(lay_id__in=ids)
        .order_by("at", "id")
        .values_list("lay_id", "key", "copy", "within")
    ):
        newest[lay_id][key, copy] = within
    found: dict[UUID, list[GarmentLay]] = defaultdict(list)
    for garment_id, lay_id in pairs:
        lay = lays[lay_id]
        checks = newest[lay_id].values()
        found[garment_id].append(
            GarmentLay(
                lay=lay,
                chosen=drawings.get((lay_id, lay.chosen)) if lay.chosen else None,
                pieces=sum(int(one["cut"]) * int(one["times"]) for one in lay.pieces),
                checked=len(checks),
                off=sum(not within for within in checks),
            )
        )
    return found


def lays_of_garment(actor: Actor, garment_id: UUID) -> list[GarmentLay]:
    """What the garment's page shows; four queries."""
    actor.need(Right.READ_PAPER, Right.READ_SEAMS)
    return lays_of([garment_id])[garment_id]


def lay_start(actor: Actor, garment_id: UUID) -> LayStart:
    """What a new lay of a garment begins with: the size that its plan takes most, else none. Raises NotHere."""
    actor.need(Right.KEEP_GARMENTS, Right.READ_PAPER)
    garment = (
        Garment.objects.select_related("client", "pattern", "cloth", "plan").filter(pk=garment_id).first()
    )
    if garment is None:
        raise NotHere("garment")
    size = None
    if garment.plan and garment.pattern_id:
        sizes = {
            row.name: row
            for row in PatternSize.objects.filter(pattern_id=garment.pattern_id).order_by("place")
        }
        taken = Counter(one["size"] for one in garment.plan.result["sizes"]["zones"] if one["size"] in sizes)
        # Of two that are taken equally often the larger: paper is taken away sooner than it is pieced on.
        best = max(taken, key=lambda name: (taken[name], sizes[name].place), default=None)
        size = sizes[best] if best else None
    pieces = garment.pattern.pieces.count() if garment.pattern else 0
    outlines = PieceOutline.objects.filter(size=size).count() if size else 0
    return LayStart(garment, size, bool(pieces) and outlines == pieces, paper_altered([garment]))


def paper_altered(garments: Iterable[Garment]) -> str:
    """Where fit plans change the paper that the outlines of a lay show, as a sentence; "" where nothing does.

    Names places, never amounts: a lay is read by more people than a plan.
    """
    said = []
    for garment in garments:
        result = garment.plan.result if garment.plan else None
        if not result:
            continue
        places = [zone_name(one["zone"]).lower() for one in result["alterations"]]
        places += [
            f"the change of size from {zone_name(one['upper_zone']).lower()} to "
            f"{zone_name(one['lower_zone']).lower()}"
            for one in result["blends"]
        ]
        if places:
            listed = places[0] if len(places) == 1 else f"{', '.join(places[:-1])} and {places[-1]}"
            said.append(
                f"The paper of “{garment.words}” is altered by its fit plan ({listed}). Cut from the altered paper: "
                "the outlines here are not altered, so lay the altered pieces on the cloth before you trust the length."
            )
    return " ".join(said)


@dataclass(frozen=True)
class Offer:
    """A remnant and the pieces of a lay that could be cut from it: (key, name)."""

    remnant: Remnant
    pieces: tuple[tuple[str, str], ...]


def offers_of(lay: LayPlan, pieces: Sequence[LayPiece], remnants: Iterable[Remnant]) -> list[Offer]:
    """Which pieces could lie on which remnant: small ones first, as long as their area leaves room around them.

    Looks at lengths, widths and areas alone; whether they lie is proven when the lay is asked for.
    """
    if lay.most_length_mm is not None or lay.cut_id is not None:
        return []
    found = []
    for remnant in remnants:
        length, width = float(remnant.length_mm), min(float(remnant.width_mm), float(lay.width_mm))
        free = MOST_FILLED * length * width
        fits: list[tuple[str, str]] = []
        for piece in sorted(pieces, key=lambda one: Polygon(one.shape).area):
            if piece.fold is not None:
                continue  # opened out it is another shape; it stays on the main cloth
            shape = affinity.rotate(Polygon(piece.shape), piece.grain_change + (45 if piece.bias else 0))
            low_x, low_y, high_x, high_y = shape.bounds
            area = shape.area * (piece.count + piece.mirrored)
            if high_x - low_x <= length and high_y - low_y <= width and area <= free:
                free -= area
                fits.append((piece.key, piece.name))
        if fits and len(fits) < len(pieces):
            found.append(Offer(remnant, tuple(fits)))
    return found


def laid_anew(lay: LayPlan) -> list[LayPlan]:
    """The lays that took this one's pieces over; one query."""
    return list(LayPlan.objects.filter(taken_from=lay).order_by("id"))


def garments_in(lay: LayPlan) -> list[Garment]:
    """The garments whose pieces a lay holds, with their plans; one query."""
    return list(
        Garment.objects.filter(pk__in=LayLine.objects.filter(lay=lay).values("garment_id"))
        .select_related("plan")
        .order_by("id")
    )
