"""Pages of fit reports: making one, its PDF, the client's link; and the counter's look-up of past fits."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.safestring import mark_safe

from fitting.queries import garments as garment_queries
from fitting.queries import past_fits as past_queries
from fitting.queries import report_facts
from fitting.queries import reports as report_queries
from fitting.queries.learnt import studio_learnt
from fitting.queries.sending import email_of, sendings_of
from fitting.reports.pictures import pictures
from fitting.reports.render import photo_images
from fitting.reports.voice import Voice
from fitting.services import reports as report_services
from fitting.services.sending import ask_to_send
from fitting.web.base import FittingPage
from fitting.web.garment_forms import LinkForm, PastFitsForm, ReportForm
from studio.platform.actors import BadToken, actor_of, as_actor
from studio.platform.choices import LANGUAGES
from studio.platform.database.doors import memberships_of
from studio.platform.errors import NotAllowed, NotHere
from studio.platform.queries.people import studio_get
from studio.platform.rights import Actor, Right
from studio.platform.web.base import PublicPage
from studio.platform.web.errors import error_page
from studio.queries.clients import mark_found


class NewReport(FittingPage):
    """What a report would say now, in a language and with the photographs chosen; nothing is kept yet."""

    right = Right.ISSUE_REPORTS

    def get(self, request: HttpRequest, garment_id: UUID) -> HttpResponse:
        garment = garment_queries.garment_row(self.actor, garment_id)
        today = garment_queries.studio_today(self.actor)
        offered, why_none = report_facts.offered_photos(self.actor, garment, today)
        language = report_facts.language_of(garment.client, studio_get(self.actor))
        given = {"language": language, **request.GET.dict(), "photos": request.GET.getlist("photos")}
        form = ReportForm(given, photos=offered)
        if not form.is_valid():  # an address that was tampered with: what makes no sense is left out
            form = ReportForm({"language": language}, photos=offered)
            form.is_valid()
        asked = form.cleaned_data
        snapshot = self.try_or_tell(
            report_services.preview_report,
            garment_id,
            language=asked["language"] or language,
            photos=asked.get("photos", ()),
        )
        if snapshot is None:
            return redirect("fitting:garment", garment_id)
        photos = report_queries.bytes_of(row["file"] for row in snapshot["photos"])
        context: dict[str, Any] = {
            "garment": garment,
            "form": form,
            "why_none": why_none,
            "corrects": report_queries.report_get(self.actor, asked["corrects"])
            if asked["corrects"]
            else None,
            **summary_context(snapshot, photos),
        }
        partial = request.headers.get("HX-Request") and not request.headers.get("HX-Boosted")
        response = self.page(
            "fitting/garment/_report_preview.html" if partial else "fitting/garment/new_report.html",
            **context,
        )
        response["Vary"] = "HX-Request"
        return response


class AskReport(FittingPage):
    right = Right.ISSUE_REPORTS

    def post(self, request: HttpRequest, garment_id: UUID) -> HttpResponse:
        garment = garment_queries.garment_row(self.actor, garment_id)
        today = garment_queries.studio_today(self.actor)
        offered, _ = report_facts.offered_photos(self.actor, garment, today)
        form = ReportForm(request.POST, photos=offered)
        if not form.is_valid():
            raise NotHere("language, photograph or fit report")
        asked = form.cleaned_data
        report = self.try_or_tell(
            report_services.ask_report,
            garment_id,
            corrects=asked["corrects"],
            language=asked["language"],
            photos=asked.get("photos", ()),
        )
        if report is None:
            return redirect("fitting:garment", garment_id)
        return redirect("fitting:report", report.pk)


class ReportPage(FittingPage):
    """How far the report is, the issued PDF, and the client's links."""

    rights = {"GET": Right.SEND_LINKS, "POST": Right.SEND_LINKS}

    def get(
        self,
        request: HttpRequest,
        report_id: UUID,
        form: LinkForm | None = None,
    ) -> HttpResponse:
        report = report_queries.report_get(self.actor, report_id)
        now = timezone.now()
        today = garment_queries.studio_today(self.actor)
        name, by = report_queries.goes_to(report.client, today)
        sendings = sendings_of(link.pk for link in report.links.all())
        return self.page(
            "fitting/garment/report.html",
            report=report,
            garment=report.garment,
            issued=report_queries.issued_of(report),
            links=[
                (
                    link,
                    report_queries.link_state(link, now),
                    report_queries.link_address(link),
                    sendings.get(str(link.pk), ""),
                )
                for link in report.links.all()
            ],
            send_to=name,
            send_by=by,
            email=email_of(report.client, today),
            to_guardian=report.client.is_minor(today),
            form=form or LinkForm(),
            may_read=self.actor.may(Right.READ_REPORTS),
            may_issue=self.actor.may(Right.ISSUE_REPORTS),
            language=dict(LANGUAGES)[report.snapshot["language"]],
            job_ended=report.job.state in {"done", "failed", "cancelled"},
            status=400 if form and form.errors else 200,
        )

    def post(self, request: HttpRequest, report_id: UUID) -> HttpResponse:
        form = LinkForm(request.POST)
        if form.is_valid():
            made = self.attempt(form, report_services.make_link, report_id, **form.cleaned_data)
            if made:
                return self.done(f"The link is made. Send it to {made.send_to}.", "fitting:report", report_id)
        return self.get(request, report_id, form)


class ReportPdf(FittingPage):
    right = Right.READ_REPORTS

    def get(self, request: HttpRequest, report_id: UUID) -> HttpResponse:
        return pdf_response(report_queries.report_file(self.actor, report_id))


