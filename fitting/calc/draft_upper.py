"""Drafts for above the waist. Every proportion is common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass, replace

from fitting.calc.draft_parts import (
    Measures,
    Plan,
    band,
    curve,
    edge_of,
    gauge_edge,
    join,
    reverse,
    run_length,
)
from fitting.calc.lay_rules import Ring
from fitting.calc.outline import Dart, Gauge


@dataclass(frozen=True)
class _Top:
    """What a top is drafted from; lengths in mm."""

    chest: float
    waist: float
    hip: float
    to_waist: float
    to_hip: float
    neck: float
    shoulder: float
    slope: float
    armhole: float
    across: float


def _top_measures(m: Measures, *, ends_at_waist: bool) -> _Top:
    chest = m.need("bust", "chest")
    back = m.get("back_waist", m.get("shoulder_to_waist", 420.0) * 0.96)
    return _Top(
        chest=chest,
        waist=m.get("waist", chest * 0.9 if ends_at_waist else chest),
        hip=m.get("hip", chest * 1.03),
        to_waist=back,
        to_hip=0.0 if ends_at_waist else m.get("waist_to_hip", 200.0),
        neck=chest * 0.062 + 12.0,
        shoulder=chest * 0.095 + 35.0,
        slope=38.0,
        armhole=chest * 0.165 + 55.0,
        across=chest * 0.18 + 12.0,
    )


def _half_top(
    name: str, t: _Top, *, front: bool, cut: int, fold: bool, shaped: bool, stand: float = 0.0
) -> Plan:
    """Half a front or back, the middle on x = 0 (or `stand` beyond it), y = 0 at the highest shoulder point."""
    neck_deep = t.neck + 8.0 if front else 20.0
    quarter = t.chest / 4
    tip = (t.neck + t.shoulder, -t.slope)
    high = (t.neck, 0.0)
    underarm = (quarter, -t.armhole)
    across = t.across - (8.0 if front else 0.0)
    armhole = curve(tip, (across, -t.slope - t.armhole * 0.42), (across + 4.0, -t.armhole), underarm)
    low = -(t.to_waist + 20.0)
    drop = quarter - t.waist / 4 if shaped else 0.0
    dart = min(max(0.0, drop * 0.6), 45.0) if shaped else 0.0
    at_waist = quarter - max(0.0, drop - dart) if shaped else t.waist / 4
    waist_point = (at_waist, low)
    if t.to_hip:
        end = low - t.to_hip
        side = join((underarm, waist_point), (waist_point, (t.hip / 4, end)))
        bottom: Ring = ((-stand, end), (t.hip / 4, end))
        bottom_kind = "hem"
    else:
        end = low
        side = (underarm, waist_point)
        bottom = ((-stand, end), waist_point)
        bottom_kind = "seam"
    neck = curve(
        (0.0, -neck_deep), (t.neck * 0.55, -neck_deep), (t.neck, -neck_deep * (0.5 if front else 0.8)), high
    )
    if stand:
        neck = ((-stand, -neck_deep), *neck)
    centre: Ring = ((-stand, -neck_deep), (-stand, end))
    darts: tuple[Dart, ...] = ()
    if dart >= 4.0 and not t.to_hip:
        middle = at_waist * 0.5
        tip_y = -t.armhole - (25.0 if front else -10.0)
        darts = (Dart((middle - dart / 2, end), (middle + dart / 2, end), (middle, tip_y)),)
    arm = run_length(armhole)
    plan = Plan(
        name,
        cut,
        (
            ("centre", "fold" if fold else "seam", centre),
            ("bottom", bottom_kind, bottom),
            ("side", "seam", reverse(side)),
            ("armhole", "seam", reverse(armhole)),
            ("shoulder", "seam", (tip, high)),
            ("neck", "seam", reverse(neck)),
        ),
        ((quarter * 0.4, -t.armhole), (quarter * 0.4, end * 0.92)),
        darts,
        # From the underarm up: one notch in front, two at the back, and the shoulder where the front ends.
        {"armhole": (arm * 0.4, arm) if front else (arm * 0.4, arm * 0.4 + 10.0)},
    )
    lap = (("extension", stand),) if stand else ()
    gauges = [Gauge(code, "level of the underarm", "across", (underarm,), lap) for code in ("bust", "chest")]
    if t.to_hip:
        gauges.append(Gauge("waist", "waist level", "across", (waist_point,), lap))
        gauges.append(gauge_edge(plan, "hip", "bottom", less=stand))
    else:
        gauges.append(gauge_edge(plan, "waist", "bottom", less=stand))
    if front and t.to_hip:
        gauges.append(Gauge("waist_to_hip", "side below the waist", "along", (waist_point, side[-1])))
    if not front:
        gauges.append(
            Gauge("back_waist", "centre down to the waist", "down", ((0.0, -neck_deep), (0.0, low)))
        )
    return replace(plan, gauges=tuple(gauges))


def _sleeve(m: Measures, t: _Top, body: tuple[Plan, Plan], *, ease: float, long: float, wrist: float) -> Plan:
    """A sleeve whose cap is found by halving, so that it is `ease` longer than the two armholes."""
    around = m.get("upper_arm", t.chest * 0.36)
    want = sum(run_length(edge_of(plan, "armhole")) for plan in body) + ease
    half = around / 2
    low, high = 10.0, 260.0
    for _ in range(60):
        middle = (low + high) / 2
        if run_length(_cap(half, middle)) < want:
            low = middle
        else:
            high = middle
    if high > 259.0 or low < 11.0:
        raise ValueError(
            f"The sleeve does not go with the armhole: {around:.0f} mm round the upper arm and {want:.0f} mm of "
            "armhole. Look at the upper arm in the table of sizes."
        )
    cap = _cap(half, high)
    end = high - long
    front, back = (run_length(edge_of(plan, "armhole")) for plan in body)
    # Notches like the armholes'; most of the ease lies over the crown, a tenth of it below each notch.
    marks = (
        front * 0.4 + ease * 0.1,
        front + ease * 0.5,
        front + ease * 0.9 + back * 0.6 - 10.0,
        front + ease * 0.9 + back * 0.6,
    )
    hem: Ring = ((-wrist / 2, end), (wrist / 2, end))
    seam_right: Ring = ((wrist / 2, end), (half, 0.0))
    seam_left: Ring = ((-half, 0.0), (-wrist / 2, end))
    # The cap runs from the right foot (front) over the top to the left (back), as the armholes are walked:
    # front from underarm to shoulder, back from shoulder to underarm.
    return Plan(
        "Sleeve",
        2,
        (
            ("hem", "hem", hem),
            ("seam one", "seam", seam_right),
            ("cap", "seam", cap),
            ("seam two", "seam", seam_left),
        ),
        ((0.0, 0.0), (0.0, end * 0.85)),
        (),
        {"cap": marks},
        gauges=(
            Gauge("sleeve", "top of the cap to the hem", "down", ((0.0, high), (0.0, end))),
            Gauge("upper_arm", "foot of the cap", "along", ((-half, 0.0), (half, 0.0))),
        ),
    )


def _cap(half: float, high: float) -> Ring:
    right = curve((half, 0.0), (half * 0.62, high * 0.06), (half * 0.55, high), (0.0, high))
    left = curve((0.0, high), (-half * 0.55, high), (-half * 0.62, high * 0.06), (-half, 0.0))
    return join(right, left)


def draft_bodice(m: Measures) -> list[Plan]:
    t = _top_measures(m, ends_at_waist=True)
    front = _half_top("Front", t, front=True, cut=1, fold=True, shaped=True)
    back = _half_top("Back", t, front=False, cut=2, fold=False, shaped=True)
    long = m.get("sleeve", 590.0)
    return [front, back, _sleeve(m, t, (front, back), ease=30.0, long=long, wrist=t.chest * 0.24)]


def draft_shirt(m: Measures) -> list[Plan]:
    t = _top_measures(m, ends_at_waist=False)
    front = _half_top("Front", t, front=True, cut=2, fold=False, shaped=False, stand=15.0)
    back = _half_top("Back", t, front=False, cut=1, fold=True, shaped=False)
    sleeve = _sleeve(m, t, (front, back), ease=6.0, long=m.get("sleeve", 600.0) - 60.0, wrist=t.chest * 0.26)
    round_neck = 2 * (run_length(edge_of(front, "neck")) + run_length(edge_of(back, "neck")))
    collar: Ring = ((0.0, 0.0), (round_neck, 0.0), (round_neck, 75.0), (0.0, 75.0))
    cuff: Ring = ((0.0, 0.0), (t.chest * 0.22, 0.0), (t.chest * 0.22, 60.0), (0.0, 60.0))
    cuffs = replace(
        band("Cuff", cuff, 4),
        gauges=(Gauge("sleeve", "height of the cuff", "along", ((0.0, 0.0), (0.0, 60.0))),),
    )
    return [front, back, sleeve, band("Collar", collar, 2), cuffs]


def draft_tshirt(m: Measures) -> list[Plan]:
    t = _top_measures(m, ends_at_waist=False)
    front = _half_top("Front", t, front=True, cut=1, fold=True, shaped=False)
    back = _half_top("Back", t, front=False, cut=1, fold=True, shaped=False)
    sleeve = _sleeve(m, t, (front, back), ease=4.0, long=m.get("sleeve", 220.0), wrist=t.chest * 0.33)
    round_neck = 2 * (run_length(edge_of(front, "neck")) + run_length(edge_of(back, "neck")))
    # The neckband is cut shorter and stretched: 85 percent of the neck (common practice, no source).
    strip: Ring = ((0.0, 0.0), (round_neck * 0.85, 0.0), (round_neck * 0.85, 40.0), (0.0, 40.0))
    return [front, back, sleeve, band("Neckband", strip, 1)]
