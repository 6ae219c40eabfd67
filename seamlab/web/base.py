"""What the pages of this wing share: the studio's unit and times, and whether the member may keep records."""

from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from django.template.response import TemplateResponse
from django.utils import timezone

from studio.platform.queries.people import studio_get
from studio.platform.rights import Right
from studio.platform.web.base import HousePage


class SeamPage(HousePage):
    """A page of this wing. Reading needs ``READ_SEAMS``; a page with ``rights`` says what else."""

    right = Right.READ_SEAMS

    @cached_property
    def house(self) -> Any:
        return studio_get(self.actor)

    @property
    def unit(self) -> str:
        return str(self.house.unit)

    def page(self, template: str, *, status: int = 200, **context: Any) -> TemplateResponse:
        """The page, rendered at once: dates are the studio's own."""
        keeps = self.actor.may(Right.KEEP_SEAMS)
        response = super().page(template, status=status, unit=self.unit, keeps=keeps, **context)
        with timezone.override(ZoneInfo(self.house.time_zone)):
            response.render()
        return response


class KeepingPage(SeamPage):
    """A page on which something is recorded."""

    right = Right.KEEP_SEAMS
