"""What every page's frame needs: the member, the studio's name, the menu. No query: all of it is known already."""

from typing import Any

from django.http import HttpRequest

from studio.platform.registries import FINDERS, MENU


def shell(request: HttpRequest) -> dict[str, Any]:
    actor = getattr(request, "_actor", None)
    if actor is None:
        return {"actor": None}
    return {
        "actor": actor,
        "studio_name": getattr(request, "_studio_name", ""),
        "menu": [entry for entry in MENU if actor.may(entry.right)],
        "finder": next((entry for entry in FINDERS if actor.may(entry.right)), None),
        "several_studios": len(getattr(request, "_memberships", [])) > 1,
    }
