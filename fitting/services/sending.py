"""Sending a client's link by email: to her, or to a minor's guardian. The letter holds no figure of the body.

The worker sends, so that a slow mail server keeps nobody waiting. It is sent at least once: a worker that dies between
the sending and the writing down sends again.
"""

from dataclasses import dataclass
from email.utils import formataddr
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import EmailMessage
from django.utils import timezone

from fitting.models import ReportLink
from fitting.queries.reports import issued_of, link_address, link_state
from fitting.queries.sending import SENDING_JOB, email_of
from fitting.reports.voice import Voice, capital
from studio.platform.database.scope import current_studio_id
from studio.platform.errors import Conflict, JobFailed, NotHere
from studio.platform.models import Job, Studio
from studio.platform.registries import Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.jobs import ask_for
from studio.services.clients import client_here


@dataclass(frozen=True)
class Letter:
    """What is sent: plain text, no figures."""

    to: str
    subject: str
    text: str
    sender: str


def ask_to_send(actor: Actor, link_id: UUID) -> Job:
    """Send an open link of an issued report by email. Raises NotHere, Conflict (no email, no PDF yet, link over)."""
    actor.need(Right.SEND_LINKS)
    link = ReportLink.objects.select_related("report__client").filter(pk=link_id).first()
    if link is None:
        raise NotHere("link")
    client = client_here(link.report.client_id)
    today = timezone.localdate(timezone=actor.zone)
    if link_state(link, timezone.now()) != "open":
        raise Conflict("This link opens nothing any more: make a new one.")
    if issued_of(link.report) is None:
        raise Conflict("The report is still being made: send the link when its PDF is there.")
    if not email_of(client, today):
        whom = f"the guardian of {client.name}" if client.is_minor(today) else client.name
        raise Conflict(f"No email address of {whom} is known: copy the link and send it another way.")
    job = ask_for(actor, SENDING_JOB, {"link": str(link.pk)})
    record_act(actor, "send_link", link, client_id=client.pk, report=str(link.report_id))
    return job


def prepare_sending(arguments: dict[str, Any]) -> Letter:
    """In scope: the letter, as things are now."""
    named = arguments.get("link")
    link = (
        ReportLink.objects.select_related("report__client", "report__garment").filter(pk=UUID(named)).first()
        if named
        else None
    )
    if link is None or link_state(link, timezone.now()) != "open":
        raise JobFailed("The link opens nothing any more, so it was not sent.")
    report, studio = link.report, Studio.objects.get(pk=current_studio_id())
    zone = ZoneInfo(studio.time_zone)
    today = timezone.localdate(timezone=zone)
    client = report.client
    to = email_of(client, today)
    if not to:
        raise JobFailed("The email address is not known any more, so nothing was sent.")
    minor = client.is_minor(today)
    voice = Voice(report.snapshot["language"])
    words = report.garment.words
    lines = [
        voice("Dear {name},", "letter", name=client.guardian_name if minor else client.name),
        "",
        voice(
            "the fit summary for {client} is ready ({garment}). This address opens it:",
            "letter",
            client=client.name,
            garment=words,
        )
        if minor
        else voice("your fit summary is ready ({garment}). This address opens it:", "letter", garment=words),
        "",
        link_address(link),
        "",
        voice(
            "It opens without an account until {day}. Whoever has the address can open it, so please keep it to "
            "yourself. The summary can be kept as a PDF.",
            "letter",
            day=voice.day(link.expires_at.astimezone(zone)),
        ),
        "",
        voice("Is something not as it should be? Just answer this letter, or come by.", "letter"),
        "",
        studio.name,
    ]
    return Letter(
        to=to,
        subject=voice("{garment}: your fit summary", "letter", garment=capital(words)),
        text="\n".join(lines),
        sender=formataddr((studio.name, settings.DEFAULT_FROM_EMAIL)),
    )


def work_sending(letter: Letter, progress: Progress) -> bool:
    """Without a database: hand the letter to the mail server."""
    EmailMessage(letter.subject, letter.text, letter.sender, [letter.to]).send()
    return True


def finish_sending(arguments: dict[str, Any], letter: Letter, output: bool) -> dict[str, Any]:
    """In scope: when it was sent; to whom stands with the client, not here."""
    return {"link": arguments.get("link", ""), "sent": timezone.now().isoformat()}
