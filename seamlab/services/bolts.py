"""Acts on bolts: taking one in, cutting off it, counting it again. What remains is never typed over."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from uuid import UUID

from seamlab.models import Bolt, BoltRecord
from seamlab.queries.bolts import remaining_of
from seamlab.services.checks import Checks, old_and_new, plain, save_edit_once, save_new_once
from seamlab.services.cloth_tests import cloth_here
from studio.platform.errors import Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_new

MOST_BOLT_MM = Decimal(500_000)  # 500 m; beyond it a unit was mixed up. Common practice, no source.
CHANGEABLE = frozenset({"label", "dye_lot", "colour", "place", "note", "is_hidden"})


def record_bolt(
    actor: Actor,
    *,
    cloth_id: UUID,
    label: str,
    length_mm: Decimal,
    dye_lot: str = "",
    colour: str = "",
    place: str = "",
    note: str = "",
) -> Bolt:
    """Take a bolt of a cloth in, ``length_mm`` long. ``label`` is what is written on it, once in the studio.

    Raises NotHere and Refused naming each field.
    """
    actor.need(Right.KEEP_SEAMS)
    cloth_here(cloth_id)
    facts = _tidied({"label": label, "dye_lot": dye_lot, "colour": colour, "place": place, "note": note})
    checks = Checks()
    checks.need(bool(facts["label"]), "label", "Write a label on the bolt and give it here.")
    checks.positive("length_mm", length_mm, "The length", unit="mm", most=MOST_BOLT_MM)
    checks.done()
    bolt = save_new_once(
        Bolt(cloth_id=cloth_id, length_at_start_mm=length_mm, **facts),
        "bolt_label_once",
        "label",
        _taken(facts["label"]),
    )
    record_act(actor, "record_bolt", bolt, cloth=str(cloth_id), length_mm=plain(length_mm))
    return bolt


def change_bolt(
    actor: Actor, bolt_id: UUID, *, changes: Mapping[str, Any], expected_version: int | None = None
) -> Bolt:
    """Change a bolt's label, dye_lot, colour, place, note or is_hidden; its lengths have acts of their own.

    Raises NotHere, Stale, Refused.
    """
    actor.need(Right.KEEP_SEAMS)
    unknown = sorted(set(changes) - CHANGEABLE)
    if unknown:
        raise Refused(dict.fromkeys(unknown, "There is nothing of this name to change on a bolt."))
    bolt = lock_for_edit(Bolt, bolt_id, expected_version)
    facts = _tidied(dict(changes))
    if "label" in facts and not facts["label"]:
        raise Refused({"label": "Write a label on the bolt and give it here."})
    changed = save_edit_once(bolt, facts, "bolt_label_once", "label", _taken(facts.get("label", "")))
    if changed:
        record_act(actor, "change_bolt", bolt, changes=old_and_new(changed))
    return bolt


def cut_bolt(actor: Actor, bolt_id: UUID, *, length_mm: Decimal, reason: str) -> BoltRecord:
    """Cut ``length_mm`` off a bolt; ``reason`` says what for. Raises NotHere, and Refused beyond what remains."""
    actor.need(Right.KEEP_SEAMS)
    bolt = lock_for_edit(Bolt, bolt_id, None)
    checks = Checks()
    fits = checks.positive("length_mm", length_mm, "The length", unit="mm", most=MOST_BOLT_MM)
    checks.need(bool(reason.strip()), "reason", "Say what it is cut for.")
    remaining = remaining_of(bolt)
    if fits:
        checks.need(
            length_mm <= remaining,
            "length_mm",
            f"Only {_metres(remaining)} remain on {bolt.label}: {_metres(length_mm)} can't be cut off. "
            "If more lies there, count the bolt again first.",
        )
    checks.done()
    return _keep(actor, bolt, BoltRecord.Kind.CUT, length_mm, remaining - length_mm, reason)


def count_bolt(actor: Actor, bolt_id: UUID, *, length_mm: Decimal, reason: str) -> BoltRecord:
    """Tape a bolt again and find ``length_mm`` (0: nothing is left); ``reason`` says why it was done.

    Raises NotHere and Refused.
    """
    actor.need(Right.KEEP_SEAMS)
    bolt = lock_for_edit(Bolt, bolt_id, None)
    checks = Checks()
    if length_mm != 0:
        checks.positive("length_mm", length_mm, "The length", unit="mm", most=MOST_BOLT_MM)
    checks.need(bool(reason.strip()), "reason", "Say why the bolt was counted again.")
    checks.done()
    return _keep(actor, bolt, BoltRecord.Kind.COUNTED, length_mm, length_mm, reason)


def write_on_bolt(actor: Actor, bolt_id: UUID, *, kind: str, length_mm: Decimal, reason: str) -> BoltRecord:
    """``cut_bolt`` or ``count_bolt`` by the word of the record's kind."""
    acts = {BoltRecord.Kind.CUT: cut_bolt, BoltRecord.Kind.COUNTED: count_bolt}
    if kind not in acts:
        raise Refused({"kind": f"The kind must be one of {', '.join(acts)}; got {kind!r}."})
    return acts[BoltRecord.Kind(kind)](actor, bolt_id, length_mm=length_mm, reason=reason)


def _keep(
    actor: Actor, bolt: Bolt, kind: str, length_mm: Decimal, remaining_mm: Decimal, reason: str
) -> BoltRecord:
    """Under the bolt's lock, so that two cuts at once follow each other."""
    number = BoltRecord.objects.filter(bolt_id=bolt.pk).count() + 1
    record = save_new(
        BoltRecord(
            bolt=bolt,
            number=number,
            kind=kind,
            length_mm=length_mm,
            remaining_mm=remaining_mm,
            reason=reason.strip(),
            recorded_by_id=actor.member_id,
        )
    )
    bolt.version += 1
    bolt.save(update_fields=["version", "changed_at"])
    record_act(
        actor, "cut_bolt" if kind == BoltRecord.Kind.CUT else "count_bolt", bolt, record=str(record.pk)
    )
    return record


def _tidied(facts: dict[str, Any]) -> dict[str, Any]:
    return {key: value.strip() if isinstance(value, str) else value for key, value in facts.items()}


def _metres(mm: Decimal) -> str:
    return f"{plain(round(mm / 1000, 3))} m"


def _taken(label: str) -> str:
    return f"There is already a bolt labelled {label!r}: a label tells one bolt from all others."
