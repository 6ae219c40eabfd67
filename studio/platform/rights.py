"""Who may do what: the one table of roles and rights, and the member who acts."""

from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID
from zoneinfo import ZoneInfo

from studio.platform.errors import NotAllowed


class Right(StrEnum):
    """Each right completes the sentence "this role may not ..."."""

    FIND_CLIENTS = "find clients"
    KEEP_CLIENTS = "record clients and their consent"
    READ_READINGS = "read body measurements"
    RECORD_MEASURING = "record body measurements"
    READ_PAPER = "read patterns"
    KEEP_PAPER = "record patterns and fit plans"
    READ_FIT_PLANS = "read fit plans"
    READ_SEAMS = "read cloth and seams"
    KEEP_SEAMS = "record cloth, seams and trials"
    KEEP_GARMENTS = "record garments"
    KEEP_PRICES = "change the price list"
    READ_FIT_HISTORY = "read past garments, accepted ease and changes made"
    READ_FIT_NOTES = "read fit notes"
    FIT = "hold fitting sessions and decide changes"
    READ_REPORTS = "open fit reports"
    ISSUE_REPORTS = "issue fit reports"
    SEND_LINKS = "make a client's link"
    SEE_JOBS = "see long work in progress"
    KEEP_STUDIO = "change the studio's name, address, units and colour"
    KEEP_MEMBERS = "invite and change members"
    EXPORT_AND_ERASE = "export or erase a client"
    READ_AUDIT = "read who did what"


_CLERK = {
    Right.FIND_CLIENTS,
    Right.KEEP_CLIENTS,
    Right.READ_PAPER,
    Right.READ_SEAMS,
    Right.KEEP_GARMENTS,
    Right.READ_FIT_HISTORY,
    Right.SEND_LINKS,
    Right.SEE_JOBS,
}
_INSTRUCTOR = _CLERK | {
    Right.READ_READINGS,
    Right.RECORD_MEASURING,
    Right.KEEP_PAPER,
    Right.READ_FIT_PLANS,
    Right.KEEP_SEAMS,
    Right.KEEP_PRICES,
    Right.READ_FIT_NOTES,
    Right.FIT,
    Right.READ_REPORTS,
    Right.ISSUE_REPORTS,
}
RIGHTS: dict[str, frozenset[Right]] = {
    "owner": frozenset(
        _INSTRUCTOR | {Right.KEEP_STUDIO, Right.KEEP_MEMBERS, Right.EXPORT_AND_ERASE, Right.READ_AUDIT}
    ),
    "instructor": frozenset(_INSTRUCTOR),
    "clerk": frozenset(_CLERK),
}


@dataclass(frozen=True)
class Actor:
    """The member on whose behalf something is done. Services and queries take her first.

    ``time_zone`` and ``unit`` ("cm" or "in") are her studio's.
    """

    studio_id: UUID
    member_id: UUID
    user_id: UUID
    role: str
    name: str
    time_zone: str = "UTC"
    unit: str = "cm"

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def may(self, right: Right) -> bool:
        return right in RIGHTS[self.role]

    def need(self, *rights: Right) -> None:
        """Raise NotAllowed with a sentence unless the role includes all of these rights."""
        for right in rights:
            if not self.may(right):
                article = "An" if self.role[0] in "aeiou" else "A"
                raise NotAllowed(f"{article} {self.role} may not {right.value}.")
