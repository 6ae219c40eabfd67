"""Reading fit reports: the facts for a new one, the issued file, the client's link."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from fitting.models import FitReport, Garment, IssuedReport, ReportLink
from fitting.queries.cautions import cautions_of_garment
from fitting.queries.checkpoints import next_of, states
from fitting.queries.fittings import SessionView, sessions_of
from fitting.queries.garments import SeamView, facts_of, seams_of
from fitting.queries.plan_text import say_in
from fitting.queries.planned import Planned, PlannedAlteration, read_plan
from fitting.reports.snapshot import (
    AlterationFact,
    CautionFact,
    FittingFact,
    MeasureFact,
    NoteFact,
    ReportFacts,
    SeamFact,
    ZoneFact,
    day_words,
)
from studio.models import Client
from studio.platform import links
from studio.platform.database.scope import studio_scope
from studio.platform.errors import NotAllowed, NotHere
from studio.platform.models import Studio
from studio.platform.queries.people import studio_get
from studio.platform.rights import Actor, Right
from studio.platform.services.files import read_file

LINK_PURPOSE = "report"
LENGTH_STEP = {"cm": "0.1 cm", "in": "1/8 in"}


@dataclass(frozen=True)
class ReportFile:
    """The PDF as it was issued."""

    content: bytes
    sha256: str
    name: str


@dataclass(frozen=True)
class LinkState:
    """What a client's link opens now: ``state`` is open, expired or revoked."""

    studio_name: str
    studio_colour: str  # #rrggbb
    state: str
    expires_on: str
    snapshot: dict[str, Any] | None
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
    issued = IssuedReport.objects.filter(report_id=report_id).select_related("file", "report").first()
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
        link = ReportLink.objects.filter(pk=link_id).select_related("report", "studio").first()
        if link is None:
            raise NotHere("link (what it opened may have been erased)")
        state = link_state(link, timezone.now())
        zone = ZoneInfo(link.studio.time_zone)
        newer = FitReport.objects.filter(corrects_id=link.report_id).order_by("-number").first()
        return LinkState(
            studio_name=link.studio.name,
            studio_colour=link.studio.colour,
            state=state,
            expires_on=day_words(link.expires_at.astimezone(zone)),
            snapshot=link.report.snapshot if state == "open" else None,
            has_file=IssuedReport.objects.filter(report_id=link.report_id).exists(),
            newer_number=newer.number if newer else None,
        )


def link_file(signed: str) -> ReportFile:
    """The PDF behind a client's link; raises NotHere where the link is expired, revoked or has no PDF yet."""
    studio_id, link_id = links.verify(LINK_PURPOSE, signed)
    with studio_scope(studio_id):
        link = ReportLink.objects.filter(pk=link_id).first()
        if link is None or link_state(link, timezone.now()) != "open":
            raise NotHere("link (it may have expired; ask the studio for a new one)")
        issued = (
            IssuedReport.objects.filter(report_id=link.report_id).select_related("file", "report").first()
        )
        if issued is None:
            raise NotHere("PDF yet; try again in a minute")
        return _file(issued)


def _file(issued: IssuedReport) -> ReportFile:
    return ReportFile(read_file(issued.file), issued.sha256, issued.file.name)


# --- the facts of a new report --------------------------------------------------------------------------------------


def nothing_to_report(garment: Garment, sessions: list[SessionView]) -> str:
    """Why there is nothing to report for this garment yet; "" where there is something."""
    if garment.plan_id is not None or any(session.sign_off for session in sessions):
        return ""
    return (
        "There is nothing to report for this garment yet: it has neither a fit plan nor a signed-off fitting."
    )


def report_facts(
    actor: Actor, garment: Garment, *, number: int, corrects: int | None, now: datetime
) -> ReportFacts:
    """Everything that a report of this garment tells as of now (see reports.snapshot)."""
    actor.need(Right.ISSUE_REPORTS)
    client: Client = garment.client
    studio: Studio = studio_get(actor)
    zone = actor.zone
    planned = read_plan(garment.plan) if garment.plan else None
    seams = seams_of(garment)
    sessions = sessions_of([garment.pk])[::-1]
    found = states(facts_of([garment], {garment.pk: seams})[garment.pk])
    waits_for = next_of(found)
    measured_on, measures = (
        _measures(actor, garment, planned, client.unit, zone) if client.figures_in_report else ("", ())
    )
    return ReportFacts(
        studio_name=studio.name,
        studio_address=studio.address,
        studio_colour=studio.colour,
        client_name=client.name,
        unit=client.unit,
        with_figures=client.figures_in_report,
        is_child=garment.for_child,
        garment_words=garment.words,
        garment_kind=garment.kind,
        garment_kind_words=garment.get_kind_display(),
        pattern=garment.pattern.name if garment.pattern else "",
        cloth=garment.cloth.name if garment.cloth else "",
        due=day_words(garment.due) if garment.due else "",
        number=number,
        issued_at=now.astimezone(zone),
        corrects=corrects,
        measured_on=measured_on,
        measures=measures,
        sizes=tuple((row.words, row.size) for row in planned.zones if row.kind == "width") if planned else (),
        blends=planned.blends if planned else (),
        zones=_zones(planned, client.unit) if planned and client.figures_in_report else (),
        alterations=_alterations(planned.alterations, client.unit) if planned else (),
        seams=tuple(_seam(seam) for seam in seams),
        fittings=tuple(_fitting(session, client.unit, zone) for session in sessions if session.sign_off),
        cautions=tuple(
            CautionFact(row.title, row.text, row.refer)
            for row in cautions_of_garment(for_child=garment.for_child, materials=_materials(seams))
        ),
        next_step=_next_step(
            waits_for.checkpoint.next_step if waits_for else "",
            garment,
            is_ready=waits_for is not None and waits_for.code == "handed_over",
        ),
    )


