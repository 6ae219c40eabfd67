"""Learning in the background how this studio tapes, so that its habits are not taken for slips."""

from typing import Any
from uuid import UUID

from django.db.models import Subquery, UUIDField, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from studio.calc.plausibility import learn_offsets
from studio.models import Measuring, TapingHabit
from studio.platform.errors import Conflict
from studio.platform.models import Job
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.jobs import ask_for
from studio.queries.taping import FEWEST_PEOPLE, newest_measuring, newest_sets

LEARN_JOB = "learn_taping"
LEARN_AFTER = 20  # new measurings since the last time
FIRST_AFTER = 5  # the same while nothing has been learnt yet


def learn_when_due(actor: Actor) -> Job | None:
    """Ask for the habit to be learnt anew once enough was measured since; whoever records a measuring calls it.

    One small query while it is not due, and none that waits for anybody.
    """
    actor.need(Right.RECORD_MEASURING)
    until = Coalesce(
        Subquery(TapingHabit.objects.values("learnt_until")[:1]), Value(UUID(int=0), UUIDField())
    )
    since = Measuring.objects.filter(pk__gt=until).order_by("pk").values_list("pk", flat=True)
    many = len(since[:LEARN_AFTER])
    if many < FIRST_AFTER or (many < LEARN_AFTER and TapingHabit.objects.exclude(people={}).exists()):
        return None
    return None if _in_hand() else ask_for(actor, LEARN_JOB, {})


def learn_now(actor: Actor) -> Job:
    """Ask for the habit to be learnt at once, for example after it was said of many which figures suit them.

    Raises Conflict where it is being learnt already.
    """
    actor.need(Right.RECORD_MEASURING)
    if _in_hand():
        raise Conflict("It is being learnt already: look again in a moment.")
    job = ask_for(actor, LEARN_JOB, {})
    record_act(actor, "learn_taping", job)
    return job


def _in_hand() -> bool:
    return Job.objects.filter(kind=LEARN_JOB).exclude(state__in=Job.ENDED).exists()


def prepare_learning(arguments: dict[str, Any]) -> dict[str, Any]:
    """In scope: the newest full set of each person, as plain numbers without a name."""
    until = newest_measuring()
    return {"sets": newest_sets(), "until": None if until is None else str(until)}


def work_learning(snapshot: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """Without a database: the shifts of each model for which there are people enough; to a tenth of a mm."""
    shifts: dict[str, dict[str, float]] = {}
    people: dict[str, int] = {}
    for sex, sets in snapshot["sets"].items():
        if len(sets) < FEWEST_PEOPLE:
            continue
        learnt = learn_offsets(sets, sex)
        shifts[sex] = {code: round(shift, 2 if code == "weight" else 1) for code, shift in learnt.items()}
        people[sex] = len(sets)
    return {"shifts": shifts, "people": people}


def finish_learning(
    arguments: dict[str, Any], snapshot: dict[str, Any], output: dict[str, Any]
) -> dict[str, Any]:
    """In scope: keep what was learnt in place of what was learnt before."""
    facts = {
        "shifts": output["shifts"],
        "people": output["people"],
        "learnt_until": UUID(snapshot["until"]) if snapshot["until"] else None,
        "learnt_at": timezone.now(),
    }
    TapingHabit.objects.update_or_create(defaults=facts)
    return {"people": output["people"]}
