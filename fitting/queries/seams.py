"""A garment's seams before sewing the real thing: thread by colour, time, and what still owes a sample."""

from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from fitting.models import Garment, GarmentSeam
from fitting.queries.garments import garment_row
from seamlab.queries.cloth import cloth_list
from seamlab.queries.needs import USUAL_PERCENT, SeamAsked, SewingNeeds, sewing_needs
from seamlab.queries.supplies import machine_list
from studio.platform.errors import NotHere
from studio.platform.rights import Actor, Right


@dataclass(frozen=True)
class GarmentSewing:
    """A garment with what the sewing of its seams takes."""

    garment: Garment
    needs: SewingNeeds

    @property
    def is_open(self) -> bool:
        return bool(self.garment.state == Garment.State.OPEN)


def garment_sewing(
    actor: Actor,
    garment_id: UUID,
    *,
    allowance_percent: Decimal = USUAL_PERCENT,
    machine_id: UUID | None = None,
) -> GarmentSewing:
    """What the seams of a garment take; five queries, six with a machine. Raises NotHere, and Refused
    (allowance_percent).
    """
    actor.need(Right.KEEP_GARMENTS)
    garment = garment_row(actor, garment_id)
    lines = [asked_of(seam, garment.cloth_id) for seam in seams_in_order(garment_id)]
    needs = sewing_needs(actor, lines, allowance_percent=allowance_percent, machine_id=machine_id)
    return GarmentSewing(garment, needs)


def seams_in_order(garment_id: UUID) -> list[GarmentSeam]:
    return list(GarmentSeam.objects.filter(garment_id=garment_id).order_by("id"))


def asked_of(seam: GarmentSeam, cloth_id: UUID | None) -> SeamAsked:
    """A seam as the seam lab asks for it; ``cloth_id`` is the garment's own."""
    return SeamAsked(
        id=seam.pk,
        place=seam.place,
        version_id=seam.version_id,
        cloth_id=seam.cloth_id or cloth_id,
        length_mm=seam.length_mm,
        times=seam.times,
        needle_colour=seam.needle_colour,
        under_colour=seam.under_colour,
    )


def garment_seam(actor: Actor, garment_id: UUID, seam_id: UUID) -> GarmentSeam:
    """One seam with its version and cloth; raises NotHere."""
    actor.need(Right.KEEP_GARMENTS)
    found: GarmentSeam | None = (
        GarmentSeam.objects.select_related(
            "version__recipe", "version__needle_thread", "version__under_thread", "cloth"
        )
        .filter(pk=seam_id, garment_id=garment_id)
        .first()
    )
    if found is None:
        raise NotHere("seam of this garment")
    return found


def garment_of(actor: Actor, garment_id: UUID) -> Garment:
    """The garment's row; raises NotHere."""
    return garment_row(actor, garment_id)


def cloths_for(actor: Actor, structure: str) -> list[tuple[UUID, str]]:
    """The studio's cloths of this structure, for a choice."""
    return [(row.pk, row.name) for row in cloth_list(actor) if row.structure == structure]


def machines_for(actor: Actor) -> list[tuple[UUID, str]]:
    """The studio's machines, for a choice."""
    return [(row.pk, row.name) for row in machine_list(actor)]
