"""Pages of a try-on: the figure to tap, a note in two steps, decisions, photographs, the sign-off."""

from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from fitting.calc.signs import Meaning, meanings
from fitting.queries import garments as garment_queries
from fitting.queries.agreement import hindrance_to_agree
from fitting.queries.carried import to_carry
from fitting.queries.cautions import cautions_for
from fitting.queries.fit_photos import fit_photo, may_be_photographed, photos_of
from fitting.queries.fittings import PLACES, SessionView, note_get, session_get
from fitting.queries.signs import sign_table
from fitting.queries.spots import NOWHERE, Spots, spots_of
from fitting.queries.try_on import marked, views
from fitting.services import fit_photos as photo_services
from fitting.services import fittings as fitting_services
from fitting.services.carrying import carry_to_paper
from fitting.web.base import SEAM_PLACES, FittingPage, drawn
from fitting.web.session_forms import DecisionForm, NoteForm, SessionForm, SignForm, SignOffForm, typed
from studio.platform.rights import Right
from studio.platform.services.files import read_file


class NewSession(FittingPage):
    right = Right.FIT

    def get(self, request: HttpRequest, garment_id: UUID, form: SessionForm | None = None) -> HttpResponse:
        garment = garment_queries.garment_row(self.actor, garment_id)
        now = timezone.localtime().strftime("%Y-%m-%dT%H:%M")
        return self.page(
            "fitting/garment/new_session.html",
            garment=garment,
            form=form or SessionForm(initial={"held_at": now}),
            cautions=cautions_for(step=["basting"]),
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, garment_id: UUID) -> HttpResponse:
        form = SessionForm(request.POST)
        if form.is_valid():
            session = self.attempt(form, fitting_services.hold_session, garment_id, **form.cleaned_data)
            if session:
                return self.done("Tap where you see something.", "fitting:session", session.pk)
        return self.get(request, garment_id, form)


class SessionPage(FittingPage):
    """A try-on: what was seen, what is decided, and the sign-off."""

    rights = {"GET": Right.READ_FIT_NOTES}

    def get(
        self,
        request: HttpRequest,
        session_id: UUID,
        sign_form: SignOffForm | None = None,
        decision: tuple[UUID, DecisionForm] | None = None,
    ) -> HttpResponse:
        session = session_get(self.actor, session_id)
        garment = garment_queries.garment_row(self.actor, session.garment_id)
        unit = garment.client.unit
        may_write = session.sign_off is None and garment.state == "open" and self.actor.may(Right.FIT)
        photographed = may_be_photographed(garment.client, timezone.localdate())
        photos = photos_of(session) if photographed else {}
        spots = spots_of(garment.pattern) if may_write else NOWHERE
        numbered = marked(session.notes, garment.kind, build=_build(garment))
        given = [form for form in (sign_form, decision[1] if decision else None) if form is not None]
        return self.page(
            "fitting/garment/session.html",
            session=session,
            garment=garment,
            notes=[
                (
                    row.number,
                    row.note,
                    row.note.change_words(unit),
                    sign_table().changes.get(row.note.change),
                    self._decision(row.note, unit, decision, spots),
                    photos.get(row.note.id, []),
                )
                for row in numbered
            ],
            photographed=photographed,
            earlier=[(note, note.change_words(unit)) for note in session.earlier],
            views=[
                (view, drawn(view.figure))
                for view in views(
                    numbered,
                    garment.kind,
                    build=_build(garment),
                    link=_link(session.id) if may_write else None,
                )
            ],
            carrying=to_carry(session.id, garment.plan)
            if garment.plan is not None and self.actor.may(Right.READ_FIT_PLANS)
            else None,
            may_agree=garment.state == "open"
            and self.actor.may(Right.FIT)
            and not hindrance_to_agree(session),
            may_carry=garment.state == "open" and self.actor.may(Right.FIT),
            seam_places=SEAM_PLACES,
            sign_form=sign_form or SignOffForm(),
            may_write=may_write,
            cautions=cautions_for(step=["basting"]),
            status=400 if any(form.errors for form in given) else 200,
        )

    def _session(self, session_id: UUID) -> tuple[SessionView, Any]:
        session = session_get(self.actor, session_id)
        return session, garment_queries.garment_row(self.actor, session.garment_id)

    @staticmethod
    def _decision(
        note: Any, unit: str, given: tuple[UUID, DecisionForm] | None, spots: Spots
    ) -> DecisionForm:
        if given and given[0] == note.id:
            return given[1]
        change = sign_table().changes.get(note.change)
        return DecisionForm(
            unit=unit,
            spots=spots,
            piece=note.piece,
            seam=note.seam,
            auto_id=f"id_{note.id}_%s",
            initial={
                "decision": note.decision if not note.is_open else change.decision if change else None,
                "amount": typed(note.amount_mm if note.amount_mm is not None else note.pinched_mm, unit),
            },
        )


