"""Pages of the calendar: a week of fittings, agreeing on one, private addresses; and the feed itself."""

from datetime import date
from uuid import UUID

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.utils import timezone

from fitting.queries import appointments as queries
from fitting.queries import garments as garment_queries
from fitting.services import appointments as services
from fitting.web.base import FittingPage
from fitting.web.calendar_forms import AppointmentForm
from studio.platform.rights import Right
from studio.platform.web.base import PublicPage


class CalendarPage(FittingPage):
    """A week of fittings."""

    right = Right.KEEP_GARMENTS

    def get(self, request: HttpRequest) -> HttpResponse:
        try:
            on = date.fromisoformat(request.GET.get("week", ""))
        except ValueError:
            on = timezone.localdate()
        if not 2000 <= on.year <= 2200:
            on = timezone.localdate()
        return self.page(
            "fitting/calendar/week.html",
            week=queries.week(self.actor, on),
            feeds=queries.feeds_of(self.actor),
        )


class NewAppointment(FittingPage):
    right = Right.KEEP_GARMENTS

    def get(
        self, request: HttpRequest, garment_id: UUID, form: AppointmentForm | None = None
    ) -> HttpResponse:
        garment = garment_queries.garment_row(self.actor, garment_id)
        return self.page(
            "fitting/calendar/agree.html",
            garment=garment,
            form=form or AppointmentForm(fitters=_fitters()),
            agreed=queries.agreed_of(self.actor, garment_id),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, garment_id: UUID) -> HttpResponse:
        form = AppointmentForm(request.POST, fitters=_fitters())
        if form.is_valid():
            given = dict(form.cleaned_data)
            made = self.attempt(
                form, services.agree_fitting, garment_id, fitter_id=given.pop("fitter"), **given
            )
            if made:
                return self.done("Agreed. It stands in the calendar.", "fitting:garment", garment_id)
        return self.get(request, garment_id, form)


class MoveAppointment(FittingPage):
    right = Right.KEEP_GARMENTS

    def get(
        self, request: HttpRequest, appointment_id: UUID, form: AppointmentForm | None = None
    ) -> HttpResponse:
        row = queries.appointment_get(self.actor, appointment_id)
        initial = {
            "starts_at": timezone.localtime(row.starts_at),
            "minutes": row.minutes,
            "fitter": str(row.fitter_id or ""),
            "version": row.version,
        }
        return self.page(
            "fitting/calendar/move.html",
            appointment=row,
            form=form or AppointmentForm(fitters=_fitters(), moving=True, initial=initial),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, appointment_id: UUID) -> HttpResponse:
        row = queries.appointment_get(self.actor, appointment_id)
        form = AppointmentForm(request.POST, fitters=_fitters(), moving=True)
        if form.is_valid():
            given = dict(form.cleaned_data)
            made = self.attempt(
                form,
                services.move_fitting,
                appointment_id,
                fitter_id=given.pop("fitter"),
                expected_version=given.pop("version"),
                **given,
            )
            if made:
                return self.done("Moved.", "fitting:garment", row.garment_id)
        return self.get(request, appointment_id, form)


class CallOff(FittingPage):
    right = Right.KEEP_GARMENTS

    def post(self, request: HttpRequest, appointment_id: UUID) -> HttpResponseRedirect:
        row = queries.appointment_get(self.actor, appointment_id)
        if self.try_or_tell(services.call_off_fitting, appointment_id):
            return self.done("Called off.", "fitting:garment", row.garment_id)
        return redirect("fitting:garment", row.garment_id)


class MakeFeed(FittingPage):
    right = Right.KEEP_GARMENTS

    def post(self, request: HttpRequest) -> HttpResponseRedirect:
        if self.try_or_tell(services.make_feed, mine_only="mine" in request.POST):
            return self.done("The address is made. Whoever has it reads the fittings.", "fitting:calendar")
        return redirect("fitting:calendar")


class RevokeFeed(FittingPage):
    right = Right.KEEP_GARMENTS

    def post(self, request: HttpRequest, feed_id: UUID) -> HttpResponseRedirect:
        services.revoke_feed(self.actor, feed_id)
        return self.done("The address opens nothing any more.", "fitting:calendar")


class Feed(PublicPage):
    """The feed for a calendar program: no account, the address is the key."""

    def get(self, request: HttpRequest, signed: str) -> HttpResponse:
        answer = HttpResponse(queries.feed(signed), content_type="text/calendar; charset=utf-8")
        answer["Cache-Control"] = "private, max-age=300"
        answer["X-Robots-Tag"] = "noindex"
        return answer


def _fitters() -> list[tuple[str, str]]:
    return [(str(member.pk), member.name) for member in queries.fitters()]
