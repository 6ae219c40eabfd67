"""Acts on a trial that is kept: photographs of the sample, and withdrawing what was recorded wrongly."""

from uuid import UUID

from seamlab.models import SeamTrial, TrialPhoto, TrialWithdrawal
from seamlab.services.checks import save_new_once
from seamlab.services.pictures import take_out_of_sight
from studio.platform.errors import NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.pictures import store_picture
from studio.platform.services.saving import save_new

MOST_PHOTOS = 12


def add_trial_photo(
    actor: Actor, trial_id: UUID, *, picture: bytes, side: str = TrialPhoto.Side.TOP, note: str = ""
) -> TrialPhoto:
    """Add a photograph of a sewn sample: from above, from below, or a detail.

    Raises NotHere, and Refused naming picture or side.
    """
    actor.need(Right.KEEP_SEAMS)
    trial = _trial(trial_id)
    if side not in TrialPhoto.Side.values:
        known = ", ".join(TrialPhoto.Side.values)
        raise Refused({"side": f"The side must be one of {known}; got {side!r}."})
    if TrialPhoto.objects.filter(trial_id=trial_id, is_hidden=False).count() >= MOST_PHOTOS:
        raise Refused({"picture": f"This sample has {MOST_PHOTOS} photographs: take one away first."})
    photo = save_new(
        TrialPhoto(
            trial=trial,
            file=store_picture(picture, name="sample"),
            side=side,
            note=note.strip(),
            added_by_id=actor.member_id,
        )
    )
    record_act(actor, "add_trial_photo", photo, trial=str(trial_id), side=side)
    return photo


def hide_trial_photo(actor: Actor, photo_id: UUID) -> TrialPhoto:
    """Take a photograph from the trial's page, for good. Raises NotHere."""
    actor.need(Right.KEEP_SEAMS)
    photo = take_out_of_sight(TrialPhoto, photo_id)
    record_act(actor, "hide_trial_photo", photo, trial=str(photo.trial_id))
    return photo


def withdraw_trial(
    actor: Actor, trial_id: UUID, *, reason: str, replaced_by_id: UUID | None = None
) -> TrialWithdrawal:
    """Say that a trial was recorded wrongly: it stays as it was written and counts no longer.

    ``replaced_by_id`` names the trial that takes its place, if there is one. Raises NotHere, and Refused naming
    reason or replaced_by_id.
    """
    actor.need(Right.KEEP_SEAMS)
    trial = _trial(trial_id)
    if not reason.strip():
        raise Refused({"reason": "Say what was recorded wrongly, so that nobody wonders later."})
    replacement = None
    if replaced_by_id is not None:
        replacement = SeamTrial.objects.filter(pk=replaced_by_id, withdrawals=None).first()
        if replacement is None:
            raise Refused({"replaced_by_id": "There is no such trial here that still counts."})
        if replacement.pk == trial.pk:
            raise Refused({"replaced_by_id": "A trial can't take its own place."})
    withdrawal = save_new_once(
        TrialWithdrawal(
            trial=trial, replaced_by=replacement, reason=reason.strip(), withdrawn_by_id=actor.member_id
        ),
        "withdrawal_once",
        "reason",
        "This trial is withdrawn already.",
    )
    record_act(actor, "withdraw_trial", trial, replaced_by=str(replaced_by_id or ""))
    return withdrawal


def _trial(trial_id: UUID) -> SeamTrial:
    found: SeamTrial | None = SeamTrial.objects.filter(pk=trial_id).first()
    if found is None:
        raise NotHere("seam trial")
    return found
