"""Pages of the platform: choosing a studio, home, members, jobs, joining, health."""

from typing import Any
from uuid import UUID

from django.db import connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views import View
from django.views.decorators.http import require_safe
from django_htmx.http import HttpResponseStopPolling

from studio.platform import links
from studio.platform.actors import STUDIO_IN_SESSION
from studio.platform.database.doors import memberships_of
from studio.platform.database.scope import studio_scope
from studio.platform.errors import NotHere, Refused
from studio.platform.models import Invitation, User
from studio.platform.queries import jobs as job_queries
from studio.platform.queries import people as people_queries
from studio.platform.queries.sign_in import with_second_step
from studio.platform.registries import HOME_PANELS
from studio.platform.rights import Right
from studio.platform.services import accounts, people
from studio.platform.services import jobs as job_services
from studio.platform.services.sign_in import count_link
from studio.platform.web.base import HousePage, PublicPage
from studio.platform.web.forms import AccountForm, InviteForm, MemberForm, SetupForm, TokenForm
from studio.platform.web.visits import begin_visit


class ChooseStudio(View):
    def get(self, request: HttpRequest) -> HttpResponse:
        if not request.user.is_authenticated:
            return redirect("platform:sign-in")
        return render(
            request, "platform/choose_studio.html", {"memberships": memberships_of(request.user.pk)}
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        if not request.user.is_authenticated:
            return redirect("platform:sign-in")
        chosen = request.POST.get("studio", "")
        if chosen in {str(found.studio_id) for found in memberships_of(request.user.pk)}:
            request.session[STUDIO_IN_SESSION] = chosen
            return redirect("platform:home")
        return redirect("platform:choose-studio")


class Home(HousePage):
    def get(self, request: HttpRequest) -> HttpResponse:
        panels = [
            {"template": panel.template, **panel.context(self.actor, self.actor.studio_id)}
            for panel in HOME_PANELS
            if self.actor.may(panel.right)
        ]
        return self.page("platform/home.html", panels=panels)


class MembersPage(HousePage):
    right = Right.KEEP_MEMBERS
    asks_again = frozenset({"POST"})

    def shown(self, form: InviteForm | None = None, helped: tuple[str, str] | None = None) -> HttpResponse:
        invitations = [
            (row, links.address("platform:join", links.sign("join", self.actor.studio_id, row.pk)))
            for row in people_queries.open_invitations(self.actor)
        ]
        listed = list(people_queries.member_list(self.actor))
        stepped = with_second_step([member.user_id for member in listed])
        members = [
            (
                member,
                member.user_id in stepped,
                MemberForm(
                    initial={"role": member.role, "active": member.active}, auto_id=f"id_{member.pk}_%s"
                ),
            )
            for member in listed
        ]
        return self.page(
            "platform/members.html",
            members=members,
            invitations=invitations,
            helped=helped,
            required=people_queries.studio_get(self.actor).second_step_required,
            form=form or InviteForm(),
            status=400 if form and form.errors else 200,
        )


class Members(MembersPage):
    def get(self, request: HttpRequest) -> HttpResponse:
        return self.shown()

    def post(self, request: HttpRequest) -> HttpResponse:
        form = InviteForm(request.POST)
        if form.is_valid() and self.attempt(form, people.invite_member, **form.cleaned_data) is not None:
            return self.done("Invited. Copy the link below and send it.", "platform:members")
        return self.shown(form)


class HelpMember(MembersPage):
    """For a member who has forgotten her password or lost her second step."""

    def post(self, request: HttpRequest, member_id: UUID) -> HttpResponse:
        if "second_step" in request.POST:
            member = accounts.help_with_second_step(self.actor, member_id)
            return self.done(
                f"{member.name} is signed out everywhere and signs in by the password alone next time.",
                "platform:members",
            )
        address = accounts.help_with_password(self.actor, member_id)
        name = next(row.name for row in people_queries.member_list(self.actor) if row.pk == member_id)
        return self.shown(helped=(name, address))


class AskSecondStep(HousePage):
    right = Right.KEEP_MEMBERS
    asks_again = frozenset({"POST"})

    def post(self, request: HttpRequest) -> HttpResponse:
        required = "required" in request.POST
        accounts.ask_everybody_for_second_step(self.actor, required=required)
        return self.done(
            "Everybody who works here signs in with a second step from now on."
            if required
            else "A second step is everybody's own choice again.",
            "platform:members",
        )


class ChangeMember(HousePage):
    right = Right.KEEP_MEMBERS
    asks_again = frozenset({"POST"})

    def post(self, request: HttpRequest, member_id: UUID) -> HttpResponse:
        form = MemberForm(request.POST)
        if not form.is_valid():
            raise Refused("Choose owner, instructor or clerk.")
        member = people.change_member(self.actor, member_id, **form.cleaned_data)
        return self.done(f"{member.name} is now {member.get_role_display().lower()}.", "platform:members")


class Tokens(HousePage):
    right = Right.SEE_JOBS  # every member may let a program act as herself
    asks_again = frozenset({"POST"})

    def get(self, request: HttpRequest, form: TokenForm | None = None, secret: str = "") -> HttpResponse:
        return self.page(
            "platform/tokens.html",
            tokens=people_queries.token_list(self.actor),
            form=form or TokenForm(),
            secret=secret,
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest) -> HttpResponse:
        if "revoke" in request.POST:
            try:
                token_id = UUID(request.POST["revoke"])
            except ValueError:
                raise NotHere("token") from None
            people.revoke_token(self.actor, token_id)
            return self.done("The token opens nothing any more.", "platform:tokens")
        form = TokenForm(request.POST)
        if form.is_valid():
            made = self.attempt(form, people.make_token, **form.cleaned_data)
            if made:
                response = self.get(request, secret=made[1])
                response["Cache-Control"] = "no-store"
                return response
        return self.get(request, form)


class Jobs(HousePage):
    right = Right.SEE_JOBS

    def get(self, request: HttpRequest) -> HttpResponse:
        rows = [job_queries.as_read(job) for job in job_queries.job_list(self.actor)[:50]]
        return self.page("platform/jobs.html", rows=rows)


class JobPage(HousePage):
    """Progress of one job; htmx asks again until it has ended (status 286 ends the asking)."""

    right = Right.SEE_JOBS

    def get(self, request: HttpRequest, job_id: UUID) -> HttpResponse:
        row = job_queries.as_read(job_queries.job_get(self.actor, job_id))
        if request.headers.get("HX-Request"):
            response = self.page("platform/_job.html", row=row)
            if row.ended:
                response.render()
                return HttpResponseStopPolling(response.content)
            return response
        return self.page("platform/job.html", row=row)

    def post(self, request: HttpRequest, job_id: UUID) -> HttpResponse:
        if "cancel" in request.POST:
            job_services.cancel_job(self.actor, job_id)
            return self.done("Cancelled.", "platform:job", job_id)
        job_services.retry_job(self.actor, job_id)
        return self.done("It will be tried again.", "platform:job", job_id)


class Setup(PublicPage):
    """The first owner of a new installation."""

    def get(self, request: HttpRequest, secret: str) -> HttpResponse:
        count_link(request)
        people.open_setup_link(secret)
        return self.page("platform/setup.html", form=SetupForm())

    def post(self, request: HttpRequest, secret: str) -> HttpResponse:
        count_link(request)
        form = SetupForm(request.POST)
        if form.is_valid():
            try:
                actor = people.found_studio(**form.cleaned_data, setup_secret=secret)
            except Refused as exc:
                for field, reason in exc.reasons.items():
                    form.add_error(field or None, reason)
            else:
                return _signed_in(request, User.objects.get(pk=actor.user_id), actor.studio_id)
        return self.page("platform/setup.html", form=form, status=400)


class Join(PublicPage):
    """Joining a studio by an invitation: as whoever is signed in, or with a new account."""

    def get(self, request: HttpRequest, signed: str) -> HttpResponse:
        count_link(request)
        studio_id, invitation_id = links.verify("join", signed)
        with studio_scope(studio_id):
            found = Invitation.objects.filter(
                pk=invitation_id, used_at=None, expires_at__gt=timezone.now()
            ).first()
        if found is None:
            raise NotHere("invitation (it may have been used or have expired)")
        form = AccountForm(initial={"name": found.name, "email": found.email})
        return self.page("platform/join.html", form=form)

    def post(self, request: HttpRequest, signed: str) -> HttpResponse:
        count_link(request)
        studio_id, invitation_id = links.verify("join", signed)
        if request.user.is_authenticated:
            user = request.user
            actor = people.accept_invitation(studio_id, invitation_id, lambda _: user)
            return _signed_in(request, user, actor.studio_id)
        form = AccountForm(request.POST)
        if form.is_valid():
            given = form.cleaned_data
            try:
                actor = people.accept_invitation(
                    studio_id, invitation_id, lambda _: people.checked_account(**given)
                )
            except Refused as exc:
                for field, reason in exc.reasons.items():
                    form.add_error(field or None, reason)
            else:
                return _signed_in(request, User.objects.get(pk=actor.user_id), actor.studio_id)
        return self.page("platform/join.html", form=form, status=400)


def _signed_in(request: HttpRequest, user: Any, studio_id: UUID) -> HttpResponse:
    """A new account begins its first visit; whoever was signed in goes on with hers, in the studio joined."""
    if request.user.is_authenticated and request.user.pk == user.pk:
        request.session[STUDIO_IN_SESSION] = str(studio_id)
        return redirect("platform:home")
    return begin_visit(request, user, redirect("platform:home"), "password", studio_id=studio_id)


@require_safe
def live(request: HttpRequest) -> HttpResponse:
    """The process answers; nothing else is touched."""
    return JsonResponse({"live": True})


@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """The process and its database answer."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("select 1")
    except Exception as exc:  # whatever the driver raises, the answer is the same
        return JsonResponse({"ready": False, "why": type(exc).__name__}, status=503)
    return JsonResponse({"ready": True})
