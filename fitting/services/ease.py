"""A studio's ease rules: which set it follows, and sets of its own that it writes and edits."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from fitting.models import Closeness, GarmentKind, OwnEaseRule, OwnEaseSet
from fitting.queries.ease_rules import DEFAULT_SET, STRETCH_CLASSES, ease_sets, set_followed, set_rules
from fitting.queries.paper_zones import needs_of, zone_name
from fitting.queries.plan_text import say_in
from studio.platform.errors import NotHere, Refused
from studio.platform.models import Studio
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new

MOST_EASE = 600  # mm either way; only catches slips of typing (common practice, no source)
MOST_RULES = 400
STRETCHES = ("", *dict.fromkeys([*(name for _, name in reversed(STRETCH_CLASSES)), "rib"]))


def follow_ease_set(actor: Actor, *, code: str) -> Studio:
    """Say which set the studio's plans follow from now on; plans made before keep theirs. Raises Refused (code)."""
    actor.need(Right.KEEP_PAPER)
    try:
        set_followed(actor, code or DEFAULT_SET)
    except ValueError as exc:
        raise Refused({"code": str(exc)}) from exc
    studio: Studio | None = Studio.objects.select_for_update(no_key=True).filter(pk=actor.studio_id).first()
    if studio is None:
        raise NotHere("studio")
    before, studio.ease_set = studio.ease_set, code
    if before != code:
        studio.save(update_fields=["ease_set"])
        record_act(actor, "follow_ease_set", studio, before=before, after=code)
    return studio


def write_ease_set(
    actor: Actor, *, title: str, follows: str = "", notes: str = "", copy_of: str = ""
) -> OwnEaseSet:
    """Begin a set of the studio's own, empty or with the rules of another (``copy_of``, a set's code).

    ``follows`` is the sourced set that stands in for what it lacks. Raises Refused (title, follows, copy_of).
    """
    actor.need(Right.KEEP_PAPER)
    title = " ".join(title.split())
    reasons = _title_reasons(title)
    if follows and follows not in {one.code for one in ease_sets()}:
        reasons["follows"] = f"There is no sourced set {follows[:64]!r}."
    rows: tuple[Any, ...] = ()
    if copy_of:
        try:
            _, rows, _ = set_rules(actor, copy_of)
        except NotHere:
            reasons["copy_of"] = "There is no such set here to copy."
    if reasons:
        raise Refused(reasons)
    try:
        with transaction.atomic():
            made = save_new(OwnEaseSet(title=title, follows=follows, notes=notes.strip()))
    except IntegrityError as exc:  # two people at the same moment
        raise Refused({"title": f"There is already a set named {title}."}) from exc
    OwnEaseRule.objects.bulk_create(
        OwnEaseRule(
            ease_set=made,
            kind=row.kind,
            zone=row.zone,
            closeness=row.closeness,
            structure=row.structure,
            stretch=row.stretch or "",
            low_mm=Decimal(str(row.rule.low)),
            target_mm=Decimal(str(row.rule.target)),
            high_mm=Decimal(str(row.rule.high)),
            source=row.rule.source[:200],
            note=row.note[:300],
        )
        for row in rows
    )
    record_act(actor, "write_ease_set", made, title=title, copy_of=copy_of, rules=len(rows))
    return made


def change_ease_set(
    actor: Actor, set_id: UUID, *, expected_version: int | None, title: str, notes: str = ""
) -> OwnEaseSet:
    """Rename a set or change its notes. Raises NotHere, Stale, Refused (title)."""
    actor.need(Right.KEEP_PAPER)
    row = lock_for_edit(OwnEaseSet, set_id, expected_version)
    title = " ".join(title.split())
    reasons = _title_reasons(title, apart_from=row.pk)
    if reasons:
        raise Refused(reasons)
    changed = save_edit(row, {"title": title, "notes": notes.strip()})
    if changed:
        record_act(actor, "change_ease_set", row, changed=changed)
    return row


