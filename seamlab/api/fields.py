"""Fields that several serializers share. Lengths are millimetres, as decimal text: exact."""

from typing import Any

from rest_framework import serializers


def length_mm(**options: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=10, decimal_places=4, **options)


def percent(**options: Any) -> serializers.DecimalField:
    return serializers.DecimalField(max_digits=7, decimal_places=2, **options)
