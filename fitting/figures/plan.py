"""The two drawings of a fit plan, from the plan as plain data: the same for the page and for the report.

`plan` is what ``dataclasses.asdict`` of a plan view gives (or the same read back from a report's snapshot);
used are ``kind``, ``unit``, ``zones`` and ``alterations``. Pure: plain data in, SVG text out.
"""

from collections.abc import Callable, Mapping
from typing import Any

from fitting.figures.alterations import AlterationRow, alteration_figure, place_figure, places
from fitting.figures.zones import ZoneRow, zone_figure
from studio.calc.units import format_length

MM = {"cm": 10.0, "in": 25.4}

# The drawings that show a garment, and where each zone lies on them.
_TOP = {
    "bust": "bust",
    "chest": "bust",
    "waist": "waist",
    "hip": "hip",
    "shoulder_to_waist": "shoulder_to_waist",
    "back_waist": "shoulder_to_waist",
    "waist_to_hip": "body_length",
    "sleeve": "sleeve_length",
    "upper_arm": "upper_arm",
}
_LONG = {**_TOP, "waist_to_hip": "waist_to_hip"}
_SKIRT = {"waist": "waist", "hip": "hip", "waist_to_hip": "waist_to_hip"}
_TROUSERS = {
    "waist": "waist",
    "hip": "hip",
    "thigh": "thigh",
    "rise": "rise",
    "waist_to_hip": "rise",
    "leg": "leg_length",
}
_DRAWINGS: dict[str, tuple[tuple[str, str, Mapping[str, str]], ...]] = {
    "skirt": (("skirt", "skirt", _SKIRT),),
    "trousers": (("trousers", "trousers", _TROUSERS),),
    "bodice": (("bodice", "bodice", _TOP), ("skirt", "part below the waist", _SKIRT)),
    "dress": (("dress", "dress", _LONG),),
    "shirt": (("shirt", "shirt", _TOP),),
    "jacket": (("jacket", "jacket", _LONG),),
    "tshirt": (("tshirt", "T-shirt", _TOP),),
}


def plan_zones_figure(plan: Mapping[str, Any]) -> str:
    """SVG of ease wanted and paper before and after, zone by zone."""
    unit = plan["unit"]
    return zone_figure(
        [
            ZoneRow(
                zone=row["name"],
                low=row["low_mm"],
                target=row["target_mm"],
                high=row["high_mm"],
                before=row["ease_before_mm"],
                verdict=row["after"]["code"],
                body_text=row["body"],
                range_text=row["ease_range"],
                before_text=f"{row['paper_before']}, ease {row['ease_before']}",
                after=row["ease_after_mm"] if row["changed"] else None,
                after_text=f"{row['paper_after']}, ease {row['ease_after']}" if row["changed"] else "",
                error=row["error_mm"],
            )
            for row in plan["zones"]
        ],
        unit,
        tick_text=_tick(unit),
        scale=MM[unit],
        title="Ease in each zone",
    )


def plan_alteration_figures(plan: Mapping[str, Any]) -> tuple[str, ...]:
    """SVGs of the pieces with the alterations marked; a drawing that bears no mark is left out.

    A detail that a schematic has no place for stands in the list of alterations alone.
    """
    found = []
    drawn: set[int] = set()
    for kind, words, lies in _DRAWINGS[plan["kind"]]:
        rows = []
        for one in plan["alterations"]:
            place = _place(kind, lies, one)
            # The bodice's waist is not drawn a second time on the part below it.
            if place is None or one["number"] in drawn:
                continue
            rows.append(
                AlterationRow(one["number"], place, _change(place, one), one["title"], one["per_edge_words"])
            )
            drawn.add(one["number"])
        if rows:
            found.append(alteration_figure(kind, rows, title=f"Where the alterations lie: {words}"))
    return tuple(found)


def alteration_places(plan: Mapping[str, Any]) -> dict[int, tuple[str, str]]:
    """For each alteration that a schematic has a place for: its number to (small SVG, what it shows)."""
    found: dict[int, tuple[str, str]] = {}
    for kind, words, lies in _DRAWINGS[plan["kind"]]:
        for one in plan["alterations"]:
            place = _place(kind, lies, one)
            if place is None or one["number"] in found:
                continue
            said = f"Alteration {one['number']}, {one['title']}: where it lies on the {words}."
            svg = place_figure(kind, place, _change(place, one), title=one["title"], description=said)
            found[one["number"]] = (svg, said)
    return found


def _place(kind: str, lies: Mapping[str, str], one: Mapping[str, Any]) -> str | None:
    place = lies.get(one["zone"].removesuffix("_left").removesuffix("_right"))
    if one["title"] == "Bust adjustment" and "bust_adjustment" in places(kind):
        place = "bust_adjustment"
    return place if place in places(kind) else None


def _change(place: str, one: Mapping[str, Any]) -> str:
    return "adjust" if place == "bust_adjustment" else str(one["change"])


def _tick(unit: str) -> Callable[[float], str]:
    """Axis values with their sign; inches as fractions."""

    def text(value: float) -> str:
        if unit == "in":
            said = format_length(abs(value) * MM["in"], "in").removesuffix(" in")
        else:
            said = f"{abs(value):.4f}".rstrip("0").rstrip(".")
        return f"\u2212{said}" if value < 0 and said != "0" else said

    return text
