"""Drafts for below the waist. Every proportion is common practice, no source."""

from __future__ import annotations

import math
from dataclasses import replace

from shapely import LineString

from fitting.calc.draft_parts import (
    Measures,
    Plan,
    band,
    curve,
    dart_in,
    edge_of,
    gauge_edge,
    join,
    reverse,
    run_length,
)
from fitting.calc.lay_rules import Ring
from fitting.calc.outline import Gauge

UNDER_CROTCH = 10.0  # mm below the crotch line: where a thigh is taped


def draft_skirt(m: Measures) -> list[Plan]:
    """A straight skirt: front on the fold, two backs; a dart in each half, half of the drop at the side."""
    waist, hip = m.need("waist"), m.need("hip")
    down = m.get("waist_to_hip", 200.0)
    long = m.get("skirt_length", 620.0)
    if hip < waist:
        raise ValueError("The hip of a straight skirt must not be smaller than its waist.")
    pieces = []
    for name, sinks, dart_long in (("Front", 10.0, 90.0), ("Back", 10.0, 130.0)):
        quarter, at_waist = hip / 4, waist / 4
        drop = quarter - at_waist
        dart = min(drop / 2, 35.0)
        side_x = at_waist + dart
        middle = (0.0, -sinks)
        top = (side_x, 0.0)
        waistline = curve(middle, (side_x / 3, -sinks), (2 * side_x / 3, -sinks * 0.5), top)
        hip_point = (quarter, -down)
        lean_out = (side_x + (quarter - side_x) * 0.6, -down * 0.35)
        hip_curve = curve(top, lean_out, (quarter, -down * 0.7), hip_point)
        side = join(hip_curve, (hip_point, (quarter, -long)))
        hem: Ring = ((quarter, -long), (0.0, -long))
        centre: Ring = ((0.0, -long), middle)
        place = LineString(waistline).length * 0.5
        darts = dart_in(waistline, place, dart, dart_long)
        kind = "fold" if name == "Front" else "seam"
        # Anticlockwise, seen with y up: centre down, hem, side up, waist back to the centre.
        plan = Plan(
            name,
            1 if name == "Front" else 2,
            (
                ("centre", kind, reverse(centre)),
                ("hem", "hem", reverse(hem)),
                ("side", "seam", reverse(side)),
                ("waist", "seam", reverse(waistline)),
            ),
            ((quarter * 0.35, -long * 0.45), (quarter * 0.35, -long * 0.9)),
            darts,
            {"side": (long - down,)},
        )
        gauges = [gauge_edge(plan, "waist", "waist"), Gauge("hip", "hip level", "across", (hip_point,))]
        if name == "Front":
            gauges.append(Gauge("waist_to_hip", "side above the hip", "along", hip_curve))
        pieces.append(replace(plan, gauges=tuple(gauges)))
    strip: Ring = ((0.0, 0.0), (waist + 30.0, 0.0), (waist + 30.0, 60.0), (0.0, 60.0))
    pieces.append(band("Waistband", strip, 1))
    return pieces


