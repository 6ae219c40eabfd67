"""What the pages of this wing share."""

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.utils.safestring import SafeString, mark_safe

from studio.platform.errors import Conflict, Refused
from studio.platform.web.base import HousePage

SEAM_PLACES = (
    "side seams",
    "inside leg",
    "crotch seam",
    "shoulder seams",
    "armholes",
    "waist seam",
    "hem",
    "sleeve hems",
)


class FittingPage(HousePage):
    """A page of this half of the wing."""

    def try_or_tell(self, act: Any, *args: Any, **values: Any) -> Any:
        """Run a service for a button without a form; what it refuses is told on the next page and None comes back."""
        try:
            with transaction.atomic():
                return act(self.actor, *args, **values)
        except (Refused, Conflict) as exc:
            messages.error(self.request, str(exc))
            return None


def drawn(figure: str) -> SafeString:
    """A drawing as part of a page."""
    return mark_safe(figure)  # noqa: S308 - drawn by our own figures, which escape every text
