"""Reading fit reports: the facts for a new one, the issued file, the client's link."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from fitting.models import FitReport, IssuedReport, ReportLink
from fitting.queries.fit_photos import may_be_photographed
from fitting.reports.snapshot import newest
from fitting.reports.voice import Voice
from studio.models import Client
from studio.platform import links
from studio.platform.database.scope import studio_scope
from studio.platform.errors import Conflict, NotAllowed, NotHere
from studio.platform.models import StoredFile
from studio.platform.rights import Actor, Right
from studio.platform.services.files import read_file

LINK_PURPOSE = "report"
PHOTOS_WITHDRAWN = (
    "This PDF holds photographs, and the consent to them was withdrawn, so it is shown to nobody any more. "
    "The studio can make a new report without them."
)


@dataclass(frozen=True)
class ReportFile:
    """The PDF as it was issued."""

    content: bytes
    sha256: str
    name: str


@dataclass(frozen=True)
class LinkState:
    """What a client's link opens now: ``state`` is open, expired or revoked. ``photos`` are the bytes of the report's
    photographs by file; none where the consent to them was withdrawn.
    """

    studio_name: str
    studio_colour: str  # #rrggbb
    state: str
    language: str
    expires_on: str
    snapshot: dict[str, Any] | None
    photos: Mapping[str, bytes]
    has_file: bool
    newer_number: int | None  # a later report corrects this one


def report_list(actor: Actor, garment_id: UUID) -> "QuerySet[FitReport]":
    """The reports of a garment, newest first, each with its job and what was issued."""
    actor.need(Right.READ_REPORTS)
    return _reports().filter(garment_id=garment_id)


def report_get(actor: Actor, report_id: UUID) -> FitReport:
    """One report with job, issued file and links; raises NotHere. Clerks may, to send its link."""
    if not actor.may(Right.READ_REPORTS):
        actor.need(Right.SEND_LINKS)
    report = _reports().filter(pk=report_id).first()
    if report is None:
        raise NotHere("fit report")
    return report


def reports_of(actor: Actor, garment_ids: Iterable[UUID]) -> list[FitReport]:
    """The reports of some garments for a page of somebody who opens them or sends their links; else none."""
    if not (actor.may(Right.READ_REPORTS) or actor.may(Right.SEND_LINKS)):
        return []
    return list(_reports().filter(garment_id__in=list(garment_ids)))


def _reports() -> "QuerySet[FitReport]":
    return (
        FitReport.objects.select_related("garment", "client", "job", "asked_by", "corrects")
        .prefetch_related(
            Prefetch("issues", IssuedReport.objects.select_related("file")),
            Prefetch("links", ReportLink.objects.select_related("made_by").order_by("-id")),
        )
        .order_by("-id")
    )


def issued_of(report: FitReport) -> IssuedReport | None:
    """What was issued of a prefetched report; None while it is being made."""
    return next(iter(report.issues.all()), None)


def link_address(link: ReportLink) -> str:
    """The full public address of a link; it is signed, so it can be told again at any time."""
    assert link.studio_id is not None
    return links.address("fitting:client-link", links.sign(LINK_PURPOSE, link.studio_id, link.pk))


def report_of_link(actor: Actor, link_id: UUID) -> UUID:
    """The report that a link opens; raises NotHere."""
    actor.need(Right.SEND_LINKS)
    report_id: UUID | None = ReportLink.objects.filter(pk=link_id).values_list("report_id", flat=True).first()
    if report_id is None:
        raise NotHere("link")
    return report_id


def link_state(link: ReportLink, now: datetime) -> str:
    if link.revoked_at is not None:
        return "revoked"
    return "expired" if link.expires_at <= now else "open"


def goes_to(client: Client, today: date) -> tuple[str, str]:
    """To whom a link is sent: (name, email or telephone). A minor's goes to the guardian."""
    if client.is_minor(today):
        return client.guardian_name, client.guardian_email or client.guardian_telephone
    return client.name, client.email or client.telephone


