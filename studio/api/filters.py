"""By what lists of this wing can be narrowed."""

from django_filters import rest_framework as filters

from studio.platform.api.filters import MomentFilter


class MeasuringFilter(filters.FilterSet):
    client = filters.UUIDFilter(field_name="client_id")
    measured_after = MomentFilter(field_name="measured_at", lookup_expr="gte")
    measured_before = MomentFilter(field_name="measured_at", lookup_expr="lt")
