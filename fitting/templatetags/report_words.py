"""One tag for what a client reads: ``{% say "What happens next" %}`` in the language of the context's ``voice``.

``{% say "Last taken on {day}." day=measured_on %}`` fills places; ``count=number`` chooses the form. What it gives is
escaped as any variable is.
"""

from typing import Any

from django import template

register = template.Library()


@register.simple_tag(takes_context=True)
def say(context: Any, text: str, *, count: int | None = None, **values: Any) -> str:
    """The sentence in the voice's language."""
    said: str = context["voice"](text, count=count, **values)
    return said
