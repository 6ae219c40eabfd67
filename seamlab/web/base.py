"""What the pages of this wing share: the studio's unit, and whether the member may keep records."""

from typing import Any

from django.template.response import TemplateResponse

from studio.platform.rights import Right
from studio.platform.web.base import HousePage


class SeamPage(HousePage):
    """A page of this wing. Reading needs ``READ_SEAMS``; a page with ``rights`` says what else."""

    right = Right.READ_SEAMS

    @property
    def unit(self) -> str:
        return self.actor.unit

    def page(self, template: str, *, status: int = 200, **context: Any) -> TemplateResponse:
        keeps = self.actor.may(Right.KEEP_SEAMS)
        return super().page(template, status=status, unit=self.unit, keeps=keeps, **context)


class KeepingPage(SeamPage):
    """A page on which something is recorded."""

    right = Right.KEEP_SEAMS
