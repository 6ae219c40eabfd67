"""Garments: opened, changed, given their seams, led past their checkpoints, handed over."""

from datetime import date
from typing import Any, TypedDict, Unpack
from uuid import UUID

from fitting.models import CheckpointAnswer, FitPlan, Garment, GarmentSeam, Pattern
from fitting.queries.checkpoints import BY_CODE, DONE, PASSED_BY, REOPENED, states
from fitting.queries.garments import facts_of, studio_today
from seamlab.models import Cloth, SeamRecipeVersion
from studio.models import Client
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.saving import lock_for_edit, save_edit, save_new
from studio.services.clients import client_here
from studio.services.search import index_words

ANSWERS = (DONE, PASSED_BY, REOPENED)


class GarmentChanges(TypedDict, total=False):
    """What may be changed of a garment; what is left out stays as it is."""

    words: str
    pattern_id: UUID | None
    cloth_id: UUID | None
    plan_id: UUID | None
    due: date | None
    for_child: bool
    notes: str
    given_up: bool


def open_garment(
    actor: Actor,
    *,
    client_id: UUID,
    kind: str,
    words: str,
    pattern_id: UUID | None = None,
    cloth_id: UUID | None = None,
    due: date | None = None,
    for_child: bool = False,
    notes: str = "",
) -> Garment:
    """Open a garment for a client and let it be found by its words.

    A minor's garment is treated as a child's. Raises Refused (client, kind, words, pattern, cloth, due).
    """
    actor.need(Right.KEEP_GARMENTS)
    client = _client(client_id)
    today = studio_today(actor)
    if due is not None and due < today:
        raise Refused({"due": f"{due:%d.%m.%Y} is past; a garment falls due today or later."})
    garment = Garment(
        client=client,
        kind=kind,
        words=_words(words),
        pattern=_pattern(pattern_id, kind),
        cloth=_cloth(cloth_id),
        due=due,
        for_child=for_child or client.is_minor(today),
        notes=notes.strip(),
    )
    save_new(garment)
    _index(garment)
    record_act(actor, "open_garment", garment, client_id=client.pk, kind=kind)
    return garment


def change_garment(
    actor: Actor, garment_id: UUID, *, expected_version: int | None = None, **changes: Unpack[GarmentChanges]
) -> Garment:
    """Change a garment; raises NotHere, Stale, Conflict (it is handed over, its client was
    erased) and Refused naming the field.

    A plan must be this client's. Choosing one brings its pattern with it; choosing another pattern lets go of a
    plan that was made for the old one.
    """
    actor.need(Right.KEEP_GARMENTS)
    garment = locked_garment(garment_id, expected_version)
    _need_open(garment, even_given_up="given_up" in changes)
    wanted: dict[str, Any] = {}
    if "words" in changes:
        wanted["words"] = _words(changes["words"])
    if "pattern_id" in changes:
        pattern = _pattern(changes["pattern_id"], garment.kind)
        wanted["pattern_id"] = pattern.pk if pattern else None
        if garment.plan_id and garment.plan.pattern_id != wanted["pattern_id"]:
            wanted["plan_id"] = None
    if "cloth_id" in changes:
        cloth = _cloth(changes["cloth_id"])
        wanted["cloth_id"] = cloth.pk if cloth else None
    if "plan_id" in changes:
        actor.need(Right.KEEP_PAPER)
        wanted |= _plan_of(garment, changes["plan_id"])
    if "given_up" in changes:
        wanted["state"] = Garment.State.GIVEN_UP if changes["given_up"] else Garment.State.OPEN
    for field in ("due", "for_child"):
        if field in changes:
            wanted[field] = changes[field]
    if "notes" in changes:
        wanted["notes"] = changes["notes"].strip()
    changed = save_edit(garment, wanted)
    if "words" in changed:
        _index(garment)
    if changed:
        record_act(
            actor,
            "change_garment",
            garment,
            client_id=garment.client_id,
            fields=sorted(changed),
        )
    return garment


