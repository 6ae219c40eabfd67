from studio.platform.models.people import (
    ApiToken,
    Invitation,
    Member,
    SetupLink,
    Studio,
    User,
)
from studio.platform.models.record import AuditEntry, Erasure, Job, StoredAnswer, StoredFile
from studio.platform.models.sign_in import CodeKey, Passkey, RecoveryCode, Session, Tally

__all__ = [
    "ApiToken",
    "AuditEntry",
    "CodeKey",
    "Erasure",
    "Invitation",
    "Job",
    "Member",
    "Passkey",
    "RecoveryCode",
    "Session",
    "SetupLink",
    "StoredAnswer",
    "StoredFile",
    "Studio",
    "Tally",
    "User",
]
