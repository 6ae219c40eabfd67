"""What pages say about trust: small differences finely, and consents that ended.

``{% amount_fine measure value unit %}`` and ``{% change_fine measure value unit %}`` write an error or a mean
difference to 0.1 mm (1/16 in, 0.01 kg); ``{% consent_notices client consents as notices %}``.
"""

from decimal import Decimal
from typing import Any

from django import template
from django.utils import timezone

from studio.calc.units import format_difference, format_length, format_weight
from studio.queries import retention
from studio.queries.catalogue import CatalogueMeasure

register = template.Library()
MINUS = "\u2212"
STEPS = {"cm": Decimal("0.01"), "in": Decimal(1) / 16, "kg": Decimal("0.01"), "lb": Decimal("0.01")}
Figure = Decimal | float | int | None


@register.simple_tag
def amount_fine(measure: CatalogueMeasure, value: Figure, unit: str) -> str:
    """An error of this measure, mm (weight: kg), finely in the reader's unit."""
    if value is None:
        return ""
    shown = measure.typed_in(unit)
    if measure.unit == "kg":
        return format_weight(value, shown, STEPS[shown])
    return format_length(value, shown, STEPS[shown])


@register.simple_tag
def change_fine(measure: CatalogueMeasure, value: Figure, unit: str) -> str:
    """A mean difference or a yearly rate of this measure, with its sign."""
    if value is None:
        return ""
    shown = measure.typed_in(unit)
    if measure.unit != "kg":
        return format_difference(value, shown, STEPS[shown])
    text = format_weight(-value if value < 0 else value, shown, STEPS[shown])
    if not any(digit in text for digit in "123456789"):
        return text
    return (MINUS if value < 0 else "+") + text


@register.simple_tag
def consent_notices(client: Any, states: Any) -> list[retention.Notice]:
    """What is to be said of consents that ended; asks nothing of the database."""
    return retention.consent_notices(client, states, timezone.localdate())