def set_ease_rule(
    actor: Actor,
    set_id: UUID,
    *,
    kind: str,
    zone: str,
    closeness: str,
    structure: str,
    low_mm: Decimal,
    target_mm: Decimal,
    high_mm: Decimal,
    source: str,
    stretch: str = "",
    note: str = "",
) -> OwnEaseRule:
    """Write a rule into a set of the studio's own; one for the same garment, zone, fit and cloth is replaced.

    Plans made before keep the rule that they were made by. Raises NotHere, Refused naming the field.
    """
    actor.need(Right.KEEP_PAPER)
    row = lock_for_edit(OwnEaseSet, set_id, None)
    reasons = _rule_reasons(
        actor.unit, kind=kind, zone=zone, closeness=closeness, structure=structure, stretch=stretch,
        low=low_mm, target=target_mm, high=high_mm, source=source,
    )  # fmt: skip
    if not reasons and row.rules.count() >= MOST_RULES:
        reasons[""] = f"A set has at most {MOST_RULES} rules."
    if reasons:
        raise Refused(reasons)
    where = {
        "ease_set": row, "kind": kind, "zone": zone, "closeness": closeness, "structure": structure,
        "stretch": stretch,
    }  # fmt: skip
    figures: dict[str, Any] = {
        "low_mm": low_mm, "target_mm": target_mm, "high_mm": high_mm, "source": source.strip(), "note": note.strip(),
    }  # fmt: skip
    rule = OwnEaseRule.objects.filter(**where).first()
    before = [str(rule.low_mm), str(rule.target_mm), str(rule.high_mm)] if rule else None
    if rule is None:
        rule = save_new(OwnEaseRule(**where, **figures))
    else:
        for field, value in figures.items():
            setattr(rule, field, value)
        rule.save(update_fields=list(figures))
    record_act(
        actor, "set_ease_rule", row, rule=f"{kind} {zone} {closeness} {structure} {stretch}".strip(),
        before=before, after=[str(low_mm), str(target_mm), str(high_mm)],
    )  # fmt: skip
    return rule


def drop_ease_rule(actor: Actor, set_id: UUID, rule_id: UUID) -> None:
    """Take a rule out of a set of the studio's own. Raises NotHere."""
    actor.need(Right.KEEP_PAPER)
    row = lock_for_edit(OwnEaseSet, set_id, None)
    rule = OwnEaseRule.objects.filter(pk=rule_id, ease_set=row).first()
    if rule is None:
        raise NotHere("ease rule")
    record_act(
        actor, "drop_ease_rule", row, rule=f"{rule.kind} {rule.zone} {rule.closeness} {rule.structure}",
        before=[str(rule.low_mm), str(rule.target_mm), str(rule.high_mm)],
    )  # fmt: skip
    rule.delete()


def _title_reasons(title: str, apart_from: UUID | None = None) -> dict[str, str]:
    if not title:
        return {"title": "Give the set a name."}
    taken = OwnEaseSet.objects.filter(title__iexact=title)
    if (taken if apart_from is None else taken.exclude(pk=apart_from)).exists():
        return {"title": f"There is already a set named {title}."}
    return {}


def _rule_reasons(
    unit: str,
    *,
    kind: str,
    zone: str,
    closeness: str,
    structure: str,
    stretch: str,
    low: Decimal,
    target: Decimal,
    high: Decimal,
    source: str,
) -> dict[str, str]:
    reasons: dict[str, str] = {}
    for field, value, allowed in (
        ("kind", kind, list(GarmentKind.values)),
        ("closeness", closeness, list(Closeness.values)),
        ("structure", structure, ["woven", "knit"]),
        ("stretch", stretch, list(STRETCHES)),
    ):
        if value not in allowed:
            reasons[field] = f"{value!r} is not known; choose one of {', '.join(filter(None, allowed))}."
    if "kind" not in reasons:
        needs = needs_of(kind)
        known = [*needs.zones, *needs.lengths, *needs.details]
        if zone not in known:
            reasons["zone"] = (
                f"{zone_name(zone)} is not compared for {needs.many}; choose one of {', '.join(known)}."
            )
    if stretch and structure == "woven":
        reasons["stretch"] = "Only a knit has a class of stretch; leave it empty."
    if not source.strip():
        reasons["source"] = "Say who states it: an author, or your own practice."
    say = say_in(unit)
    for field, ease in (("low_mm", low), ("target_mm", target), ("high_mm", high)):
        if not ease.is_finite() or abs(ease) > MOST_EASE:
            reasons[field] = f"An ease lies between {say(-MOST_EASE)} and {say(MOST_EASE)}."
    if not {"low_mm", "target_mm", "high_mm"} & set(reasons) and not low <= target <= high:
        reasons["target_mm"] = (
            "The least must not be more than the wanted, nor the wanted more than the most: "
            f"{say(float(low))}, {say(float(target))}, {say(float(high))}."
        )
    return reasons
