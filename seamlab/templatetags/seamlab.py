"""How this wing's pages write figures and verdicts."""

from decimal import Decimal

from django import template

register = template.Library()
CHIPS = {
    "passes": "done",
    "proven": "done",
    "fails": "stop",
    "tried": "care",
    "look_again": "unsure",
    "untested": "open",
}


@register.filter
def plain(value: Decimal | float | int | None) -> str:
    """A number without trailing zeros; nothing for None."""
    return "" if value is None else f"{Decimal(str(value)).normalize():f}"


@register.filter
def signed(value: Decimal | float | None) -> str:
    """A percentage with its sign, as a change is written; nothing for None."""
    if value is None:
        return ""
    text = plain(abs(Decimal(str(value))))
    sign = "" if not value else "\u2212" if value < 0 else "+"
    return f"{sign}{text}"


@register.filter
def chip(word: str) -> str:
    """The class of a chip for a verdict or a standing; its shape tells it apart without colour."""
    return CHIPS.get(word, "off")


@register.filter
def blade(metric: int) -> str:
    """Blade of a needle in mm: the metric size is its hundredths."""
    return f"{metric / 100:.2f}"
