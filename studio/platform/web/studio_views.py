"""The studio's own page: name, address, time zone, unit and colour; and the colour as a style sheet."""

from django.http import Http404, HttpRequest, HttpResponse
from django.views import View

from studio.platform.colour import checked_colour, contrast, page_colours
from studio.platform.queries.people import studio_get
from studio.platform.rights import Right
from studio.platform.services.studios import FIELDS, change_studio
from studio.platform.web.base import HousePage
from studio.platform.web.forms import StudioForm

A_YEAR = 365 * 24 * 3600


class StudioPage(HousePage):
    right = Right.KEEP_STUDIO

    def get(self, request: HttpRequest, form: StudioForm | None = None) -> HttpResponse:
        studio = studio_get(self.actor)
        initial = {name: getattr(studio, name) for name in (*FIELDS, "version")}
        return self.page(
            "platform/studio.html",
            studio=studio,
            form=form or StudioForm(initial=initial),
            on_white=f"{contrast(studio.colour, '#ffffff'):.1f}",
            status=400 if form else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        form = StudioForm(request.POST)
        if form.is_valid():
            given = dict(form.cleaned_data)
            version = given.pop("version")
            if not given["language"]:  # not said: as it is
                del given["language"]
            if self.attempt(form, change_studio, expected_version=version, **given) is not None:
                return self.done("Saved. What was issued before keeps what it said.", "platform:studio")
        return self.get(request, form)


class ColourSheet(View):
    """A studio's colour for a page that a client opens. It is the colour's own address, so it can be kept for ever."""

    def get(self, request: HttpRequest, colour: str) -> HttpResponse:
        try:
            sheet = page_colours(checked_colour(f"#{colour}"))
        except ValueError as exc:
            raise Http404 from exc
        return HttpResponse(
            sheet, content_type="text/css", headers={"Cache-Control": f"public, max-age={A_YEAR}, immutable"}
        )
