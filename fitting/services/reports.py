"""Fit reports: asked for with a frozen snapshot, issued once by the worker, opened by the client's link."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db.models import F, Max
from django.utils import timezone

from fitting.models import FitReport, Garment, IssuedReport, ReportLink
from fitting.queries.fittings import sessions_of
from fitting.queries.garments import garment_row, studio_today
from fitting.queries.report_facts import nothing_to_report, report_facts
from fitting.queries.reports import (
    LINK_PURPOSE,
    LinkState,
    ReportFile,
    check_reader,
    goes_to,
    link_address,
    link_file,
    link_state,
    look_at_link,
)
from fitting.reports.snapshot import freeze
from fitting.reports.voice import Voice
from fitting.services.garments import locked_garment
from studio.platform import links
from studio.platform.database.scope import studio_scope
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models.base import new_id
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import store_file
from studio.platform.services.jobs import ask_for
from studio.platform.services.saving import save_new
from studio.queries.retention import consent_withdrawn, withdrawn_words
from studio.services.clients import client_here

REPORT_JOB = "fit_report"
LONGEST_LINK_DAYS = 365


@dataclass(frozen=True)
class MadeLink:
    """A client's link, its full address, and to whom it is to be sent (a minor's to the guardian)."""

    link: ReportLink
    address: str
    send_to: str
    send_by: str


def ask_report(
    actor: Actor,
    garment_id: UUID,
    *,
    corrects: UUID | None = None,
    language: str = "",
    photos: Sequence[UUID] = (),
    key: str | None = None,
) -> FitReport:
    """Freeze what is known of a garment and ask for its PDF; the report, its number and its job come together.

    ``corrects`` names the earlier report of this garment that the new one replaces; ``language`` is the client's where
    none is given; ``photos`` are those of its fittings that it shows; who asks again with the same ``key`` gets the
    report that was asked for before. Raises NotHere, Conflict (the client was erased),
    Refused (garment: nothing to report yet; corrects: no such report of this garment; language; photos).
    """
    actor.need(Right.ISSUE_REPORTS)
    garment = locked_garment(garment_id)  # numbers are given out one at a time
    if key:
        before = FitReport.objects.filter(garment_id=garment.pk, job__idempotency_key=key).first()
        if before is not None:
            return before
    _may_report(garment)
    earlier = None
    if corrects is not None:
        earlier = FitReport.objects.filter(pk=corrects, garment_id=garment.pk).first()
        if earlier is None:
            raise Refused({"corrects": "There is no such report of this garment."})
    last = _last_number(garment)
    facts = report_facts(
        actor,
        garment,
        number=last + 1,
        corrects=earlier.number if earlier else None,
        now=timezone.now(),
        language=language,
        photos=photos,
    )
    report_id = new_id()
    job = ask_for(actor, REPORT_JOB, {"report": str(report_id)}, key=key)
    report = save_new(
        FitReport(
            id=report_id,
            client_id=garment.client_id,
            garment=garment,
            number=last + 1,
            snapshot=freeze(facts),
            corrects=earlier,
            asked_by_id=actor.member_id,
            job=job,
        )
    )
    record_act(
        actor,
        "ask_report",
        report,
        client_id=garment.client_id,
        garment=str(garment.pk),
        number=report.number,
        language=facts.language,
    )
    return report


def preview_report(
    actor: Actor, garment_id: UUID, *, language: str = "", photos: Sequence[UUID] = ()
) -> dict[str, Any]:
    """The snapshot that ``ask_report`` would freeze now; nothing is kept. Raises as it does."""
    actor.need(Right.ISSUE_REPORTS)
    garment = garment_row(actor, garment_id)
    _may_report(garment)
    return freeze(
        report_facts(
            actor,
            garment,
            number=_last_number(garment) + 1,
            corrects=None,
            now=timezone.now(),
            language=language,
            photos=photos,
        )
    )


def _may_report(garment: Garment) -> None:
    """Raises Refused (garment) where consent was withdrawn or there is nothing to tell."""
    if consent_withdrawn(garment.client_id):
        raise Refused({"garment": withdrawn_words(garment.client.name)})
    reason = nothing_to_report(garment, sessions_of([garment.pk], with_notes=False))
    if reason:
        raise Refused({"garment": reason})


def _last_number(garment: Garment) -> int:
    return FitReport.objects.filter(garment_id=garment.pk).aggregate(last=Max("number"))["last"] or 0


def make_link(actor: Actor, report_id: UUID, *, days: int = 30) -> MadeLink:
    """A link that opens one report for ``days`` days (1 to 365). Raises NotHere, Conflict (the client was erased),
    Refused (days).
    """
    actor.need(Right.SEND_LINKS)
    report = FitReport.objects.filter(pk=report_id).first()
    if report is None:
        raise NotHere("fit report")
    client = client_here(report.client_id)
    if not 1 <= days <= LONGEST_LINK_DAYS:
        raise Refused({"days": f"A link lives from 1 to {LONGEST_LINK_DAYS} days, not {days}."})
    link = save_new(
        ReportLink(
            report=report, made_by_id=actor.member_id, expires_at=timezone.now() + timedelta(days=days)
        )
    )
    record_act(actor, "make_link", link, client_id=report.client_id, report=str(report.pk), days=days)
    name, by = goes_to(client, studio_today(actor))
    return MadeLink(link, link_address(link), name, by)


def revoke_link(actor: Actor, link_id: UUID) -> ReportLink:
    """End a link at once. Raises NotHere, Conflict (it opens nothing any more)."""
    actor.need(Right.SEND_LINKS)
    link = ReportLink.objects.select_for_update(no_key=True, of=("self",)).filter(pk=link_id).first()
    if link is None:
        raise NotHere("link")
    now = timezone.now()
    if link_state(link, now) != "open":
        raise Conflict("This link opens nothing any more.")
    link.revoked_at = now
    link.save(update_fields=["revoked_at"])
    record_act(actor, "revoke_link", link, client_id=link.report.client_id, report=str(link.report_id))
    return link


def open_link(signed: str, reader: Actor | None = None) -> LinkState:
    """Somebody pressed the button: write the opening down where the link still opens, and tell what it opens.

    A client's opening is counted. ``reader`` is the member of the link's studio who is signed in there, if one is:
    her opening is her act in the audit, and no client's. Looking at the address by itself (mail scanners do) counts
    nothing. Raises NotHere for a link that is not ours, NotAllowed for a reader who may not open reports.
    """
    check_reader(signed, reader)
    found = look_at_link(signed)
    if found.state == "open":
        studio_id, link_id = links.verify(LINK_PURPOSE, signed)
        with studio_scope(studio_id):
            if reader is not None and reader.studio_id == studio_id:
                _audit_opening(reader, link_id, what="page")
            else:
                ReportLink.objects.filter(pk=link_id).update(
                    openings=F("openings") + 1, last_opened_at=timezone.now()
                )
    return found


def open_link_file(signed: str, reader: Actor | None = None) -> ReportFile:
    """The PDF behind a link; ``reader`` as in open_link. Raises NotHere (expired, revoked, no PDF yet), NotAllowed."""
    check_reader(signed, reader)
    file = link_file(signed)
    studio_id, link_id = links.verify(LINK_PURPOSE, signed)
    if reader is not None and reader.studio_id == studio_id:
        with studio_scope(studio_id):
            _audit_opening(reader, link_id, what="pdf")
    return file


def _audit_opening(reader: Actor, link_id: UUID, *, what: str) -> None:
    link = ReportLink.objects.filter(pk=link_id).select_related("report").first()
    if link is not None:
        record_act(
            reader,
            "open_link",
            link,
            client_id=link.report.client_id,
            report=str(link.report_id),
            what=what,
        )


def store_issued(report_id: UUID, pdf: bytes, *, pages: int, rendered_with: dict[str, str]) -> dict[str, Any]:
    """Keep the PDF of a report once: what was issued first stays, whoever comes with another.

    Called by the worker, in scope; returns the job's result. Raises NotHere where the report was erased meanwhile.
    """
    report = FitReport.objects.filter(pk=report_id).select_related("garment").first()
    if report is None:
        raise NotHere("fit report")
    issued = IssuedReport.objects.filter(report_id=report.pk).first()
    if issued is None:
        voice = Voice(report.snapshot["language"])
        name = f"{voice('Fit summary {number}', number=report.number)} - {report.snapshot['garment']['words']}.pdf"
        file = store_file(pdf, name=_safe(name), media_type="application/pdf", client_id=report.client_id)
        issued = save_new(
            IssuedReport(
                report=report, file=file, sha256=file.sha256, pages=pages, rendered_with=rendered_with
            )
        )
        record_act(
            None,
            "issue_report",
            issued,
            client_id=report.client_id,
            report=str(report.pk),
            sha256=issued.sha256,
        )
    return issued_result(issued)


def issued_result(issued: IssuedReport) -> dict[str, Any]:
    """What the job of a report answers."""
    return {"report": str(issued.report_id), "sha256": issued.sha256, "pages": issued.pages}


def _safe(name: str) -> str:
    """A file name that every system takes."""
    return "".join(sign if sign.isprintable() and sign not in '/\\:*?"<>|' else "-" for sign in name)[:160]
