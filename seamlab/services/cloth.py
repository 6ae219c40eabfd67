"""Acts on cloth: recording it, changing what is known of it, testing it."""
# ruff: noqa: PT028 - test_stretch and test_wash test cloth, not code

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from seamlab.calc.cloth import dimensional_change, recovery_percent, stretch_percent
from seamlab.models import Cloth, ClothTest, SeamTrial
from seamlab.models.cloth import WAYS
from seamlab.queries.tables import fibre_named
from seamlab.services.checks import Checks, hundredths, moment, plain, save_edit_once, save_new_once
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_new

# Beyond these a unit was mixed up. Common practice, no source.
MOST_WEIGHT_GSM = Decimal(5000)
MOST_THICKNESS_MM = Decimal(50)
MOST_WIDTH_MM = Decimal(10_000)
MOST_LENGTH_MM = Decimal(20_000)
LEAST_TEST_MM = Decimal(20)  # on a shorter mark one millimetre of the tape is already 5 %
MOST_STRETCH_PERCENT = 500.0
MOST_GROWTH_PERCENT = 100.0
MOST_SHRINKAGE_PERCENT = -80.0

CHANGEABLE = frozenset(
    {
        "name",
        "structure",
        "construction",
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
    repeat_lengthwise_mm: Decimal | None = None,
    repeat_crosswise_mm: Decimal | None = None,
    drape: str = "",
    care: str = "",
    notes: str = "",
) -> Cloth:
    """Record a cloth. ``fibres`` are rows {"fibre": generic name, "percent": share} that add to 100, or none.

    ``weight_gsm`` in g/m2, ``thickness_mm`` of one layer (None: not measured). The direction is one-way until
    somebody has looked. Raises Refused naming each field.
    """
    actor.need(Right.KEEP_SEAMS)
    facts = _checked(
        {
            "name": name,
            "structure": structure,
            "construction": construction,
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
    """Change what is known of a cloth; ``changes`` by the names of ``record_cloth``.

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
        record_act(actor, "change_cloth", cloth, fields=sorted(changed))
    return cloth


def test_stretch(
    actor: Actor,
    cloth_id: UUID,
    *,
    way: str,
    relaxed_mm: Decimal,
    stretched_mm: Decimal,
    released_mm: Decimal | None = None,
    tested_at: datetime | None = None,
    note: str = "",
) -> ClothTest:
    """Add a stretch test: a marked length relaxed, pulled, and (if taped) let go again.

    Raises NotHere, and Refused naming way, relaxed_mm, stretched_mm, released_mm or tested_at.
    """
    actor.need(Right.KEEP_SEAMS)
    when = moment(tested_at, "tested_at")
    checks = Checks()
    checks.one_of("way", way, dict(WAYS), "The way")
    _check_lengths(
        checks,
        relaxed_mm=("Relaxed", relaxed_mm),
        stretched_mm=("Stretched", stretched_mm),
        released_mm=("Released", released_mm),
    )
    checks.done()
    checks.need(
        relaxed_mm >= LEAST_TEST_MM,
        "relaxed_mm",
        f"{plain(relaxed_mm)} mm is too short: mark {plain(LEAST_TEST_MM)} mm or more (100 mm is usual).",
    )
    checks.need(
        stretched_mm >= relaxed_mm,
        "stretched_mm",
        f"Stretched, {plain(stretched_mm)} mm, is shorter than relaxed, {plain(relaxed_mm)} mm: "
        "tape both again.",
    )
    if released_mm is not None:
        checks.need(
            released_mm <= stretched_mm,
            "released_mm",
            f"Released, {plain(released_mm)} mm, is longer than stretched, {plain(stretched_mm)} mm: "
            "tape both again.",
        )
    checks.done()
    percent = stretch_percent(float(relaxed_mm), float(stretched_mm))
    checks.need(
        percent <= MOST_STRETCH_PERCENT,
        "stretched_mm",
        f"That is {percent:.0f} % of stretch, more than any cloth gives: check the units of both lengths.",
    )
    checks.done()
    recovery = None
    if released_mm is not None and stretched_mm > relaxed_mm:
        recovery = hundredths(recovery_percent(float(relaxed_mm), float(stretched_mm), float(released_mm)))
    test = save_new(
        ClothTest(
            cloth_id=_cloth_id(cloth_id),
            kind=ClothTest.Kind.STRETCH,
            way=way,
            before_mm=relaxed_mm,
            after_mm=stretched_mm,
            released_mm=released_mm,
            percent=hundredths(percent),
            recovery_percent=recovery,
            tested_by_id=actor.member_id,
            tested_at=when,
            note=note.strip(),
        )
    )
    record_act(actor, "test_stretch", test, cloth=str(cloth_id))
    return test


def test_wash(
    actor: Actor,
    cloth_id: UUID,
    *,
    way: str,
    before_mm: Decimal,
    after_mm: Decimal,
    tested_at: datetime | None = None,
    note: str = "",
) -> ClothTest:
    """Add a wash test: a marked length before and after washing and pressing as the garment will be.

    Raises NotHere, and Refused naming way, before_mm, after_mm or tested_at.
    """
    actor.need(Right.KEEP_SEAMS)
    when = moment(tested_at, "tested_at")
    checks = Checks()
    checks.one_of("way", way, dict(WAYS), "The way")
    _check_lengths(checks, before_mm=("Before", before_mm), after_mm=("After", after_mm))
    checks.done()
    checks.need(
        before_mm >= LEAST_TEST_MM,
        "before_mm",
        f"{plain(before_mm)} mm is too short: mark {plain(LEAST_TEST_MM)} mm or more (500 mm is usual).",
    )
    percent = dimensional_change(float(before_mm), float(after_mm))
    checks.need(
        MOST_SHRINKAGE_PERCENT <= percent <= MOST_GROWTH_PERCENT,
        "after_mm",
        f"That is a change of {percent:+.0f} %: check the units of both lengths.",
    )
    checks.done()
    test = save_new(
        ClothTest(
            cloth_id=_cloth_id(cloth_id),
            kind=ClothTest.Kind.WASH,
            way=way,
            before_mm=before_mm,
            after_mm=after_mm,
            percent=hundredths(percent),
            tested_by_id=actor.member_id,
            tested_at=when,
            note=note.strip(),
        )
    )
    record_act(actor, "test_wash", test, cloth=str(cloth_id))
    return test


def _cloth_id(cloth_id: UUID) -> UUID:
    if not Cloth.objects.filter(pk=cloth_id).exists():
        raise NotHere("cloth")
    return cloth_id


def _check_lengths(checks: Checks, **lengths: tuple[str, Decimal | None]) -> None:
    for field, (words, value) in lengths.items():
        checks.positive(field, value, words, unit="mm", most=MOST_LENGTH_MM)


def _taken(name: str) -> str:
    return f"There is already a cloth called {name!r}: add its colour, shop or year to tell them apart."


def _checked(facts: dict[str, Any]) -> dict[str, Any]:
    """The facts of a cloth, tidied; raises Refused with every sentence at once."""
    facts = {key: value.strip() if isinstance(value, str) else value for key, value in facts.items()}
    checks = Checks()
    checks.need(bool(facts["name"]), "name", "Give the cloth a name that colleagues will know it by.")
    checks.one_of("structure", facts["structure"], Cloth.Structure.values, "The structure")
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
                f"{word!r} is no generic name of a fibre, such as wool, cotton or polyester (never a brand).",
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
