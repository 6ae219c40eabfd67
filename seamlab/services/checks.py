"""What the services of this wing ask of what they are given, told as one sentence per field."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Any, TypeVar

from django.db import IntegrityError, models, transaction
from django.utils import timezone

from studio.calc.days import EARLIEST, check_not_too_early
from studio.platform.errors import Refused
from studio.platform.models.base import EditableModel
from studio.platform.services.saving import save_edit, save_new

Row = TypeVar("Row", bound=models.Model)
# Clocks of tablets run a little ahead; a day ahead is a slip.
CLOCK_SLACK = timedelta(minutes=10)


class Checks:
    """Collects what is wrong, so that all of it is told at once."""

    def __init__(self) -> None:
        self.reasons: dict[str, str] = {}

    def need(self, holds: bool, field: str, sentence: str) -> bool:
        if not holds:
            self.reasons.setdefault(field, sentence)
        return holds

    def positive(self, field: str, value: Decimal | None, words: str, *, unit: str, most: Decimal) -> bool:
        """Greater than 0 and at most ``most`` (a figure beyond which the unit must be wrong)."""
        if value is None:
            return True
        if not self.need(Decimal(value).is_finite(), field, f"{words} must be a number."):
            return False
        return self.need(value > 0, field, f"{words} must be greater than 0 {unit}.") and self.need(
            value <= most,
            field,
            f"{words}, {plain(value)} {unit}, is more than {plain(most)} {unit}: check the unit.",
        )

    def one_of(self, field: str, value: str, allowed: Mapping[str, Any] | list[str], words: str) -> bool:
        known = ", ".join(allowed)
        return self.need(value in allowed, field, f"{words} must be one of {known}; got {value!r}.")

    def done(self) -> None:
        if self.reasons:
            raise Refused(self.reasons)


def plain(value: Decimal) -> str:
    """A decimal without trailing zeros."""
    return f"{value.normalize():f}"


def old_and_new(changed: Mapping[str, Any]) -> dict[str, list[Any]]:
    """What ``save_edit`` changed as {field: [old, new]} for the audit entry, decimals as text."""
    return {
        field: [plain(value) if isinstance(value, Decimal) else value for value in values]
        for field, values in changed.items()
    }


def hundredths(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)


def moment(given: datetime | None, field: str) -> datetime:
    """When it was done, now if nothing is given; raises Refused for the future, the time
    before 1900, or a time without a zone."""
    now = timezone.now()
    if given is None:
        return now
    if timezone.is_naive(given):
        raise Refused({field: "The time needs a time zone."})
    if given > now + CLOCK_SLACK:
        raise Refused({field: f"{given:%Y-%m-%d %H:%M} lies in the future."})
    try:
        check_not_too_early(given)
    except ValueError as exc:
        raise Refused({field: str(exc)}) from exc
    return given


def day(given: date | None, field: str, today: date) -> date:
    """On which day it was done, today if nothing is given; raises Refused for the future or before 1900."""
    if given is None:
        return today
    if given > today:
        raise Refused({field: f"{given:%Y-%m-%d} lies in the future."})
    if given.year < EARLIEST.year:
        raise Refused({field: f"The year {given.year:04d} lies before {EARLIEST.year}: check the year."})
    return given


def refused_by_calc(exc: ValueError, names: Mapping[str, tuple[str, str]]) -> Refused:
    """A calculation's sentence starts with the name of its argument: name the field, in plain words.

    ``names`` maps the argument to (field, words).
    """
    text = str(exc)
    for argument, (field, words) in names.items():
        if text.startswith(argument):
            return Refused({field: words + text[len(argument) :]})
    return Refused(text)


def save_new_once(row: Row, constraint: str, field: str, sentence: str) -> Row:
    """``save_new``, where a second row of the same name is told as a sentence about ``field``."""
    try:
        with transaction.atomic():
            return save_new(row)
    except IntegrityError as exc:
        raise _told(exc, constraint, field, sentence) from exc


def save_edit_once(
    row: EditableModel, changes: Mapping[str, Any], constraint: str, field: str, sentence: str
) -> dict[str, Any]:
    """``save_edit`` with the same courtesy."""
    try:
        with transaction.atomic():
            return save_edit(row, changes)
    except IntegrityError as exc:
        raise _told(exc, constraint, field, sentence) from exc


def _told(exc: IntegrityError, constraint: str, field: str, sentence: str) -> Exception:
    diagnosis = getattr(exc.__cause__, "diag", None)
    if diagnosis is not None and diagnosis.constraint_name == constraint:
        return Refused({field: sentence})
    return exc
