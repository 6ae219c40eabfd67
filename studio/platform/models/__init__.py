from studio.platform.models.people import (
    ApiToken,
    Invitation,
    Member,
    SetupLink,
    SignInAttempt,
    Studio,
    User,
)
from studio.platform.models.record import AuditEntry, Erasure, Job, StoredAnswer, StoredFile

__all__ = [
    "ApiToken",
    "AuditEntry",
    "Erasure",
    "Invitation",
    "Job",
    "Member",
    "SetupLink",
    "SignInAttempt",
    "StoredAnswer",
    "StoredFile",
    "Studio",
    "User",
]
