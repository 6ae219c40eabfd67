"""Reading what a seam is sewn with, and the numbers by which threads and needles are sold."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import TypeVar
from uuid import UUID

from django.db.models import Model, OuterRef, Prefetch, QuerySet, Subquery

from seamlab.calc.thread import SYSTEMS, needle_number, tex_from, to_system
from seamlab.models import Machine, MachineService, Needle, Thread
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right

Row = TypeVar("Row", bound=Model)
SYSTEM_WORDS: dict[str, str] = {
    "tex": "tex (grams per 1,000 m)",
    "dtex": "decitex (grams per 10,000 m)",
    "denier": "denier (grams per 9,000 m)",
    "Nm": "metric count, Nm (metres per gram)",
    "Nec": "cotton count, Nec",
    "metric ticket": "metric ticket (the number on most reels)",
    "cotton ticket": "cotton ticket",
}


BLADES = {2: "twin", 3: "triple"}


@dataclass(frozen=True)
class ThreadSize:
    """One thread in one numbering system; ``number`` is computed, not the rounded label that is sold."""

    system: str
    words: str
    number: Decimal


def thread_list(actor: Actor, *, with_hidden: bool = False) -> "QuerySet[Thread]":
    """Threads by name; those put away only ``with_hidden``."""
    actor.need(Right.READ_SEAMS)
    found = Thread.objects.order_by("name", "id")
    return found if with_hidden else found.filter(is_hidden=False)


def thread_get(actor: Actor, thread_id: UUID) -> Thread:
    """A thread, also one put away; one query. Raises NotHere."""
    return _the(thread_list(actor, with_hidden=True), thread_id, "thread")


def needle_list(actor: Actor, *, with_hidden: bool = False) -> "QuerySet[Needle]":
    """Needles by size; those put away only ``with_hidden``."""
    actor.need(Right.READ_SEAMS)
    found = Needle.objects.order_by("metric", "point", "blades", "id")
    return found if with_hidden else found.filter(is_hidden=False)


def needle_get(actor: Actor, needle_id: UUID) -> Needle:
    """A needle, also one put away; one query. Raises NotHere."""
    return _the(needle_list(actor, with_hidden=True), needle_id, "needle")


def machine_list(actor: Actor, *, with_hidden: bool = False) -> "QuerySet[Machine]":
    """Machines by name, each with ``last_serviced`` (a date, None: not recorded); one query."""
    actor.need(Right.READ_SEAMS)
    newest = MachineService.objects.filter(machine=OuterRef("pk")).order_by("-serviced_on", "-id")
    found: QuerySet[Machine] = Machine.objects.annotate(
        last_serviced=Subquery(newest.values("serviced_on")[:1])
    ).order_by("name", "id")
    return found if with_hidden else found.filter(is_hidden=False)


def machine_get(actor: Actor, machine_id: UUID) -> Machine:
    """A machine, also one put away, with ``last_serviced``; one query. Raises NotHere."""
    return _the(machine_list(actor, with_hidden=True), machine_id, "machine")


def machine_with_services(actor: Actor, machine_id: UUID) -> Machine:
    """A machine with its services, newest first; two queries. Raises NotHere."""
    services = MachineService.objects.select_related("recorded_by").order_by("-serviced_on", "-id")
    rows = machine_list(actor, with_hidden=True).prefetch_related(Prefetch("services", queryset=services))
    return _the(rows, machine_id, "machine")


def machine_services(actor: Actor, machine_id: UUID) -> "QuerySet[MachineService]":
    """Every service of a machine of this studio, the last recorded first. Raises NotHere."""
    actor.need(Right.READ_SEAMS)
    if not Machine.objects.filter(pk=machine_id).exists():
        raise NotHere("machine")
    return MachineService.objects.filter(machine_id=machine_id).select_related("recorded_by").order_by("-id")


def feed_words(machine: Machine) -> list[str]:
    """The feeds of a machine in words."""
    known = dict(Machine.Feed.choices)
    return [str(known[feed]) for feed in machine.feeds if feed in known]


def _the(rows: "QuerySet[Row]", pk: UUID, noun: str) -> Row:
    found = rows.filter(pk=pk).first()
    if found is None:
        raise NotHere(noun)
    return found


def thread_sizes(value: Decimal, system: str) -> list[ThreadSize]:
    """One thread in every numbering system. Raises Refused naming value or system."""
    if system not in SYSTEMS:
        raise Refused({"system": f"{system!r} is not known; use one of {', '.join(SYSTEMS)}."})
    try:
        tex = tex_from(float(value), system)
    except ValueError as exc:
        raise Refused({"value": str(exc)}) from exc
    return [ThreadSize(name, SYSTEM_WORDS[name], short_number(to_system(tex, name))) for name in SYSTEMS]


def needle_words(needle: Needle | None) -> str:
    """ "90 (14) light ball": metric size, the other number where there is one, point; blades if more than one."""
    if needle is None:
        return "by hand"
    try:
        other = f" ({needle_number(needle.metric)})"
    except ValueError:
        other = ""
    blades = (
        ""
        if needle.blades == 1
        else f", {BLADES.get(needle.blades, needle.blades)} {needle.gauge_mm.normalize():f} mm"
    )
    return f"{needle.metric}{other} {needle.get_point_display().lower()}{blades}"


def thread_words(thread: Thread, ends: int = 1) -> str:
    tex = f"{thread.tex.normalize():f}"
    return f"{thread.name}, tex {tex}" + (f", {ends} ends together" if ends > 1 else "")


def short_number(number: float) -> Decimal:
    """Four figures are more than any label has."""
    exact = Decimal(repr(number))
    places = max(0, 3 - exact.adjusted())
    return exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
