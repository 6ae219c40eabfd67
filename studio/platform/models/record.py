"""What the house writes down for itself: jobs, audit entries, stored files, stored answers, erasures."""

from django.db import models

from studio.platform.database.constraints import tenant_rules
from studio.platform.models.base import TenantModel, reference


class Job(TenantModel):
    """Long work, asked for in the same transaction as the request. The row is the truth, the broker the doorbell."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        WORKING = "working", "Working"
        DONE = "done", "Done"
        FAILED = "failed", "Failed"
        CANCELLED = "cancelled", "Cancelled"

    ENDED = (State.DONE, State.FAILED, State.CANCELLED)

    kind = models.CharField(max_length=64)
    queue = models.CharField(max_length=32)
    arguments = models.JSONField(default=dict)
    state = models.CharField(max_length=16, choices=State.choices, default=State.WAITING)
    progress = models.PositiveSmallIntegerField(default=0)  # percent
    progress_words = models.CharField(max_length=120, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    # The attempt number is a worker's proof that the job is its own: it only grows, so "try again" allows more.
    attempts_allowed = models.PositiveSmallIntegerField(default=4)
    lease_until = models.DateTimeField(null=True, blank=True)
    not_before = models.DateTimeField()
    rung_at = models.DateTimeField(null=True, blank=True)  # when the broker was last told
    error = models.TextField(blank=True)
    result = models.JSONField(default=dict)
    asked_by = reference("platform.Member", null=True, blank=True)
    asked_at = models.DateTimeField(auto_now_add=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    idempotency_key = models.CharField(max_length=128, null=True, blank=True)  # noqa: DJ001 - null is "none given" and unique

    class Meta:
        constraints = [
            *tenant_rules("job", refers_to=["asked_by"], door_reads=True),
            models.UniqueConstraint(fields=["studio", "kind", "idempotency_key"], name="job_once_per_key"),
            models.CheckConstraint(condition=models.Q(progress__lte=100), name="job_progress_is_percent"),
        ]
        indexes = [
            models.Index(
                fields=["not_before"], name="job_open", condition=models.Q(state__in=["waiting", "working"])
            ),
            models.Index(fields=["studio", "-asked_at"], name="job_newest"),
        ]


class AuditEntry(TenantModel):
    """Who did what, when, by which request; written in the transaction of the act."""

    at = models.DateTimeField(auto_now_add=True)
    member = reference("platform.Member", null=True, blank=True)
    request_id = models.CharField(max_length=64, blank=True)
    act = models.CharField(max_length=64)  # the service's name, e.g. "record_measuring"
    noun = models.CharField(max_length=64)
    object_id = models.UUIDField()
    client_id = models.UUIDField(null=True, blank=True)  # whom it concerns, so that erasure finds it
    detail = models.JSONField(default=dict)

    class Meta:
        constraints = tenant_rules("audit", refers_to=["member"], append_only=True)
        indexes = [
            models.Index(fields=["studio", "object_id", "-at"], name="audit_of_object"),
            models.Index(fields=["studio", "client_id"], name="audit_of_client"),
        ]


class StoredFile(TenantModel):
    """A file as it was stored, with its SHA-256; the bytes lie in the file storage under ``key``."""

    key = models.CharField(max_length=200)
    name = models.CharField(max_length=160)
    media_type = models.CharField(max_length=80)
    size = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    client_id = models.UUIDField(null=True, blank=True)
    stored_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            *tenant_rules("file", append_only=True),
            models.UniqueConstraint(fields=["studio", "key"], name="file_key_once"),
        ]


class StoredAnswer(TenantModel):
    """The answer to a creating request that carried an Idempotency-Key, replayed if the request comes again."""

    member = reference("platform.Member")
    key = models.CharField(max_length=128)
    fingerprint = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True, blank=True)
    body = models.JSONField(null=True, blank=True)
    headers = models.JSONField(default=dict)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            *tenant_rules("answer", refers_to=["member"]),
            models.UniqueConstraint(fields=["studio", "member", "key"], name="answer_once_per_key"),
        ]


class Erasure(TenantModel):
    """A person was erased on request: whom (by id alone), who answered for it, when. Replayed after a restore."""

    client_id = models.UUIDField()
    member = reference("platform.Member", null=True, blank=True)
    reason = models.CharField(max_length=200)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = tenant_rules("erasure", refers_to=["member"], append_only=True)
