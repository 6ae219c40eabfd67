"""Laying samples side by side: keeping the table, changing it, and writing down what was taken."""

from collections.abc import Sequence
from uuid import UUID

from seamlab.models import ComparisonConclusion, ComparisonSample, SeamComparison, SeamTrial
from seamlab.queries.comparisons import LEAST_SAMPLES, MOST_SAMPLES, comparable
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new

TAKEN_WORDS = "We take this one."


def keep_comparison(actor: Actor, *, question: str, trial_ids: Sequence[UUID]) -> SeamComparison:
    """Keep samples side by side under a question, in the order given.

    The trials must be 2 to 6 of one purpose, none of them withdrawn. Where all are of one cloth, or of one recipe, the
    table is found there. Raises Refused naming question or trials (also for a trial that is not in this studio).
    """
    actor.need(Right.KEEP_SEAMS)
    words = _question(question)
    trials = _checked(actor, trial_ids)
    cloths = {trial.cloth_id for trial in trials}
    recipes = {trial.version.recipe_id for trial in trials}
    comparison = save_new(
        SeamComparison(
            question=words,
            cloth_id=cloths.pop() if len(cloths) == 1 else None,
            recipe_id=recipes.pop() if len(recipes) == 1 else None,
            asked_by_id=actor.member_id,
        )
    )
    _lay(comparison, trials)
    record_act(actor, "keep_comparison", comparison, trials=[str(trial.pk) for trial in trials])
    return comparison


def change_comparison(
    actor: Actor,
    comparison_id: UUID,
    *,
    question: str | None = None,
    trial_ids: Sequence[UUID] | None = None,
    expected_version: int | None = None,
) -> SeamComparison:
    """Ask otherwise, or lay other samples; what is None stays. Conclusions stay as they were written.

    A sample that was taken can't be laid away. Raises NotHere, Stale, and Refused naming question or trials.
    """
    actor.need(Right.KEEP_SEAMS)
    comparison = lock_for_edit(SeamComparison, comparison_id, expected_version)
    changed = save_edit(comparison, {"question": _question(question)}) if question is not None else {}
    if trial_ids is not None:
        trials = _checked(actor, trial_ids)
        old = list(comparison.samples.order_by("place").values_list("trial_id", flat=True))
        new = [trial.pk for trial in trials]
        if old != new:
            taken = set(comparison.conclusions.exclude(taken=None).values_list("taken_id", flat=True))
            if taken - set(new):
                raise Refused({"trials": "The sample that was taken stays on the table."})
            comparison.samples.all().delete()
            _lay(comparison, trials)
            changed["trials"] = [[str(pk) for pk in old], [str(pk) for pk in new]]
            if question is None or "question" not in changed:
                comparison.version += 1
                comparison.save(update_fields=["version", "changed_at"])
    if changed:
        record_act(actor, "change_comparison", comparison, changed=changed)
    return comparison


def conclude_comparison(
    actor: Actor, comparison_id: UUID, *, taken_id: UUID | None, words: str = ""
) -> ComparisonConclusion:
    """Write down what was taken: one of the samples, or none of them (None).

    Words are needed where none is taken, or one whose verdict is not "passes". An earlier conclusion stays; this one
    takes its place on the page. Raises NotHere, and Refused naming taken_id or words.
    """
    actor.need(Right.KEEP_SEAMS)
    comparison = lock_for_edit(SeamComparison, comparison_id, None)
    words = words.strip()
    taken = None
    if taken_id is not None:
        taken = SeamTrial.objects.filter(comparison_samples__comparison=comparison, pk=taken_id).first()
        if taken is None:
            raise Refused({"taken_id": "That sample does not lie on this table."})
        if taken.withdrawals.exists():
            raise Refused({"taken_id": "That sample was withdrawn: it proves nothing."})
        if taken.verdict != SeamTrial.Verdict.PASSES and not words:
            verdict = taken.get_verdict_display().lower()
            raise Refused({"words": f"The verdict on this sample is: {verdict}. Say why it is taken."})
    elif not words:
        raise Refused({"words": "Say why none of them is taken, and what is tried next."})
    conclusion = save_new(
        ComparisonConclusion(
            comparison=comparison, taken=taken, words=words or TAKEN_WORDS, concluded_by_id=actor.member_id
        )
    )
    record_act(actor, "conclude_comparison", comparison, taken=str(taken_id or ""))
    return conclusion


def put_away_comparison(actor: Actor, comparison_id: UUID) -> SeamComparison:
    """Take a table of samples from the lists; its trials and conclusions stay. Raises NotHere."""
    actor.need(Right.KEEP_SEAMS)
    comparison = lock_for_edit(SeamComparison, comparison_id, None)
    if save_edit(comparison, {"is_hidden": True}):
        record_act(actor, "put_away_comparison", comparison)
    return comparison


def _question(given: str) -> str:
    words = given.strip()
    if not words:
        raise Refused({"question": "Say what is compared, such as: one row or three on this denim?"})
    if len(words) > 200:
        raise Refused({"question": "Keep the question under 200 letters."})
    return words


def _checked(actor: Actor, trial_ids: Sequence[UUID]) -> list[SeamTrial]:
    wanted = list(dict.fromkeys(trial_ids))
    if not LEAST_SAMPLES <= len(wanted) <= MOST_SAMPLES:
        raise Refused(
            {"trials": f"Lay {LEAST_SAMPLES} to {MOST_SAMPLES} samples side by side; got {len(wanted)}."}
        )
    try:
        trials = comparable(actor, wanted)
    except NotHere as exc:
        raise Refused({"trials": "One of these trials is not here."}) from exc
    if any(trial.is_withdrawn for trial in trials):  # type: ignore[attr-defined]  # annotated
        raise Refused({"trials": "One of these trials was withdrawn: it proves nothing."})
    purposes = sorted({trial.version.recipe.get_purpose_display().lower() for trial in trials})
    if len(purposes) > 1:
        raise Refused({"trials": f"These samples are not of one seam: {' and '.join(purposes)}."})
    return trials


def _lay(comparison: SeamComparison, trials: Sequence[SeamTrial]) -> None:
    for place, trial in enumerate(trials, 1):
        save_new(ComparisonSample(comparison=comparison, trial=trial, place=place))
