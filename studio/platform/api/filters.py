"""Filters of the platform's lists. They name fields, not models: no query is made when this is imported."""

from datetime import UTC, datetime
from typing import Any

import django_filters
from django.core.exceptions import ValidationError


class MomentField(django_filters.fields.IsoDateTimeField):
    """A moment in UTC: what the calendar has no day for in UTC is no moment, and the database knows few offsets."""

    def clean(self, value: Any) -> datetime | None:
        found: datetime | None = super().clean(value)
        try:
            return None if found is None else found.astimezone(UTC)
        except OverflowError:
            raise ValidationError("This lies outside the calendar.") from None


class MomentFilter(django_filters.IsoDateTimeFilter):
    """By a moment as ISO 8601 writes it."""

    field_class = MomentField


class JobFilter(django_filters.FilterSet):
    state = django_filters.CharFilter(help_text="waiting, working, done, failed or cancelled")
    kind = django_filters.CharFilter()


class AuditFilter(django_filters.FilterSet):
    act = django_filters.CharFilter()
    object_id = django_filters.UUIDFilter()
