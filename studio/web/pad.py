"""The pad: a tablet's page on which one client is taped, with or without a network.

What the page needs is on board when it opens: the measures, the walk, the limits for flags. Earlier figures
are not: whoever tapes should not know them. The worker keeps the page for a reload without a network, for
this member alone and no longer than the session lives.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any
from uuid import UUID

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.urls import reverse
from django.utils import timezone
from django.views import View

from studio.figures.body import body_figure
from studio.figures.tape import tape_line
from studio.platform.errors import NotHere
from studio.platform.rights import Right
from studio.platform.web.base import HousePage
from studio.queries import clients, plausibility
from studio.queries.catalogue import CatalogueMeasure, MeasureSet
from studio.queries.choices import known_measures, measures_for, set_for
from studio.queries.trust import technical_errors_for

FIRST_SET = "basic_twelve"
BUILDS = ("adult", "child")
FIGURES_KEPT_SECONDS = 24 * 3600


class Pad(HousePage):
    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        client = clients.client_get(self.actor, client_id)
        if client.erased_at is not None:
            raise NotHere("client")
        offered = measures_for(self.actor)
        first = FIRST_SET if FIRST_SET in offered.sets else next(iter(offered.sets), "")
        asked = request.GET.get("set") or first
        # A class goes on with the set that it began with, hidden or not.
        chosen = offered.sets[asked] if asked in offered.sets else set_for(self.actor, asked)[0]
        sets = {**offered.sets, chosen.code: chosen}
        minor = client.is_minor(timezone.localdate())
        hindrance = clients.hindrance_of(self.actor, client)
        get_token(request)  # the cookie with which readings are sent
        response = self.page(
            "studio/pad.html",
            client=client,
            minor=minor,
            hindrance=hindrance,
            board=None if hindrance else self._board(client, offered.measures, sets, minor=minor),
            sets=sets.values(),
            chosen=chosen,
        )
        response["Cache-Control"] = "no-store"
        response["X-Pad-Member"] = str(self.actor.member_id)
        response["X-Pad-Until"] = request.session.get_expiry_date().isoformat()
        return response

    def _board(
        self,
        client: Any,
        measures: Mapping[str, CatalogueMeasure],
        sets: Mapping[str, MeasureSet],
        *,
        minor: bool,
    ) -> dict[str, Any]:
        judged = plausibility.limits_at_hand(self.actor, client.pk)
        errors = technical_errors_for(self.actor, measures)
        return {
            "member": str(self.actor.member_id),
            "client": {
                "id": str(client.pk),
                "name": client.name,
                "unit": client.unit,
                "minor": minor,
                "guardian": client.guardian_name,
            },
            "sets": {
                each.code: {
                    "name": each.name,
                    "measures": each.measures,
                    "twice": [code for code in each.measures if code in each.repeat],
                }
                for each in sets.values()
            },
            "measures": {
                code: _on_board(found, errors[code].value, minor=minor) for code, found in measures.items()
            },
            "limits": judged.limits,
            "basis": judged.basis,
            "judge": reverse("api-client-plausibility", args=[client.pk]),
        }


class PadFigure(HousePage):
    """One measure's tape line on the body. It tells nothing of anybody, so it may be kept."""

    right = Right.RECORD_MEASURING

    def get(self, request: HttpRequest, build: str, code: str) -> HttpResponse:
        found = known_measures(self.actor).get(code)
        if found is None or not found.figure or build not in BUILDS:
            raise NotHere("figure")
        line = tape_line(1, found.figure, body_side=found.side, label=found.name)
        svg = body_figure(found.figure["view"], [line], build=build, labels=False)
        response = HttpResponse(svg, content_type="image/svg+xml")
        response["Cache-Control"] = f"private, max-age={FIGURES_KEPT_SECONDS}"
        return response


class PadWorker(View):
    """The pad's worker, served from the root: it must see a sign-out to forget what it kept."""

    def get(self, request: HttpRequest) -> HttpResponse:
        found = finders.find("studio/pad/worker.js")
        if not isinstance(found, str):
            raise NotHere("worker")
        response = HttpResponse(Path(found).read_bytes(), content_type="text/javascript; charset=utf-8")
        response["Cache-Control"] = "no-cache"
        return response


def _on_board(found: CatalogueMeasure, error: float, *, minor: bool) -> dict[str, Any]:
    build = "child" if minor else "adult"
    return {
        "name": found.name,
        "unit": found.unit,
        "how": found.instruction,
        "error": error,
        "range": found.range_for(minor=minor),
        "figure": reverse("studio:pad-figure", args=[build, found.code]) if found.figure else None,
    }