def draft_trousers(m: Measures) -> list[Plan]:
    """Plain trousers: a crease line in the grain, fork of a twelfth and a sixth of the half hip."""
    waist, hip, rise = m.need("waist"), m.need("hip"), m.need("rise")
    leg = m.get("leg", 760.0)
    down = min(m.get("waist_to_hip", rise * 0.72), rise - 20.0)
    knee_wide, hem_wide = m.get("knee", hip * 0.44), m.get("hem", hip * 0.40)
    pieces = []
    for name, share, fork, dart_wide in (
        ("Front", hip / 4 - 5.0, hip / 24, 20.0),
        ("Back", hip / 4 + 5.0, hip / 10, 30.0),
    ):
        back = name == "Back"
        at_waist = waist / 4 + (5.0 if back else -5.0) + dart_wide
        lean = 25.0 if back else 5.0  # the centre seam leans to the side at the waist
        lift = 20.0 if back else 0.0
        straight = -rise + (rise - down) * 0.9 if back else -down
        seat = (lean * (1 + straight / rise * 0.9), straight)  # where the centre seam begins to curve
        # The hip is measured from the centre seam, which leans: the side moves out by as much.
        share += lean + (seat[0] - lean) * (lift + down) / (lift - straight)  # noqa: PLW2901 - of this piece
        crease = (share + fork) / 2 - fork
        centre_top = (lean, lift)
        side_top = (lean + at_waist, 0.0)
        hip_side, crotch_side = (share, -down), (share, -rise)
        fork_point = (-fork, -rise - (6.0 if back else 0.0))
        knee_y, hem_y = -rise - leg * 0.45, -rise - leg
        extra = 8.0 if back else -8.0
        knee, ankle = (knee_wide / 2 + extra) / 2, (hem_wide / 2 + extra) / 2
        lean_out = (side_top[0] + (share - side_top[0]) * 0.6, -down * 0.35)
        hip_curve = curve(side_top, lean_out, (share, -down * 0.7), hip_side)
        side = join(
            hip_curve,
            (hip_side, crotch_side) if rise - down > 1 else (hip_side,),
            curve(
                crotch_side,
                (share, -rise - leg * 0.15),
                (crease + knee, knee_y + leg * 0.12),
                (crease + knee, knee_y),
            ),
            ((crease + knee, knee_y), (crease + ankle, hem_y)),
        )
        inside = join(
            curve(
                fork_point,
                (fork_point[0] + fork * 0.35, fork_point[1] - leg * 0.12),
                (crease - knee, knee_y + leg * 0.16),
                (crease - knee, knee_y),
            ),
            ((crease - knee, knee_y), (crease - ankle, hem_y)),
        )
        crotch = join(
            (centre_top, seat),
            curve(
                seat,
                (0.0, straight - (rise + straight) * 0.75),
                (-fork * 0.35, -rise + 2.0),
                fork_point,
            ),
        )
        waistline: Ring = (centre_top, side_top)
        hem: Ring = ((crease - ankle, hem_y), (crease + ankle, hem_y))
        wide = math.dist(centre_top, side_top)
        pieces.append(
            Plan(
                name,
                2,
                (
                    ("crotch", "seam", crotch),
                    ("inside leg", "seam", inside),
                    ("hem", "hem", hem),
                    ("side", "seam", reverse(side)),
                    ("waist", "seam", reverse(waistline)),
                ),
                ((crease, -rise - 20.0), (crease, hem_y * 0.85)),
                dart_in(waistline, wide * 0.5, dart_wide, 90.0 if not back else 120.0),
                gauges=(
                    Gauge("hip", "hip level", "across", (hip_side,)),
                    Gauge("thigh", "level under the crotch", "across", ((crease, -rise - UNDER_CROTCH),)),
                    *(
                        ()
                        if back
                        else (
                            Gauge("waist_to_hip", "side above the hip", "along", hip_curve),
                            Gauge("rise", "side down to the crotch line", "down", (side_top, crotch_side)),
                            Gauge("leg", "inside leg edge", "along", inside),
                        )
                    ),
                ),
            )
        )
    pieces = [
        replace(plan, gauges=(gauge_edge(plan, "waist", "waist"), *plan.gauges))
        for plan in _even_legs(pieces)
    ]
    strip: Ring = ((0.0, 0.0), (waist + 40.0, 0.0), (waist + 40.0, 80.0), (0.0, 80.0))
    return [*pieces, band("Waistband", strip, 1)]


def _even_legs(pieces: list[Plan]) -> list[Plan]:
    """The side seams of front and back made equally long: the back's waist end is raised or lowered."""
    front, back = pieces
    want = run_length(edge_of(front, "side"))
    for _ in range(12):
        off = want - run_length(edge_of(back, "side"))
        if abs(off) < 0.01:
            break
        side = edge_of(back, "side")
        top = (side[-1][0], side[-1][1] + off)
        edges = []
        for name, kind, points in back.edges:
            if name == "side":
                points = (*points[:-1], top)  # noqa: PLW2901 - one point of it is moved
            elif name == "waist":
                points = (top, *points[1:])  # noqa: PLW2901 - same
            edges.append((name, kind, points))
        waist = next(points for name, _, points in edges if name == "waist")
        wide = run_length(waist)
        intake = back.darts[0].intake if back.darts else 0.0
        back = replace(back, edges=tuple(edges), darts=dart_in(waist, wide * 0.5, intake, 120.0))
    return [front, back]
