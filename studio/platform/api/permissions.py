"""An API view says per method which right it needs; a method without one is refused."""

from typing import Any

from rest_framework.exceptions import MethodNotAllowed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request


class Rights(BasePermission):
    """Signed in as a member whose role includes the right that the view names for this method."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if not request.user.is_authenticated:
            return False
        right = getattr(view, "rights", {}).get(request.method)
        if right is None:
            raise MethodNotAllowed(str(request.method))
        view.actor.need(right)  # raises NotAllowed, which names role and right
        return True