def report_file(actor: Actor, report_id: UUID) -> ReportFile:
    """The issued PDF, for staff; raises NotHere while there is none."""
    actor.need(Right.READ_REPORTS)
    issued = _issued().filter(report_id=report_id).first()
    if issued is None:
        raise NotHere("PDF of this report (it may still be in the making)")
    return _file(issued)


def studio_of_link(signed: str) -> UUID:
    """Whose link it is; raises NotHere for one that is not ours."""
    return links.verify(LINK_PURPOSE, signed)[0]


def check_reader(signed: str, reader: Actor | None) -> None:
    """Who sends a link need not be who reads reports: a member of the link's own studio opens it only with the right
    to. ``reader`` is the member who is signed in, None for a client. Raises NotAllowed, NotHere.
    """
    if reader is None or reader.studio_id != studio_of_link(signed) or reader.may(Right.READ_REPORTS):
        return
    raise NotAllowed(
        f"You are signed in as a {reader.role} of this studio, and a fit report holds body figures, which your role "
        "does not open. The link is in order: the client opens it where nobody of the studio is signed in."
    )


def look_at_link(signed: str) -> LinkState:
    """What a link opens, without counting it as opened; raises NotHere for a link that is not ours."""
    studio_id, link_id = links.verify(LINK_PURPOSE, signed)
    with studio_scope(studio_id):
        link = ReportLink.objects.filter(pk=link_id).select_related("report__client", "studio").first()
        if link is None:
            raise NotHere("link (what it opened may have been erased)")
        state = link_state(link, timezone.now())
        zone = ZoneInfo(link.studio.time_zone)
        is_open = state == "open"
        snapshot = newest(link.report.snapshot) if is_open else None
        language = link.report.snapshot["language"]
        newer = FitReport.objects.filter(corrects_id=link.report_id).order_by("-number").first()
        return LinkState(
            studio_name=link.studio.name,
            studio_colour=link.studio.colour,
            state=state,
            language=language,
            expires_on=Voice(language).day(link.expires_at.astimezone(zone)),
            snapshot=snapshot,
            photos=photo_bytes(link.report) if is_open and photos_allowed(link.report) else {},
            has_file=photos_allowed(link.report)
            and IssuedReport.objects.filter(report_id=link.report_id).exists(),
            newer_number=newer.number if newer else None,
        )


def link_file(signed: str) -> ReportFile:
    """The PDF behind a client's link; raises NotHere where the link is expired, revoked or has no PDF yet."""
    studio_id, link_id = links.verify(LINK_PURPOSE, signed)
    with studio_scope(studio_id):
        link = ReportLink.objects.filter(pk=link_id).first()
        if link is None or link_state(link, timezone.now()) != "open":
            raise NotHere("link (it may have expired; ask the studio for a new one)")
        issued = _issued().filter(report_id=link.report_id).first()
        if issued is None:
            raise NotHere("PDF yet; try again in a minute")
        return _file(issued)


def photos_allowed(report: FitReport) -> bool:
    """May what this report holds be shown? Without photographs always, with them while the consent holds."""
    if not report.snapshot.get("photos"):
        return True
    return may_be_photographed(report.client, timezone.localdate())


def photo_bytes(report: FitReport) -> dict[str, bytes]:
    """The report's photographs by file id; one whose bytes were taken away since is left out."""
    return bytes_of(row["file"] for row in report.snapshot.get("photos", ()))


def bytes_of(file_ids: Iterable[str]) -> dict[str, bytes]:
    """The bytes of some stored files by id; those that were taken away are left out."""
    wanted = set(file_ids)
    if not wanted:
        return {}
    found = {}
    for file in StoredFile.objects.filter(pk__in=wanted):
        try:
            found[str(file.pk)] = read_file(file)
        except FileNotFoundError:
            continue
    return found


def _issued() -> "QuerySet[IssuedReport]":
    return IssuedReport.objects.select_related("file", "report__client")


def _file(issued: IssuedReport) -> ReportFile:
    if not photos_allowed(issued.report):
        raise Conflict(PHOTOS_WITHDRAWN)
    return ReportFile(read_file(issued.file), issued.sha256, issued.file.name)
