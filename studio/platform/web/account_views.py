"""A person's own account: her password, her second step, the browsers in which she is signed in.

An account is no studio's, so nothing here opens a scope; the frame shows the studio where one is chosen.
"""

from contextlib import nullcontext
from typing import Any
from uuid import UUID

import segno
from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import redirect
from django.template.response import TemplateResponse
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.views import View

from studio.platform.actors import member_at, second_step_wanted
from studio.platform.errors import Conflict, NotHere, Refused
from studio.platform.models import User
from studio.platform.queries.sign_in import visits_of, ways_of
from studio.platform.services import accounts, passkeys, second_step
from studio.platform.web.errors import error_page
from studio.platform.web.forms import ChangePasswordForm, CodeForm, PasskeyForm
from studio.platform.web.visits import add_proof, ask_once_more, keep_challenge, site_of, take_challenge


class AccountPage(View):
    """Base of the pages of one's own account; ``asks_again`` names the methods before which she proves herself."""

    asks_again: frozenset[str] = frozenset()
    user: User

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        user: Any = request.user
        if not user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        self.user = user
        actor = member_at(request)
        try:
            if request.method in self.asks_again:
                asked = ask_once_more(request)
                if asked is not None:
                    return asked
            with timezone.override(actor.zone) if actor else nullcontext():
                response = super().dispatch(request, *args, **kwargs)
                if isinstance(response, TemplateResponse):
                    response.render()
        except NotHere as exc:
            return error_page(request, 404, "Not here", str(exc))
        except (Conflict, Refused) as exc:
            return error_page(request, 409, "Not done", str(exc))
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    def page(self, template: str, *, status: int = 200, **context: Any) -> TemplateResponse:
        return TemplateResponse(self.request, template, context, status=status)

    def done(self, words: str) -> HttpResponseRedirect:
        messages.success(self.request, words)
        return redirect("platform:account")

    def recovery_page(self, codes: list[str], words: str) -> HttpResponse:
        """Codes are shown this once; where there are none to show, the account follows."""
        if not codes:
            return self.done(words)
        return self.page("platform/recovery_codes.html", codes=codes, words=words)


class Account(AccountPage):
    def get(self, request: HttpRequest) -> HttpResponse:
        return self.page(
            "platform/account.html",
            user=self.user,
            ways=ways_of(self.user),
            visits=visits_of(self.user, request.session.session_key or ""),
            passkeys_possible=site_of(request).possible,
            wanted=second_step_wanted(request),
        )


class ChangePassword(AccountPage):
    def get(self, request: HttpRequest, form: ChangePasswordForm | None = None) -> HttpResponse:
        form = form or ChangePasswordForm()
        return self.page(
            "platform/change_password.html", form=form, user=self.user, status=400 if form.errors else 200
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        form = ChangePasswordForm(request.POST)
        if form.is_valid():
            try:
                accounts.change_password(
                    self.user, **form.cleaned_data, here=request.session.session_key or ""
                )
            except Refused as exc:
                for field, reason in exc.reasons.items():
                    form.add_error(field if field in form.fields else None, reason)
            else:
                update_session_auth_hash(request, self.user)
                return self.done("Your password is changed. Every other browser is signed out.")
        return self.get(request, form)


class CodeApp(AccountPage):
    """Setting up an app that shows codes: a square to scan, then the first code."""

    asks_again = frozenset({"GET", "POST"})

    def get(self, request: HttpRequest, form: CodeForm | None = None) -> HttpResponse:
        secret = second_step.begin_code_key(self.user)
        square = segno.make(second_step.setting_up_address(self.user, secret), error="m", micro=False)
        return self.page(
            "platform/code_app.html",
            square=mark_safe(  # noqa: S308 - drawn by ourselves, nothing of it was typed
                square.svg_inline(scale=5, border=4, dark="#17352f", light="#fdfcf8", omitsize=True)
            ),
            secret=" ".join(secret[start : start + 4] for start in range(0, len(secret), 4)),
            form=form or CodeForm(),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        form = CodeForm(request.POST)
        if form.is_valid():
            try:
                codes = second_step.confirm_code_key(self.user, form.cleaned_data["code"])
            except Refused as exc:
                form.add_error("code", str(exc))
            else:
                add_proof(request, "code")
                return self.recovery_page(codes, "From now on you are asked for a code when you sign in.")
        return self.get(request, form)


class RemoveCodeApp(AccountPage):
    asks_again = frozenset({"POST"})

    def post(self, request: HttpRequest) -> HttpResponse:
        second_step.remove_code_key(self.user)
        return self.done("The app is not asked for codes any more.")


class PasskeyToMake(AccountPage):
    """What the browser needs to make a passkey."""

    def post(self, request: HttpRequest) -> HttpResponse:
        options, challenge = passkeys.ask_to_make(site_of(request), self.user)
        keep_challenge(request, challenge, "make")
        return JsonResponse(options)


class AddPasskey(AccountPage):
    asks_again = frozenset({"GET", "POST"})

    def get(self, request: HttpRequest, form: PasskeyForm | None = None) -> HttpResponse:
        return self.page(
            "platform/add_passkey.html",
            form=form or PasskeyForm(),
            possible=site_of(request).possible,
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        form = PasskeyForm(request.POST)
        if form.is_valid():
            try:
                codes = passkeys.keep_passkey(
                    site_of(request),
                    self.user,
                    answer=form.cleaned_data["passkey"],
                    challenge=take_challenge(request, "make"),
                    name=form.cleaned_data["name"],
                )
            except (Refused, Conflict) as exc:
                form.add_error(None, str(exc))
            else:
                add_proof(request, "passkey")
                return self.recovery_page(codes, "The passkey is kept. From now on you can sign in with it.")
        return self.get(request, form)


class RemovePasskey(AccountPage):
    asks_again = frozenset({"POST"})

    def post(self, request: HttpRequest, passkey_id: UUID) -> HttpResponse:
        passkeys.remove_passkey(self.user, passkey_id)
        return self.done("The passkey opens nothing any more.")


class RecoveryCodes(AccountPage):
    asks_again = frozenset({"POST"})

    def post(self, request: HttpRequest) -> HttpResponse:
        if not ways_of(self.user).any:
            raise Conflict("Recovery codes stand in for a second step: add one first.")
        return self.recovery_page(second_step.make_recovery_codes(self.user), "The codes before are void.")


class EndVisits(AccountPage):
    """Signing out elsewhere needs no further proof: it only ever takes away."""

    def post(self, request: HttpRequest) -> HttpResponse:
        here = request.session.session_key or ""
        if "everywhere" in request.POST:
            accounts.end_visits(self.user)
            logout(request)
            response = redirect("platform:sign-in")
            response["Clear-Site-Data"] = '"cache"'
            return response
        if "elsewhere" in request.POST:
            gone = accounts.end_visits(self.user, but=here)
            return self.done(f"Signed out in {gone} other browser{'' if gone == 1 else 's'}.")
        accounts.end_visit(self.user, request.POST.get("end", ""))
        return self.done("Signed out there.")
