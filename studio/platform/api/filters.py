"""Filters of the platform's lists. They name fields, not models: no query is made when this is imported."""

import django_filters


class JobFilter(django_filters.FilterSet):
    state = django_filters.CharFilter(help_text="waiting, working, done, failed or cancelled")
    kind = django_filters.CharFilter()


class AuditFilter(django_filters.FilterSet):
    act = django_filters.CharFilter()
    object_id = django_filters.UUIDFilter()