class NewNote(SessionPage):
    """A note: first what is seen and where, then what it may mean and what is decided. The choice is the fitter's."""

    rights = {"GET": Right.FIT, "POST": Right.FIT}

    def get(  # type: ignore[override]
        self,
        request: HttpRequest,
        session_id: UUID,
        sign_form: SignForm | None = None,
        note_form: NoteForm | None = None,
    ) -> HttpResponse:
        session, garment = self._session(session_id)
        unit = garment.client.unit
        asked = "sign" in request.GET or request.method == "POST"
        if sign_form is None:
            sign_form = self._sign_form(request.GET, unit, bound=asked)
        found: list[Meaning] = []
        if asked and (sign_form.is_valid() or note_form is not None):
            found = self._meanings(sign_form, garment)
            note_form = note_form or self._note_form(found, sign_form, unit, spots_of(garment.pattern))
        facts = sign_form.data if sign_form.is_bound else sign_form.initial
        chosen = f"{facts.get('place', '')}/{facts.get('side') or 'both'}"
        view = facts.get("view") or "front"
        pictures = views([], garment.kind, build=_build(garment), link=_link(session.id), chosen=chosen)
        signs = sign_table().signs
        wrong = (sign_form.is_bound and sign_form.errors) or (note_form is not None and note_form.errors)
        return self.page(
            "fitting/garment/note.html",
            session=session,
            garment=garment,
            sign_form=sign_form,
            note_form=note_form,
            signs=[(radio, signs.get(radio.data["value"])) for radio in sign_form["sign"]],
            meanings=[(meaning, typed(meaning.amount, unit), typed(meaning.each, unit)) for meaning in found],
            unit=unit,
            where=PLACES.get(facts.get("place", ""), ""),
            figure=next((drawn(each.figure) for each in pictures if each.code == view), ""),
            seam_places=SEAM_PLACES,
            cautions=cautions_for(step=["basting"]),
            status=400 if wrong else 200,
        )

    def post(self, request: HttpRequest, session_id: UUID) -> HttpResponse:
        _, garment = self._session(session_id)
        unit = garment.client.unit
        sign_form = self._sign_form(request.POST, unit, bound=True)
        found = self._meanings(sign_form, garment) if sign_form.is_valid() else []
        form = NoteForm(request.POST, unit=unit, meanings=found, spots=spots_of(garment.pattern))
        if sign_form.is_valid() and form.is_valid():
            given = form.cleaned_data
            note = self.attempt(
                form,
                fitting_services.note_fit,
                session_id,
                place=sign_form.cleaned_data["place"],
                side=sign_form.cleaned_data["side"],
                seen=given["seen"],
                decision=given["decision"],
                amount_mm=_amount(given),
                decided=given["decided"],
                told=sign_form.told(change=given.get("change") or "", **form.where()),
            )
            if note:
                return self.done("Noted.", "fitting:session", session_id)
        return self.get(request, session_id, sign_form, form)

    @staticmethod
    def _sign_form(data: Any, unit: str, *, bound: bool) -> SignForm:
        if bound:
            return SignForm(data, unit=unit, table=sign_table())
        known = {name: data[name] for name in ("view", "x", "y", "place", "side") if name in data}
        return SignForm(unit=unit, table=sign_table(), initial={"side": "both", **known})

    @staticmethod
    def _meanings(form: SignForm, garment: Any) -> list[Meaning]:
        given = form.cleaned_data if form.is_valid() else {}
        if not given.get("sign"):
            return []
        pinched = given.get("pinched")
        return meanings(
            sign_table(),
            given["place"],
            given["sign"],
            direction=given.get("direction") or "",
            garment=garment.kind,
            amount=float(pinched) if pinched else None,
            one_side=given["side"] != "both",
        )

    @staticmethod
    def _note_form(found: list[Meaning], sign_form: SignForm, unit: str, spots: Spots) -> NoteForm:
        first = found[0] if found else None
        amount = first.amount if first else sign_form.cleaned_data.get("pinched")
        return NoteForm(
            unit=unit,
            meanings=found,
            spots=spots,
            initial={
                "change": first.change.code if first else "",
                "decision": "open",
                "amount": "" if first is None or amount is None else typed(amount, unit),
            },
        )


