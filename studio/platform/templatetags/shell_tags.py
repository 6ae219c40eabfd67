"""One tag: say a page's title once and show it twice (in the window's title and as its heading)."""

from typing import Any

from django import template
from django.template.base import Node, NodeList, Parser, Token
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


class KeepNode(Node):
    def __init__(self, name: str, nodelist: NodeList) -> None:
        self.name, self.nodelist = name, nodelist

    def render(self, context: Any) -> SafeString:
        shown = mark_safe(self.nodelist.render(context).strip())  # noqa: S308 - rendered, hence escaped already
        context[self.name] = shown
        return shown


@register.tag
def keep(parser: Parser, token: Token) -> KeepNode:
    """``{% keep name %}...{% endkeep %}`` shows what is inside and keeps it as a variable for the rest of the page."""
    _, name = token.split_contents()
    nodelist = parser.parse(("endkeep",))
    parser.delete_first_token()
    return KeepNode(name, nodelist)
