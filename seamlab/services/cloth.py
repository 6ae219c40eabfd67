"""Acts on cloth: recording it and changing what is known of it. Testing it stands in cloth_tests."""

from collections.abc import Mapping, Sequence
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from typing import Any
from uuid import UUID

from seamlab.models import Cloth, SeamTrial
from seamlab.queries.tables import cloth_kinds, fibre_named, fibres
from seamlab.services.checks import Checks, old_and_new, plain, save_edit_once, save_new_once
from seamlab.services.cloth_tests import test_stretch, test_wash
from studio.platform.errors import Conflict, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit

__all__ = ["change_cloth", "record_cloth", "test_stretch", "test_wash"]

# Beyond these a unit was mixed up. Common practice, no source.
MOST_WEIGHT_GSM = Decimal(5000)
MOST_THICKNESS_MM = Decimal(50)
MOST_WIDTH_MM = Decimal(10_000)

CHANGEABLE = frozenset(
    {
        "name",
        "structure",
        "construction",
        "kind",
        "colour",
        "fibres",
        "weight_gsm",
        "thickness_mm",
        "width_mm",
        "usable_width_mm",
        "direction",
        "repeat_lengthwise_mm",
        "repeat_crosswise_mm",
        "drape",
        "care",
        "notes",
        "is_hidden",
    }
)


def record_cloth(
    actor: Actor,
    *,
    name: str,
    structure: str,
    fibres: Sequence[Mapping[str, Any]],
    weight_gsm: Decimal,
    thickness_mm: Decimal | None,
    width_mm: Decimal,
    usable_width_mm: Decimal,
    direction: str = Cloth.Direction.NOT_KNOWN,
    construction: str = "",
    kind: str = "",
    colour: str = "",
    repeat_lengthwise_mm: Decimal | None = None,
    repeat_crosswise_mm: Decimal | None = None,
    drape: str = "",
    care: str = "",
    notes: str = "",
) -> Cloth:
    """Record a cloth. ``fibres`` are rows {"fibre": generic name, "percent": share} that add to 100, or none.

    ``kind`` is a key of ``tables.cloth_kinds`` or empty, ``weight_gsm`` in g/m2, ``thickness_mm`` of one layer
    (None: not measured). The direction is one-way until somebody has looked. Raises Refused naming each field.
    """
    actor.need(Right.KEEP_SEAMS)
    facts = _checked(
        {
            "name": name,
            "structure": structure,
            "construction": construction,
            "kind": kind,
            "colour": colour,
            "fibres": fibres,
            "weight_gsm": weight_gsm,
            "thickness_mm": thickness_mm,
            "width_mm": width_mm,
            "usable_width_mm": usable_width_mm,
            "direction": direction,
            "repeat_lengthwise_mm": repeat_lengthwise_mm,
            "repeat_crosswise_mm": repeat_crosswise_mm,
            "drape": drape,
            "care": care,
            "notes": notes,
        }
    )
    cloth = save_new_once(Cloth(**facts), "cloth_name_once", "name", _taken(facts["name"]))
    record_act(actor, "record_cloth", cloth)
    return cloth


def change_cloth(
    actor: Actor, cloth_id: UUID, *, changes: Mapping[str, Any], expected_version: int | None = None
) -> Cloth:
    """Change what is known of a cloth; ``changes`` by the names of ``record_cloth``, and ``is_hidden``.

    A hidden cloth is put away: it is no longer offered, and its records stay.
    Raises NotHere, Stale, Refused; Conflict where the structure of a cloth with trials would change.
    """
    actor.need(Right.KEEP_SEAMS)
    unknown = sorted(set(changes) - CHANGEABLE)
    if unknown:
        raise Refused(dict.fromkeys(unknown, "There is nothing of this name to change on a cloth."))
    cloth = lock_for_edit(Cloth, cloth_id, expected_version)
    facts = _checked({field: getattr(cloth, field) for field in CHANGEABLE} | dict(changes))
    if facts["structure"] != cloth.structure and SeamTrial.objects.filter(cloth_id=cloth.pk).exists():
        raise Conflict(
            f"{cloth.name} has seam trials as a {cloth.structure} cloth: record it as a new cloth instead."
        )
    changed = save_edit_once(cloth, facts, "cloth_name_once", "name", _taken(facts["name"]))
    if changed:
        record_act(actor, "change_cloth", cloth, changes=old_and_new(changed))
    return cloth


