"""Measuring paper: what a flat pattern measures round the body once it is sewn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from fitting.calc import inputs


@dataclass(frozen=True)
class Panel:
    """One paper piece at one level.

    `width` is the paper's width at that level in mm, seam allowances included; `count` how often the piece
    occurs in the garment (a half pattern on the fold counts twice). `allowances` and `intakes` are the seam
    allowances and the dart, tuck and pleat intakes that the level crosses on one piece, in mm. An intake is
    all the cloth that it swallows: a pleat swallows twice its depth. On an overlapping front the extension
    beyond centre front is an intake of each front.
    """

    width: float
    count: int = 1
    allowances: Sequence[float] = ()
    intakes: Sequence[float] = ()


def finished_girth(panels: Sequence[Panel]) -> float:
    """Return the finished girth in mm at one level: sum of count * (width - allowances - intakes).

    Raises ValueError for no panels, a negative or unreal length, a count that is not a whole number of at
    least 1, and a panel whose allowances and intakes leave nothing of its width.

    Source: textbook rule that seam allowances, darts, pleats and tucks are left out of the garment's total
    measure.
    """
    if len(panels) == 0:
        raise ValueError("A finished girth needs at least one panel.")
    total = []
    for place, panel in enumerate(panels, start=1):
        width = inputs.positive(f"Panel {place}: width", panel.width)
        count = inputs.whole(f"Panel {place}: count", panel.count)
        taken = [inputs.length(f"Panel {place}: seam allowance", value) for value in panel.allowances]
        taken += [inputs.length(f"Panel {place}: intake", value) for value in panel.intakes]
        net = width - math.fsum(taken)
        if net <= 0:
            raise ValueError(
                f"Panel {place}: seam allowances and intakes of {math.fsum(taken):g} mm leave nothing of its "
                f"width of {width:g} mm; they must be less than the width."
            )
        total.append(count * net)
    return math.fsum(total)