def _measures(
    actor: Actor, garment: Garment, planned: Planned | None, unit: str, zone: ZoneInfo
) -> tuple[str, tuple[MeasureFact, ...]]:
    """The measures of this garment (those of its plan and those of its kind), weight never among them."""
    from studio.queries.catalogue import catalogue
    from studio.queries.measuring import body_of, changes_of

    body = body_of(actor, garment.client_id)
    if not body:
        return "", ()
    changes = {row.code: row for row in changes_of(actor, garment.client_id) if row.beyond}
    in_plan = set(planned.measures) if planned else set()
    rows = []
    for code, measure in catalogue().measures.items():
        known = body.get(code)
        if (
            known is None
            or measure.kind == "weight"
            or not (code in in_plan or garment.kind in measure.garments)
        ):
            continue
        change = changes.get(code)
        rows.append(
            MeasureFact(
                code=code,
                name=measure.name,
                text=measure.in_words(known.value, unit),
                change=measure.difference_in_words(change.difference, unit) if change else "",
                figure=measure.figure,
                side=measure.side,
            )
        )
    newest = max(known.measured_at for known in body.values())
    return day_words(newest.astimezone(zone)), tuple(rows)


def _zones(planned: Planned, unit: str) -> tuple[ZoneFact, ...]:
    say = say_in(unit)
    return tuple(
        ZoneFact(
            zone=row.words,
            low=row.low,
            target=row.target,
            high=row.high,
            before=row.ease_before,
            after=row.ease_after if row.changed else None,
            error=row.error,
            verdict=row.verdict,
            body_text=say(row.body),
            range_text=f"{say(row.low).removesuffix(f' {unit}')} to {say(row.high)}, aim {say(row.target)}",
            before_text=f"{say(row.paper)}, ease {say(row.ease_before)}",
            after_text=f"{say(row.finished)}, ease {say(row.ease_after)}" if row.changed else "",
        )
        for row in planned.zones
    )


def _alterations(rows: Iterable[PlannedAlteration], unit: str) -> tuple[AlterationFact, ...]:
    """What is done on the paper, in the order in which it is done."""
    say = say_in(unit)
    return tuple(
        AlterationFact(
            number=number,
            place=row.zone,
            change=row.change,
            label=f"{row.words}: {row.change}",
            value=f"{say(abs(row.total))} in all"
            + (f", {say(abs(row.per_edge))} at each of {row.edges} edges" if row.edges > 1 else ""),
        )
        for number, row in enumerate(sorted(rows, key=lambda row: row.order), start=1)
    )


def _seam(seam: SeamView) -> SeamFact:
    proof = (
        f"proven by a sample on this cloth on {day_words(seam.proven_on)}"
        if seam.proven_on
        else "sample to come"
    )
    return SeamFact(seam.place[:1].upper() + seam.place[1:], f"{seam.recipe} ({seam.settings})", proof)


def _fitting(session: SessionView, unit: str, zone: ZoneInfo) -> FittingFact:
    signed = session.sign_off
    assert signed is not None
    return FittingFact(
        kind=session.kind_words,
        held_on=day_words(session.held_at.astimezone(zone)),
        worn=session.worn,
        notes=tuple(
            NoteFact(note.where, note.seen, note.change_words(unit), note.decided) for note in session.notes
        ),
        signed=f"Signed off by {signed.signed_by.name} on {day_words(signed.signed_at.astimezone(zone))}"
        + (", with your agreement." if signed.client_agreed else "."),
    )


def _materials(seams: Iterable[SeamView]) -> set[str]:
    return {"elastic"} if any(seam.purpose == "elastic" for seam in seams) else set()


def _next_step(words: str, garment: Garment, *, is_ready: bool) -> str:
    if garment.state == Garment.State.HANDED_OVER or not words:
        return "Your garment is with you. Tell us how it wears: the next one starts from what you say."
    if garment.due is None or is_ready:
        return words
    return f"{words} Your garment is to be ready by {day_words(garment.due)}."