def _taken(name: str) -> str:
    return f"There is already a cloth called {name!r}: add its colour, shop or year to tell them apart."


def _checked(facts: dict[str, Any]) -> dict[str, Any]:
    """The facts of a cloth, tidied; raises Refused with every sentence at once."""
    facts = {key: value.strip() if isinstance(value, str) else value for key, value in facts.items()}
    checks = Checks()
    checks.need(bool(facts["name"]), "name", "Give the cloth a name that colleagues will know it by.")
    checks.one_of("structure", facts["structure"], Cloth.Structure.values, "The structure")
    if facts["kind"] and checks.one_of("kind", facts["kind"], cloth_kinds(), "The kind of cloth"):
        kind = cloth_kinds()[facts["kind"]]
        checks.need(
            kind.structure == facts["structure"],
            "kind",
            f"{kind.name} is a {kind.structure} cloth, and this one is recorded as {facts['structure']}.",
        )
    checks.one_of("direction", facts["direction"], Cloth.Direction.values, "The direction")
    checks.positive("weight_gsm", facts["weight_gsm"], "The weight", unit="g/m²", most=MOST_WEIGHT_GSM)
    checks.positive("thickness_mm", facts["thickness_mm"], "The thickness", unit="mm", most=MOST_THICKNESS_MM)
    wide = checks.positive("width_mm", facts["width_mm"], "The width", unit="mm", most=MOST_WIDTH_MM)
    usable = checks.positive(
        "usable_width_mm", facts["usable_width_mm"], "The usable width", unit="mm", most=MOST_WIDTH_MM
    )
    if wide and usable:
        checks.need(
            facts["usable_width_mm"] <= facts["width_mm"],
            "usable_width_mm",
            f"The usable width, {plain(facts['usable_width_mm'])} mm, is more than the width, "
            f"{plain(facts['width_mm'])} mm.",
        )
    for field, way in (("repeat_lengthwise_mm", "lengthwise"), ("repeat_crosswise_mm", "crosswise")):
        checks.positive(field, facts[field], f"The repeat {way}", unit="mm", most=MOST_WIDTH_MM)
    facts["fibres"] = _checked_fibres(facts["fibres"], checks)
    checks.done()
    return facts


def _checked_fibres(rows: Sequence[Mapping[str, Any]], checks: Checks) -> list[dict[str, Any]]:
    found: dict[str, Decimal] = {}
    for row in rows:
        word = str(row.get("fibre", ""))
        name = fibre_named(word)
        if name is None:
            checks.need(
                False,
                "fibres",
                no_fibre(word),
            )
            return []
        try:
            percent = Decimal(str(row.get("percent", "")))
        except InvalidOperation:
            percent = Decimal("NaN")
        fits = percent.is_finite() and 0 < percent <= 100 and percent == round(percent, 1)
        if not checks.need(
            fits,
            "fibres",
            f"The share of {name} must be a percentage above 0, up to 100, with at most one decimal.",
        ):
            return []
        if not checks.need(
            name not in found, "fibres", f"{name.capitalize()} is named twice: add the shares up."
        ):
            return []
        found[name] = percent
    total = sum(found.values())
    checks.need(
        not found or total == 100, "fibres", f"Fibres add to {plain(Decimal(total))} %: they must add to 100."
    )
    return [
        {"fibre": name, "percent": int(percent) if percent == int(percent) else float(percent)}
        for name, percent in found.items()
    ]


def no_fibre(word: str) -> str:
    """The sentence for a word that is no fibre: the nearest names, or the whole list."""
    names = sorted(row.name for row in fibres())
    near = get_close_matches(word.lower().strip(), names, n=3, cutoff=0.6)
    offered = f"Did you mean {' or '.join(near)}?" if near else f"The names are {', '.join(names)}."
    return f"{word!r} is no generic name of a fibre (never a brand). {offered}"