def take_plan(actor: Actor, garment_id: UUID, plan: FitPlan) -> Garment:
    """Tie a plan to its garment (called when the plan is approved)."""
    return change_garment(actor, garment_id, plan_id=plan.pk)


def choose_seam(actor: Actor, garment_id: UUID, *, place: str, version_id: UUID) -> GarmentSeam:
    """Say by which version of a recipe a seam is sewn; a place that has one already gets the new one.

    Raises Refused (place, version), NotHere and Conflict (it is handed over).
    """
    actor.need(Right.KEEP_GARMENTS)
    garment = locked_open_garment(garment_id)
    place = " ".join(place.split())
    if not place:
        raise Refused({"place": "Say which seam it is, for example “side seams”."})
    version = SeamRecipeVersion.objects.filter(pk=version_id).first()
    if version is None:
        raise Refused({"version": "There is no such version of a seam recipe in this studio."})
    seam = GarmentSeam.objects.filter(garment_id=garment.pk, place__iexact=place).first()
    before = str(seam.version_id) if seam else None
    if seam is None:
        seam = save_new(
            GarmentSeam(garment=garment, place=place, version=version, chosen_by_id=actor.member_id)
        )
    elif seam.version_id != version.pk:
        seam.version, seam.chosen_by_id = version, actor.member_id
        seam.save(update_fields=["version", "chosen_by"])
    record_act(
        actor,
        "choose_seam",
        seam,
        client_id=garment.client_id,
        place=place,
        before=before,
        after=str(version.pk),
    )
    return seam


def drop_seam(actor: Actor, garment_id: UUID, seam_id: UUID) -> None:
    """Take back the choice of a seam that the garment does not have after all."""
    actor.need(Right.KEEP_GARMENTS)
    garment = locked_open_garment(garment_id)
    seam = GarmentSeam.objects.filter(pk=seam_id, garment_id=garment.pk).first()
    if seam is None:
        raise NotHere("seam of this garment")
    record_act(
        actor, "drop_seam", seam, client_id=garment.client_id, place=seam.place, version=str(seam.version_id)
    )
    seam.delete()


def answer_checkpoint(
    actor: Actor, garment_id: UUID, *, checkpoint: str, answer: str, reason: str = ""
) -> CheckpointAnswer:
    """Answer a checkpoint: "done", "passed_by" (an instructor's written reason stays in sight) or "reopened".

    Raises Conflict where "done" is said while something is missing (the message says what), Refused (checkpoint,
    answer, reason), NotAllowed and NotHere.
    """
    found = BY_CODE.get(checkpoint)
    if found is None:
        raise Refused(
            {"checkpoint": f"{checkpoint!r} is not a checkpoint; choose one of {', '.join(BY_CODE)}."}
        )
    actor.need(Right.FIT if answer == PASSED_BY else found.right)
    if answer not in ANSWERS:
        raise Refused({"answer": f"{answer!r} is not an answer; choose done, passed_by or reopened."})
    garment = locked_garment(garment_id)
    reason = reason.strip()
    state = next(s for s in states(facts_of([garment])[garment.pk]) if s.code == checkpoint)
    if answer == REOPENED:
        if state.answer is None:
            raise Conflict(f"“{found.name}” is open already.")
    else:
        _need_open(garment)
    if answer == DONE and state.needs:
        raise Conflict(f"“{found.name}” can't be done yet. {' '.join(state.needs)}")
    if answer == PASSED_BY:
        if checkpoint == "handed_over":
            raise Refused(
                {"answer": "Handing over can't be gone past; a garment that is given up is closed as such."}
            )
        if not reason:
            raise Refused(
                {"reason": f"Going past “{found.name}” needs a reason in writing; it stays with the garment."}
            )
    row = save_new(
        CheckpointAnswer(
            garment=garment,
            checkpoint=checkpoint,
            answer=answer,
            reason=reason,
            missing=list(state.needs) if answer == PASSED_BY else [],
            answered_by_id=actor.member_id,
        )
    )
    if checkpoint == "handed_over":
        save_edit(garment, {"state": Garment.State.HANDED_OVER if answer == DONE else Garment.State.OPEN})
    record_act(
        actor, "answer_checkpoint", row, client_id=garment.client_id, garment=str(garment.pk),
        checkpoint=checkpoint, answer=answer,
    )  # fmt: skip
    return row


