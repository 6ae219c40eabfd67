"""When something can have been done: a half-typed year (0202) gives a date that no calendar of the studio can show."""

from datetime import UTC, datetime

EARLIEST = datetime(1900, 1, 1, tzinfo=UTC)


def check_not_too_early(at: datetime) -> None:
    """Return quietly for a time (with its zone) from 1900 on; else raise ``ValueError`` in a sentence for who typed
    it.
    """
    if at.tzinfo is None:
        raise ValueError("The time needs its time zone.")
    if at < EARLIEST:
        raise ValueError(f"The year {at.year:04d} lies before {EARLIEST.year}: check the year.")
