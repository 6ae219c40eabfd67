"""What every page's frame needs: the member, the studio's name, the menu. No query: all of it is known already."""

from collections.abc import Iterator
from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from studio.platform.registries import FINDERS, MENU
from studio.platform.rights import Actor


def shell(request: HttpRequest) -> dict[str, Any]:
    actor = getattr(request, "_actor", None)
    if actor is None:
        return {"actor": None}
    return {
        "actor": actor,
        "studio_name": getattr(request, "_studio_name", ""),
        "menu": list(_menu(actor, request.path, aside=False)),
        "aside": list(_menu(actor, request.path, aside=True)),
        "finder": next((entry for entry in FINDERS if actor.may(entry.right)), None),
        "several_studios": len(getattr(request, "_memberships", [])) > 1,
    }


def _menu(actor: Actor, path: str, *, aside: bool) -> Iterator[tuple[str, str, str]]:
    """(words, address, "page" on its own page or "true" on one below it) of what this member may open."""
    for entry in MENU:
        if entry.aside == aside and actor.may(entry.right):
            address = reverse(entry.route)
            yield (
                entry.words,
                address,
                "page" if path == address else "true" if path.startswith(address) else "",
            )
