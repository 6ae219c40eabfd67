"""Measures that were not taken, estimated from those that were. Never stored, always called estimates."""

from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from studio.calc.plausibility import estimate
from studio.calc.plausibility_model import CODES
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import CatalogueMeasure, catalogue
from studio.queries.clients import client_get
from studio.queries.measuring import body_of

FEWEST_KNOWN = 3  # from fewer hardly more than the mean of all people comes out: common practice, no source
NORMAL_95 = 1.96
BASIS = (
    "Estimated from the other figures of this body and 507 measured adults "
    "(Heinz et al. 2003, Journal of Statistics Education 11:2). An estimate is not a reading: tape before you cut."
)


@dataclass(frozen=True)
class EstimatedMeasure:
    """An estimate, mm (weight: kg): between ``low`` and ``high`` for 95 of 100 such people."""

    measure: CatalogueMeasure
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Estimates:
    """``missing`` are the estimates; ``known`` names what they rest on; ``words`` say why there are none."""

    missing: list[EstimatedMeasure]
    known: list[str]
    words: str


def estimates_of(actor: Actor, client_id: UUID) -> Estimates:
    """Estimates of the modelled measures that a grown-up client's newest figures lack.

    Nobody's sex is asked, so both are weighed by the figures themselves. Queries as `body_of`, and one more.
    """
    actor.need(Right.READ_READINGS)
    client = client_get(actor, client_id)
    if client.is_minor(timezone.localdate()):
        return Estimates([], [], "Children are not estimated: the people behind it are adults.")
    body = body_of(actor, client_id)
    known: dict[str, Decimal] = {code: body[code].value for code in CODES if code in body}
    names = [body[code].name for code in known]
    if len(known) < FEWEST_KNOWN:
        return Estimates(
            [],
            names,
            f"At least {FEWEST_KNOWN} of the girths, height and weight that it rests on are needed.",
        )
    missing: list[EstimatedMeasure] = []
    words = "" if len(known) < len(CODES) else "Everything that could be estimated has been taken."
    for code, measure in catalogue().measures.items():
        if code not in CODES or code in known:
            continue
        try:
            found = estimate(known, code)
        except ValueError:
            words = "No comparison available for these figures: please tape what is missing."
            continue
        reach = NORMAL_95 * found.sd
        missing.append(
            EstimatedMeasure(measure, found.mean, max(found.mean - reach, 0.0), found.mean + reach)
        )
    return Estimates(missing, names, words if not missing else "")
