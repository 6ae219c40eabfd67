"""Recording paper: a pattern with its run of sizes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.db import IntegrityError, transaction

from fitting.models import Closeness, GarmentKind, Pattern, PatternMeasure, PatternSize
from fitting.queries.paper_zones import paper_zones, zone_name
from studio.calc.units import format_length
from studio.platform.errors import Refused
from studio.platform.queries.people import studio_get
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new

MOST_SIZES = 30
# Least and most in mm; they only catch slips of typing (common practice, no source).
BOUNDS = {
    "seam_allowance_mm": ("seam allowance", 0, 100),
    "base_height_mm": ("height that the pattern was drawn for", 300, 2500),
    "base_cup_mm": ("cup that the pattern was drawn for", 0, 300),
}


@dataclass(frozen=True)
class SizeGiven:
    """One size as it is given: its name, and measure code to millimetres."""

    name: str
    measures: Mapping[str, Decimal]


def record_pattern(
    actor: Actor,
    *,
    name: str,
    kind: str,
    closeness: str,
    structure: str,
    basis: str,
    sizes: Sequence[SizeGiven],
    seam_allowance_mm: Decimal = Decimal(15),
    base_height_mm: Decimal | None = None,
    base_cup_mm: Decimal | None = None,
    stretch_wanted_percent: Decimal | None = None,
    notes: str = "",
) -> Pattern:
    """Record a pattern with its sizes, smallest first, each with the same measures.

    Afterwards the pattern, its sizes and measures exist together, and its sizes never change. Raises Refused
    naming the field; a reason for one cell is named ``sizes.<place>.measures.<code>``, places counted from 0.
    """
    actor.need(Right.KEEP_PAPER)
    name = " ".join(name.split())
    unit = studio_get(actor).unit
    reasons = _facts_reasons(
        name=name,
        kind=kind,
        closeness=closeness,
        structure=structure,
        basis=basis,
        stretch=stretch_wanted_percent,
    )
    given = {
        "seam_allowance_mm": seam_allowance_mm,
        "base_height_mm": base_height_mm,
        "base_cup_mm": base_cup_mm,
    }
    for field, value in given.items():
        words, least, most = BOUNDS[field]
        if value is not None and not (value.is_finite() and least <= value <= most):
            reasons[field] = (
                f"The {words} must lie between {format_length(least, unit)} and {format_length(most, unit)}."
            )
    if name and Pattern.objects.filter(name__iexact=name).exists():
        reasons["name"] = f"There is already a pattern named {name}; give this one another name."
    reasons |= _sizes_reasons(sizes, unit)
    if reasons:
        raise Refused(reasons)
    try:
        with transaction.atomic():
            pattern = save_new(
                Pattern(
                    name=name,
                    kind=kind,
                    closeness=closeness,
                    structure=structure,
                    basis=basis,
                    stretch_wanted_percent=stretch_wanted_percent,
                    notes=notes.strip(),
                    **given,
                )
            )
    except IntegrityError as exc:  # two people at the same moment
        raise Refused(
            {"name": f"There is already a pattern named {name}; give this one another name."}
        ) from exc
    rows = [
        PatternSize(pattern=pattern, name=size.name.strip(), place=place)
        for place, size in enumerate(sizes, 1)
    ]
    PatternSize.objects.bulk_create(rows)
    PatternMeasure.objects.bulk_create(
        PatternMeasure(size=row, measure=code, value=value)
        for row, size in zip(rows, sizes, strict=True)
        for code, value in size.measures.items()
    )
    record_act(actor, "record_pattern", pattern, name=name, sizes=len(rows))
    return pattern


def change_pattern(
    actor: Actor,
    pattern_id: UUID,
    *,
    expected_version: int | None,
    name: str | None = None,
    notes: str | None = None,
) -> Pattern:
    """Change a pattern's name or notes; its facts and sizes stay, since plans were made from them.

    Raises NotHere, Stale, and Refused for a name that is blank or taken.
    """
    actor.need(Right.KEEP_PAPER)
    pattern = lock_for_edit(Pattern, pattern_id, expected_version)
    changes: dict[str, str] = {}
    if name is not None:
        changes["name"] = " ".join(name.split())
        if not changes["name"]:
            raise Refused({"name": "Give the pattern a name."})
        if Pattern.objects.filter(name__iexact=changes["name"]).exclude(pk=pattern.pk).exists():
            raise Refused({"name": f"There is already a pattern named {changes['name']}."})
    if notes is not None:
        changes["notes"] = notes.strip()
    changed = save_edit(pattern, changes)
    if changed:
        record_act(actor, "change_pattern", pattern, changed=sorted(changed))
    return pattern


def _facts_reasons(
    *, name: str, kind: str, closeness: str, structure: str, basis: str, stretch: Decimal | None
) -> dict[str, str]:
    reasons: dict[str, str] = {}
    if not name:
        reasons["name"] = "Give the pattern a name."
    for field, value, allowed in (
        ("kind", kind, list(GarmentKind.values)),
        ("closeness", closeness, list(Closeness.values)),
        ("structure", structure, ["woven", "knit"]),
        ("basis", basis, list(Pattern.Basis.values)),
    ):
        if value not in allowed:
            reasons[field] = f"{value!r} is not known; choose one of {', '.join(allowed)}."
    if stretch is not None and not (stretch.is_finite() and 0 <= stretch <= 400):
        reasons["stretch_wanted_percent"] = "The stretch must lie between 0 and 400 percent."
    elif structure == "woven" and stretch:
        reasons["stretch_wanted_percent"] = (
            "Only a pattern for a knit is drawn for a stretch; leave it empty."
        )
    elif structure == "knit" and closeness == "close" and stretch is None:
        reasons["stretch_wanted_percent"] = (
            "A close knit is cut smaller than the body: say for how much stretch, in percent, it was drawn."
        )
    return reasons


def _sizes_reasons(sizes: Sequence[SizeGiven], unit: str) -> dict[str, str]:
    """What is wrong with a run of sizes; the reasons for single cells before those for the run."""
    if not sizes:
        return {"sizes": "Give at least one size."}
    if len(sizes) > MOST_SIZES:
        return {"sizes": f"A run has at most {MOST_SIZES} sizes, not {len(sizes)}."}
    reasons: dict[str, str] = {}
    names = [size.name.strip() for size in sizes]
    for place, name in enumerate(names):
        if not name or len(name) > 16:
            reasons[f"sizes.{place}.name"] = "A size needs a name of 1 to 16 letters or figures."
        elif name in names[:place]:
            reasons[f"sizes.{place}.name"] = f"Size {name} is named twice; each size once."
    known = paper_zones()
    wanted = list(dict.fromkeys(code for size in sizes for code in size.measures))
    if not wanted:
        reasons["sizes"] = "Give at least one measure of each size."
    for place, size in enumerate(sizes):
        for code in wanted:
            field = f"sizes.{place}.measures.{code}"
            value = size.measures.get(code)
            if code not in known:
                reasons[field] = f"There is no paper measure {code!r}; known are {', '.join(known)}."
            elif value is None:
                reasons[field] = (
                    f"Size {names[place]} lacks the {zone_name(code).lower()} that other sizes have."
                )
            elif not value.is_finite() or not known[code].least_mm <= value <= known[code].most_mm:
                low, high = (
                    format_length(known[code].least_mm, unit),
                    format_length(known[code].most_mm, unit),
                )
                reasons[field] = (
                    f"Size {names[place]}: the {zone_name(code).lower()} must lie between {low} and {high}."
                )
    return reasons or _order_reasons(sizes, names, wanted, unit)


def _order_reasons(
    sizes: Sequence[SizeGiven], names: Sequence[str], wanted: Sequence[str], unit: str
) -> dict[str, str]:
    reasons: dict[str, str] = {}
    for place in range(1, len(sizes)):
        before, here = sizes[place - 1].measures, sizes[place].measures
        for code in wanted:
            if here[code] < before[code]:
                reasons[f"sizes.{place}.measures.{code}"] = (
                    f"Sizes out of order: the {zone_name(code).lower()} of size {names[place]}, "
                    f"{format_length(here[code], unit)}, is less than that of size {names[place - 1]}, "
                    f"{format_length(before[code], unit)}. Give sizes from small to large."
                )
        if all(here[code] == before[code] for code in wanted):
            reasons[f"sizes.{place}.name"] = (
                f"Sizes {names[place - 1]} and {names[place]} are alike in every measure; leave one out."
            )
    return reasons