class NoteActPage(SessionPage):
    """An act on one note; its address, loaded again after a refusal, leads to the session's page."""

    rights = {"GET": Right.READ_FIT_NOTES, "POST": Right.FIT}

    def get(self, request: HttpRequest, note_id: UUID) -> HttpResponseRedirect:  # type: ignore[override]
        return redirect("fitting:session", note_get(self.actor, note_id).session_id)


class Decide(NoteActPage):
    """Decides one note; a refusal shows the session's page with the form where it was filled in."""

    def post(self, request: HttpRequest, note_id: UUID) -> HttpResponse:
        note = note_get(self.actor, note_id)
        session, garment = self._session(note.session_id)
        form = DecisionForm(
            request.POST,
            unit=garment.client.unit,
            spots=spots_of(garment.pattern),
            auto_id=f"id_{note_id}_%s",
        )
        if form.is_valid():
            given = form.cleaned_data
            made = self.attempt(
                form,
                fitting_services.decide,
                note_id,
                decision=given["decision"],
                amount_mm=_amount(given),
                decided=given["decided"],
                **form.where(),
            )
            if made:
                return self.done("Decided.", "fitting:session", session.id)
        return SessionPage.get(self, request, session.id, decision=(note_id, form))


class AddPhoto(NoteActPage):
    """A photograph of what a note tells; where it can't be kept, the session's page says why."""

    def post(self, request: HttpRequest, note_id: UUID) -> HttpResponseRedirect:
        note = note_get(self.actor, note_id)
        given = request.FILES.get("picture")
        if given is None:
            messages.error(request, "Choose a photograph first.")
        elif self.try_or_tell(photo_services.add_fit_photo, note_id, picture=given.read()):
            messages.success(request, "The photograph is kept.")
        return redirect("fitting:session", note.session_id)


class Photo(FittingPage):
    right = Right.READ_FIT_NOTES

    def get(self, request: HttpRequest, photo_id: UUID) -> HttpResponse:
        photo = fit_photo(self.actor, photo_id, timezone.localdate())
        return HttpResponse(read_file(photo.file), content_type="image/jpeg")


class TakePhotoAway(FittingPage):
    right = Right.FIT

    def post(self, request: HttpRequest, photo_id: UUID) -> HttpResponseRedirect:
        session_id = photo_services.take_away_photo(self.actor, photo_id)
        return self.done("The photograph is taken away for good.", "fitting:session", session_id)


class SignOffSession(SessionPage):
    rights = {"POST": Right.FIT}

    def post(self, request: HttpRequest, session_id: UUID) -> HttpResponse:
        form = SignOffForm(request.POST)
        session, _ = self._session(session_id)
        if form.is_valid():
            signed = self.attempt(form, fitting_services.sign_off, session.id, **form.cleaned_data)
            if signed:
                return self.done("Signed off.", "fitting:garment", session.garment_id)
        return self.get(request, session_id, sign_form=form)


class CarryToPaper(FittingPage):
    """Makes the plan that holds what the fitting decided, and shows it."""

    right = Right.FIT

    def post(self, request: HttpRequest, session_id: UUID) -> HttpResponseRedirect:
        made = self.try_or_tell(carry_to_paper, session_id)
        if made is None:
            return redirect("fitting:session", session_id)
        return self.done(
            "The decided changes stand in this plan: approve it, then draw them.", "fitting:plan", made.pk
        )


def _amount(given: dict[str, Any]) -> Any:
    """The amount, where the decision takes one: the field stands filled in beforehand for those that do."""
    return None if given["decision"] in ("open", "leave", "reshape") else given["amount"]


def _build(garment: Any) -> str:
    return "child" if garment.for_child else "adult"


def _link(session_id: UUID) -> Any:
    def to(view: str, place: str, side: str, x: float, y: float) -> str:
        asked = {"view": view, "place": place, "side": side, "x": f"{x:.4f}", "y": f"{y:.4f}"}
        return f"{reverse('fitting:new-note', args=[session_id])}?{urlencode(asked)}"

    return to
