"""Pages for signing in and out: the password, the second step, passkeys, a forgotten password."""

import time
from typing import Any

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views import View

from studio.platform.errors import NotHere, Refused
from studio.platform.queries.sign_in import ways_of
from studio.platform.services import accounts
from studio.platform.services.passkeys import ask_to_prove, prove_passkey
from studio.platform.services.second_step import check_second_step
from studio.platform.services.sign_in import address_of, check_password, count_link
from studio.platform.web.base import PublicPage
from studio.platform.web.forms import ForgottenForm, NewPasswordForm, SecondStepForm, SignInForm
from studio.platform.web.visits import (
    begin_visit,
    half_begin,
    half_signed_in,
    keep_challenge,
    site_of,
    take_challenge,
)

ANSWER_SECONDS = (
    0.5  # every request for a letter takes at least so long, whether there is such a person or not
)


class SignIn(View):
    def get(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            return redirect("platform:home")
        return self._page(request, SignInForm(), request.GET.get("next", ""))

    def post(self, request: HttpRequest) -> HttpResponse:
        next_page = request.POST.get("next", "")
        if request.POST.get("passkey"):
            return self._by_passkey(request, next_page)
        form = SignInForm(request.POST)
        if form.is_valid():
            try:
                user = check_password(request, **form.cleaned_data)
            except Refused as exc:
                form.add_error(None, str(exc))
            else:
                if ways_of(user).any:
                    half_begin(request, user, next_page)
                    return redirect("platform:second-step")
                return begin_visit(request, user, _onwards(request, next_page), "password")
        return self._page(request, form, next_page, status=400)

    def _by_passkey(self, request: HttpRequest, next_page: str) -> HttpResponse:
        try:
            challenge = take_challenge(request, "sign in")
            user = prove_passkey(site_of(request), answer=request.POST["passkey"], challenge=challenge)
        except Refused as exc:
            return self._page(request, SignInForm(), next_page, status=400, refusal=str(exc))
        return begin_visit(request, user, _onwards(request, next_page), "passkey")

    def _page(
        self, request: HttpRequest, form: SignInForm, next_page: str, *, status: int = 200, refusal: str = ""
    ) -> HttpResponse:
        context = {
            "form": form,
            "next": next_page,
            "passkeys": site_of(request).possible,
            "refusal": refusal,
        }
        return render(request, "platform/sign_in.html", context, status=status)


class SecondStep(View):
    """After the right password: a code of the app, a recovery code, or a passkey."""

    def get(self, request: HttpRequest) -> HttpResponse:
        found = half_signed_in(request)
        return self._page(request, found[0], SecondStepForm()) if found else redirect("platform:sign-in")

    def post(self, request: HttpRequest) -> HttpResponse:
        found = half_signed_in(request)
        if found is None:
            return redirect("platform:sign-in")
        user, next_page = found
        form = SecondStepForm(request.POST)
        try:
            if request.POST.get("passkey"):
                form = SecondStepForm()
                challenge = take_challenge(request, "second step")
                prove_passkey(
                    site_of(request), answer=request.POST["passkey"], challenge=challenge, user=user
                )
                proof = "passkey"
            elif form.is_valid():
                proof = check_second_step(user, form.cleaned_data["code"])
            else:
                return self._page(request, user, form, status=400)
        except Refused as exc:
            return self._page(request, user, form, status=400, refusal=str(exc))
        onwards = redirect("platform:account") if proof == "recovery" else _onwards(request, next_page)
        return begin_visit(request, user, onwards, "password", proof)

    def _page(
        self, request: HttpRequest, user: Any, form: SecondStepForm, *, status: int = 200, refusal: str = ""
    ) -> HttpResponse:
        ways = ways_of(user)
        context = {
            "form": form,
            "refusal": refusal,
            "codes": ways.codes,
            "recovery_left": ways.recovery_left,
            "passkeys": bool(ways.passkeys) and site_of(request).possible,
        }
        return render(request, "platform/second_step.html", context, status=status)


class PasskeyQuestion(View):
    """What the browser asks its passkey: for a sign-in, a second step, or before a dangerous act."""

    def post(self, request: HttpRequest) -> HttpResponse:
        try:
            count_link(request)
        except Refused as exc:
            return JsonResponse({"detail": str(exc)}, status=429)
        half = half_signed_in(request)
        user: Any
        if request.user.is_authenticated:
            user, purpose = request.user, "prove"
        elif half and request.POST.get("purpose") == "second step":
            user, purpose = half[0], "second step"
        else:
            user, purpose = None, "sign in"
        options, challenge = ask_to_prove(site_of(request), user)
        keep_challenge(request, challenge, purpose)
        return JsonResponse(options)


class SignOut(View):
    def post(self, request: HttpRequest) -> HttpResponse:
        logout(request)
        response = redirect("platform:sign-in")
        # A shared tablet shows the next person nothing from its cache.
        response["Clear-Site-Data"] = '"cache"'
        return response


class Forgotten(PublicPage):
    """A letter with a link where a mail server is set; words on what else helps where none is."""

    def get(self, request: HttpRequest, form: ForgottenForm | None = None) -> HttpResponse:
        return self.page(
            "platform/forgotten.html",
            form=form or ForgottenForm(),
            letters=sends_letters(),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        if not sends_letters():
            raise NotHere
        form = ForgottenForm(request.POST)
        if not form.is_valid():
            return self.get(request, form)
        began = time.monotonic()
        try:
            accounts.ask_for_letter(form.cleaned_data["email"], address_of(request))
        except Refused as exc:
            form.add_error(None, str(exc))
            return self.get(request, form)
        time.sleep(max(0.0, ANSWER_SECONDS - (time.monotonic() - began)))
        return self.page("platform/forgotten.html", sent=True, letters=True)


class NewPassword(PublicPage):
    """What the link of a letter (or of the studio's owner) opens."""

    def get(self, request: HttpRequest, uid: str, token: str) -> HttpResponse:
        count_link(request)
        user = accounts.who_may_set(uid, token)
        return self.page("platform/new_password.html", form=NewPasswordForm(), email=user.email)

    def post(self, request: HttpRequest, uid: str, token: str) -> HttpResponse:
        count_link(request)
        form = NewPasswordForm(request.POST)
        if form.is_valid():
            try:
                accounts.set_forgotten_password(uid, token, new=form.cleaned_data["new"])
            except Refused as exc:
                for field, reason in exc.reasons.items():
                    form.add_error(field if field in form.fields else None, reason)
            else:
                logout(request)
                return self.page("platform/new_password.html", done=True)
        user = accounts.who_may_set(uid, token)
        return self.page("platform/new_password.html", form=form, email=user.email, status=400)


def sends_letters() -> bool:
    return not settings.EMAIL_BACKEND.endswith("console.EmailBackend")


def _onwards(request: HttpRequest, next_page: str) -> HttpResponse:
    safe = url_has_allowed_host_and_scheme(next_page, {request.get_host()}, request.is_secure())
    return redirect(next_page if safe else "platform:home")
