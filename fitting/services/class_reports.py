"""Asking for the fit reports of a whole class in one act; each is a report and a job of its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction

from fitting.models import FitReport, Garment
from fitting.queries.class_reports import batch_key, failed_jobs, in_the_making, report_batch
from fitting.services.garments import locked_garment
from fitting.services.reports import ask_report
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models.base import new_id
from studio.platform.rights import Actor, Right
from studio.platform.services.jobs import retry_job

MOST_AT_ONCE = 60


@dataclass(frozen=True)
class Asked:
    """What became of one garment: its report, or what is missing in words."""

    garment: Garment
    report: FitReport | None
    missing: str


@dataclass(frozen=True)
class AskedBatch:
    """What one act asked for."""

    id: UUID
    rows: tuple[Asked, ...]

    @property
    def left_out(self) -> list[Asked]:
        return [row for row in self.rows if row.report is None]


def ask_reports(actor: Actor, garment_ids: Sequence[UUID], *, batch_id: UUID | None = None) -> AskedBatch:
    """Ask for a report of each garment, each in its client's language; those that lack something are told, not asked.

    Asking again with the same ``batch_id`` changes nothing, and a garment whose report is in the making gets no second
    one. Raises NotHere (an unknown garment), Refused (garments: none or too many named, or not one is ready).
    """
    actor.need(Right.ISSUE_REPORTS)
    wanted = set(garment_ids)
    if not 1 <= len(wanted) <= MOST_AT_ONCE:
        raise Refused({"garments": f"Choose from 1 to {MOST_AT_ONCE} garments, not {len(wanted)}."})
    batch_id = batch_id or new_id()
    # Clients are locked in one order, so that two classes at once do not wait for each other.
    garments = list(
        Garment.objects.filter(pk__in=wanted).select_related("client").order_by("client_id", "id")
    )
    if len(garments) < len(wanted):
        raise NotHere("garment")
    rows = tuple(_asked(actor, garment, batch_key(batch_id, garment.pk)) for garment in garments)
    if not any(row.report for row in rows):
        told = " ".join(f"{row.garment.client.name}, {row.garment.words}: {row.missing}" for row in rows)
        raise Refused({"garments": f"None of them is ready. {told}"})
    return AskedBatch(batch_id, rows)


def _asked(actor: Actor, garment: Garment, key: str) -> Asked:
    try:
        with transaction.atomic():
            locked_garment(garment.pk)
            newest = (
                FitReport.objects.filter(garment_id=garment.pk)
                .select_related("job")
                .defer("snapshot")
                .order_by("number")
                .last()
            )
            is_ours = newest is not None and newest.job.idempotency_key == key
            if not is_ours and (waits := in_the_making(newest)):
                return Asked(garment, None, waits)
            return Asked(garment, ask_report(actor, garment.pk, key=key), "")
    except Refused as exc:
        return Asked(garment, None, " ".join(exc.reasons.values()))
    except Conflict as exc:
        return Asked(garment, None, str(exc))


def retry_reports(actor: Actor, batch_id: UUID) -> int:
    """Try those of a batch again that failed or were cancelled; how many. Raises NotHere."""
    actor.need(Right.ISSUE_REPORTS)
    report_batch(actor, batch_id)
    tried = 0
    for job_id in failed_jobs(batch_id):
        try:
            with transaction.atomic():
                retry_job(actor, job_id)
            tried += 1
        except (Conflict, NotHere):
            continue  # somebody else was quicker
    return tried
