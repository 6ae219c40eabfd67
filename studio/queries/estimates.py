"""Measures that were not taken, estimated from those that were. Never stored, always called estimates."""

from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from studio.calc.plausibility import estimate
from studio.calc.plausibility_model import CODES
from studio.models import Client
from studio.platform.rights import Actor, Right
from studio.queries.catalogue import CatalogueMeasure, catalogue
from studio.queries.clients import client_get
from studio.queries.measuring import body_of
from studio.queries.plausibility import Yardstick
from studio.queries.retention import consent_withdrawn, withdrawn_words
from studio.queries.taping import habit_here

FEWEST_KNOWN = 3  # from fewer hardly more than the mean of all people comes out: common practice, no source
NORMAL_95 = 1.96
BASIS = (
    "Estimated from the other figures of this body and 507 measured adults "
    "(Heinz et al. 2003, Journal of Statistics Education 11:2). An estimate is not a reading: tape before you cut."
)
LEFT_OUT = "This client is left out of the body model, so nothing is estimated: please tape what is missing."


@dataclass(frozen=True)
class EstimatedMeasure:
    """An estimate, mm (weight: kg): between ``low`` and ``high`` for 95 of 100 such people."""

    measure: CatalogueMeasure
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Estimates:
    """``missing`` are the estimates; ``known`` names what they rest on; ``words`` say why there are none; ``basis``
    says what they are.
    """

    missing: list[EstimatedMeasure]
    known: list[str]
    words: str
    basis: str = BASIS


def estimates_of(actor: Actor, client_id: UUID) -> Estimates:
    """Estimates of the modelled measures that a grown-up client's newest figures lack.

    Where it is not said which model goes with her, both are weighed by the figures themselves; where she is left out
    of the models, or has withdrawn her consent, there are none. Queries as `body_of`, and three more.
    """
    actor.need(Right.READ_READINGS)
    client = client_get(actor, client_id)
    if client.is_minor(timezone.localdate()):
        return Estimates([], [], "Children are not estimated: the people behind it are adults.")
    if consent_withdrawn(client_id):
        return Estimates([], [], withdrawn_words(client.name))
    if client.body_model == Client.BodyModel.NONE:
        return Estimates([], [], LEFT_OUT)
    yardstick = Yardstick.for_client(client, habit_here(), timezone.localdate())
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
            found = estimate(known, code, yardstick.sex, offsets_by_sex=yardstick.habit.shifts)
        except ValueError:
            words = "No comparison available for these figures: please tape what is missing."
            continue
        reach = NORMAL_95 * found.sd
        missing.append(
            EstimatedMeasure(measure, found.mean, max(found.mean - reach, 0.0), found.mean + reach)
        )
    own = yardstick.own_people
    basis = f"{BASIS} Set right for how this studio tapes ({own} people)." if own else BASIS
    return Estimates(missing, names, words if not missing else "", basis)
