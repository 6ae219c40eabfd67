"""What nobody needs any longer: old stored answers, counts of tries, sessions, and bytes whose row was rolled back.

Run by the scheduler once an hour; each studio in its own scope.
"""

from datetime import timedelta
from uuid import UUID

import structlog
from django.core.files.storage import default_storage
from django.utils import timezone

from studio.platform.database.doors import studio_ids
from studio.platform.database.scope import studio_scope
from studio.platform.models import Session, StoredAnswer, StoredFile, Tally
from studio.platform.registries import TIDIERS

log = structlog.get_logger(__name__)

ANSWERS_KEPT = timedelta(hours=48)
BYTES_KEPT = timedelta(days=1)  # longer than any job may take between writing bytes and their row


def tidy() -> dict[str, int]:
    """Clear away; returns how many of each kind went."""
    now = timezone.now()
    gone = {
        "counts": Tally.objects.filter(ends_at__lt=now).delete()[0],
        "sessions": Session.objects.filter(expire_date__lt=now).delete()[0],
        "answers": 0,
        "files": 0,
        **dict.fromkeys(TIDIERS, 0),
    }
    for studio_id in studio_ids():
        with studio_scope(studio_id):
            gone["answers"] += StoredAnswer.objects.filter(at__lt=now - ANSWERS_KEPT).delete()[0]
            gone["files"] += _litter(studio_id)
            for name, clear in TIDIERS.items():
                gone[name] += clear()
    log.info("tidied", **gone)
    return gone


def _litter(studio_id: UUID) -> int:
    """Delete files of this studio that no row names and that are too old to get one yet."""
    folder = str(studio_id)
    try:
        names = default_storage.listdir(folder)[1]
    except FileNotFoundError:
        return 0
    known = set(StoredFile.objects.values_list("key", flat=True))
    latest = timezone.now() - BYTES_KEPT
    count = 0
    for name in names:
        key = f"{folder}/{name}"
        if key not in known and default_storage.get_modified_time(key) < latest:
            default_storage.delete(key)
            count += 1
    return count
