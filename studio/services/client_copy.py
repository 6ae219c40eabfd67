"""A copy of everything for the client herself: data for programs, a document to read, and her files, in one archive."""

import io
import json
import zipfile
from dataclasses import asdict, dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.core.files.storage import default_storage
from django.utils import timezone

from studio.models import Client
from studio.platform.errors import JobFailed, NotHere
from studio.platform.models import Job, StoredFile, Studio
from studio.platform.registries import CLIENT_SECTIONS, Progress
from studio.platform.rights import Actor, Right
from studio.platform.services.audit import record_act
from studio.platform.services.files import let_go, read_file, store_file
from studio.platform.services.jobs import ask_for
from studio.queries.client_copy import COPY_JOB, COPY_NAME, KEPT_DAYS
from studio.queries.client_sections import day
from studio.reports.about import SHAPE, render_about
from studio.reports.pdf import CannotRender
from studio.services.leaving import export_client
from studio.services.transfer_work import acting_member


@dataclass(frozen=True)
class CopyOrder:
    """What goes into the archive: plain data, the document's snapshot, and (name, bytes) of her files."""

    data: dict[str, Any]
    snapshot: dict[str, Any]
    files: tuple[tuple[str, bytes], ...]


def ask_copy(actor: Actor, client_id: UUID) -> Job:
    """Ask for an archive of everything that is kept about a client. Raises NotHere."""
    actor.need(Right.EXPORT_AND_ERASE)
    client = Client.objects.filter(pk=client_id, erased_at=None).first()
    if client is None:
        raise NotHere("client")
    job = ask_for(actor, COPY_JOB, {"client": str(client_id), "member": str(actor.member_id)})
    record_act(actor, "ask_copy", client, client_id=client_id, job=str(job.pk))
    return job


def prepare_copy(arguments: dict[str, Any]) -> CopyOrder:
    """In scope: everything as it is now. Raises JobFailed where she was erased, or a file of hers can't be read."""
    if "client" not in arguments:  # an erasure empties the arguments of her jobs
        raise JobFailed("This client is not there any more.")
    actor = acting_member(arguments)
    client = Client.objects.filter(pk=UUID(arguments["client"]), erased_at=None).first()
    if client is None:
        raise JobFailed("This client is not there any more.")
    studio = Studio.objects.get(pk=actor.studio_id)
    now = timezone.now()
    with timezone.override(actor.zone):
        sections = [asdict(part) for _, of in CLIENT_SECTIONS for part in of(actor, client.pk)]
        made_on = day(now)
    snapshot = {
        "shape": SHAPE,
        "studio": studio.name,
        "studio_colour": studio.colour,
        "name": client.name,
        "made_at": now.isoformat(),
        "made_on": made_on,
        "sections": sections,
    }
    return CopyOrder(export_client(actor, client.pk), snapshot, _files(client.pk))


def _files(client_id: UUID) -> tuple[tuple[str, bytes], ...]:
    """Her files that are still there; earlier copies are not copied again."""
    found = []
    for number, row in enumerate(
        StoredFile.objects.filter(client_id=client_id).order_by("stored_at", "id"), start=1
    ):
        if row.name == COPY_NAME or not default_storage.exists(row.key):
            continue  # taken away on purpose: the row tells that it was there
        try:
            found.append((f"{number:03}-{row.name}", read_file(row)))
        except ValueError as exc:
            raise JobFailed(f"{exc} Restore it from a backup, then ask again.") from exc
    return tuple(found)


def work_copy(order: CopyOrder, progress: Progress) -> bytes:
    """Without a database: the archive."""
    progress(20, "Setting the document")
    try:
        document, _ = render_about(order.snapshot)
    except CannotRender as exc:
        raise JobFailed(str(exc)) from exc
    progress(70, "Packing")
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("what-we-keep.pdf", document)
        archive.writestr("data.json", json.dumps(order.data, indent=1, ensure_ascii=False))
        for name, content in order.files:
            archive.writestr(f"files/{name}", content, zipfile.ZIP_STORED)
    return packed.getvalue()


def hold_client(arguments: dict[str, Any]) -> None:
    """In scope, before the job is locked: the client, so that an erasure comes before or after the copy is kept."""
    Client.objects.select_for_update(no_key=True).filter(pk=UUID(arguments["client"])).first()


def finish_copy(arguments: dict[str, Any], order: CopyOrder, packed: bytes) -> dict[str, Any]:
    """In scope: keep it as a file of hers, so that it goes when she is forgotten. She is locked against that."""
    client = Client.objects.select_for_update(no_key=True).filter(pk=UUID(order.data["client_id"])).first()
    if client is None or client.erased_at is not None:
        raise JobFailed("This client was erased on request meanwhile.")
    file = store_file(packed, name=COPY_NAME, media_type="application/zip", client_id=client.pk)
    return {"file": str(file.pk), "client": str(client.pk)}


def tell_copy_fetched(actor: Actor, file: StoredFile) -> None:
    """Write down that a copy was fetched."""
    actor.need(Right.EXPORT_AND_ERASE)
    record_act(actor, "fetch_copy", file, client_id=file.client_id)


def clear_old_copies() -> int:
    """In scope: delete the bytes of copies after their days; tells how many went."""
    before = timezone.now() - timedelta(days=KEPT_DAYS)
    keys = [
        key
        for key in StoredFile.objects.filter(name=COPY_NAME, stored_at__lt=before).values_list(
            "key", flat=True
        )
        if default_storage.exists(key)
    ]
    let_go(*keys)
    return len(keys)
