"""Recording what a laboratory found out about a cloth."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from itertools import pairwise
from typing import Any
from uuid import UUID

from django.utils import timezone

from seamlab.models import LabFigure
from seamlab.models.cloth import WAYS
from seamlab.queries.lab_table import MEASURABLE
from seamlab.services.checks import Checks, day, plain
from seamlab.services.cloth_tests import cloth_here
from studio.platform.errors import Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import save_new

MOST_FIGURES = 60
Q = LabFigure.Quantity


def record_lab_figures(
    actor: Actor,
    cloth_id: UUID,
    *,
    figures: Sequence[Mapping[str, Any]],
    method: str = "",
    tested_on: date | None = None,
) -> list[LabFigure]:
    """Add figures of a laboratory report: rows {"quantity", "way" ("" where it has none), "value"}.

    Units are those of ``MEASURABLE``; ``method`` names the laboratory and the standard. Earlier figures stay;
    the newest of a quantity and way counts. All or nothing. Raises NotHere, and Refused naming figures,
    tested_on or method.
    """
    actor.need(Right.KEEP_SEAMS)
    cloth_here(cloth_id)
    when = day(tested_on, "tested_on", timezone.localdate(timezone=actor.zone))
    if not figures:
        raise Refused({"figures": "Give at least one figure of the report."})
    if len(figures) > MOST_FIGURES:
        raise Refused({"figures": f"At most {MOST_FIGURES} figures at once, got {len(figures)}."})
    given = [_figure(row) for row in figures]
    _check_together(given)
    rows = [
        save_new(
            LabFigure(
                cloth_id=cloth_id,
                quantity=quantity,
                way=way,
                value=value,
                method=method.strip(),
                tested_on=when,
                recorded_by_id=actor.member_id,
            )
        )
        for (quantity, way), value in given
    ]
    record_act(
        actor, "record_lab_figures", rows[0], cloth=str(cloth_id), figures=[str(row.pk) for row in rows]
    )
    return rows


def _figure(row: Mapping[str, Any]) -> tuple[tuple[str, str], Decimal]:
    quantity, way = str(row.get("quantity", "")), str(row.get("way") or "")
    checks = Checks()
    if checks.one_of("figures", quantity, MEASURABLE, "The quantity"):
        known = MEASURABLE[quantity]
        words = Q(quantity).label
        if known.by_way:
            checks.need(
                way in dict(WAYS), "figures", f"{words} needs its way: {', '.join(dict(WAYS))}; got {way!r}."
            )
        else:
            checks.need(not way, "figures", f"{words} is told without a way; got {way!r}.")
        try:
            value = Decimal(str(row.get("value", "")))
        except InvalidOperation:
            value = Decimal("NaN")
        if checks.need(value.is_finite(), "figures", f"{words} must be a number."):
            checks.need(
                known.least <= value <= known.most,
                "figures",
                f"{words}, {plain(value)}, is outside {plain(known.least)} to {plain(known.most)}: check the unit.",
            )
    checks.done()
    return (quantity, way), round(value, 4)


def _check_together(given: Sequence[tuple[tuple[str, str], Decimal]]) -> None:
    """What one report says twice, or what contradicts itself within it."""
    found: dict[tuple[str, str], Decimal] = {}
    for (quantity, way), value in given:
        if (quantity, way) in found:
            named = " ".join(part for part in (str(Q(quantity).label), way) if part)
            raise Refused({"figures": f"{named} is given twice: leave the wrong one out."})
        found[quantity, way] = value
    for way, _ in WAYS:
        pulls = [
            (Q(quantity).label, found[quantity, way])
            for quantity in (Q.EXTENSION_5, Q.EXTENSION_20, Q.EXTENSION_100)
            if (quantity, way) in found
        ]
        for (light, less), (heavy, more) in pairwise(pulls):
            if more < less:
                raise Refused(
                    {"figures": f"{heavy} {way}, {plain(more)}, is less than {light}, {plain(less)}: "
                     "a heavier pull extends cloth further."}
                )  # fmt: skip
    lying, pressed = found.get((Q.THICKNESS_2, "")), found.get((Q.THICKNESS_100, ""))
    if lying is not None and pressed is not None and pressed > lying:
        raise Refused(
            {
                "figures": f"The cloth can't be thicker pressed ({plain(pressed)} mm) than lying ({plain(lying)} mm)."
            }
        )
