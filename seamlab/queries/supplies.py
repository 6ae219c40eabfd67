"""Reading what a seam is sewn with, and the numbers by which threads and needles are sold."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from uuid import UUID

from django.db.models import QuerySet

from seamlab.calc.thread import SYSTEMS, needle_number, tex_from, to_system
from seamlab.models import Machine, Needle, Thread
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right

SYSTEM_WORDS: dict[str, str] = {
    "tex": "tex (grams per 1,000 m)",
    "dtex": "decitex (grams per 10,000 m)",
    "denier": "denier (grams per 9,000 m)",
    "Nm": "metric count, Nm (metres per gram)",
    "Nec": "cotton count, Nec",
    "metric ticket": "metric ticket (the number on most reels)",
    "cotton ticket": "cotton ticket",
}


@dataclass(frozen=True)
class ThreadSize:
    """One thread in one numbering system; ``number`` is computed, not the rounded label that is sold."""

    system: str
    words: str
    number: Decimal


def thread_list(actor: Actor) -> "QuerySet[Thread]":
    actor.need(Right.READ_SEAMS)
    return Thread.objects.order_by("name", "id")


def needle_list(actor: Actor) -> "QuerySet[Needle]":
    actor.need(Right.READ_SEAMS)
    return Needle.objects.order_by("metric", "point", "id")


def machine_list(actor: Actor) -> "QuerySet[Machine]":
    actor.need(Right.READ_SEAMS)
    return Machine.objects.order_by("name", "id")


def machine_get(actor: Actor, machine_id: UUID) -> Machine:
    found: Machine | None = machine_list(actor).filter(pk=machine_id).first()
    if found is None:
        raise NotHere("machine")
    return found


def thread_sizes(value: Decimal, system: str) -> list[ThreadSize]:
    """One thread in every numbering system. Raises Refused naming value or system."""
    if system not in SYSTEMS:
        raise Refused({"system": f"{system!r} is not known; use one of {', '.join(SYSTEMS)}."})
    try:
        tex = tex_from(float(value), system)
    except ValueError as exc:
        raise Refused({"value": str(exc)}) from exc
    return [ThreadSize(name, SYSTEM_WORDS[name], _rounded(to_system(tex, name))) for name in SYSTEMS]


def needle_words(needle: Needle | None) -> str:
    """ "90 (14) light ball": metric size, the other number where there is one, point."""
    if needle is None:
        return "by hand"
    try:
        other = f" ({needle_number(needle.metric)})"
    except ValueError:
        other = ""
    return f"{needle.metric}{other} {needle.get_point_display().lower()}"


def thread_words(thread: Thread, ends: int = 1) -> str:
    tex = f"{thread.tex.normalize():f}"
    return f"{thread.name}, tex {tex}" + (f", {ends} ends together" if ends > 1 else "")


def _rounded(number: float) -> Decimal:
    """Four figures are more than any label has."""
    exact = Decimal(repr(number))
    places = max(0, 3 - exact.adjusted())
    return exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
