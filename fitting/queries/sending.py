"""Whether a client's link was sent, and where letters to her go."""

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from django.utils import timezone

from studio.models import Client
from studio.platform.models import Job

SENDING_JOB = "send_link"


def email_of(client: Client, today: date) -> str:
    """Where a client's letters go: a minor's to the guardian; blank where no address is known."""
    return str(client.guardian_email if client.is_minor(today) else client.email)


def sendings_of(link_ids: Iterable[UUID]) -> dict[str, str]:
    """What became of the newest sending of some links, in words: one query."""
    found: dict[str, str] = {}
    for job in Job.objects.filter(
        kind=SENDING_JOB, arguments__link__in=[str(pk) for pk in link_ids]
    ).order_by("id"):
        words = "is being sent"
        if job.state == Job.State.DONE and job.ended_at is not None:
            words = f"sent by email on {timezone.localtime(job.ended_at):%-d %B, %H:%M}"
        elif job.state in (Job.State.FAILED, Job.State.CANCELLED):
            words = "could not be sent by email"
        found[job.arguments["link"]] = words
    return found
