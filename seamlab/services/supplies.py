"""Acts on what a seam is sewn with: threads, needles, machines."""

from collections.abc import Sequence
from decimal import Decimal

from seamlab.calc.thread import SYSTEMS, needle_metric, tex_from
from seamlab.models import Machine, Needle, Thread
from seamlab.queries import tables
from seamlab.queries.tables import fibre_named
from seamlab.services.checks import Checks, hundredths, plain, save_new_once
from studio.platform.errors import Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act

# Outside these the number or its system was mixed up. Common practice, no source.
LEAST_TEX, MOST_TEX = Decimal(3), Decimal(1000)
LEAST_METRIC, MOST_METRIC = 35, 250
MOST_WIDTH_MM = Decimal(60)
MOST_SPEED = 15_000


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
    colours: Sequence[str] = (),
) -> Thread:
    """Record a thread by its number in any system (see calc.thread.SYSTEMS); its tex is kept.

    ``extension_percent`` is the stretch at break, ``strength_n`` the strength in N, both where known.
    Raises Refused naming each field.
    """
    actor.need(Right.KEEP_SEAMS)
    checks = Checks()
    checks.need(bool(name.strip()), "name", "Give the thread a name by which it is found on the shelf.")
    generic = fibre_named(fibre) or ""
    checks.need(
        bool(generic),
        "fibre",
        f"{fibre!r} is no generic name of a fibre, such as polyester or cotton (never a brand).",
    )
    checks.positive(
        "extension_percent", extension_percent, "The stretch at break", unit="%", most=Decimal(500)
    )
    checks.positive("strength_n", strength_n, "The strength", unit="N", most=Decimal(1000))
    tex = _tex(size, system, checks)
    checks.done()
    thread = save_new_once(
        Thread(
            name=name.strip(),
            fibre=generic,
            construction=construction.strip(),
            tex=tex,
            extension_percent=extension_percent,
            strength_n=strength_n,
            colours=[{"colour": colour.strip(), "reels": None} for colour in colours if colour.strip()],
        ),
        "thread_name_once",
        "name",
        f"There is already a thread called {name.strip()!r}.",
    )
    record_act(actor, "record_thread", thread, number=str(size), system=system)
    return thread


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


def record_needle(
    actor: Actor, *, size: int, numbering: str = "metric", point: str, what_for: str = ""
) -> Needle:
    """Record a machine needle by its metric size (90) or the other number (14). Raises Refused."""
    actor.need(Right.KEEP_SEAMS)
    checks = Checks()
    checks.one_of("numbering", numbering, ["metric", "number"], "The numbering")
    checks.one_of("point", point, Needle.Point.values, "The point")
    checks.done()
    if numbering == "number":
        try:
            metric = needle_metric(size)
        except ValueError as exc:
            raise Refused({"size": f"There is no needle number {size}: 8 to 19 are known."}) from exc
    else:
        metric = size
        checks.need(
            LEAST_METRIC <= metric <= MOST_METRIC,
            "size",
            f"A metric size is in hundredths of a millimetre, {LEAST_METRIC} to {MOST_METRIC}; got {size}."
            + (" 8 to 19 are numbers of the other system." if 8 <= size <= 19 else ""),
        )
        checks.done()
    needle = save_new_once(
        Needle(metric=metric, point=point, what_for=what_for.strip()),
        "needle_once",
        "size",
        f"A needle {metric} with this point is already in the list.",
    )
    record_act(actor, "record_needle", needle, metric=metric, point=point)
    return needle


def record_machine(
    actor: Actor,
    *,
    name: str,
    stitch_types: Sequence[str],
    largest_width_mm: Decimal = Decimal(0),
    stitches_per_minute: int = 800,
    notes: str = "",
) -> Machine:
    """Record a machine: the ISO 4915 stitch types that it makes, its widest stitch (mm) and its speed.

    Raises Refused naming each field.
    """
    actor.need(Right.KEEP_SEAMS)
    codes = sorted(set(stitch_types))
    checks = Checks()
    checks.need(bool(name.strip()), "name", "Give the machine a name by which the class knows it.")
    _check_codes(codes, checks)
    known = [found for code in codes if (found := tables.stitch_types().get(code)) is not None]
    if checks.need(
        Decimal(largest_width_mm).is_finite() and 0 <= largest_width_mm <= MOST_WIDTH_MM,
        "largest_width_mm",
        f"The widest stitch must be from 0 to {plain(MOST_WIDTH_MM)} mm.",
    ):
        wide = next((found for found in known if found.needs_width), None)
        checks.need(
            wide is None or largest_width_mm > 0,
            "largest_width_mm",
            f"Give the widest stitch in mm: this machine makes {wide.words if wide else ''}.",
        )
    checks.need(
        1 <= stitches_per_minute <= MOST_SPEED,
        "stitches_per_minute",
        f"The speed must be from 1 to {MOST_SPEED} stitches a minute.",
    )
    checks.done()
    machine = save_new_once(
        Machine(
            name=name.strip(),
            stitch_types=codes,
            largest_width_mm=largest_width_mm,
            stitches_per_minute=stitches_per_minute,
            notes=notes.strip(),
        ),
        "machine_name_once",
        "name",
        f"There is already a machine called {name.strip()!r}.",
    )
    record_act(actor, "record_machine", machine, stitch_types=codes)
    return machine


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
