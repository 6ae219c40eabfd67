"""By what lists of this wing can be narrowed."""

from django_filters import rest_framework as filters


class MeasuringFilter(filters.FilterSet):
    client = filters.UUIDFilter(field_name="client_id")
    measured_after = filters.IsoDateTimeFilter(field_name="measured_at", lookup_expr="gte")
    measured_before = filters.IsoDateTimeFilter(field_name="measured_at", lookup_expr="lt")