class SendLink(FittingPage):
    right = Right.SEND_LINKS

    def post(self, request: HttpRequest, link_id: UUID) -> HttpResponse:
        report_id = report_queries.report_of_link(self.actor, link_id)
        if self.try_or_tell(ask_to_send, link_id):
            return self.done("The letter is on its way.", "fitting:report", report_id)
        return redirect("fitting:report", report_id)


class RevokeLink(FittingPage):
    right = Right.SEND_LINKS

    def post(self, request: HttpRequest, link_id: UUID) -> HttpResponse:
        link = report_services.revoke_link(self.actor, link_id)
        return self.done("The link opens nothing any more.", "fitting:report", link.report_id)


class LinkPage(PublicPage):
    """What a client's link opens. Whoever of the studio is signed in at this browser reads it by her own right."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        try:
            return super().dispatch(request, *args, **kwargs)
        except NotAllowed as exc:
            return error_page(request, 403, "Not included in your role", str(exc))

    def reader(self, signed: str) -> Actor | None:
        """The member of the link's studio who is signed in, whichever of her studios she works for just now."""
        studio_id = report_queries.studio_of_link(signed)
        try:
            actor = actor_of(self.request)
        except BadToken:
            return None
        if actor is not None and actor.studio_id == studio_id:
            return actor
        user = self.request.user
        if not user.is_authenticated:
            return None
        here = (found for found in memberships_of(user.pk) if found.studio_id == studio_id)
        return next((as_actor(found, user.pk) for found in here), None)


class ClientLink(LinkPage):
    """A client's own page. Looking at the address opens nothing; the button does, and is counted."""

    def get(self, request: HttpRequest, signed: str) -> HttpResponse:
        report_queries.check_reader(signed, self.reader(signed))
        found = report_queries.look_at_link(signed)
        return self.closed(found)

    def closed(self, found: report_queries.LinkState) -> HttpResponse:
        """What a link says before its button was pressed, or when it opens nothing any more."""
        return self.page(
            "fitting/garment/client_link.html",
            found=found,
            studio_name=found.studio_name,
            voice=Voice(found.language),
        )

    def post(self, request: HttpRequest, signed: str) -> HttpResponse:
        found = report_services.open_link(signed, self.reader(signed))
        if found.snapshot is None:
            return self.closed(found)
        return self.page(
            "fitting/garment/client_summary.html",
            found=found,
            studio_name=found.studio_name,
            signed=signed,
            photos_withdrawn=bool(found.snapshot["photos"]) and not found.photos and not found.has_file,
            **summary_context(found.snapshot, found.photos),
        )


class ClientLinkPdf(LinkPage):
    def get(self, request: HttpRequest, signed: str) -> HttpResponse:
        file = report_services.open_link_file(signed, self.reader(signed))
        response = pdf_response(file, attachment=True)
        response["X-Robots-Tag"] = "noindex"
        return response


class PastFits(FittingPage):
    """One box: a name, a telephone number or words of the garment; the answers come as one types."""

    right = Right.READ_FIT_HISTORY

    def get(self, request: HttpRequest) -> HttpResponse:
        form = PastFitsForm(
            request.GET, kinds=garment_queries.kinds(), years=past_queries.years_of(self.actor)
        )
        form.is_valid()
        words = form.cleaned_data.get("words", "").strip()
        kind, year = form.cleaned_data.get("kind", ""), form.cleaned_data.get("year")
        found = past_queries.past_fits(self.actor, words, kind, year)
        context: dict[str, Any] = {
            "form": form,
            "words": words,
            "kind": kind,
            "year": year,
            "found": [(fit, mark_found(fit.name, words)) for fit in found],
            "may_open": self.actor.may(Right.KEEP_GARMENTS),
        }
        partial = request.headers.get("HX-Request") and not request.headers.get("HX-Boosted")
        response = self.page(
            "fitting/garment/_past_fits.html" if partial else "fitting/garment/past_fits.html", **context
        )
        response["Vary"] = "HX-Request"
        return response


def pdf_response(file: report_queries.ReportFile, *, attachment: bool = False) -> HttpResponse:
    """The issued bytes as they are, named, never kept by a shared cache."""
    response = HttpResponse(file.content, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(attachment, file.name) or "inline"
    response["ETag"] = f'"{file.sha256}"'
    response["Cache-Control"] = "no-store"
    return response


def summary_context(snapshot: Mapping[str, Any], photos: Mapping[str, bytes]) -> dict[str, Any]:
    """What ``_summary.html`` shows of a snapshot: its drawings, and the photographs whose bytes are at hand."""
    drawn = pictures(snapshot)
    return {
        "voice": Voice(snapshot["language"], snapshot["client"]["unit"]),
        "summary": snapshot,
        "measures": [{**row, "number": drawn.numbers.get(row["code"], "")} for row in snapshot["measures"]],
        "body_pictures": [_safe(picture.svg) for picture in drawn.body],
        "zone_picture": _safe(drawn.zones.svg) if drawn.zones else "",
        "paper_picture": _safe(drawn.paper.svg) if drawn.paper else "",
        "undrawn": drawn.undrawn,
        "photos": photo_images(snapshot, photos),
    }


def _safe(svg: str) -> str:
    return mark_safe(svg)  # noqa: S308 - our own drawing, its texts escaped by studio.figures.svg


class Learnt(FittingPage):
    """What patterns and ease rules always needed at the fitting."""

    right = Right.READ_FIT_HISTORY

    def get(self, request: HttpRequest) -> HttpResponse:
        return self.page("fitting/garment/learnt.html", learnt=studio_learnt(self.actor))
