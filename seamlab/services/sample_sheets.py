"""The sheet to pin swatches to: frozen when it is asked for, drawn in the background, kept with its SHA-256."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.utils import timezone

from seamlab.models import SeamComparison
from seamlab.queries.cloth import cloth_get
from seamlab.queries.needs import SewingNeeds
from seamlab.queries.proven import answers_for
from seamlab.queries.sample_sheets import (
    CAUTIONS,
    MOST_SAMPLES,
    SHEET_JOB,
    cloth_facts,
    needs_parts,
    newest_on,
    owed_sample,
    seam_place,
    trial_sample,
    trials_with_parts,
    versions_of,
)
from seamlab.reports.sample_sheet import SHAPE, SampleSheet, render_sample_sheet
from studio.platform.errors import JobFailed, NotHere, Refused
from studio.platform.models import Job, Studio
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import store_file
from studio.platform.services.jobs import ask_for
from studio.reports.pdf import CannotRender

MOST_PROPOSED = 4


def ask_cloth_sheet(actor: Actor, cloth_id: UUID, *, purpose: str = "", layers: int = 2) -> Job:
    """Ask for a sheet of a cloth: the newest sample of every version that was tried on it, or with a ``purpose``
    the best answers for it, whether tried or owed.

    Raises NotHere, and Refused (purpose, layers; purpose also where there is nothing to sew or to show).
    """
    actor.need(Right.KEEP_SEAMS)
    cloth = cloth_get(actor, cloth_id)
    tried = newest_on(cloth.pk)
    if purpose:
        found = answers_for(actor, cloth_id, purpose=purpose, layers=layers, most=MOST_PROPOSED)
        ids = [answer.version_id for answer in found.answers if answer.version_id]
        by_version = {trial.version_id: trial for trial in tried}
        versions = versions_of(ids)
        samples = [
            trial_sample(by_version[pk], actor.unit) if pk in by_version else owed_sample(versions[pk], cloth)
            for pk in ids
        ]
    else:
        samples = [trial_sample(trial, actor.unit) for trial in tried]
    if not samples:
        raise Refused(
            {
                "purpose": "No recipe here serves this on this cloth yet: write one, or take in the starting library."
                if purpose
                else "No sample was sewn on this cloth yet: say what for, and the sheet shows what to try."
            }
        )
    return _ask(
        actor, title=f"Samples on {cloth.name}", samples=samples, facts=cloth_facts(actor, cloth_id), of=cloth
    )


def ask_comparison_sheet(actor: Actor, comparison_id: UUID) -> Job:
    """Ask for a sheet of the samples of a comparison, in their order. Raises NotHere and Refused (no samples)."""
    actor.need(Right.KEEP_SEAMS)
    comparison = SeamComparison.objects.filter(pk=comparison_id).first()
    if comparison is None:
        raise NotHere("comparison of samples")
    ids = list(comparison.samples.order_by("place", "id").values_list("trial_id", flat=True))
    if not ids:
        raise Refused("This comparison has no samples yet.")
    samples = [trial_sample(trial, actor.unit) for trial in trials_with_parts(ids)]
    facts = cloth_facts(actor, comparison.cloth_id) if comparison.cloth_id else []
    return _ask(
        actor, title=comparison.question, subtitle="Samples side by side", samples=samples, facts=facts,
        of=comparison,
    )  # fmt: skip


def ask_seams_sheet(
    actor: Actor, needs: SewingNeeds, *, title: str, cloth_id: UUID | None, of: Any, client_id: UUID | None
) -> Job:
    """Ask for a sheet of the seams of one piece of work, with its thread and time. Names nobody.

    ``of`` is the row that the audit names, ``client_id`` whom it concerns. Raises Refused where there is no seam.
    """
    actor.need(Right.KEEP_SEAMS)
    if not needs.seams:
        raise Refused("No seam is chosen yet.")
    rows = needs.seams[:MOST_SAMPLES]
    trials = {trial.pk: trial for trial in trials_with_parts([row.trial_id for row in rows if row.trial_id])}
    versions = versions_of([row.asked.version_id for row in rows])
    cloths = {}
    for row in rows:
        if row.asked.cloth_id and row.asked.cloth_id not in cloths:
            cloths[row.asked.cloth_id] = cloth_get(actor, row.asked.cloth_id)
    samples = []
    for row in rows:
        trial = trials.get(row.trial_id) if row.trial_id else None
        cloth = cloths.get(row.asked.cloth_id) if row.asked.cloth_id else None
        sample = (
            trial_sample(trial, actor.unit) if trial else owed_sample(versions[row.asked.version_id], cloth)
        )
        samples.append(
            {
                **sample,
                "place": seam_place(row),
                "standing": row.standing,
                "standing_words": row.standing_words,
            }
        )
    return _ask(
        actor,
        title=title,
        samples=samples,
        facts=cloth_facts(actor, cloth_id) if cloth_id else [],
        of=of,
        client_id=client_id,
        **needs_parts(needs),
    )


def _ask(
    actor: Actor,
    *,
    title: str,
    samples: Sequence[dict[str, Any]],
    facts: list[dict[str, str]],
    of: Any,
    subtitle: str = "",
    client_id: UUID | None = None,
    **more: Any,
) -> Job:
    """Freeze the snapshot into the job's arguments. By the client's id an erasure finds and empties it."""
    now = timezone.now()
    day = timezone.localdate(now, timezone=actor.zone)
    studio = Studio.objects.get(pk=actor.studio_id)
    snapshot = {
        "shape": SHAPE,
        "studio": studio.name,
        "studio_colour": studio.colour,
        "title": title,
        "subtitle": subtitle,
        "made_at": now.isoformat(),
        "made_on": f"{day.day} {day:%B %Y}",
        "facts": facts,
        "samples": list(samples),
        "cautions": list(CAUTIONS),
        **more,
    }
    arguments = {"snapshot": snapshot, "client": str(client_id) if client_id else ""}
    job = ask_for(actor, SHEET_JOB, arguments)
    job.arguments = {**arguments, "sheet": str(job.pk)}  # so that its result leads to its file
    job.save(update_fields=["arguments"])
    record_act(actor, "ask_sample_sheet", of, client_id=client_id, job=str(job.pk), samples=len(samples))
    return job


def prepare_sheet(arguments: dict[str, Any]) -> dict[str, Any]:
    """In scope: the frozen snapshot. Raises JobFailed where an erasure emptied it."""
    snapshot: dict[str, Any] | None = arguments.get("snapshot")
    if not snapshot:
        raise JobFailed("What this sheet was to show was erased on request.")
    return snapshot


def work_sheet(snapshot: dict[str, Any], progress: Progress) -> SampleSheet:
    """Without a database: the PDF."""
    try:
        return render_sample_sheet(snapshot, progress)
    except CannotRender as exc:
        raise JobFailed(str(exc)) from exc


def finish_sheet(arguments: dict[str, Any], snapshot: dict[str, Any], output: SampleSheet) -> dict[str, Any]:
    """In scope: keep the PDF; one of a client's garment is hers to be erased with her."""
    name = "".join(
        sign if sign.isprintable() and sign not in '/\\:*?"<>|' else "-" for sign in snapshot["title"]
    )
    client = UUID(arguments["client"]) if arguments.get("client") else None
    file = store_file(output.pdf, name=f"{name[:120]}.pdf", media_type="application/pdf", client_id=client)
    return {
        "sheet": arguments["sheet"],
        "file": str(file.pk),
        "sha256": file.sha256,
        "pages": output.pages,
        "samples": len(snapshot["samples"]),
    }
