"""Parts of a page that other wings bring (see ``Panel`` in studio/platform/registries.py)."""

from typing import Any

from django import template
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag(takes_context=True)
def show_panel(context: template.Context, panel: dict[str, Any]) -> SafeString:
    """Render ``panel["template"]`` with what ``panel["context"]`` holds, both by itself and as ``panel``."""
    assert context.template is not None
    found = context.template.engine.get_template(panel["template"])
    with context.push(**panel["context"], panel=panel["context"]):
        return found.render(context)
