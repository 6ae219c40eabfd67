"""Pages of this wing: clients, their consent, their measurings."""

from typing import Any
from uuid import UUID

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from studio.platform.errors import NotHere
from studio.platform.registries import CLIENT_PANELS
from studio.platform.rights import Actor, Right
from studio.platform.web.base import HousePage
from studio.queries import clients, measuring
from studio.services import clients as client_services
from studio.web.drawings import body_rows, body_views
from studio.web.forms import (
    ConsentForm,
    EditClientForm,
    EraseForm,
    NewClientForm,
)

PAGE_ROWS = 50


class Clients(HousePage):
    """Everybody by name; with words in the address, whom they find. htmx asks for the rows alone as one
    types.
    """

    right = Right.FIND_CLIENTS

    def get(self, request: HttpRequest) -> HttpResponse:
        words = request.GET.get("words", "").strip()
        context: dict[str, Any] = {"words": words}
        if words:
            context["hits"] = [
                (found, clients.mark_found(found.name, words), clients.mark_found(found.words, words))
                for found in clients.find_clients(self.actor, words)
            ]
        else:
            rows = Paginator(clients.client_list(self.actor), PAGE_ROWS)
            context["rows"] = rows.get_page(request.GET.get("page"))
        partial = request.headers.get("HX-Request") and not request.headers.get("HX-Boosted")
        response = self.page("studio/_hits.html" if partial else "studio/clients.html", **context)
        response["Vary"] = "HX-Request"
        return response


class Client(HousePage):
    right = Right.FIND_CLIENTS

    def get(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        client = clients.client_get(self.actor, client_id)
        if client.erased_at is not None:
            return self.page("studio/erased.html", client=client, panels=self._panels(client_id))
        today = timezone.localdate()
        consents = clients.consent_states(self.actor, client_id)
        measured = next(state for state in consents if state.kind == "measure")
        context: dict[str, Any] = {
            "client": client,
            "minor": client.is_minor(today),
            "consents": consents,
            "hindrance": clients.hindrance(client, measured.latest, today),
            "may": _may(self.actor),
            "panels": self._panels(client_id),
        }
        if self.actor.may(Right.READ_READINGS):
            rows = body_rows(measuring.body_of(self.actor, client_id), client.unit)
            changes = measuring.changes_of(self.actor, client_id)
            context |= {
                "rows": rows,
                "views": body_views(rows, child=client.is_minor(today)),
                "beyond": [change for change in changes if change.beyond],
                "compared": len(changes),
                "measurings": list(measuring.measuring_list(self.actor, client_id=client_id)),
            }
        return self.page("studio/client.html", **context)

    def _panels(self, client_id: UUID) -> list[dict[str, Any]]:
        return [
            {"template": panel.template, "context": panel.context(self.actor, client_id)}
            for panel in CLIENT_PANELS
            if self.actor.may(panel.right)
        ]


class NewClient(HousePage):
    right = Right.KEEP_CLIENTS

    def get(self, request: HttpRequest) -> HttpResponse:
        form = NewClientForm(
            initial={
                "unit": self.actor.unit,
                "name": request.GET.get("name", ""),
                "figures_in_report": True,
                "body_model": "both",
            }
        )
        return self.page("studio/new_client.html", form=form)

    def post(self, request: HttpRequest) -> HttpResponse:
        form = NewClientForm(request.POST)
        if form.is_valid():
            client = self.attempt(form, client_services.record_client, **form.cleaned_data)
            if client:
                return self.done("Recorded.", "studio:client", client.pk)
        return self.page("studio/new_client.html", form=form, status=400)


class EditClient(HousePage):
    right = Right.KEEP_CLIENTS

    def get(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        client = clients.client_get(self.actor, client_id)
        form = EditClientForm(initial={name: getattr(client, name) for name in EditClientForm.base_fields})
        return self.page("studio/edit_client.html", client=client, form=form)

    def post(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        client = clients.client_get(self.actor, client_id)
        form = EditClientForm(request.POST)
        if form.is_valid():
            facts = dict(form.cleaned_data)
            version = facts.pop("version")
            if self.attempt(
                form, client_services.change_client, client_id, expected_version=version, **facts
            ):
                return self.done("Saved.", "studio:client", client_id)
        return self.page("studio/edit_client.html", client=client, form=form, status=400)


class Consent(HousePage):
    right = Right.KEEP_CLIENTS

    def get(self, request: HttpRequest, client_id: UUID, form: ConsentForm | None = None) -> HttpResponse:
        client = clients.client_get(self.actor, client_id)
        states = {state.kind: state for state in clients.consent_states(self.actor, client_id)}
        kind = (form["kind"].value() if form else request.GET.get("kind")) or "measure"
        if kind not in states:
            raise NotHere("kind of consent")
        if form is None:
            minor = client.is_minor(timezone.localdate())
            form = ConsentForm(
                initial={
                    "kind": kind,
                    "given": "no" if states[kind].holds else "yes",
                    "given_by": client.guardian_name if minor else client.name,
                    "by_guardian": minor,
                }
            )
        return self.page(
            "studio/consent.html",
            client=client,
            state=states[kind],
            form=form,
            answers=[
                row for row in clients.consent_list(self.actor, client_id)[:PAGE_ROWS] if row.kind == kind
            ],
            status=400 if form.errors else 200,
        )

    def post(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        form = ConsentForm(request.POST)
        if form.is_valid():
            answer = self.attempt(form, client_services.record_consent, client_id, **form.cleaned_data)
            if answer is not None:
                return self.done("Written down.", "studio:client", client_id)
        return self.get(request, client_id, form)


class EraseClient(HousePage):
    right = Right.EXPORT_AND_ERASE
    asks_again = frozenset({"POST"})

    def get(self, request: HttpRequest, client_id: UUID, form: EraseForm | None = None) -> HttpResponse:
        client = clients.client_get(self.actor, client_id)
        form = form or EraseForm()
        return self.page(
            "studio/erase_client.html", client=client, form=form, status=400 if form.errors else 200
        )

    def post(self, request: HttpRequest, client_id: UUID) -> HttpResponse:
        form = EraseForm(request.POST)
        if form.is_valid():
            reason = form.cleaned_data["reason"]
            erasure = self.attempt(form, client_services.erase_client, client_id, reason=reason)
            if erasure is not None:
                return self.done("Erased.", "studio:clients")
        return self.get(request, client_id, form)


def _may(actor: Actor) -> dict[str, bool]:
    """What the client's page offers this member."""
    return {
        "keep": actor.may(Right.KEEP_CLIENTS),
        "read": actor.may(Right.READ_READINGS),
        "measure": actor.may(Right.RECORD_MEASURING),
        "erase": actor.may(Right.EXPORT_AND_ERASE),
    }
