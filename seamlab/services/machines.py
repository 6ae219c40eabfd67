"""Acts on machines: recording one, changing what is known of it, writing down that it was serviced."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.utils import timezone

from seamlab.models import Machine, MachineService
from seamlab.queries import tables
from seamlab.services.checks import Checks, day, old_and_new, plain, save_edit_once, save_new_once
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_new

# Beyond these a unit was mixed up. Common practice, no source.
MOST_WIDTH_MM = Decimal(60)
MOST_SPEED = 15_000
MOST_FEET = 40

CHANGEABLE = frozenset(
    {"name", "stitch_types", "largest_width_mm", "stitches_per_minute", "feeds", "feet", "notes", "is_hidden"}
)


def record_machine(
    actor: Actor,
    *,
    name: str,
    stitch_types: Sequence[str],
    largest_width_mm: Decimal = Decimal(0),
    stitches_per_minute: int = 800,
    feeds: Sequence[str] = (),
    feet: Sequence[str] = (),
    notes: str = "",
) -> Machine:
    """Record a machine: the ISO 4915 stitch types that it makes, its widest stitch (mm), speed, feeds and feet.

    ``feeds`` are values of Machine.Feed, ``feet`` words. Raises Refused naming each field.
    """
    actor.need(Right.KEEP_SEAMS)
    facts = _checked(
        {
            "name": name,
            "stitch_types": stitch_types,
            "largest_width_mm": largest_width_mm,
            "stitches_per_minute": stitches_per_minute,
            "feeds": feeds,
            "feet": feet,
            "notes": notes,
        }
    )
    machine = save_new_once(Machine(**facts), "machine_name_once", "name", _taken(facts["name"]))
    record_act(actor, "record_machine", machine, stitch_types=facts["stitch_types"])
    return machine


def change_machine(
    actor: Actor, machine_id: UUID, *, changes: Mapping[str, Any], expected_version: int | None = None
) -> Machine:
    """Change what is known of a machine; names as in ``record_machine``, and ``is_hidden``.

    Raises NotHere, Stale, Refused.
    """
    actor.need(Right.KEEP_SEAMS)
    unknown = sorted(set(changes) - CHANGEABLE)
    if unknown:
        raise Refused(dict.fromkeys(unknown, "There is nothing of this name to change on a machine."))
    machine = lock_for_edit(Machine, machine_id, expected_version)
    facts = _checked({field: getattr(machine, field) for field in CHANGEABLE} | dict(changes))
    changed = save_edit_once(machine, facts, "machine_name_once", "name", _taken(facts["name"]))
    if changed:
        record_act(actor, "change_machine", machine, changes=old_and_new(changed))
    return machine


def record_service(
    actor: Actor, machine_id: UUID, *, serviced_on: date | None = None, done_by: str = "", note: str = ""
) -> MachineService:
    """Write down that a machine was serviced (today if no day is given); earlier services stay.

    Raises NotHere, and Refused for a day in the future.
    """
    actor.need(Right.KEEP_SEAMS)
    when = day(serviced_on, "serviced_on", timezone.localdate(timezone=actor.zone))
    if not Machine.objects.filter(pk=machine_id).exists():
        raise NotHere("machine")
    service = save_new(
        MachineService(
            machine_id=machine_id,
            serviced_on=when,
            done_by=done_by.strip(),
            note=note.strip(),
            recorded_by_id=actor.member_id,
        )
    )
    record_act(actor, "record_service", service, machine=str(machine_id), serviced_on=when.isoformat())
    return service


def _taken(name: str) -> str:
    return f"There is already a machine called {name!r}."


def _checked(given: Mapping[str, Any]) -> dict[str, Any]:
    """The facts of a machine, tidied; raises Refused with every sentence at once."""
    facts: dict[str, Any] = {
        key: value.strip() if isinstance(value, str) else value for key, value in given.items()
    }
    codes = facts["stitch_types"] = sorted(set(facts["stitch_types"]))
    checks = Checks()
    checks.need(bool(facts["name"]), "name", "Give the machine a name by which the class knows it.")
    _check_codes(codes, checks)
    known = [found for code in codes if (found := tables.stitch_types().get(code)) is not None]
    width = facts["largest_width_mm"]
    if checks.need(
        Decimal(width).is_finite() and 0 <= width <= MOST_WIDTH_MM,
        "largest_width_mm",
        f"The widest stitch must be from 0 to {plain(MOST_WIDTH_MM)} mm.",
    ):
        wide = next((found for found in known if found.needs_width), None)
        checks.need(
            wide is None or width > 0,
            "largest_width_mm",
            f"Give the widest stitch in mm: this machine makes {wide.words if wide else ''}.",
        )
    checks.need(
        1 <= facts["stitches_per_minute"] <= MOST_SPEED,
        "stitches_per_minute",
        f"The speed must be from 1 to {MOST_SPEED} stitches a minute.",
    )
    facts["feeds"] = [feed for feed in Machine.Feed.values if feed in set(facts["feeds"])] + [
        feed for feed in facts["feeds"] if not checks.one_of("feeds", feed, Machine.Feed.values, "The feed")
    ]
    facts["feet"] = list(dict.fromkeys(foot for word in facts["feet"] if (foot := " ".join(word.split()))))
    checks.need(
        len(facts["feet"]) <= MOST_FEET and all(len(foot) <= 80 for foot in facts["feet"]),
        "feet",
        f"At most {MOST_FEET} presser feet, each named in at most 80 letters.",
    )
    checks.done()
    return facts


def _check_codes(codes: Sequence[str], checks: Checks) -> None:
    checks.need(bool(codes), "stitch_types", "Say which stitch types the machine makes.")
    for code in codes:
        found = tables.stitch_types().get(code)
        checks.need(
            found is not None, "stitch_types", f"{code!r} is not a stitch type in the table (ISO 4915)."
        )
        if found is not None:
            checks.need(
                not found.by_hand, "stitch_types", f"{found.words} is sewn by hand, not by a machine."
            )
