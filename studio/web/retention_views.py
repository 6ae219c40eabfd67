"""Pages about keeping: how long, who is due, whose consent ended."""

from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse

from studio.platform.rights import Right
from studio.platform.web.base import HousePage
from studio.queries import retention
from studio.queries.clients import client_get
from studio.services import retention as services
from studio.web.trust_forms import KeepForm, KeepingForm

PAGE_ROWS = 50


class Retention(HousePage):
    right = Right.EXPORT_AND_ERASE

    def get(self, request: HttpRequest, form: KeepingForm | None = None) -> HttpResponse:
        keeping = retention.keeping_of(self.actor)
        due = Paginator(retention.due_clients(self.actor, keeping), PAGE_ROWS)
        return self.page(
            "studio/trust/retention.html",
            keeping=keeping,
            form=form or KeepingForm(initial={"months": keeping.months}),
            due=due.get_page(request.GET.get("page")),
            withdrawn=list(retention.withdrawn_clients(self.actor)[:PAGE_ROWS]),
            grown_up=list(retention.grown_up_clients(self.actor)[:PAGE_ROWS]),
            status=400 if form else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        form = KeepingForm(request.POST)
        if form.is_valid():
            saved = self.attempt(form, services.set_keep_months, months=form.cleaned_data["months"])
            if saved is not None:
                return self.done("Saved.", "studio:retention")
        return self.get(request, form)


class KeepClient(HousePage):
    right = Right.EXPORT_AND_ERASE

    def get(self, request: HttpRequest, client_id: UUID, form: KeepForm | None = None) -> HttpResponse:
        client = client_get(self.actor, client_id)
        return self.page(
            "studio/trust/keep_client.html",
            client=client,
            form=form or KeepForm(),
            status=400 if form else 200,
        )

    def post(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        form = KeepForm(request.POST)
        if form.is_valid():
            reason = form.cleaned_data["reason"]
            if self.attempt(form, services.keep_client, client_id, reason=reason) is not None:
                return self.done("Kept; the months run anew.", "studio:retention")
        return self.get(request, client_id, form)
