"""A garment's seams before they are sewn: how long each is, on which cloth, in which colours."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from uuid import UUID

from fitting.models import GarmentSeam
from fitting.queries.seams import garment_sewing
from fitting.services.garments import locked_garment, locked_open_garment
from seamlab.models import Cloth
from seamlab.services.sample_sheets import ask_seams_sheet
from studio.platform.errors import NotHere, Refused
from studio.platform.models import Job
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act

MOST_LENGTH_MM = Decimal(50_000)  # a hem of fifty metres: a unit was mixed up (common practice, no source)
MOST_TIMES = 40
SEAM_FACTS = frozenset({"length_mm", "times", "cloth_id", "needle_colour", "under_colour"})


def measure_seam(actor: Actor, garment_id: UUID, seam_id: UUID, *, facts: Mapping[str, Any]) -> GarmentSeam:
    """Say how long a seam of a garment is (``length_mm`` of one, sewn ``times``), on which cloth it is sewn where it is
    not the garment's own (``cloth_id``, or None), and in which colours (``needle_colour``, ``under_colour``).

    What is left out of ``facts`` stays. Raises NotHere, Conflict (the garment is handed over or given up, the client
    erased) and Refused by field.
    """
    actor.need(Right.KEEP_GARMENTS)
    garment = locked_open_garment(garment_id)
    seam = (
        GarmentSeam.objects.select_related("version__recipe")
        .filter(pk=seam_id, garment_id=garment.pk)
        .first()
    )
    if seam is None:
        raise NotHere("seam of this garment")
    changes = _checked(seam, facts)
    before = {field: getattr(seam, field) for field in changes}
    changed = {field: value for field, value in changes.items() if before[field] != value}
    if changed:
        for field, value in changed.items():
            setattr(seam, field, value)
        seam.save(update_fields=sorted(changed))
        record_act(
            actor, "measure_seam", seam, client_id=garment.client_id, place=seam.place, fields=sorted(changed)
        )
    return seam


def ask_garment_sheet(actor: Actor, garment_id: UUID) -> Job:
    """Ask for the sheet to pin the samples of a garment's seams to, with its thread and time. It names no client.

    Raises NotHere, Conflict (the client was erased) and Refused (no seam is chosen).
    """
    actor.need(Right.KEEP_GARMENTS, Right.KEEP_SEAMS)
    garment = locked_garment(garment_id)
    view = garment_sewing(actor, garment_id)
    return ask_seams_sheet(
        actor,
        view.needs,
        title=f"Seams of {garment.words}",
        cloth_id=garment.cloth_id,
        of=garment,
        client_id=garment.client_id,
    )


def _checked(seam: GarmentSeam, facts: Mapping[str, Any]) -> dict[str, Any]:
    reasons = dict.fromkeys(
        sorted(set(facts) - SEAM_FACTS), "There is nothing of this name to say of a seam."
    )
    changes = {field: value.strip() if isinstance(value, str) else value for field, value in facts.items()}
    length: Any = changes.get("length_mm")
    if length is not None and not (length.is_finite() and 0 < length <= MOST_LENGTH_MM):
        reasons["length_mm"] = (
            f"A seam is longer than 0 and at most {MOST_LENGTH_MM / 1000:g} m: check the unit."
        )
    times = changes.get("times", 1)
    if not (isinstance(times, int) and 1 <= times <= MOST_TIMES):
        reasons["times"] = f"A seam is sewn 1 to {MOST_TIMES} times on a garment, got {times}."
    for field, words in (("needle_colour", "needle thread"), ("under_colour", "under thread")):
        if len(str(changes.get(field, ""))) > 60:
            reasons[field] = f"The colour of the {words} is a word or two, at most 60 letters."
    if changes.get("cloth_id") is not None:
        cloth = Cloth.objects.filter(pk=changes["cloth_id"]).first()
        if cloth is None:
            reasons["cloth_id"] = "There is no such cloth in this studio."
        elif cloth.structure != seam.version.recipe.structure:
            reasons["cloth_id"] = (
                f"{seam.version.recipe.name} is a recipe for a {seam.version.recipe.structure} cloth; "
                f"{cloth.name} is {cloth.structure}."
            )
    if reasons:
        raise Refused(reasons)
    return changes
