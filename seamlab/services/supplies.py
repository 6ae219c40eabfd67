"""Acts on what a seam is sewn with: threads and needles. Machines stand in services/machines.py."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Q

from seamlab.calc.thread import SYSTEMS, needle_metric, tex_from
from seamlab.models import Needle, SeamRecipeVersion, Thread
from seamlab.queries.tables import fibre_named
from seamlab.services.checks import Checks, hundredths, old_and_new, plain, save_edit_once, save_new_once
from seamlab.services.cloth import no_fibre
from seamlab.services.machines import change_machine, record_machine, record_service
from studio.platform.errors import Conflict, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit

__all__ = [
    "change_machine",
    "change_needle",
    "change_thread",
    "record_machine",
    "record_needle",
    "record_service",
    "record_thread",
]

# Outside these the number or its system was mixed up. Common practice, no source.
LEAST_TEX, MOST_TEX = Decimal(3), Decimal(1000)
LEAST_METRIC, MOST_METRIC = 35, 250
MOST_BLADES, MOST_GAUGE_MM = 3, Decimal(12)
MOST_COLOURS, MOST_REELS = 200, 10_000

THREAD_CHANGEABLE = frozenset(
    {
        "name",
        "fibre",
        "construction",
        "tex",
        "extension_percent",
        "strength_n",
        "colours",
        "reel_length_m",
        "notes",
        "is_hidden",
    }
)
NEEDLE_CHANGEABLE = frozenset({"metric", "point", "blades", "gauge_mm", "what_for", "is_hidden"})
# What makes it that thread or needle: once a recipe is written with it, another one is another row.
THREAD_ITSELF = frozenset({"fibre", "construction", "tex"})
NEEDLE_ITSELF = frozenset({"metric", "point", "blades", "gauge_mm"})


def record_thread(
    actor: Actor,
    *,
    name: str,
    fibre: str,
    size: Decimal,
    system: str = "tex",
    construction: str = "",
    extension_percent: Decimal | None = None,
    strength_n: Decimal | None = None,
    colours: Sequence[str | Mapping[str, Any]] = (),
    reel_length_m: Decimal | None = None,
    notes: str = "",
) -> Thread:
    """Record a thread by its number in any system (see calc.thread.SYSTEMS); its tex is kept.

    ``extension_percent`` is the stretch at break, ``strength_n`` the strength in N, both where known. ``colours``
    are words, or rows {"colour": word, "reels": how many lie on the shelf, None: not counted}; ``reel_length_m``
    is a full reel. Raises Refused naming each field.
    """
    actor.need(Right.KEEP_SEAMS)
    checks = Checks()
    facts: dict[str, Any] = {
        "name": name,
        "fibre": fibre,
        "construction": construction,
        "tex": _tex(size, system, checks),
        "extension_percent": extension_percent,
        "strength_n": strength_n,
        "colours": colours,
        "reel_length_m": reel_length_m,
        "notes": notes,
    }
    facts = _checked_thread(facts, checks)
    thread = save_new_once(Thread(**facts), "thread_name_once", "name", _thread_taken(facts["name"]))
    record_act(actor, "record_thread", thread, number=str(size), system=system)
    return thread


def change_thread(
    actor: Actor, thread_id: UUID, *, changes: Mapping[str, Any], expected_version: int | None = None
) -> Thread:
    """Change what is known of a thread: names as in ``record_thread`` (``size`` with ``system``) and ``is_hidden``.

    Raises NotHere, Stale, Refused; Conflict where fibre, construction or size of a thread would change that a
    recipe is written with.
    """
    actor.need(Right.KEEP_SEAMS)
    given, checks = dict(changes), Checks()
    if "size" in given:
        given["tex"] = _tex(given.pop("size"), given.pop("system", "tex"), checks)
    elif "system" in given:
        checks.need(False, "system", "A numbering system needs its number.")
        given.pop("system")
    _known(given, THREAD_CHANGEABLE, "thread")
    thread = lock_for_edit(Thread, thread_id, expected_version)
    facts: dict[str, Any] = {
        field: getattr(thread, field) for field in THREAD_CHANGEABLE - {"is_hidden"}
    } | given
    facts = _checked_thread(facts, checks)
    different = {field for field in THREAD_ITSELF if getattr(thread, field) != facts[field]}
    if different:
        used = Q(needle_thread_id=thread.pk) | Q(under_thread_id=thread.pk)
        _not_in_recipes(used, thread.name, "thread")
    changed = save_edit_once(thread, facts, "thread_name_once", "name", _thread_taken(facts["name"]))
    if changed:
        record_act(actor, "change_thread", thread, changes=old_and_new(changed))
    return thread


def record_needle(
    actor: Actor,
    *,
    size: int,
    numbering: str = "metric",
    point: str,
    what_for: str = "",
    blades: int = 1,
    gauge_mm: Decimal = Decimal(0),
) -> Needle:
    """Record a machine needle by its metric size (90) or the other number (14).

    ``blades`` 2 is a twin needle, then ``gauge_mm`` is the distance between the outer blades. Raises Refused.
    """
    actor.need(Right.KEEP_SEAMS)
    checks = Checks()
    facts: dict[str, Any] = {
        "metric": _metric(size, numbering, checks),
        "point": point,
        "blades": blades,
        "gauge_mm": gauge_mm,
        "what_for": what_for,
    }
    facts = _checked_needle(facts, checks)
    needle = save_new_once(Needle(**facts), "needle_once", "size", _needle_taken(facts["metric"]))
    record_act(actor, "record_needle", needle, metric=needle.metric, point=point)
    return needle


def change_needle(
    actor: Actor, needle_id: UUID, *, changes: Mapping[str, Any], expected_version: int | None = None
) -> Needle:
    """Change a needle: names as in ``record_needle`` (``size`` with ``numbering``) and ``is_hidden``.

    Raises NotHere, Stale, Refused; Conflict where size or point of a needle would change that a recipe is
    written with.
    """
    actor.need(Right.KEEP_SEAMS)
    given, checks = dict(changes), Checks()
    if "size" in given:
        given["metric"] = _metric(given.pop("size"), given.pop("numbering", "metric"), checks)
    elif "numbering" in given:
        checks.need(False, "numbering", "A numbering needs its size.")
        given.pop("numbering")
    _known(given, NEEDLE_CHANGEABLE, "needle")
    needle = lock_for_edit(Needle, needle_id, expected_version)
    facts: dict[str, Any] = {
        field: getattr(needle, field) for field in NEEDLE_CHANGEABLE - {"is_hidden"}
    } | given
    facts = _checked_needle(facts, checks)
    if any(getattr(needle, field) != facts[field] for field in NEEDLE_ITSELF):
        _not_in_recipes(Q(needle_id=needle.pk), str(needle), "needle")
    changed = save_edit_once(needle, facts, "needle_once", "size", _needle_taken(facts["metric"]))
    if changed:
        record_act(actor, "change_needle", needle, changes=old_and_new(changed))
    return needle


def _known(given: Mapping[str, Any], changeable: frozenset[str], noun: str) -> None:
    unknown = sorted(set(given) - changeable)
    if unknown:
        raise Refused(dict.fromkeys(unknown, f"There is nothing of this name to change on a {noun}."))


def _not_in_recipes(used: Q, name: str, noun: str) -> None:
    count = SeamRecipeVersion.objects.filter(used).values("recipe_id").distinct().count()
    if count:
        recipes = "1 recipe is" if count == 1 else f"{count} recipes are"
        raise Conflict(
            f"{recipes} written with {name}, and their trials were sewn with it as it is: record the other {noun} "
            "as a new one, and put this one away if it is gone."
        )


def _checked_thread(given: Mapping[str, Any], checks: Checks) -> dict[str, Any]:
    facts: dict[str, Any] = {
        key: value.strip() if isinstance(value, str) else value for key, value in given.items()
    }
    checks.need(bool(facts["name"]), "name", "Give the thread a name by which it is found on the shelf.")
    word = facts["fibre"]
    facts["fibre"] = fibre_named(word) or ""
    checks.need(bool(facts["fibre"]), "fibre", no_fibre(word))
    checks.positive(
        "extension_percent", facts["extension_percent"], "The stretch at break", unit="%", most=Decimal(500)
    )
    checks.positive("strength_n", facts["strength_n"], "The strength", unit="N", most=Decimal(1000))
    checks.positive("reel_length_m", facts["reel_length_m"], "A full reel", unit="m", most=Decimal(100_000))
    facts["colours"] = _colours(facts["colours"], checks)
    checks.done()
    return facts


def _colours(given: Sequence[str | Mapping[str, Any]], checks: Checks) -> list[dict[str, Any]]:
    """Rows {"colour", "reels"} in the order given; nothing twice, no row without a word."""
    rows: dict[str, dict[str, Any]] = {}
    for row in given:
        known = {"colour": row} if isinstance(row, str) else row
        colour, reels = " ".join(str(known.get("colour", "")).split()), known.get("reels")
        if not colour and reels is None:
            continue
        fits = checks.need(
            0 < len(colour) <= 60, "colours", "A colour needs a word of at most 60 letters."
        ) and checks.need(
            colour.casefold() not in rows, "colours", f"{colour} is named twice: add the reels up."
        )
        whole = reels is None or (isinstance(reels, int) and 0 <= reels <= MOST_REELS)
        if (
            checks.need(whole, "colours", f"Reels of {colour} must be counted from 0 to {MOST_REELS}.")
            and fits
        ):
            rows[colour.casefold()] = {"colour": colour, "reels": reels}
    checks.need(
        len(rows) <= MOST_COLOURS, "colours", f"A thread has at most {MOST_COLOURS} colours, got {len(rows)}."
    )
    return list(rows.values())


def _tex(size: Decimal, system: str, checks: Checks) -> Decimal:
    if not checks.one_of("system", system, list(SYSTEMS), "The numbering system"):
        return Decimal(0)
    if not checks.positive("size", size, "The number", unit=f"({system})", most=Decimal(100_000)):
        return Decimal(0)
    tex = hundredths(tex_from(float(size), system))
    checks.need(
        LEAST_TEX <= tex <= MOST_TEX,
        "size",
        f"{plain(size)} {system} is tex {plain(tex)}, which no sewing thread has: "
        "check the number and its system.",
    )
    return tex


def _metric(size: int, numbering: str, checks: Checks) -> int:
    if not checks.one_of("numbering", numbering, ["metric", "number"], "The numbering"):
        return 0
    if numbering == "number":
        try:
            return needle_metric(size)
        except ValueError:
            checks.need(False, "size", f"There is no needle number {size}: 8 to 19 are known.")
            return 0
    checks.need(
        LEAST_METRIC <= size <= MOST_METRIC,
        "size",
        f"A metric size is in hundredths of a millimetre, {LEAST_METRIC} to {MOST_METRIC}; got {size}."
        + (" 8 to 19 are numbers of the other system." if 8 <= size <= 19 else ""),
    )
    return size


def _checked_needle(given: Mapping[str, Any], checks: Checks) -> dict[str, Any]:
    facts: dict[str, Any] = {
        key: value.strip() if isinstance(value, str) else value for key, value in given.items()
    }
    checks.one_of("point", facts["point"], Needle.Point.values, "The point")
    blades, gauge = facts["blades"], facts["gauge_mm"]
    if checks.need(
        1 <= blades <= MOST_BLADES, "blades", f"A needle has 1 to {MOST_BLADES} blades, got {blades}."
    ) and checks.need(gauge.is_finite(), "gauge_mm", "The distance between the blades must be a number."):
        checks.need(
            (gauge == 0) if blades == 1 else (0 < gauge <= MOST_GAUGE_MM),
            "gauge_mm",
            "A single needle has no distance between blades: leave it out."
            if blades == 1
            else f"Give the distance between the outer blades, up to {plain(MOST_GAUGE_MM)} mm.",
        )
    checks.done()
    return facts


def _thread_taken(name: str) -> str:
    return f"There is already a thread called {name!r}."


def _needle_taken(metric: int) -> str:
    return f"A needle {metric} with this point is already in the list."
