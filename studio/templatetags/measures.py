"""How pages write figures of the body: always with a unit, in the reader's own.

``{{ mm|length:unit }}``, ``{{ kg|weight:unit }}``, ``{{ mm|difference:unit }}`` take "cm" or "in" (a weight
then is kg or lb); ``{% amount code value unit %}`` and ``{% amount_change code before after unit %}`` ask the
catalogue which of them a measure is.
"""

from collections.abc import Sized
from decimal import Decimal

from django import template

from studio.calc.units import WEIGHT_UNITS as SCALE_UNITS
from studio.calc.units import format_change, format_difference, format_length, format_weight
from studio.queries.catalogue import WEIGHT_UNITS, catalogue

register = template.Library()
Figure = Decimal | float | int | None


@register.filter
def length(mm: Figure | Sized, unit: str = "cm") -> str | int:
    """Millimetres in the reader's unit; nothing for None.

    It takes the place of Django's filter of the same name, so what can be counted is counted as that one does.
    """
    if isinstance(mm, Sized):
        return len(mm)
    return "" if mm is None else format_length(mm, unit)


@register.filter
def weight(kg: Figure, unit: str = "kg") -> str:
    """Kilograms in kg or lb; a unit of length ("cm", "in") chooses the weight that goes with it."""
    return "" if kg is None else format_weight(kg, unit if unit in SCALE_UNITS else WEIGHT_UNITS[unit])


@register.filter
def difference(mm: Figure, unit: str = "cm") -> str:
    """A change or an ease in millimetres, with its sign."""
    return "" if mm is None else format_difference(mm, unit)


@register.simple_tag
def amount(code: str, value: Figure, unit: str) -> str:
    """A value of the measure ``code`` (mm or kg), as a length or a weight."""
    known = catalogue().measures.get(code)  # a studio's own measures are lengths
    if value is None or known is None:
        return "" if value is None else format_length(value, unit)
    return known.in_words(value, unit)


@register.simple_tag
def amount_change(code: str, before: Figure, after: Figure, unit: str) -> str:
    """The change of the measure ``code``, as the difference of the two values as they are shown."""
    if before is None or after is None:
        return ""
    known = catalogue().measures.get(code)  # a studio's own measures are lengths
    if known is None:
        return format_change(before, after, unit)
    return known.change_in_words(before, after, unit)