def hand_over(actor: Actor, garment_id: UUID) -> Garment:
    """Give the garment to its client; raises Conflict while the sewing is not done or a fit note is open."""
    answer_checkpoint(actor, garment_id, checkpoint="handed_over", answer=DONE)
    return Garment.objects.get(pk=garment_id)


def locked_open_garment(garment_id: UUID) -> Garment:
    """Lock a garment that is still in work; raises NotHere or Conflict. Acts on its sessions take turns by it."""
    garment = locked_garment(garment_id)
    _need_open(garment)
    return garment


def locked_garment(garment_id: UUID, expected_version: int | None = None) -> Garment:
    """Lock a garment to write about it, its client before it: an erasure locks her first too, so that it waits
    for what is being written, and whoever comes after it is refused.

    Raises NotHere, Stale, and Conflict where the client was erased.
    """
    client_id = Garment.objects.filter(pk=garment_id).values_list("client_id", flat=True).first()
    if client_id is None:
        raise NotHere("garment")
    client_here(client_id)
    return lock_for_edit(Garment, garment_id, expected_version)


def _need_open(garment: Garment, *, even_given_up: bool = False) -> None:
    if garment.state == Garment.State.HANDED_OVER:
        raise Conflict(
            "This garment is handed over; open its last checkpoint again before anything is changed."
        )
    if garment.state == Garment.State.GIVEN_UP and not even_given_up:
        raise Conflict("This garment was given up; take it up again before anything is changed.")


def _client(client_id: UUID) -> Client:
    try:
        return client_here(client_id)
    except (NotHere, Conflict) as exc:
        raise Refused({"client": "There is no such client in this studio."}) from exc


def _words(words: str) -> str:
    words = " ".join(words.split())
    if not words:
        raise Refused({"words": "Say what it is in a few words by which it is found again: “teal trousers”."})
    return words


def _pattern(pattern_id: UUID | None, kind: str) -> Pattern | None:
    if pattern_id is None:
        return None
    pattern = Pattern.objects.filter(pk=pattern_id).first()
    if pattern is None:
        raise Refused({"pattern": "There is no such pattern in this studio."})
    if pattern.kind != kind:
        raise Refused(
            {
                "pattern": f"{pattern.name} is for another kind of garment ({pattern.get_kind_display().lower()})."
            }
        )
    found: Pattern = pattern
    return found


def _cloth(cloth_id: UUID | None) -> Cloth | None:
    if cloth_id is None:
        return None
    cloth = Cloth.objects.filter(pk=cloth_id).first()
    if cloth is None:
        raise Refused({"cloth": "There is no such cloth in this studio."})
    found: Cloth = cloth
    return found


def _plan_of(garment: Garment, plan_id: UUID | None) -> dict[str, Any]:
    if plan_id is None:
        return {"plan_id": None}
    plan = FitPlan.objects.filter(pk=plan_id).select_related("pattern").first()
    if plan is None or plan.client_id != garment.client_id:
        raise Refused({"plan": "There is no such fit plan of this client."})
    _pattern(plan.pattern_id, garment.kind)
    return {"plan_id": plan.pk, "pattern_id": plan.pattern_id}


def _index(garment: Garment) -> None:
    index_words(client_id=garment.client_id, source="garment", source_id=garment.pk, words=garment.words)
