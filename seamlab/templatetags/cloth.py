"""How pages write lengths of cloth."""

from decimal import Decimal

from django import template

register = template.Library()
MM_PER_YARD = Decimal("914.4")


@register.filter
def on_bolt(mm: Decimal | None, unit: str = "cm") -> str:
    """A length on a bolt: metres to the centimetre, or yards to a hundredth; nothing for None."""
    if mm is None:
        return ""
    if unit == "in":
        return f"{mm / MM_PER_YARD:.2f}\u00a0yd"
    return f"{mm / 1000:.2f}\u00a0m"
