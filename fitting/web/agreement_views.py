"""The page that the client reads and agrees to at the studio's tablet: no menu, only what was decided."""

from datetime import datetime
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from fitting.queries import garments as garment_queries
from fitting.queries.agreement import agreement_text, hindrance_to_agree
from fitting.queries.fittings import session_get
from fitting.services.agreement import client_agrees
from fitting.web.base import FittingPage
from fitting.web.session_forms import AgreementForm
from studio.platform.rights import Right


class Agree(FittingPage):
    """Before: what is agreed to, and a field for the name. Afterwards: the same words as they were kept."""

    rights = {"GET": Right.READ_FIT_NOTES, "POST": Right.FIT}

    def get(self, request: HttpRequest, session_id: UUID, form: AgreementForm | None = None) -> HttpResponse:
        session = session_get(self.actor, session_id)
        garment = garment_queries.garment_row(self.actor, session.garment_id)
        kept = session.agreement
        text = kept.agreed if kept else agreement_text(session, garment)
        return self.page(
            "fitting/garment/agree.html",
            session=session,
            garment=garment,
            kept=kept,
            text=text,
            held_at=datetime.fromisoformat(text["held_at"]),
            hindrance="" if kept else hindrance_to_agree(session),
            form=form or AgreementForm(minor=self._minor(garment)),
            may_agree=garment.state == "open" and self.actor.may(Right.FIT),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, session_id: UUID) -> HttpResponse:
        session = session_get(self.actor, session_id)
        garment = garment_queries.garment_row(self.actor, session.garment_id)
        form = AgreementForm(request.POST, minor=self._minor(garment))
        if form.is_valid():
            made = self.attempt(form, client_agrees, session_id, **form.cleaned_data)
            if made:
                return redirect("fitting:agree", session_id)
        return self.get(request, session_id, form)

    def _minor(self, garment: object) -> bool:
        today = timezone.localdate(timezone=self.actor.zone)
        return bool(garment.client.is_minor(today))  # type: ignore[attr-defined]
