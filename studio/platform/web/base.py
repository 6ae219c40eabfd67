"""The pages' base view: finds who and which studio, keeps the scope open until the page is rendered
in the studio's own time.

A view names its ``right`` (or ``rights`` by method), turns text into typed values with a form, calls one service or
one query, and renders. Refusals of a service come back to the form field that they name.
"""

from collections.abc import Callable
from typing import Any, TypeVar

from django import forms
from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.db import transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils import timezone
from django.views import View

from studio.platform.actors import member_at, second_step_wanted
from studio.platform.database.scope import studio_scope
from studio.platform.errors import Conflict, NotAllowed, NotHere, Refused, Stale
from studio.platform.looking import note_look
from studio.platform.rights import Actor, Right
from studio.platform.web.errors import error_page
from studio.platform.web.visits import ask_once_more

Made = TypeVar("Made")


class HousePage(View):
    """Base of every page for members."""

    right: Right | None = None
    rights: dict[str, Right] = {}  # by method, where GET and POST differ
    asks_again: frozenset[str] = frozenset()  # methods before which she proves once more who she is
    actor: Actor

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        actor = member_at(request)
        if actor is None:
            if second_step_wanted(request):
                return redirect("platform:account")
            if getattr(request, "user", None) is not None and request.user.is_authenticated:
                return redirect("platform:choose-studio")
            return redirect_to_login(request.get_full_path())
        self.actor = actor
        try:
            needed = self.rights.get(request.method or "", self.right)
            if needed is not None:
                actor.need(needed)
            if request.method in self.asks_again:
                asked = ask_once_more(request)  # outside the scope, so that counting outlives a rollback
                if asked is not None:
                    return asked
            with studio_scope(actor.studio_id), timezone.override(actor.zone):
                response = super().dispatch(request, *args, **kwargs)
                if isinstance(response, TemplateResponse):
                    response.render()  # inside the scope: a late query in a template would see nothing outside
                note_look(actor, request.method, response.status_code, kwargs)
                if response.status_code >= 400:
                    transaction.set_rollback(True)
        except NotHere as exc:
            return error_page(request, 404, "Not here", str(exc))
        except NotAllowed as exc:
            return error_page(request, 403, "Not included in your role", str(exc))
        except (Stale, Conflict, Refused) as exc:
            return error_page(request, 409, "Not done", str(exc))
        # A shared tablet shows the next person nothing that its browser remembers.
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    def page(self, template: str, *, status: int = 200, **context: Any) -> TemplateResponse:
        return TemplateResponse(self.request, template, context, status=status)

    def attempt(self, form: forms.Form, act: Callable[..., Made], *args: Any, **values: Any) -> Made | None:
        """Run a service; what it refuses is written beside the form's fields and None comes back.

        The service runs in a savepoint of its own, so a refusal leaves nothing behind although the page goes on.
        """
        try:
            with transaction.atomic():
                return act(self.actor, *args, **values)
        except Refused as exc:
            for field, reason in exc.reasons.items():
                known = field if field in form.fields else None
                form.add_error(known, reason if known or not field else f"{field}: {reason}")
        except (Conflict, Stale) as exc:
            form.add_error(None, str(exc))
        return None

    def done(self, words: str, to: str, *args: Any) -> HttpResponseRedirect:
        """After a successful act: tell it, then show the page it led to."""
        messages.success(self.request, words)
        return redirect(to, *args)


class PublicPage(View):
    """A page for somebody without an account; what its link opens is decided by the link alone."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        try:
            return super().dispatch(request, *args, **kwargs)
        except NotHere as exc:
            return error_page(request, 404, "Not here", str(exc))
        except (Refused, Conflict) as exc:
            return error_page(request, 409, "Not done", str(exc))

    def page(self, template: str, *, status: int = 200, **context: Any) -> HttpResponse:
        response = TemplateResponse(self.request, template, context, status=status)
        response.render()
        response["Cache-Control"] = "no-store"
        response["X-Robots-Tag"] = "noindex"
        return response
